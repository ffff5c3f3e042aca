"""Copies of the book, one a day, and which of them stay."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from controller.book.book import Book
from controller.book.copies import BEHIND, DAYS, MONTHS, copies, daily_copy, kept
from controller.book.faults import BookFault
from controller.book.prints import print_called
from tests.controller.book.histories import now
from tests.controller.book.test_prints import lay_print

TODAY = date(2024, 3, 1)


def test_there_is_one_copy_a_day_that_opens_with_all_that_was_there(book: Book) -> None:
    """The second of a day is not made, and the first has the book as it was."""
    lay_print(book, "one", "K1")
    made = daily_copy(book, TODAY)
    assert made is not None
    assert daily_copy(book, TODAY) is None
    lay_print(book, "two", "K2")
    with Book.open(made, now=now) as copy:
        assert [record.record_id for record in copy.records()] == ["one"]


def test_a_year_of_copies_leaves_a_week_and_the_ends_of_months(book: Book, path: Path) -> None:
    """Made day by day, what stays is what would stay of all of them."""
    folder = path.parent / "copies"
    folder.mkdir()
    days = [TODAY - timedelta(days=n) for n in range(1, 400)]
    for day in days:
        (folder / f"book-{day}.sqlite").touch()
    (folder / "letter.txt").write_text("mine")
    assert daily_copy(book, TODAY) is not None
    left = {copy.stem.removeprefix("book-") for copy in copies(path)}
    assert left == {day.isoformat() for day in kept([TODAY, *days])}
    assert {(TODAY - timedelta(days=n)).isoformat() for n in range(DAYS)} <= left
    assert {"2024-01-31", "2023-12-31", "2023-04-30"} <= left
    assert len(left) <= DAYS + MONTHS
    assert (folder / "letter.txt").read_text() == "mine"


def test_a_clock_that_is_behind_costs_no_newer_copy(book: Book, path: Path) -> None:
    """It has one copy of its own, made anew."""
    daily_copy(book, TODAY)
    for _ in range(2):
        made = daily_copy(book, date(1970, 1, 1))
        assert made is not None
        assert made.stem == f"book-{BEHIND}"
    assert [copy.stem for copy in copies(path)] == ["book-2024-03-01"]


def test_a_copy_that_cannot_be_made_is_one_sentence(book: Book, path: Path) -> None:
    """And the book is as usable as before."""
    (path.parent / "copies").write_text("in the way")
    with pytest.raises(BookFault, match="copies"):
        daily_copy(book, TODAY)
    lay_print(book, "one", "K1")
    assert len(book.records()) == 1


def test_a_damaged_book_names_its_newest_copy(book: Book, path: Path) -> None:
    """Whoever is told of the damage is told where the copy is, and the copy has the prints."""
    lay_print(book, "one", "K1")
    daily_copy(book, TODAY)
    book.close()
    path.write_bytes(b"nothing of a book" * 400)
    for tail in ("-wal", "-shm"):
        path.with_name(path.name + tail).unlink(missing_ok=True)
    with Book.open(path, now=now) as after:
        assert f"book import '{copies(path)[0]}'` brings its newest copy in" in after.notices[0]
        lay_print(after, "two", "K2")
        assert print_called(after, "K2").title == "harbour"
    with Book.open(copies(path)[0], now=now) as copy:
        assert print_called(copy, "K1").title == "harbour"
