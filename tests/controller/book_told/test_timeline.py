"""The book as evenings."""

from __future__ import annotations

from datetime import datetime, timedelta

from controller.book.entries import Record
from controller.book_told.timeline import evenings
from controller.events import Fate


def record(at: datetime, kind: str, fate: Fate | None, *marks: str) -> Record:
    return Record(at.isoformat(), kind, kind, "{}", "{}", {}, "", at, at, fate, "", marks)


def test_what_was_made_after_midnight_is_of_the_evening_before() -> None:
    """Marks stand in the order of the clock, prints are those that came out."""
    evening = datetime(2026, 3, 1, 20, 0).astimezone()
    late = datetime(2026, 3, 2, 0, 40).astimezone()
    next_day = datetime(2026, 3, 2, 19, 0).astimezone()
    found = evenings(
        [
            record(next_day, "strip", Fate.DONE, "K6"),
            record(late, "print", Fate.SPOILED, "K5"),
            record(evening + timedelta(hours=1), "print", Fate.DONE, "K3", "K4"),
            record(evening, "strip", Fate.DONE, "K2"),
        ]
    )
    assert [one.day.isoformat() for one in found] == ["2026-03-02", "2026-03-01"]
    assert found[0].line == "1 sheet: K6"
    assert found[1].line == "4 sheets, 2 prints, 1 spoiled: K2 K3 K4 K5"
    assert found[1].titles == ("strip", "print")


def test_a_spoiled_sheet_among_several_is_no_print() -> None:
    """Where the book knows how many came out, the others are spoiled."""
    edition = record(datetime(2026, 3, 1, 20, 0).astimezone(), "print", Fate.DONE, "K3", "K4", "K5")
    (found,) = evenings([edition], {edition.record_id: 2})
    assert found.line == "3 sheets, 2 prints, 1 spoiled: K3 K4 K5"


def test_an_empty_book_has_no_evening() -> None:
    """And none that nothing happened on."""
    assert evenings([]) == []
