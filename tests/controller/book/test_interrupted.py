"""What a sheet had when its run was cut off, and what the keeper's journal adds to it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.book.book import Book
from controller.book.entries import ExposureEntry, PulseEntry
from controller.book.faults import BookFault
from controller.book.interrupted import Part, named, settle
from controller.enlarger.lamp import Calibration
from controller.events import Fate, Intended, Made, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.keeper import Cause, Ended
from controller.plan import Expose, Go, Plan
from tests.controller.book.histories import LAMP, begun, told

S = 1_000_000_000


def lay(book: Book, *, dose_s: float = 3.3, pulses: int = 1) -> None:
    """Patches A to C are done, and D was begun."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K7", 50, 254))
    for number, label in enumerate("ABC", start=1):
        book.write(Intended("r1", number, "K7", label, 2.0, 1, number))
        book.write(Made("r1", number, (), 2.0, True))
    book.write(Intended("r1", 4, "K7", "D", dose_s, pulses, 100))


def pulse(number: int, seconds: float, cause: Cause = Cause.DEADLINE, *, at_s: float = 0) -> Ended:
    on_ns = int((1000 + at_s) * S)
    return Ended(number, "lamp", on_ns, on_ns + int(seconds * S), cause)


def test_without_a_journal_only_bounds_are_told(book: Book):
    """An exposure nobody saw the end of lies between nothing and all of it."""
    lay(book)
    assert told(book, "r1") == "K7: patches A to C done, D between 0 and 3.3 s"
    assert not book.interrupted()[0].certain


def test_a_journaled_pulse_gives_the_dose(book: Book):
    """A pulse that was cut short counts with its edges, less the lamp's lag."""
    lay(book)
    assert book.reconcile([pulse(100, 2.2, Cause.SILENCE)]) == [("r1", 4)]
    assert told(book, "r1") == "K7: patches A to C done, D 2.1 of 3.3 s"
    (cut_off,) = book.interrupted()
    assert cut_off.certain
    assert cut_off.last_number == 4
    assert cut_off.delivered_s == pytest.approx({"A": 2, "B": 2, "C": 2, "D": 2.1})
    assert book.delivered_s("r1", "K7") == pytest.approx(cut_off.delivered_s)


def test_a_pulse_that_ran_its_time_completes_a_single_one(book: Book):
    """A full pulse found in the journal closes the exposure, though its edges scatter."""
    lay(book)
    book.reconcile([pulse(100, 3.395)])
    assert told(book, "r1") == "K7: patches A to D done"


def test_between_the_pulses_of_a_series_bounds_remain(book: Book):
    """After whole pulses of a series another may have come; a complete journal excludes it."""
    lay(book, dose_s=3.0, pulses=3)
    found = [pulse(100, 1.1), pulse(101, 1.08, at_s=2.1)]  # a gap of 1 s: a lag of 0.08 s
    assert book.reconcile(found) == []
    assert told(book, "r1") == "K7: patches A to C done, D between 2 and 3 s"
    assert book.delivered_s("r1", "K7")["D"] == pytest.approx(2.0)
    assert book.reconcile([], complete=True) == [("r1", 4)]
    assert told(book, "r1") == "K7: patches A to C done, D 2 of 3 s"
    assert book.reconcile([], complete=True) == []


def test_a_complete_journal_without_a_pulse_means_no_light(book: Book):
    """The keeper lived and lit nothing: nothing was exposed."""
    lay(book)
    assert book.reconcile([], complete=True) == [("r1", 4)]
    assert told(book, "r1") == "K7: patches A to C done, D 0 of 3.3 s"


def test_pulses_of_others_are_left_alone(book: Book):
    """What came before the exposure, or after its end (focusing light), is none of it."""
    lay(book)
    others = [pulse(3, 2.1), pulse(101, 30.0, at_s=60)]
    book.reconcile([*others, pulse(100, 2.2, Cause.CUT)])
    page = book.record("r1")
    assert page is not None
    assert [p.pulse_id for e in page.exposures for p in e.pulses] == [100]
    assert told(book, "r1") == "K7: patches A to C done, D 2.1 of 3.3 s"


def test_a_pulse_belongs_to_the_last_exposure_that_begins_before_it(book: Book):
    """An exposure that stayed open, since its end could not be written, takes none of a later."""
    lay(book)
    book.write(Intended("r1", 5, "K7", "D", 3.3, 1, 101))
    assert book.reconcile([pulse(101, 2.2, Cause.CUT)]) == [("r1", 5)]
    page = book.record("r1")
    assert page is not None
    assert [e.delivered_dose_s is None for e in page.exposures[3:]] == [True, False]


def test_bounds_from_a_journal_outlive_the_run(book: Book):
    """What the paper surely got stays known when the run is ended."""
    lay(book, dose_s=3.0, pulses=3)
    book.reconcile([pulse(100, 1.1)])
    book.close_interrupted("r1", Fate.SPOILED)
    page = book.record("r1")
    assert page is not None
    assert page.exposures[3].bounds_s == pytest.approx((1.0, 3.0))


def test_a_clock_that_began_anew_makes_a_cold_lamp():
    """A lamp that went off "later" than it was lit was lit before a restart."""
    at = datetime(2024, 1, 1, tzinfo=UTC)
    exposure = ExposureEntry(1, "K7", "A", 2.0, 1, 1, False, at, None, None, None, None)
    lit = PulseEntry(1, 5 * S, 6 * S, None, Cause.CUT)
    settled = settle(exposure, [lit], Calibration(0.1, 0.02), off_before_ns=9 * S, complete=False)
    assert settled.delivered_dose_s == pytest.approx(0.9)


def test_the_gap_before_counts_where_the_clock_is_the_same(book: Book):
    """A lamp that was lit just before lags less; after a restart its clock cannot be compared."""
    lay(book)
    book.reconcile([pulse(100, 2.2, Cause.CUT)])
    book.write(Intended("r1", 5, "K7", "D", 1.2, 1, 200, True))
    book.reconcile([pulse(200, 1.0, Cause.CUT, at_s=2.2 + 0.5)])  # lag 0.1 - 0.02 / 0.5
    assert book.delivered_s("r1", "K7")["D"] == pytest.approx(2.1 + 0.94)
    book.write(Intended("r1", 6, "K7", "E", 1.2, 1, 300))
    book.reconcile([pulse(300, 1.0, Cause.CUT, at_s=-900)])
    assert book.delivered_s("r1", "K7")["E"] == pytest.approx(0.9)


def test_a_lag_strip_counts_with_the_lag_it_assumed(book: Book):
    """The dose of an exposure that assumed a lag of its own is worked out with that."""
    plan = Plan("lag strip", "lag", (Go("A"), Expose("A", 2.0, assumed_lag_s=0.3)))
    book.write(RunBegun("r1", "lag strip", "lag", "{}", plan.to_json(), LAMP, ""))
    book.write(SheetBegun("r1", "K7", 50, 254))
    book.write(Intended("r1", 1, "K7", "A", 2.0, 1, 1))
    book.reconcile([pulse(1, 1.0, Cause.CUT)])
    assert book.delivered_s("r1", "K7") == pytest.approx({"A": 0.7})


def test_an_ended_run_is_not_touched_by_a_journal(book: Book):
    """What was settled stays settled."""
    lay(book)
    book.close_interrupted("r1", Fate.SPOILED, "nobody knows")
    assert book.reconcile([pulse(100, 2.2, Cause.CUT)], complete=True) == []
    page = book.record("r1")
    assert page is not None
    assert (page.record.fate, page.record.reason) == (Fate.SPOILED, "nobody knows")
    assert page.sheets[0].fate is Fate.SPOILED
    assert book.interrupted() == []


def test_moved_and_spoiled_are_kept(book: Book):
    """What the printer says of the sheet that lay there is put down."""
    lay(book)
    book.mark_moved("r1", "K7")
    page = book.record("r1")
    assert page is not None
    assert page.sheets[0].moved is True
    book.mark_moved("r1", "K7", moved=False)
    book.mark_spoiled("r1", "K7")
    page = book.record("r1")
    assert page is not None
    assert (page.sheets[0].moved, page.sheets[0].fate) == (False, Fate.SPOILED)
    assert told(book, "r1") == "a strip: no sheet was under the enlarger"
    for act in (book.mark_moved, book.mark_spoiled):
        with pytest.raises(BookFault, match="no sheet K8"):
            act("r1", "K8")
    with pytest.raises(BookFault, match="no record r2"):
        book.close_interrupted("r2", Fate.SPOILED)


def test_an_interrupted_sheet_lies_there_again_when_its_run_goes_on(book: Book):
    """A run ended as interrupted can go on with its sheet, unless that was moved."""
    lay(book)
    book.write(SheetEnded("r1", "K7", Fate.INTERRUPTED))
    book.write(RunEnded("r1", Fate.INTERRUPTED))
    assert book.interrupted() == []
    book.write(begun("r1", continues=True))
    assert book.interrupted()[0].mark == "K7"
    book.write(RunEnded("r1", Fate.INTERRUPTED))
    book.mark_moved("r1", "K7")
    book.write(begun("r1", continues=True))
    assert book.interrupted()[0].mark == ""


def test_the_newest_interrupted_run_comes_first_whatever_the_wall_clock_says(book: Book):
    """A unit whose clock starts in the past still gives the last run first."""
    for number in range(3):
        book.write(begun(f"r{number}"))
    assert [one.record.record_id for one in book.interrupted()] == ["r2", "r1", "r0"]


@given(st.sets(st.sampled_from("ABCDEFGHIJKL"), min_size=1))
def test_rows_of_letters_are_drawn_together_and_none_is_lost(letters: set[str]):
    """The names read back to the same patches."""
    text = named(sorted(letters, reverse=True))
    word, _, rest = text.partition(" ")
    assert word == ("patch" if len(letters) == 1 else "patches")
    read: set[str] = set()
    for piece in rest.replace(" and ", ", ").split(", "):
        first, _, last = piece.partition(" to ")
        read |= {chr(code) for code in range(ord(first), ord(last or first) + 1)}
        assert not last or ord(last) - ord(first) >= 2
    assert read == letters


@pytest.mark.parametrize(
    ("labels", "text"),
    [
        (["A"], "patch A"),
        (["A", "B"], "patches A and B"),
        (["A", "B", "C", "E"], "patches A to C and E"),
        (["A", "C", "E"], "patches A, C and E"),
        (["A long", "A pulsed"], "A long and A pulsed"),
        (["A", "sky"], "patch A and sky"),
    ],
)
def test_names_read_as_speech(labels: list[str], text: str):
    """Names are told as one would say them."""
    assert named(labels) == text


@pytest.mark.parametrize(
    ("part", "text"),
    [
        (Part("D", 3.3, 2.1, 2.1, False), "D 2.1 of 3.3 s"),
        (Part("D", 3.3, 0, 3.3, False), "D between 0 and 3.3 s"),
        (Part("D", 10, 8, 8, False), "D 8 of 10 s"),
        (Part("D", 3.3, 3.28, 3.28, False), "D 3.28 of 3.3 s"),
        (Part("D", 100, 0.04, 0.04, False), "D 0 of 100 s"),
    ],
)
def test_seconds_show_that_something_is_missing(part: Part, text: str):
    """As many figures are given as tell the two times apart."""
    assert part.tell() == text
