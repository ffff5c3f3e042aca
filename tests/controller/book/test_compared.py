"""Two prints of the book beside each other, with all that was put down of them."""

from __future__ import annotations

import pytest
from sqlalchemy import insert

from controller.book.book import Book
from controller.book.print_entries import RoomThen
from controller.book.prints import lay_room, tell_of
from controller.book.tables_wet import wet_step
from controller.book_told.compared import compared
from controller.errors import BadInput
from tests.controller.book.histories import now
from tests.controller.book.test_prints import lay_print


def timed(book: Book, mark: str, record_id: str, actual_s: float) -> None:
    """Put down how long a print was really in the developer."""
    row = {"mark": mark, "record_id": record_id, "process": "fibre", "planned_s": 120.0}
    row |= {"tray": "", "late_s": 0.0, "note": "", "at": now(), "temperature_c": None}
    with book.changing() as db:
        db.execute(insert(wet_step).values(**row, name="develop", actual_s=actual_s))


def test_what_was_put_down_of_two_prints_is_compared(book: Book) -> None:
    """Light in stops; trays, room and judgement in words; and both ways round."""
    lay_print(book, "one", "K1")
    lay_print(book, "two", "K2", base_s=20)
    timed(book, "K1", "one", 120.2)
    timed(book, "K2", "two", 180.0)
    lay_room(book, ["one"], RoomThen("2024-03-01", {"amber": "8 min"}))
    lay_room(book, ["two"], RoomThen("2024-03-02", {"amber": "2 min"}))
    tell_of(book, "two", rating=4)
    lines = compared(book, "K1", "K2").lines
    assert "soft: 10.0 s -> 20.0 s (+1 stop)" in lines
    assert "time in develop: 2:00.2 -> 3:00" in lines
    assert "safe time under amber: 8 min -> 2 min" in lines
    assert "rated: none -> 4" in lines
    back = compared(book, "K2", "K1").lines
    assert "soft: 20.0 s -> 10.0 s (-1 stop)" in back
    assert len(back) == len(lines)


def test_prints_that_are_alike_have_nothing_to_tell(book: Book) -> None:
    """A second in the tray is none; the same print twice is refused."""
    lay_print(book, "one", "K1")
    lay_print(book, "two", "K2")
    timed(book, "K1", "one", 120.2)
    timed(book, "K2", "two", 120.9)
    assert compared(book, "K1", "K2").lines == ["no difference that the book knows of"]
    with pytest.raises(BadInput, match="both are the same print"):
        compared(book, "K1", "K1")
