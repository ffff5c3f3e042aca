"""Negatives, prints and editions: what becomes a print, what is kept of it, what is refused."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import msgspec
import pytest

from controller.book.book import Book
from controller.book.editions import begin_edition, edition, prints_for, sign
from controller.book.entries import Judged
from controller.book.print_entries import Negative, Signed, number_asked, proofs_warning
from controller.book.prints import (
    add_picture,
    keep_negative,
    lay_beside,
    negative,
    negatives,
    print_called,
    tell_of,
    untag,
)
from controller.book.whole import whole_print
from controller.errors import BadInput
from controller.events import Fate, Intended, Made, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.plan import Go, Plan
from controller.score.file import from_tables, to_json
from tests.controller.book.histories import LAMP, now
from tests.controller.book.test_migrations import first_book

HARBOUR = {
    "title": "harbour",
    "negative": "24-17/3",
    "base_s": 10,
    "paper": {"name": "Warm Fibre", "batch": "A7"},
    "setup": {"lens": "80 mm", "aperture": "8", "head_height_mm": 410},
    "process": {"developer": "1+9"},
    "sketch": ["ss", "dd"],
    "regions": {"s": "Sky", "d": "door"},
    "passes": [{"label": "soft", "filter": "00"}],
    "burns": [{"regions": ["Sky"], "amount": "+4/3", "over": "soft"}],
    "dodges": [{"regions": ["door"], "amount": "5s", "within": "soft"}],
    "came_from": ["K3 C-D"],
}


def lay_print(
    book: Book,
    record_id: str,
    mark: str,
    fate: Fate = Fate.DONE,
    *,
    edition: str = "",
    **changed: object,
) -> None:
    """Write a print of one exposure as the runner does."""
    score = from_tables(HARBOUR | changed, "test")
    plan = Plan("print", score.title, (Go("soft"),)).to_json()
    begun = RunBegun(record_id, "print", score.title, to_json(score), plan, LAMP, "rig.toml")
    book.write(msgspec.structs.replace(begun, edition=edition))
    book.write(SheetBegun(record_id, mark, 254.0, 203.2))
    book.write(Intended(record_id, 1, mark, "soft", 10.0, 1, 1, resumed=False, filter="00"))
    book.write(Made(record_id, 1, (), 10.0, full=True))
    book.write(SheetEnded(record_id, mark, fate))
    book.write(RunEnded(record_id, fate))


def lay_strip(book: Book, record_id: str, mark: str) -> None:
    """Write a strip, and what was picked from it."""
    book.write(RunBegun(record_id, "strip", "strip", "{}", "{}", LAMP, "rig.toml"))
    book.write(SheetBegun(record_id, mark, 50.0, 254.0))
    book.write(RunEnded(record_id, Fate.DONE))
    book.add_pick("C-D", dose_s=10.0, stops=0.5, judged=Judged.WET, record_id=record_id)


def test_a_finished_sheet_is_a_print_and_a_spoiled_one_is_none(book: Book):
    """What the score says of it is there: negative, paper, batch, and what was picked before."""
    lay_strip(book, "strip", "K3")
    lay_print(book, "good", "K4")
    lay_print(book, "bad", "K5", Fate.SPOILED)
    found = print_called(book, "k4")
    assert (found.negative, found.paper, found.batch) == ("24-17/3", "Warm Fibre", "A7")
    with pytest.raises(BadInput, match="K5 is spoiled and no print"):
        print_called(book, "K5")
    with pytest.raises(BadInput, match="there is no print 'K9'"):
        print_called(book, "K9")
    whole = whole_print(book, "K4")
    assert whole.score is not None
    assert whole.score.title == "harbour"
    assert (whole.setup.lens, whole.setup.head_height_mm) == ("80 mm", 410)
    assert whole.process == (("developer", "1+9"),)
    assert [one.delivered_dose_s for one in whole.exposures] == [10.0]
    assert [(one.mark, one.picks[0].choice) for one in whole.evidence] == [("K3", "C-D")]


def test_a_print_whose_score_cannot_be_read_is_there_all_the_same(book: Book):
    """Nothing that was exposed disappears since its words are odd."""
    book.write(RunBegun("odd", "print", "an odd one", "{}", "{}", LAMP, "rig.toml"))
    book.write(SheetBegun("odd", "L1", 254.0, 203.2))
    book.write(RunEnded("odd", Fate.DONE))
    whole = whole_print(book, "L1")
    assert (whole.print.title, whole.score, whole.negative.name) == ("an odd one", None, "")


def test_a_pause_in_an_exposure_is_told(book: Book):
    """An exposure that went on under its label has the gap in it."""
    score = from_tables(HARBOUR, "test")
    plan = Plan("print", "p", (Go("soft"),)).to_json()
    book.write(RunBegun("cut", "print", "p", to_json(score), plan, LAMP, ""))
    book.write(SheetBegun("cut", "L2", 254.0, 203.2))
    for number, resumed in ((1, False), (2, True)):
        book.write(Intended("cut", number, "L2", "soft", 5.0, 1, number, resumed=resumed))
        book.write(Made("cut", number, (), 5.0, full=resumed))
    book.write(RunEnded("cut", Fate.DONE))
    assert [pause.label for pause in whole_print(book, "L2").pauses] == ["soft"]


def test_what_is_found_out_later_is_kept_and_nothing_else_changed(book: Book):
    """Rating, remark, dry note, where it went, a strip beside it, a picture."""
    lay_print(book, "good", "K4")
    lay_strip(book, "later", "K6")
    tell_of(book, "K4", rating=4, remark="the sky holds")
    found = tell_of(book, "K4", went="to the framer", dry_note="a third darker", temperature_c=20)
    assert (found.rating, found.remark, found.went) == (4, "the sky holds", "to the framer")
    lay_beside(book, "K4", "K6")
    lay_beside(book, "K4", "K6")
    add_picture(book, found.print_id, "k4.png", "scan")
    whole = whole_print(book, f"#{found.print_id}")
    assert [one.mark for one in whole.evidence] == ["K6"]
    assert [(one.file, one.note) for one in whole.pictures] == [("k4.png", "scan")]
    with pytest.raises(BadInput, match="right would be 1"):
        tell_of(book, "K4", rating=6)


def test_a_negative_is_one_whatever_the_case_and_its_tags_come_and_go(book: Book):
    """What is new of it is added, and what is not said stays."""
    keep_negative(book, Negative("24-17/3", film="ISO 400", sleeve="binder 2", tags=("Sea", "sky")))
    keep_negative(book, Negative(" 24-17/3 ", format="6x6", tags=("sea",)))
    found = negative(book, "24-17/3")
    assert found is not None
    assert (found.film, found.format, found.tags) == ("ISO 400", "6x6", ("sea", "sky"))
    untag(book, "24-17/3", "SEA")
    assert negatives(book, tag="sea") == []
    assert [one.name for one in negatives(book, tag="sky")] == ["24-17/3"]


def test_prints_begun_for_an_edition_are_its_own_before_any_is_signed(book: Book):
    """It is written when the run begins; a name that no edition has changes nothing."""
    begin_edition(book, "Harbour", 3)
    lay_print(book, "r1", "K3", edition="HARBOUR")
    lay_print(book, "r2", "K4", Fate.SPOILED, edition="harbour")
    lay_print(book, "r3", "K5", edition="quay")
    lay_print(book, "r4", "K6")
    assert [one.mark for one in prints_for(book, "harbour")] == ["K3"]


def test_an_edition_is_signed_in_any_order_and_fixed_by_the_first(book: Book):
    """No number twice, no print twice, none outside, and how many there are never changes."""
    begin_edition(book, "Harbour", 20)
    begin_edition(book, "harbour", 25, artist_proofs=3)
    for number in range(1, 5):
        lay_print(book, f"print {number}", f"K{number}")
    assert sign(book, "harbour", "K3", "3/25").written == "3/25"
    assert sign(book, "harbour", "K1", "AP 1/3").written == "AP 1/3"
    with pytest.raises(BadInput, match="fixed, since one was signed"):
        begin_edition(book, "harbour", 30, artist_proofs=3)
    with pytest.raises(BadInput, match="3/25 is K3 already"):
        sign(book, "harbour", "K2", "3")
    with pytest.raises(BadInput, match="K3 is 3/25 of Harbour"):
        sign(book, "harbour", "K3", "4")
    with pytest.raises(BadInput, match="1 to 25"):
        sign(book, "harbour", "K2", "26")
    assert sign(book, "harbour", "K2").written == "1/25"
    assert sign(book, "harbour", "K4", "BAT").written == "BAT"
    lay_print(book, "print 5", "K5")
    for number, right in (("BAT", "only one BAT"), ("AP 1", "such as AP 2/3"), ("3", "as 2/25")):
        with pytest.raises(BadInput, match=right):
            sign(book, "harbour", "K5", number)
    found = edition(book, "HARBOUR")
    assert [one.written for one in found.signed] == ["1/25", "3/25", "AP 1/3", "BAT"]
    assert len(found.left) == 23
    assert print_called(book, "K3").editions[0].written == "3/25"


@pytest.mark.parametrize("text", ["0/25", "3/24", "AP 4/3", "BAT 2", "XP 1", "", "3/25/1", "-1"])
def test_a_number_that_is_none_of_the_edition_is_refused_with_what_would_be_right(text: str):
    """Every slip of the pen is one sentence."""
    with pytest.raises(BadInput, match="right would be"):
        number_asked(text, 25, 3)


def test_numbers_are_written_as_they_are_pencilled_and_read_back():
    """Each kind of number comes back as it was written."""
    for text in ("3/25", "AP 2/3", "PP", "PP 2", "BAT", "HC"):
        assert number_asked(text, 25, 3).written(25, 3) == text
    assert number_asked("pp", 25, 3).kind is Signed.PRINTER


def test_more_proofs_than_a_tenth_are_warned_of_and_not_refused():
    """The tenth is rounded up."""
    assert proofs_warning(25, 3) == ""
    assert "tenth, here 3 at most" in proofs_warning(25, 4)


def test_prints_of_the_oldest_book_are_prints_now(tmp_path: Path):
    """A print that was made before there were prints in the book is found like any other."""
    old = first_book(tmp_path / "old.sqlite")
    at = "2024-03-01 20:15:00.000000"
    spec = to_json(from_tables(HARBOUR, "test"))
    with closing(sqlite3.connect(old)) as db:
        row = ("older", "print", "harbour", spec, "{}", "{}", "", at, at, "done", "")
        db.execute(f"INSERT INTO record VALUES (2{', ?' * len(row)})", row)
        db.execute(
            "INSERT INTO sheet (id, record_id, mark, begun_at, ended_at, fate) "
            "VALUES (9, 'older', 'P1', ?, ?, 'done')",
            (at, at),
        )
        db.commit()
    with Book.open(old, now=now) as book:
        assert print_called(book, "P1").paper == "Warm Fibre"
