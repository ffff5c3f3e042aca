"""The engine's book: today's copy is made at its opening, beside the writing."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from controller.book.book import Book
from controller.book.copies import copies
from controller.events import RunBegun
from drivers.book_writer import BookWriter
from tests.drivers.kept import wait_for


def test_an_opened_book_is_copied_once(tmp_path: Path) -> None:
    """The copy is a whole book, and a second opening on that day makes no other."""
    path = tmp_path / "book.sqlite"
    for number in range(2):
        writer = BookWriter(path, tmp_path, lambda: None)
        writer.start()
        writer.write(RunBegun(f"run {number}", "strip", "", "{}", "{}", {}, ""))
        wait_for(lambda: len(copies(path)) == 1)
        writer.close()
        assert writer.notices() == []
    assert not list(path.parent.glob("copies/*.part"))
    with Book.open(copies(path)[0], now=lambda: datetime.now(UTC)) as copy:
        assert len(copy.records()) <= 1


def test_a_copy_that_cannot_be_made_is_told_and_the_book_goes_on(tmp_path: Path) -> None:
    """What is written is kept all the same."""
    (tmp_path / "copies").write_text("in the way")
    path = tmp_path / "book.sqlite"
    writer = BookWriter(path, tmp_path, lambda: None)
    writer.start()
    told: list[str] = []
    wait_for(lambda: bool(told.extend(writer.notices()) or told))
    assert told[0].startswith("no copy of the book was made")
    writer.write(RunBegun("run", "strip", "", "{}", "{}", {}, ""))
    writer.close()
    with Book.open(path, now=lambda: datetime.now(UTC)) as book:
        assert len(book.records()) == 1
