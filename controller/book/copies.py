"""Copies of the book beside it, one a day: made when it was found sound, the oldest let go.

They help against a damaged file and a slip of the hand, not against a lost card: for that there
is a copy elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Protocol

from controller.book.faults import BookFault

DAYS = 7  # that many of the newest stay, and beside them
MONTHS = 12  # the last of each of so many months
FOLDER = "copies"
BEHIND = "clock-behind"  # a small computer without a battery clock may start in the past
_NAME = re.compile(r"(.+)-(\d{4}-\d{2}-\d{2})")


class Kept(Protocol):
    """A book as far as copies of it go; ``path`` is None for one on a server."""

    @property
    def path(self) -> Path | None:
        """Where it lies."""
        ...

    def backup(self, to: str | Path, *, replace: bool = False) -> Path:
        """Copy it whole, and give the copy."""
        ...


def copies(book_path: Path) -> list[Path]:
    """Give the daily copies of a book, the newest first."""
    found = {_day(path, book_path): path for path in _folder(book_path).glob("*")}
    return [found[day] for day in sorted((day for day in found if day), reverse=True)]


def daily_copy(book: Kept, today: date) -> Path | None:
    """Make today's copy of a sound book if there is none, and let old ones go.

    Gives the new copy; None where there is one of today, or the book is on a server. Where the
    clock is behind the newest copy there is one copy beside the others, made anew each time.
    Raises BookFault.
    """
    path = book.path
    if path is None:
        return None
    there = copies(path)
    newest = _day(there[0], path) if there else None
    if newest == today:
        return None
    behind = newest is not None and today < newest
    named = BEHIND if behind else today.isoformat()
    made = book.backup(_folder(path) / f"{path.stem}-{named}{path.suffix}", replace=behind)
    if not behind:
        days = {day: copy for copy in copies(path) if (day := _day(copy, path))}
        for day in days.keys() - kept(days):
            try:
                days[day].unlink()
            except OSError as error:
                text = f"the old copy {days[day]} cannot be let go ({error.strerror})"
                raise BookFault(text) from None
    return made


def kept(days: Iterable[date]) -> set[date]:
    """Say which days' copies stay: the newest, and the last of each of the newest months."""
    newest = sorted(days, reverse=True)
    last_of: dict[tuple[int, int], date] = {}
    for day in newest:
        last_of.setdefault((day.year, day.month), day)
    return {*newest[:DAYS], *list(last_of.values())[:MONTHS]}


def _folder(book_path: Path) -> Path:
    return book_path.parent / FOLDER


def _day(path: Path, book_path: Path) -> date | None:
    """Give the day of a copy of this book; None for any other file."""
    found = _NAME.fullmatch(path.stem)
    if not found or found[1] != book_path.stem or path.suffix != book_path.suffix:
        return None
    try:
        return date.fromisoformat(found[2])
    except ValueError:
        return None
