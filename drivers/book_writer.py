"""The book's writing, in a thread of the engine: a slow memory card must not hold up the loop.

Events are written in the order in which they come. The runner does not light the lamp before
the intention is acknowledged, and everything before it has then been written too: so nothing is
ever committed between the two edges of an exposure. With the book down exposing goes on: events
are acknowledged, and one sentence says that they are not kept. Whatever goes wrong with one job,
the thread goes on to the next: without it no intention would ever be acknowledged again.
"""

from __future__ import annotations

import queue
import threading
from collections import deque
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from controller.errors import DrysideError
from controller.events import Event, Intended
from drivers.journal import settle_alone

if TYPE_CHECKING:
    from controller.book.book import Book

MARKS_AHEAD = 3
CLOSE_S = 10.0
T = TypeVar("T")


class BookWriter:
    """A thread that alone writes the book. ``wake`` is called from it when there is news."""

    def __init__(self, path: Path, run: Path, wake: Callable[[], None]) -> None:
        self._path = path
        self._run_folder = run
        self._wake = wake
        self._jobs: queue.SimpleQueue[Event | Callable[[Book], object] | None]
        self._jobs = queue.SimpleQueue()
        self._noted: deque[int] = deque()
        self._answers: deque[Callable[[], None]] = deque()
        self._notices: deque[str] = deque()
        self._marks: deque[str] = deque()
        self._made_up = 0
        self._told: set[str] = set()  # since something could be written
        self._thread = threading.Thread(target=self._run, name="book", daemon=True)
        self._ready = threading.Event()

    def start(self, wait_s: float = 30.0) -> None:
        """Open the book, and close in it what the keeper's journal knows the ends of."""
        self._thread.start()
        self._ready.wait(wait_s)

    def write(self, event: Event) -> None:
        """Have an event written; returns at once."""
        self._jobs.put(event)

    def ask(self, job: Callable[[Book], T], then: Callable[[T], None]) -> None:
        """Have something else done with the book, in its turn; returns at once.

        What comes of it goes to ``then``, by whoever takes ``answers``; not while the book is down.
        """

        def asked(book: Book) -> None:
            found = job(book)
            self._answers.append(lambda: then(found))
            self._wake()

        self._jobs.put(asked)

    def answers(self) -> list[Callable[[], None]]:
        """Give what is to be called with what the book answered since the last call."""
        return [self._answers.popleft() for _ in range(len(self._answers))]

    def next_mark(self) -> str:
        """Give a mark that was taken from the book beforehand; one made up if it is down."""
        try:
            return self._marks.popleft()
        except IndexError:
            self._made_up += 1
            return f"X{self._made_up}"

    def noted(self) -> list[int]:
        """Give the numbers of the intentions acknowledged since the last call."""
        return [self._noted.popleft() for _ in range(len(self._noted))]

    def notices(self) -> list[str]:
        """Give what the printer should be told since the last call."""
        return [self._notices.popleft() for _ in range(len(self._notices))]

    def close(self) -> None:
        """Write all that is left and end."""
        self._jobs.put(None)
        self._thread.join(CLOSE_S)

    # -- the thread --------------------------------------------------------------------------

    def _run(self) -> None:
        book = self._open()
        self._fill_marks(book)
        self._ready.set()
        self._wake()
        if book is not None:
            # beside the writing: a reader of SQLite's log holds no writer up
            threading.Thread(target=self._copy, args=(book,), name="copy", daemon=True).start()
        while (job := self._jobs.get()) is not None:
            if book is not None:
                self._carry_out(book, job)
            if isinstance(job, Intended):
                self._noted.append(job.number)
                self._wake()
            self._fill_marks(book)
        if book is not None:
            book.close()

    def _carry_out(self, book: Book, job: Event | Callable[[Book], object]) -> None:
        try:
            if callable(job):
                job(book)
            else:
                book.write(job)
        except Exception as error:
            self._tell(f"{_sentence(error)}; exposing goes on, this is not kept")
        else:
            self._told.clear()

    def _open(self) -> Book | None:
        from controller.book.book import Book  # here, in the thread: it takes a while

        try:
            book = Book.open(self._path, now=lambda: datetime.now(UTC))
            self._notices.extend(book.notices)
            settle_alone(self._run_folder, book)
        except Exception as error:
            self._tell(f"{_sentence(error)}; exposing goes on without the book")
            return None
        return book

    def _copy(self, book: Book) -> None:
        """Make today's copy of a book that was looked through just now."""
        from controller.book.copies import daily_copy

        try:
            daily_copy(book, datetime.now().astimezone().date())
        except Exception as error:
            self._notices.append(f"no copy of the book was made: {_sentence(error)}")
            self._wake()

    def _fill_marks(self, book: Book | None) -> None:
        try:
            while book is not None and len(self._marks) < MARKS_AHEAD:
                self._marks.append(book.next_mark())
        except Exception as error:
            self._tell(_sentence(error))

    def _tell(self, sentence: str) -> None:
        """Tell something once, until the book can be written again."""
        if sentence in self._told:
            return
        self._told.add(sentence)
        self._notices.append(sentence)
        self._wake()


def _sentence(error: Exception) -> str:
    if isinstance(error, DrysideError):
        return str(error).rstrip(".")
    return f"the book's writer met something unforeseen ({error!r})"
