"""The wet side in the book: kept, read back, and what it makes of batches."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import msgspec
import pytest
from sqlalchemy import update

from controller.book import wet
from controller.book.book import Book
from controller.book.tables_wet import wet_step
from controller.errors import BadInput, Refused
from controller.events import RunBegun, SheetBegun
from controller.trays.batch import Batch, do, may_do
from controller.trays.clock import Through
from controller.trays.happened import StepWet, sheet_wet
from controller.trays.line import Lay
from controller.trays.residual import Residual, Seen, name_of
from controller.trays.way import shipped
from tests.controller.book.histories import now

SELENIUM = shipped()["selenium"]


def fix(actual_s: float) -> StepWet:
    """A fix of two minutes that took so long."""
    return StepWet("fixer", 120.0, actual_s, now(), "fixer", 3.0, 20.5)


def go_on(book: Book, batch: Batch, steps: int = 1) -> Batch:
    """Take so many steps as done in their usual time."""
    for _ in range(steps):
        assert batch.next is not None
        done, _ = do(batch, batch.next, now(), actual_s=batch.next.time_s)
        batch = wet.step_done(book, batch, done)
    return batch


def test_what_a_sheet_got_is_there_after_a_restart(path: Path) -> None:
    """Every figure of every step, and what it comes to."""
    steps = [StepWet("developer", 120.0, 124.0, now(), "developer", 4.0, 20.0), fix(90.0)]
    sheet = sheet_wet("K7", "0190-a", "fibre", steps)
    with Book.open(path, now=now) as book:
        wet.put_down(book, sheet)
    with Book.open(path, now=now) as book:
        assert wet.sheets_wet(book, "K7") == [sheet]
        assert wet.sheets_wet(book, "K7", "another") == []
    assert sheet.under_fixed


def test_what_the_clock_saw_keeps_a_batch_from_the_toner(book: Book) -> None:
    """A print that was taken away before its fixer is under-fixed, and has a row of none."""
    lay = (Lay("developer", 120.0, 121.0, 1.0), Lay("stop", 30.0, 30.0, 0.0))
    missed = (Lay("fixer", 120.0, 0.0, 0.0),)
    came = Through("K7", "", "fibre", "fibre", lay, left_out=True, missed=missed)
    wet.keep(book, came, now(), celsius=20.0)
    (sheet,) = wet.sheets_wet(book, "K7")
    assert sheet.under_fixed
    assert [(now() - step.at).total_seconds() for step in sheet.steps] == [151.0, 30.0, 0.0]
    assert wet.begin(book, SELENIUM, ["K7"], now()).under_fixed == ["K7"]
    fixed = (*lay, Lay("fixer", 120.0, 120.0, 0.0))
    wet.keep(book, Through("K8", "", "fibre", "fibre", fixed), now())
    assert wet.begin(book, SELENIUM, ["K8"], now()).under_fixed == []


def test_a_batch_waits_for_another_day(path: Path) -> None:
    """Prints, way and what is done are as they were."""
    with Book.open(path, now=now) as book:
        before = go_on(book, wet.begin(book, SELENIUM, ["K7", "K8"], now()), 2)
    with Book.open(path, now=now) as book:
        assert wet.batch(book, before.number) == before
        assert wet.batches(book) == [before]
    assert before.next is not None
    assert before.next.name == "wash"


def test_a_print_fixed_again_takes_its_batch_back_to_the_rinse(book: Book) -> None:
    """Fixer that came in after the wash would stain in the toner."""
    wet.fixed(book, ["K8"], fix(60.0))
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7", "K8"], now()), 3)
    assert batch.under_fixed == ["K8"]
    toner = SELENIUM.step[3]
    with pytest.raises(Refused, match="K8 is under-fixed"):
        may_do(batch, toner)
    wet.fixed(book, ["K8"], fix(120.0))
    batch = wet.batch(book, batch.number)
    assert batch.under_fixed == []
    with pytest.raises(Refused, match="rinse comes before"):
        may_do(batch, toner)
    may_do(go_on(book, batch, 3), toner)


def test_the_rest_of_a_step_is_added_to_it(book: Book) -> None:
    """What was planned stays; what happened is both together, for each print once."""
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7", "K8"], now()))
    for n, took_s in enumerate((60.0, 120.0)):
        at = now() + timedelta(minutes=n)
        done, _ = do(batch, SELENIUM.step[1], at, actual_s=took_s)
        batch = wet.step_done(book, batch, done)
    assert batch.last is not None
    assert (batch.last.name, batch.last.planned_s, batch.last.actual_s) == (
        "clearing bath",
        300.0,
        180.0,
    )


def test_fixer_that_a_test_finds_asks_for_the_wash_again(book: Book) -> None:
    """Only a clear stain does; the toner waits for the wash."""
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7"], now()), 3)
    for seen, due in ((Seen.FAINT, "selenium toner"), (Seen.CLEAR, "wash")):
        row = StepWet(name_of(Residual.HYPO), 0.0, 0.0, now(), note=f"{seen.value}: so")
        batch = wet.step_done(book, batch, msgspec.structs.replace(row, at=_later(batch)))
        assert batch.next is not None
        assert batch.next.name == due
    with pytest.raises(Refused, match="wash comes before selenium toner"):
        may_do(batch, SELENIUM.step[3])
    wash, _ = do(batch, SELENIUM.step[2], _later(batch), actual_s=900.0)
    may_do(wet.step_done(book, batch, wash), SELENIUM.step[3])


def _later(batch: Batch) -> datetime:
    return batch.begun_at + timedelta(hours=1, minutes=len(batch.done))


def test_a_print_taken_out_keeps_what_it_got_and_is_free_for_another_batch(book: Book) -> None:
    """Until then another batch refuses it."""
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7", "K8"], now()))
    with pytest.raises(Refused, match="K8 is in batch 1, which is not through"):
        wet.begin(book, SELENIUM, ["K8"], now())
    batch = wet.take_out(book, batch.number, "K8", now())
    assert [sheet.mark for sheet in batch.sheets] == ["K7"]
    assert [step.name for step in wet.sheets_wet(book, "K8")[0].steps] == ["rinse"]
    wet.begin(book, SELENIUM, ["K8"], now())
    with pytest.raises(BadInput, match="batch 1 has no K8"):
        wet.take_out(book, batch.number, "K8", now())


def test_a_refused_batch_leaves_nothing_behind(book: Book) -> None:
    """A mark that is given twice begins no batch."""
    with pytest.raises(BadInput, match="K7 is given twice"):
        wet.begin(book, SELENIUM, ["K7", "K7"], now())
    assert wet.batches(book) == []


def test_merged_batches_go_on_as_one_with_their_rows(book: Book) -> None:
    """The other's number leads to the one that it went on in."""
    first = go_on(book, wet.begin(book, SELENIUM, ["K7"], now()))
    second = go_on(book, wet.begin(book, SELENIUM, ["K8"], now()))
    one = go_on(book, wet.merge(book, first.number, second.number, now() + timedelta(days=1)))
    assert [sheet.mark for sheet in one.sheets] == ["K7", "K8"]
    names = [step.name for found in wet.sheets_wet(book, "K8") for step in found.steps]
    assert names == ["rinse", "clearing bath"]
    with pytest.raises(BadInput, match="batch 2 went on in batch 1"):
        wet.batch(book, second.number)


def test_prints_are_added_only_before_the_first_step(book: Book) -> None:
    """Later ones make a batch of their own and are merged."""
    batch = wet.begin(book, SELENIUM, ["K7"], now())
    batch = go_on(book, wet.add(book, batch.number, ["K8"]))
    with pytest.raises(Refused, match="batch 1 is past its rinse"):
        wet.add(book, batch.number, ["K9"])


def test_what_was_written_last_is_taken_back(book: Book) -> None:
    """A step by mistake, and the rest of a step alone; nothing more than there is."""
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7", "K8"], now()))
    clearing = SELENIUM.step[1]
    for n, took_s in enumerate((60.0, None), start=1):
        at = now() + timedelta(minutes=n)
        batch, _ = wet.went_through(book, batch, clearing, at, took_s=took_s, celsius=20.0)
    assert batch.given_s(clearing) == 300.0
    batch, step = wet.take_back(book, batch.number)
    assert (step.actual_s, batch.given_s(clearing)) == (240.0, 60.0)
    for due in ("clearing bath", "rinse"):
        batch, _ = wet.take_back(book, batch.number)
        assert batch.next is not None
        assert batch.next.name == due
    with pytest.raises(Refused, match="nothing is written of batch 1"):
        wet.take_back(book, batch.number)
    assert wet.sheets_wet(book, "K8") == []


def test_a_step_before_a_merge_is_not_taken_back(book: Book) -> None:
    """It was another batch's too, where it would stay."""
    first, second = (go_on(book, wet.begin(book, SELENIUM, [m], now())) for m in ("K7", "K8"))
    wet.merge(book, first.number, second.number, now())
    with pytest.raises(Refused, match="K8 came into batch 1 after rinse"):
        wet.take_back(book, first.number)


def test_a_test_that_was_misread_is_taken_back_with_what_it_said(book: Book) -> None:
    """Silver that was not there held the batch back; it does so no more."""
    batch = go_on(book, wet.begin(book, SELENIUM, ["K7"], now()))
    later = now() + timedelta(minutes=1)
    wet.tested(book, batch, Residual.SILVER, Seen.CLEAR, later)
    assert wet.batch(book, batch.number).under_fixed == ["K7"]
    batch, _ = wet.take_back(book, batch.number)
    assert batch.under_fixed == []


def sheet_of(book: Book, kind: str, mark: str, record_id: str) -> None:
    """Let the book have a sheet of such a plan."""
    book.write(RunBegun(record_id, kind, "t", "{}", "{}", {}, "rig"))
    book.write(SheetBegun(record_id, mark, 203, 254))


def test_a_strip_is_toned_only_where_that_is_meant(book: Book) -> None:
    """Refused by its kind; washed it may be, and toned anyway."""
    sheet_of(book, "strip", "K4", "r4")
    sheet_of(book, "print", "K7", "r7")
    with pytest.raises(wet.NoPrint, match="K4 is a sheet of a strip, no print"):
        wet.begin(book, SELENIUM, ["K7", "K4"], now())
    assert wet.batches(book) == []
    wet.begin(book, shipped()["wash"], ["K4"], now())
    batch = wet.begin(book, SELENIUM, ["K7"], now())
    sheet_of(book, "strip", "L1", "r5")
    with pytest.raises(wet.NoPrint):
        wet.add(book, batch.number, ["L1"])
    assert len(wet.add(book, batch.number, ["L1"], anyway=True).sheets) == 2


def test_a_mark_that_was_put_in_beforehand_gets_its_record(book: Book) -> None:
    """When its sheet has its light; not where the batch had that mark in a step before."""
    batch = wet.begin(book, SELENIUM, ["K7"], now())
    other = go_on(book, wet.begin(book, SELENIUM, ["K8"], now() - timedelta(days=300)))
    rows = [(sheet.mark, sheet.record_id) for each in wet.batches(book) for sheet in each.sheets]
    assert rows == [("K8", ""), ("K7", "")]
    with book.changing() as db:  # it was rinsed long before
        db.execute(update(wet_step).values(at=now() - timedelta(days=300)))
    sheet_of(book, "print", "K7", "r7")
    sheet_of(book, "print", "K8", "r8")
    assert wet.batch(book, batch.number).sheets[0].record_id == "r7"
    assert wet.batch(book, other.number).sheets[0].record_id == ""


def test_what_a_mark_got_before_the_book_had_it_stays_with_it(book: Book) -> None:
    """A fix that was too short, put down by a clock that stands ahead, holds it back."""
    later = now() + timedelta(hours=1)
    wet.fixed(book, ["K7"], msgspec.structs.replace(fix(60.0), at=later))
    batch = wet.begin(book, SELENIUM, ["K7"], later)
    sheet_of(book, "print", "K7", "r7")
    (sheet,) = wet.batch(book, batch.number).sheets
    assert (sheet.record_id, sheet.under_fixed) == ("r7", True)
