"""From a path to a sound book: what is made, what is refused, what is survived."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import event

from controller.book.book import Book
from controller.book.faults import BookFault
from controller.book.opening import set_aside
from controller.events import SheetBegun
from tests.controller.book.histories import begun, history, now


def loaded_by(code: str, *args: str) -> set[str]:
    """Run code in a fresh interpreter and give the top-level modules it loaded."""
    code += "\nimport sys; print(*{name.partition('.')[0] for name in sys.modules})"
    run = subprocess.run(
        [sys.executable, "-c", code, *args], check=True, capture_output=True, text=True
    )
    return set(run.stdout.split())


def test_a_new_book_is_made_with_its_folder(tmp_path: Path):
    """Neither folder nor file need be there; nothing is noticed."""
    path = tmp_path / "a" / "b" / "book.sqlite"
    with Book.open(str(path), now=now) as book:
        book.write(begun("r1"))
        assert book.notices == []
        assert book.path == path
    with Book.open(f"sqlite:///{path}", now=now) as book:
        assert [record.record_id for record in book.records()] == ["r1"]


def test_nothing_heavy_is_loaded_before_it_is_needed(path: Path):
    """Entries and sentences need no SQLAlchemy; a book at head needs no Alembic, nor an ORM."""
    light = loaded_by("import controller.book.entries, controller.book.interrupted")
    assert not light & {"sqlalchemy", "alembic"}
    opened = loaded_by(
        "import sys; from datetime import *; from controller.book.book import Book\n"
        "Book.open(sys.argv[1], now=lambda: datetime.now(UTC)).close()\n"
        "assert 'sqlalchemy.orm' not in sys.modules",
        str(path),
    )
    assert "sqlalchemy" in opened
    assert not opened & {"alembic", "mako", "pydantic", "numpy"}


def test_every_connection_is_durable_and_strict(book: Book):
    """WAL, full synchronisation, foreign keys and patience hold on each connection."""
    with book._read() as one, book._read() as two:
        for db in (one, two):
            names = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
            found = [db.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names]
            assert found == ["wal", 2, 1, 5000]


@pytest.mark.parametrize(
    "place",
    [
        "{file}/book.sqlite",
        "/proc/nowhere/book.sqlite",
        "{folder}",
        "{folder}/" + "long" * 100 + "/book.sqlite",
        "{folder}/\0/book.sqlite",
    ],
)
def test_a_place_that_cannot_hold_a_book_is_refused(tmp_path: Path, place: str):
    """A folder that cannot be made, or a folder in the place of the file, is one sentence."""
    (tmp_path / "file").write_text("x")
    place = place.format(file=tmp_path / "file", folder=tmp_path)
    with pytest.raises(BookFault, match=r"right would be") as caught:
        Book.open(place, now=now)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("url", ["pear://x/y", "://", "nosuch+driver://x"])
def test_a_url_that_leads_nowhere_is_refused(url: str):
    """A database that is not known is one sentence that says what would be right."""
    with pytest.raises(BookFault, match="right would be"):
        Book.open(url, now=now)


def test_a_book_that_cannot_be_written_to_says_so_when_opened(path: Path):
    """Not only at the first exposure. (A database opened read-only stands for a locked card.)"""
    with pytest.raises(BookFault, match="cannot be written to") as caught:
        Book.open(f"sqlite:///file:{path}?mode=ro&uri=true", now=now)
    assert "right would be" in str(caught.value)


@pytest.mark.parametrize("kind", ["header", "page", "nonsense"])
def test_a_damaged_book_is_kept_and_a_new_one_begun(path: Path, kind: str):
    """The old file stays as it is under another name; the new one works, and it is said."""
    with Book.open(path, now=now) as book:
        for number in range(40):
            book.write(begun(f"r{number}"))
    if kind == "nonsense":
        path.write_bytes(b"this is no database at all" * 500)
    else:
        with path.open("r+b") as file:
            file.seek(0 if kind == "header" else 4096)
            file.write(b"\xff" * 512)
    damaged = path.read_bytes()
    with pytest.raises(BookFault, match="damaged"):
        Book.open(path, now=now, check=kind == "never")
    with Book.open(path, now=now) as book:
        (notice,) = book.notices
        assert "book.damaged-2024-03-01.sqlite" in notice
        book.write(begun("new"))
        assert [record.record_id for record in book.records()] == ["new"]
    assert path.with_name("book.damaged-2024-03-01.sqlite").read_bytes() == damaged
    path.write_bytes(damaged)
    with Book.open(path, now=now) as book:
        assert "book.damaged-2024-03-01-2.sqlite" in book.notices[0]


def test_a_damaged_book_takes_its_log_along(tmp_path: Path):
    """A log that was left behind would be taken for that of the new book."""
    for tail in ("", "-wal", "-shm"):
        (tmp_path / f"book.sqlite{tail}").write_text(tail)
    kept = set_aside(tmp_path / "book.sqlite", now)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {
        kept.name + tail: tail for tail in ("", "-wal", "-shm")
    }


def test_a_database_of_something_else_is_left_alone(tmp_path: Path):
    """A file that is sound and no book is refused, not filled with tables."""
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE other (x)")
    with pytest.raises(BookFault, match="something else"):
        Book.open(path, now=now)
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT count(*) FROM sqlite_master").fetchone() == (1,)


def test_a_full_disk_is_one_sentence_and_the_book_goes_on_afterwards(book: Book):
    """Where nothing can be added, the write fails whole; with room again it succeeds."""
    with book._read() as db:
        pages = db.exec_driver_sql("PRAGMA page_count").scalar()
        db.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(BookFault, match="disk is full"):  # noqa: PT012 (some pages may be left)
        for number in range(100):
            book.write(begun(f"r{number} " + "x" * 3000))
    held = len(book.records(limit=200))
    with book._read() as db:
        db.exec_driver_sql("PRAGMA max_page_count = 100000")
    book.write(begun("after"))
    assert len(book.records(limit=200)) == held + 1


def test_a_locked_book_is_one_sentence_and_can_still_be_read(path: Path):
    """Another program that writes is waited for only so long."""
    with (
        Book.open(path, now=now, busy_timeout_s=0.05) as book,
        closing(sqlite3.connect(path, isolation_level=None)) as other,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookFault, match="locked by another program"):
            book.write(begun("r1"))
        assert book.records() == []
        other.execute("ROLLBACK")
        book.write(begun("r1"))


def test_a_clock_without_a_zone_is_a_mistake(path: Path):
    """Wall time is aware; a naive one would be taken for UTC."""
    with (
        Book.open(path, now=lambda: datetime(2024, 1, 1)) as book,
        pytest.raises(ValueError, match="aware"),
    ):
        book.write(begun("r1"))


def test_programs_that_start_together_make_one_book(tmp_path: Path):
    """Of several that find no book, one makes it and the others wait."""
    path = tmp_path / "book.sqlite"
    faults: list[Exception] = []

    def start(number: int) -> None:
        try:
            with Book.open(path, now=lambda: datetime.now(UTC)) as book:
                book.write(begun(f"r{number}"))
        except Exception as fault:
            faults.append(fault)

    threads = [threading.Thread(target=start, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    with Book.open(path, now=now) as book:
        assert len(book.records()) == 4


# --- copies ---------------------------------------------------------------------------------


def test_a_copy_is_whole_and_taken_while_the_book_is_in_use(book: Book, tmp_path: Path):
    """A copy holds all that was written before, and is a book of its own."""
    for one in history(Random(1), "r1"):
        book.write(one)
    (tmp_path / "copies").mkdir()
    (tmp_path / "copies" / "copy.sqlite.part").write_text("left by a copy that was cut off")
    to = book.backup(tmp_path / "copies" / "copy.sqlite")
    book.write(begun("later"))
    with Book.open(to, now=now) as copy:
        assert copy.record("r1") == book.record("r1")
        assert copy.record("later") is None
    with pytest.raises(BookFault, match="there already"):
        book.backup(to)
    book.backup(to, replace=True)
    with Book.open(to, now=now) as copy:
        assert copy.record("later") is not None
    assert sorted(p.name for p in to.parent.iterdir()) == ["copy.sqlite"]


def test_a_copy_that_cannot_be_made_is_refused(book: Book, tmp_path: Path):
    """The sentence names the place."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(BookFault, match="file"):
        book.backup(tmp_path / "file" / "copy.sqlite")


def test_each_event_is_a_transaction_of_its_own(book: Book):
    """What was written is committed when ``write`` returns."""
    commits: list[object] = []

    def committed(connection: object) -> None:
        commits.append(connection)

    event.listen(book._writer, "commit", committed)
    book.write(begun("r1"))
    assert len(commits) == 1
    book.write(SheetBegun("r1", "K7", 1, 1))
    assert len(commits) == 2
