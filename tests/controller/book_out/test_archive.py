"""A whole book goes out and comes in: nothing lost, nothing doubled, nothing damaged let in."""

from __future__ import annotations

import io
import json
import os
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.book.book import Book
from controller.book.copies import daily_copy
from controller.book.entries import Judged
from controller.book.finding import Looked, find
from controller.book.prints import print_called
from controller.book_out.archive import (
    import_archive,
    import_copy,
    is_copy,
    read_archive,
    read_copy,
    write_archive,
)
from controller.book_out.merging import OPEN_ELSEWHERE, merge
from controller.book_out.rows import read_all, read_back, tables
from controller.errors import BadInput
from controller.events import Fate
from tests.controller.book.histories import history, now
from tests.controller.book.test_prints import lay_print

TRIALS = 60 if os.environ.get("DRYSIDE_LONG") else 6


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("begun") / "book.sqlite"
    Book.open(path, now=now).close()
    return path.read_bytes()


@pytest.fixture(scope="module")
def new_book(begun: bytes, tmp_path_factory: pytest.TempPathFactory) -> Callable[[], Book]:
    def made() -> Book:
        path = tmp_path_factory.mktemp("book") / "book.sqlite"
        path.write_bytes(begun)
        return Book.open(path, now=now, check=False)

    return made


def filled(book: Book, rng: Random, name: str) -> None:
    """Write runs, some of them interrupted, and things that stand beside records."""
    for n in range(rng.randint(1, 4)):
        events = history(rng, f"{name} {n}")
        if rng.random() < 0.3:
            events = events[: rng.randint(1, len(events))]
        for event in events:
            book.write(event)
        if rng.random() < 0.5:
            book.add_pick(
                "C",
                dose_s=rng.uniform(1, 60),
                stops=0.5,
                judged=Judged.WET,
                record_id=f"{name} {n}",
            )
    for _ in range(rng.randint(0, 3)):
        book.cut_sheet(rng.choice([4, 5]))  # the same movement twice at one instant is two
        book.add_dry_down("Pearl", rng.choice([7.0, 8.0]), "12", how="a strip")
        book.add_calibration(
            "lamp", cold_lag_s=rng.random(), warm_gain_s2=0.1, uncertainty_s=None, how="a strip"
        )


def all_of(book: Book) -> dict[str, Any]:
    with book.looking() as db:
        return read_all(db)


def without_ids(rows: dict[str, Any]) -> dict[str, list[str]]:
    kept = {
        name: [
            {k: v for k, v in row.items() if not k.endswith("id") or k == "record_id"} for row in of
        ]
        for name, of in rows.items()
    }
    return {
        name: sorted(json.dumps(row, sort_keys=True) for row in of) for name, of in kept.items()
    }


def closed(rows: dict[str, Any]) -> dict[str, Any]:
    """What an interrupted run becomes in another unit's book."""
    rows = json.loads(json.dumps(rows))
    still = {row["record_id"] for row in rows["run"] if row["fate"] is None}
    for row in rows["run"]:
        row["fate"] = row["fate"] or "abandoned"
    begun_at = {}
    for row in rows["record"]:
        begun_at[row["record_id"]] = row["begun_at"]
        if row["record_id"] in still and row["fate"] is None:
            row |= {"fate": "abandoned", "reason": OPEN_ELSEWHERE, "ended_at": row["begun_at"]}
    for row in rows["sheet"]:
        if row["record_id"] in still and row["ended_at"] is None:
            row |= {"fate": "abandoned", "ended_at": row["begun_at"]}
    return rows


@settings(max_examples=TRIALS, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_nothing_is_lost_and_nothing_comes_in_twice(
    new_book: Callable[[], Book], tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    """Any book, through a file, into an empty one: the same rows; a second time: no row more."""
    folder = tmp_path_factory.mktemp("out")
    with new_book() as book, new_book() as other:
        filled(book, Random(seed), "a")
        write_archive(book, [], folder / "a.zip", now())
        before = all_of(book)
        import_archive(other, folder / "a.zip", folder / "pictures")
        after = all_of(other)
        assert without_ids(after) == without_ids(closed(before))
        _, merged, _ = import_archive(other, folder / "a.zip", folder / "pictures")
        assert not merged.added
        assert all_of(other) == after
        for record in book.records():
            mine, theirs = book.record(record.record_id), other.record(record.record_id)
            assert mine is not None
            assert theirs is not None
            assert theirs.exposures == mine.exposures
            assert theirs.remarks == mine.remarks
            assert theirs.picks == mine.picks


@settings(max_examples=TRIALS, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_what_is_here_stays_and_stays_the_newest(new_book: Callable[[], Book], seed: int) -> None:
    """Two books that know nothing of each other: no row of this one changes, and its own numbers
    of lamp and paper are still the newest.
    """
    rng = Random(seed)
    with new_book() as book, new_book() as other:
        filled(book, rng, "a")
        filled(other, rng, "b")
        book.add_calibration("lamp", cold_lag_s=9, warm_gain_s2=0, uncertainty_s=None, how="mine")
        mine = all_of(book)
        theirs = {n: read_back(n, rows, "test") for n, rows in all_of(other).items()}
        with book.changing() as db:
            merge(db, theirs, "test")
        both = all_of(book)
        for name, rows in mine.items():
            if name != "counter":
                assert [row for row in both[name] if row in rows] == rows
        assert len(both["record"]) == len(mine["record"]) + len(theirs["record"])
        assert len(both["pulse"]) == len(mine["pulse"]) + len(theirs["pulse"])
        newest = book.calibration("lamp")
        assert newest is not None
        assert newest.how == "mine"
        # an interrupted run of another unit is no sheet that lies here
        assert all(one.record.record_id.startswith("a") for one in book.interrupted())


def test_what_was_not_known_is_filled_in(new_book: Callable[[], Book], tmp_path: Path) -> None:
    """A record that was at work in the first archive and done in the second is done here."""
    events = history(Random(7), "r")
    with new_book() as book, new_book() as other:
        for event in events[:-1]:
            book.write(event)
        write_archive(book, [], tmp_path / "1.zip", now())
        rows = all_of(book)
        with other.changing() as db:
            merge(db, {n: read_back(n, r, "test") for n, r in rows.items()}, "test")
        book.write(events[-1])
        write_archive(book, [], tmp_path / "2.zip", now())
        _, merged, _ = import_archive(other, tmp_path / "2.zip", tmp_path / "pictures")
        assert not merged.added["record"]
        assert merged.differing["record"] <= 1  # closed as abandoned at the first, and kept so
        page = other.record("r")
        assert page is not None
        assert page.record.fate is not None


def test_pictures_come_along_and_none_is_written_over(
    new_book: Callable[[], Book], tmp_path: Path
) -> None:
    """A picture of the same name that is there already stays as it is."""
    (tmp_path / "from").mkdir()
    (tmp_path / "to").mkdir()
    for name in ("K1.png", "K2.png"):
        (tmp_path / "from" / name).write_bytes(b"theirs " + name.encode())
    (tmp_path / "to" / "K2.png").write_bytes(b"mine")
    with new_book() as book, new_book() as other:
        filled(book, Random(1), "a")
        pictures = (tmp_path / "from").iterdir()
        write_archive(book, pictures, tmp_path / "a.zip", now())
        _, _, copied = import_archive(other, tmp_path / "a.zip", tmp_path / "to")
    assert copied == 1
    assert (tmp_path / "to" / "K1.png").read_bytes() == b"theirs K1.png"
    assert (tmp_path / "to" / "K2.png").read_bytes() == b"mine"


@pytest.fixture
def whole(new_book: Callable[[], Book], tmp_path: Path) -> Path:
    (tmp_path / "K1.png").write_bytes(b"a picture " * 100)
    with new_book() as book:
        filled(book, Random(3), "a")
        write_archive(book, [tmp_path / "K1.png"], tmp_path / "whole.zip", now())
    return tmp_path / "whole.zip"


def rewritten(path: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    bad = path.with_name("bad.zip")
    with zipfile.ZipFile(bad, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return bad


def renamed(files: dict[str, bytes], name: str) -> None:
    """Give the picture a name of mischief, in the manifest too."""
    manifest = json.loads(files["manifest.json"])
    for part in manifest["files"]:
        if part["name"] == "pictures/K1.png":
            part["name"] = name
    files[name] = files.pop("pictures/K1.png")
    files["manifest.json"] = json.dumps(manifest).encode()


DAMAGES: dict[str, tuple[Callable[[dict[str, bytes]], Any], str]] = {
    "a table missing": (lambda f: f.pop("tables/sheet.json"), "tables/sheet.json is missing"),
    "one more": (lambda f: f.update({"more": b""}), "more is in no manifest"),
    "no manifest": (lambda f: f.pop("manifest.json"), "has no manifest"),
    "a changed table": (
        lambda f: f.update({"tables/run.json": f["tables/run.json"].replace(b"first", b"FIRST")}),
        "checksum",
    ),
    "a longer picture": (
        lambda f: f.update({"pictures/K1.png": f["pictures/K1.png"] + b"!"}),
        "not as long",
    ),
    "a manifest of nothing": (lambda f: f.update({"manifest.json": b"{}"}), "manifest"),
    "a later format": (
        lambda f: f.update(
            {"manifest.json": f["manifest.json"].replace(b'"version": 1', b'"version": 2')}
        ),
        "version 2",
    ),
    "out of the folder": (lambda f: renamed(f, "pictures/../../K1.png"), "no name of a file"),
    "an absolute name": (lambda f: renamed(f, "/pictures/K1.png"), "no name of a file"),
    "a name of another system": (lambda f: renamed(f, "pictures/..\\K1.png"), "no name of a file"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_archive_is_refused_in_a_sentence_and_changes_nothing(
    whole: Path, new_book: Callable[[], Book], damage: str
) -> None:
    """What is wrong is named, and neither the book nor the folder of pictures is touched."""
    change, words = DAMAGES[damage]
    bad = rewritten(whole, change)
    with new_book() as book:
        before = all_of(book)
        with pytest.raises(BadInput, match=words) as told:
            import_archive(book, bad, whole.parent / "pictures")
        assert all_of(book) == before
    assert len(str(told.value).splitlines()) == 1
    assert not (whole.parent / "pictures").exists()


def test_any_flipped_or_missing_byte_is_found(whole: Path) -> None:
    """Wherever a file is cut off or a byte of it differs: refused, or it made no difference."""
    data = whole.read_bytes()
    good = read_archive(whole)
    rng, told = Random(5), list[str]()
    bad = whole.with_name("bad.zip")
    for _ in range(10 * TRIALS):
        at = rng.randrange(len(data))
        cut = (
            data[:at]
            if rng.random() < 0.3
            else data[:at] + bytes([data[at] ^ 1 << rng.randrange(8)]) + data[at + 1 :]
        )
        bad.write_bytes(cut)
        try:
            found = read_archive(bad)
        except BadInput as error:
            told.append(str(error))
        else:
            assert found == good  # a date of the zip itself, which says nothing
    assert told
    assert all(len(sentence.splitlines()) == 1 for sentence in told)


def test_rows_that_fit_no_table_are_named() -> None:
    """An unknown table, an unknown column, a wrong type, nothing where something must be."""
    row = {"record_id": "r", "mark": "K1", "begun_at": "2026-03-01T20:15:00+00:00", "id": 1}
    assert read_back("sheet", [row], "here")[0]["fate"] is None
    for name, rows, words in (
        ("nothing", [], "no table 'nothing'"),
        ("sheet", {}, "no list"),
        ("sheet", [3], "sheet 1: this is no row"),
        ("sheet", [row | {"colour": 1}], "no column 'colour'"),
        ("sheet", [row, row | {"width_mm": "a"}], "sheet 2, width_mm"),
        ("sheet", [row | {"begun_at": "2026-03-01"}], "no time"),
        ("sheet", [row | {"id": True}], "whole number"),
        ("sheet", [{"id": 1}], "record_id is missing"),
    ):
        with pytest.raises(BadInput, match=words):
            read_back(name, rows, "here")


def test_an_archive_is_not_written_over_and_half_of_one_never_stands_there(
    new_book: Callable[[], Book], tmp_path: Path
) -> None:
    """Asked for, it is; where it cannot be written, nothing is left behind."""
    with new_book() as book:
        write_archive(book, [], tmp_path / "a.zip", now())
        with pytest.raises(BadInput, match="--replace"):
            write_archive(book, [], tmp_path / "a.zip", now())
        write_archive(book, [], tmp_path / "a.zip", now(), replace=True)
        with pytest.raises(BadInput, match="cannot be written"):
            write_archive(book, [], tmp_path / "no" / "a.zip", now())
        with pytest.raises(BadInput, match="cannot be written"):
            write_archive(book, [tmp_path / "gone.png"], tmp_path / "b.zip", now())
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.zip"]


def test_every_table_of_the_book_goes_out(new_book: Callable[[], Book]) -> None:
    """Also tables that were added to the book later: none can be forgotten."""
    with new_book() as book:
        assert set(all_of(book)) == {table.name for table in tables()}


def test_the_archive_can_be_read_without_dryside(whole: Path) -> None:
    """JSON and pictures in a zip, with a text that says what they are."""
    with zipfile.ZipFile(io.BytesIO(whole.read_bytes())) as archive:
        assert b"whole book" in archive.read("README.txt")
        records = json.loads(archive.read("tables/record.json"))
    assert records[0]["record_id"] == "a 0"
    assert Fate(records[0]["fate"] or "done")


def test_a_daily_copy_comes_back_into_the_book_that_was_begun_anew(tmp_path: Path) -> None:
    """All its rows, and it stays as it is; one with noise in it is refused, and nothing written."""
    with Book.open(tmp_path / "book.sqlite", now=now) as book:
        lay_print(book, "one", "K1")
        lay_print(book, "more", "K2")
        copy = daily_copy(book, date(2024, 3, 1))
        with book.looking() as db:
            before = {name: read_back(name, rows, "it") for name, rows in read_all(db).items()}
    assert copy is not None
    as_it_was = copy.read_bytes()
    with Book.open(tmp_path / "new.sqlite", now=now) as book:
        lay_print(book, "two", "K1")
        assert is_copy(copy)
        import_copy(book, copy, now)
        assert {one.record_id for one in book.records()} == {"one", "more", "two"}
        assert print_called(book, "one").title == "harbour"
        [older] = [one for one in find(book, Looked()) if one.record_id == "one"]
        assert older.print_id < 0
        assert print_called(book, f"#{older.print_id}") == older
        assert not import_copy(book, copy, now).added
    assert copy.read_bytes() == as_it_was
    assert read_copy(copy, now) == before
    middle = len(as_it_was) // 2
    copy.write_bytes(as_it_was[:middle] + b"noise" * 4000 + as_it_was[middle + 20000 :])
    with Book.open(tmp_path / "third.sqlite", now=now) as book:
        with pytest.raises(BadInput, match="damaged"):
            import_copy(book, copy, now)
        assert book.records() == []
