"""Desk and scores on the disk, written by a thread of their own.

Not by the engine's loop, since a slow memory card would hold it up; and not by the book's
thread, since a full disk must cost no exposure its record. Nothing is begun between two edges of
an exposure. Of several states of one file only the last is written.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from controller.errors import BadInput

if TYPE_CHECKING:
    from controller.score.model import Score

DESK_FILE = "desk.json"
CLOSE_S = 10.0


class DeskStore:
    """A thread that alone writes the desk's files. ``wake`` is called when there is a notice."""

    def __init__(self, folder: Path, wake: Callable[[], None]) -> None:
        self.path = folder / DESK_FILE
        self._wake = wake
        self._change = threading.Condition()
        self._waiting: dict[Path, Callable[[], None]] = {}
        self._at_work = False
        self._is_held = False
        self._ends = False
        self._failed: dict[Path, str] = {}  # what was told already
        self._notices: deque[str] = deque()
        self._thread = threading.Thread(target=self._run, name="desk", daemon=True)
        self._thread.start()

    def keep_desk(self, text: str) -> None:
        """Have the desk written; returns at once."""
        self._put(self.path, lambda: _replace(self.path, text))

    def keep(self, path: Path, text: str) -> None:
        """Have another file written; returns at once."""
        self._put(path, lambda: _replace(path, text))

    def do(self, path: Path, write: Callable[[], None]) -> None:
        """Have a file written by somebody who knows how; returns at once."""
        self._put(path, write)

    def keep_score(self, score: Score, path: Path) -> None:
        """Have a score written to its file; returns at once."""
        from controller.score.file import save_score

        self._put(path, lambda: save_score(score, path))

    def hold(self, *, lit: bool) -> None:
        """Begin nothing while a lamp is lit."""
        with self._change:
            self._is_held = lit
            self._change.notify_all()

    def notices(self) -> list[str]:
        """Give what the printer should be told since the last call."""
        return [self._notices.popleft() for _ in range(len(self._notices))]

    def flush(self, wait_s: float = CLOSE_S) -> bool:
        """Wait until all has been written; say whether it was."""
        with self._change:
            return self._change.wait_for(lambda: not (self._waiting or self._at_work), wait_s)

    def close(self) -> None:
        """Write all that is left, and end."""
        with self._change:
            self._ends, self._is_held = True, False
            self._change.notify_all()
        self._thread.join(CLOSE_S)

    # -- the thread --------------------------------------------------------------------------

    def _put(self, path: Path, write: Callable[[], None]) -> None:
        with self._change:
            self._waiting[path] = write
            self._change.notify_all()

    def _run(self) -> None:
        while (job := self._next()) is not None:
            self._write(*job)
            with self._change:
                self._at_work = False
                self._change.notify_all()

    def _next(self) -> tuple[Path, Callable[[], None]] | None:
        with self._change:
            self._change.wait_for(lambda: self._ends or (self._waiting and not self._is_held))
            if not self._waiting:
                return None
            path = next(iter(self._waiting))
            self._at_work = True
            return path, self._waiting.pop(path)

    def _write(self, path: Path, write: Callable[[], None]) -> None:
        try:
            write()
        except Exception as error:  # whatever it is, the next file is written
            why = _why(error, path)
            if self._failed.get(path) != why:  # told once, until it works again
                self._failed[path] = why
                self._notices.append(why)
                self._wake()
        else:
            self._failed.pop(path, None)


def _why(error: Exception, path: Path) -> str:
    if isinstance(error, BadInput):
        return f"{error.where}: {error.what}; it is on the desk, and not in its file"
    what = error.strerror if isinstance(error, OSError) and error.strerror else repr(error)
    return f"{path} cannot be written ({what}): what is in it is not kept over the night"


def _replace(path: Path, text: str) -> None:
    """Replace a file in one step, durably."""
    part = path.with_name(path.name + ".part")
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
