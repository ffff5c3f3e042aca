"""The wet side of a whole print: its baths as they were, its steps, and what has changed since."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from sqlalchemy import insert

from controller.book.book import Book
from controller.book.tables_wet import wet_step
from controller.book.whole import whole_print
from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base
from controller.chemistry.shelf import (
    count_sheet,
    discarded,
    made,
    rotate,
    set_of_two,
    standing,
)
from controller.chemistry.since import baths_since
from tests.controller.book.histories import now
from tests.controller.book.test_chemistry import mixed, product
from tests.controller.book.test_prints import lay_print


def count(book: Book, mark: str, hours: float, tray: str = "developer") -> None:
    """Count a sheet through a tray so many hours from now."""
    count_sheet(
        book,
        tray=tray,
        area_m2=EIGHT_BY_TEN_M2,
        base=Base.FIBRE,
        mark=mark,
        at=now() + timedelta(hours=hours),
    )


def through(book: Book, mark: str, hours: float) -> None:
    """Count a sheet through both fixers so many hours from now."""
    for tray in ("first fixer", "second fixer"):
        count(book, mark, hours, tray)


def test_a_print_has_the_bath_that_it_was_counted_in(book: Book) -> None:
    """With its age and the sheets before it; a mark that came again weeks later is another's."""
    made(book, mixed("paper developer", "developer"))
    lay_print(book, "one", "K1")
    count(book, "K9", 0.5)
    count(book, "K1", 1)
    count(book, "K1", 24 * 20)
    (bath,) = whole_print(book, "K1").baths
    assert (bath.tray, bath.sheets_before, bath.age_h) == ("developer", 1, 1.0)


def test_a_second_bath_that_became_the_first_is_named_as_it_stood(book: Book) -> None:
    """A later print went through the first fixer; only what that bath had as the first counts."""
    of = product("fixer in two baths")
    made(book, *set_of_two(of, 1000, now()))
    lay_print(book, "one", "K1")
    lay_print(book, "two", "K2")
    for mark in ("K8", "K1"):
        through(book, mark, 1)
    rotate(book, of, 1000, now() + timedelta(hours=2), anyway=True)
    for mark in ("K9", "K2"):
        through(book, mark, 3)
    told = {
        mark: [(bath.tray, bath.sheets_before) for bath in whole_print(book, mark).baths]
        for mark in ("K1", "K2")
    }
    assert told == {
        "K1": [("first fixer", 1), ("second fixer", 1)],
        "K2": [("first fixer", 1), ("second fixer", 1)],
    }


def test_what_has_become_of_the_baths_is_told(book: Book) -> None:
    """Nothing within the evening; older on another day; gone when it was poured out."""
    made(book, mixed("paper developer", "developer"))
    lay_print(book, "one", "K1")
    count(book, "K1", 1)
    then = whole_print(book, "K1").baths
    assert baths_since(then, standing(book, now() + timedelta(hours=2))) == []
    told = baths_since(then, standing(book, now() + timedelta(days=20)))
    assert told[0] == "changed since: developer was 1 h old, is 20 days old"
    assert "used up" in told[1]
    discarded(book, "developer", now() + timedelta(days=21))
    told = baths_since(then, standing(book, now() + timedelta(days=22)))
    assert told == ["changed since: no bath stands in developer, was paper developer"]


def test_a_bath_that_was_mixed_anew_is_told(book: Book) -> None:
    """A young developer is not the old one, though its name is the same."""
    made(book, mixed("paper developer", "developer"))
    lay_print(book, "one", "K1")
    count(book, "K1", 48)
    then = whole_print(book, "K1").baths
    anew = replace(mixed("paper developer", "developer"), made_at=now() + timedelta(hours=49))
    made(book, anew, over=True)
    assert baths_since(then, standing(book, now() + timedelta(hours=50))) == [
        "changed since: developer was 2 days old, is 1 h old, mixed anew"
    ]


def test_steps_are_read_where_the_trays_were_timed(book: Book) -> None:
    """In their order, with the tray where one is named."""
    lay_print(book, "one", "K1")
    assert whole_print(book, "K1").wet_steps == ()
    row = {"mark": "K1", "record_id": "one", "process": "fibre", "planned_s": 120.0}
    row |= {"tray": "", "late_s": 0.0, "note": "", "at": now()}
    with book.changing() as db:
        for name, actual_s, warm in (("develop", 121.5, 19.5), ("stop", 30.0, None)):
            step = {"name": name, "actual_s": actual_s, "temperature_c": warm}
            db.execute(insert(wet_step).values(**row, **step))
    steps = whole_print(book, "K1").wet_steps
    assert [(s.bath, s.time_s, s.temperature_c) for s in steps] == [
        ("develop", 121.5, 19.5),
        ("stop", 30.0, None),
    ]
