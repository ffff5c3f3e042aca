"""The room as it stands today, in words: for a print that was made in it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import TYPE_CHECKING

from controller.book.print_entries import RoomThen
from controller.book.prints import lay_room
from controller.room.model import Place
from controller.room.overview import overview
from controller.room.results import known
from ui.rooms import open_room

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.rig.model import Rig


def today() -> date:
    """Give the day where the unit stands."""
    return datetime.now().astimezone().date()


def old_tests(rig: Rig, paper: str) -> list[str]:
    """Tell which tests of the room are not to be trusted any more for a paper."""
    found = known(open_room(rig), at=Place.EASEL, today=today(), paper=paper)
    return [
        f"room: the test of {', '.join(sorted(names))} is old: {old.words}"
        for names, one in found.items()
        for old in one.old[:1]
    ]


def keep_room(book: Book, rig: Rig, record_ids: Iterable[str]) -> None:
    """Put the room down beside prints that were made in it today. Raises BadInput, BookFault."""
    safe = overview(open_room(rig), {}, at=Place.EASEL, today=today()).safe
    lay_room(book, record_ids, RoomThen(today().isoformat(), safe, tuple(old_tests(rig, ""))))
