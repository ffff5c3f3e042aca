"""Runs under a record: a print and its extras, and what of them was cut off."""

from __future__ import annotations

import pytest

from controller.book.book import Book
from controller.book.entries import Page, RunKind
from controller.desk.going_on import go_on_with
from controller.events import Fate, Intended, Made, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.exposing.told import Run
from controller.keeper import Cause, Ended
from controller.plan import Expose, Go, Plan, Sheet
from tests.controller.book.histories import LAMP, told

PRINT = Plan("print", "a print", (Sheet(254, 203), Go("soft"), Expose("soft", 8.0, filter="00")))
MORE = Plan("print", "extra, 2.0 s", (Go("extra"), Expose("extra (2)", 2.0, filter="5")))
WHY = '{"dose_s":2.0,"filter":"5","region":"","note":"more","version":1}'
S = 1_000_000_000


def printed(book: Book, *marks: str) -> None:
    """Finish a print on each of some sheets."""
    book.write(RunBegun("r1", "print", "a print", '{"base_s":8}', PRINT.to_json(), LAMP, "rig"))
    for number, mark in enumerate(marks, start=1):
        book.write(SheetBegun("r1", mark, 254, 203))
        book.write(Intended("r1", number, mark, "soft", 8.0, 1, number, filter="00"))
        book.write(Made("r1", number, (), 8.0, True))
        book.write(SheetEnded("r1", mark, Fate.DONE))
    book.write(RunEnded("r1", Fate.DONE))


def begin_extra(book: Book, mark: str = "K7", *, lit: bool = True) -> None:
    """Begin an extra, and perhaps light it; nobody sees its end."""
    spec, plan = '{"base_s":8}', MORE.to_json()
    book.write(RunBegun("r1", "print", MORE.title, spec, plan, LAMP, "rig", True, mark, WHY))
    if lit:
        book.write(Intended("r1", 2, mark, "extra (2)", 2.0, 1, 100, filter="5"))


def page_of(book: Book) -> Page:
    page = book.record("r1")
    assert page is not None
    return page


def test_an_extra_is_a_run_of_its_print(book: Book):
    """With its own plan and spec, on its sheet; the record's own are those of the print."""
    printed(book, "K7")
    begin_extra(book)
    book.write(Made("r1", 2, (), 2.0, True))
    book.write(SheetEnded("r1", "K7", Fate.DONE))
    book.write(RunEnded("r1", Fate.DONE))
    page = page_of(book)
    first, extra = page.runs
    assert (first.kind, first.plan, first.spec) == (
        RunKind.FIRST,
        PRINT.to_json(),
        '{"base_s":8}',
    )
    assert (extra.number, extra.kind, extra.mark) == (2, RunKind.EXTRA, "K7")
    assert (extra.plan, extra.spec, extra.fate) == (MORE.to_json(), WHY, Fate.DONE)
    assert (page.record.plan, page.record.spec) == (first.plan, first.spec)
    assert [(e.run, e.filter) for e in page.exposures] == [(1, "00"), (2, "5")]


def test_an_interrupted_extra_leaves_the_print_finished_and_offers_its_rest(book: Book):
    """Killed while lit: the print stays done, and what is owed is what is left of the extra."""
    printed(book, "K7")
    begin_extra(book)
    book.reconcile([Ended(100, "lamp", 1000 * S, 1000 * S + int(1.3 * S), Cause.SILENCE)])
    page = page_of(book)
    assert (page.record.fate, page.sheets[0].fate) == (Fate.DONE, Fate.DONE)
    assert page.record.extra_open
    (found,) = book.interrupted()
    assert found.is_extra
    assert found.tell() == "K7: extra (2) 1.2 of 2 s"
    run = go_on_with(book, found, moved=False)
    assert isinstance(run, Run)
    assert (run.mark, run.number, run.record_id) == ("K7", 2, "r1")
    assert run.plan.title == "the rest of extra, 2.0 s"
    [(_, owed)] = run.plan.exposures()
    assert owed.label == "extra (2)"
    assert owed.dose_s == pytest.approx(0.8)


def test_the_rest_of_an_extra_goes_on_with_its_run(book: Book):
    """No further run is begun, and when it has ended nothing is owed."""
    printed(book, "K7")
    begin_extra(book)
    begun = RunBegun("r1", "print", "the rest", "{}", "{}", LAMP, "rig", True, "K7")
    book.write(begun)
    book.write(Intended("r1", 3, "K7", "extra (2)", 1.0, 1, 101, True, "5"))
    book.write(Made("r1", 3, (), 1.0, True))
    book.write(SheetEnded("r1", "K7", Fate.DONE))
    book.write(RunEnded("r1", Fate.DONE))
    page = page_of(book)
    assert [run.fate for run in page.runs] == [Fate.DONE, Fate.DONE]
    assert [e.run for e in page.exposures] == [1, 2, 2]
    assert page.exposures[1].bounds_s == (0.0, 2.0)
    assert book.interrupted() == []
    assert not page.record.extra_open


def test_an_extra_that_was_cut_off_before_its_light_is_owed_whole(book: Book):
    """The sheet is known though nothing fell on it."""
    printed(book, "K7")
    begin_extra(book, lit=False)
    assert told(book, "r1") == "K7: nothing of the extra yet"
    run = go_on_with(book, book.interrupted()[0], moved=False)
    assert isinstance(run, Run)
    assert [e.dose_s for _, e in run.plan.exposures()] == [2.0]


@pytest.mark.parametrize(("marks", "record"), [(("K7",), Fate.SPOILED), (("K7", "K8"), Fate.DONE)])
def test_a_sheet_that_was_moved_in_an_extra_is_spoiled(
    marks: tuple[str, ...], record: Fate, book: Book
):
    """It alone: where others of the record are good, the record stays done."""
    printed(book, *marks)
    book.write(RunBegun("r1", "print", "", "{}", MORE.to_json(), LAMP, "rig", True, "K7", WHY))
    assert go_on_with(book, book.interrupted()[0], moved=True) == "K7 is closed: spoiled"
    page = page_of(book)
    assert page.record.fate is record
    assert [s.fate for s in page.sheets] == [Fate.SPOILED, Fate.DONE][: len(marks)]
    assert page.runs[1].fate is Fate.SPOILED
    assert book.interrupted() == []


def test_an_extra_that_is_abandoned_takes_nothing_from_the_print(book: Book):
    """The sheet had all of its plan; what fell of the extra stays known within bounds."""
    printed(book, "K7")
    begin_extra(book)
    book.write(SheetEnded("r1", "K7", Fate.ABANDONED))
    book.write(RunEnded("r1", Fate.ABANDONED))
    page = page_of(book)
    assert (page.record.fate, page.sheets[0].fate) == (Fate.DONE, Fate.DONE)
    assert page.runs[1].fate is Fate.ABANDONED
    assert page.exposures[1].bounds_s == (0.0, 2.0)
