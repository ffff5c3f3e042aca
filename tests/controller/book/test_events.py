"""Events go in and come out as they were, in every order that a run can have."""

from __future__ import annotations

from itertools import count
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.book.book import Book
from controller.book.faults import BookFault
from controller.events import (
    Event,
    Fate,
    Intended,
    Made,
    PulseMade,
    Remark,
    RunBegun,
    RunEnded,
    SheetBegun,
    SheetEnded,
)
from controller.keeper import Cause
from tests.controller.book.histories import (
    LAMP,
    Hand,
    begun,
    expected,
    expected_sentence,
    held,
    history,
    now,
    told,
)

_ids = count(1)
# Runs are drawn by a seed: drawn choice by choice, nearly all of them end at the first mishap.


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**32), share=st.floats(0, 1))
def test_any_beginning_of_any_run_is_held_and_told(shared: Book, seed: int, share: float):
    """After any number of events the book holds just these, and tells what the sheet has."""
    record_id = f"run {next(_ids)}"
    events = history(Random(seed), record_id)
    events = events[: max(1, round(share * len(events)))]
    for event in events:
        shared.write(event)
    assert held(shared, record_id) == expected(events)
    assert told(shared, record_id) == expected_sentence(events)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32), share=st.floats(0.1, 0.95))
def test_an_interrupted_run_goes_on_as_the_same_record(shared: Book, seed: int, share: float):
    """The rest of a run is counted on top of what its sheet had, under the same labels."""
    record_id = f"rest {next(_ids)}"
    hand = Hand(Random(seed), record_id, iter(f"M{n}" for n in count(1)))
    events: list[Event] = list(hand.run())
    events = events[: max(2, round(share * len(events)))]
    for event in events:
        shared.write(event)
    cut_off = next((i for i in shared.interrupted() if i.record.record_id == record_id), None)
    if cut_off is None or not cut_off.mark:
        return
    wanted = {part.label: part.wanted_s for part in cut_off.parts} | {"L": 2.5}
    assert cut_off.last_number == max(
        (e.number for e in events if isinstance(e, Intended)), default=0
    )
    hand.number = cut_off.last_number
    got = cut_off.delivered_s
    left = {label: round(10 * (dose_s - got.get(label, 0))) for label, dose_s in wanted.items()}
    rest = list(
        hand.rest(cut_off.mark, {label: tenths for label, tenths in left.items() if tenths})
    )
    for event in rest:
        shared.write(event)
    assert held(shared, record_id) == expected(events + rest)
    total = shared.delivered_s(record_id, cut_off.mark)
    if isinstance(rest[-1], RunEnded) and rest[-1].fate is Fate.DONE:
        assert total == pytest.approx(wanted)
    page = shared.record(record_id)
    assert page is not None
    assert page.record.title == "a strip"  # a second rest is made of the whole plan again


def test_every_field_comes_back(book: Book):
    """A record is read back with all that its events said."""
    book.write(RunBegun("r1", "strip", "tïtle", '{"a":1}', '{"b":2}', LAMP, "rig.toml"))
    book.write(SheetBegun("r1", "K7", 50.5, 254.0))
    book.write(Intended("r1", 1, "K7", "A", 8.5, 3, 10**12))
    pulse = PulseMade(10**12, 2**62, 2**62 + 5, 6, Cause.SILENCE)
    book.write(Made("r1", 1, (pulse,), 2.25, False))
    book.write(Remark("r1", "dust"))
    book.write(SheetEnded("r1", "K7", Fate.SPOILED))
    book.write(RunEnded("r1", Fate.INTERRUPTED, "the lamp failed"))
    page = book.record("r1")
    assert page is not None
    record, (sheet,), (exposure,) = page.record, page.sheets, page.exposures
    assert (record.kind, record.title, record.spec, record.plan, record.lamp, record.rig) == (
        "strip",
        "tïtle",
        '{"a":1}',
        '{"b":2}',
        LAMP,
        "rig.toml",
    )
    assert (record.fate, record.reason, record.marks) == (
        Fate.INTERRUPTED,
        "the lamp failed",
        ("K7",),
    )
    assert record.begun_at == record.ended_at == sheet.begun_at == exposure.intended_at == now()
    assert record.begun_at.utcoffset() is not None
    assert (sheet.mark, sheet.width_mm, sheet.height_mm, sheet.fate, sheet.moved) == (
        "K7",
        50.5,
        254.0,
        Fate.SPOILED,
        None,
    )
    assert (exposure.pulses_wanted, exposure.resumed, exposure.first_pulse) == (3, False, 10**12)
    (made,) = exposure.pulses
    assert (made.pulse_id, made.on_ns, made.off_ns, made.asked_ns, made.cause) == (
        10**12,
        2**62,
        2**62 + 5,
        6,
        Cause.SILENCE,
    )


def test_a_run_that_ends_ends_its_sheets_and_bounds_what_was_open(book: Book):
    """An exposure that was never made is not forgotten when its run ends: it has bounds."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K7", 50, 254))
    book.write(Intended("r1", 1, "K7", "A", 8.5, 1, 1))
    book.write(RunEnded("r1", Fate.ABANDONED))
    page = book.record("r1")
    assert page is not None
    assert page.sheets[0].fate is Fate.ABANDONED
    assert (page.exposures[0].low_s, page.exposures[0].high_s) == (0.0, 8.5)
    assert page.exposures[0].delivered_dose_s is None
    assert book.interrupted() == []


def test_light_without_a_sheet_is_kept(book: Book):
    """An exposure may have no sheet, such as one that only a sensor sees."""
    book.write(begun("r1"))
    book.write(Intended("r1", 1, "", "A", 2.0, 1, 1))
    book.write(Made("r1", 1, (), 2.0, True))
    assert book.delivered_s("r1", "") == {"A": 2.0}
    assert told(book, "r1") == "a strip: patch A done"


def test_the_rest_of_a_run_finds_a_place_in_a_new_book(book: Book):
    """Where the old book was lost, the rest of a run and its sheet begin a record of their own."""
    book.write(begun("r1", continues=True))
    book.write(Intended("r1", 5, "K7", "D", 2.0, 1, 1))
    page = book.record("K7")
    assert page is not None
    assert page.sheets[0].width_mm is None
    assert told(book, "r1") == "K7: D between 0 and 2 s"


def test_another_lamp_calibration_is_remarked(book: Book):
    """Where a rest is counted with other numbers than its beginning, the former ones stay."""
    book.write(begun("r1"))
    later = {"cold_lag_s": 0.2, "warm_gain_s2": 0.0}
    book.write(RunBegun("r1", "strip", "rest", "{}", "{}", later, "rig.toml", True))
    page = book.record("r1")
    assert page is not None
    assert page.record.lamp == later
    assert "0.1" in page.remarks[0].text


@pytest.mark.parametrize(
    "event",
    [
        Intended("nobody", 1, "K7", "A", 1.0, 1, 1),
        SheetBegun("nobody", "K7", 1, 1),
        Made("r1", 9, (), 1.0, True),
        RunEnded("nobody", Fate.DONE),
        Remark("nobody", "text"),
        RunBegun("r1", "strip", "again", "{}", "{}", {}, ""),
        Intended("r1", 1, "K7", "A", 1.0, 1, 1),
        Remark("r1", "not text: \udc80"),
    ],
)
def test_what_does_not_fit_is_refused_and_changes_nothing(book: Book, event: Event):
    """An event of an unknown record, or one told twice, is a fault and leaves no trace."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K7", 50, 254))
    book.write(Intended("r1", 1, "K7", "A", 2.0, 1, 1))
    before = (book.records(), held(book, "r1"))
    with pytest.raises(BookFault) as caught:
        book.write(event)
    assert "\n" not in str(caught.value)
    assert (book.records(), held(book, "r1")) == before
