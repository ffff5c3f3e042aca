"""What the keeper's journal knows and the book does not, brought into the book.

After a crash of the engine only the keeper knows how long the lamp really was on. Whoever opens
the book next while no engine runs, an engine or a command, settles it.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from controller.ports import PortFault
from drivers.keeper_words import CLOSED, read_journal

if TYPE_CHECKING:
    from controller.book.book import Book

JOURNAL = "keeper.journal"
LOCK = "engine.lock"


def only_one(run: Path, *, waits: bool = False) -> int:
    """Take the lock that only one engine may have; it is let go with the process.

    ``waits`` until the engine that has it ends. Raises PortFault.
    """
    fd = os.open(run / LOCK, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
    except BlockingIOError:
        os.close(fd)
        raise PortFault("an engine is running already") from None
    return fd


@contextmanager
def _no_engine(run: Path) -> Iterator[bool]:
    """Keep engines from starting; gives False where one runs."""
    try:
        fd = only_one(run)
    except PortFault:
        yield False
        return
    try:
        yield True
    finally:
        os.close(fd)


def settle(run: Path, book: Book) -> None:
    """Bring the journal into the book, unless an engine runs. Raises BookFault."""
    if not (run / JOURNAL).exists():
        return
    with _no_engine(run) as alone:
        if alone:
            settle_alone(run, book)


def settle_alone(run: Path, book: Book) -> None:
    """Bring the journal into the book; the caller holds the engine's lock. Raises BookFault."""
    path = run / JOURNAL
    if not path.exists():
        return
    lines = path.read_bytes().splitlines()
    complete = bool(lines) and lines[-1] == CLOSED
    book.reconcile(read_journal(path), complete=complete)
    path.unlink(missing_ok=True)
