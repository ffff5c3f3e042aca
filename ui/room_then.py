"""The room as it stands today, in words: for a print that was made in it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import TYPE_CHECKING

from controller.book.print_entries import RoomThen
from controller.book.prints import lay_room
from controller.room.model import Place
from controller.room.overview import overview
from controller.room.since import old_tests, safe_since
from ui.rooms import open_room

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.rig.model import Rig


def today() -> date:
    """Give the day where the unit stands."""
    return datetime.now().astimezone().date()


def room_since(then: RoomThen | None, rig: Rig, paper: str) -> list[str]:
    """Tell what of the room is not as it was, and which tests are not to be trusted any more."""
    room = open_room(rig)
    lines = safe_since(then.safe, room, today=today()) if then else []
    return lines + old_tests(room, paper, today=today())


def keep_room(book: Book, rig: Rig, record_ids: Iterable[str]) -> None:
    """Put the room down beside prints that were made in it today. Raises BadInput, BookFault."""
    room, day = open_room(rig), today()
    safe = overview(room, {}, at=Place.EASEL, today=day).safe
    old = tuple(old_tests(room, "", today=day))
    lay_room(book, record_ids, RoomThen(day.isoformat(), safe, old))
