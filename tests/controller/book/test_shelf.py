"""Marks, picks, strips, and the numbers of lamps and papers."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.book.book import Book
from controller.book.entries import Judged
from controller.book.faults import BookFault
from controller.book.marks import HOW_MANY, looks_like_mark, mark_of, next_free
from controller.events import Fate, Intended, Remark, SheetBegun, SheetEnded
from tests.controller.book.histories import begun

# --- marks ----------------------------------------------------------------------------------


def test_marks_are_a_letter_and_a_digit_that_cannot_be_misread():
    """Each mark is used once before any comes again, and none has I, O, Q, S, Z or 0."""
    marks = [mark_of(count) for count in range(HOW_MANY)]
    assert len(set(marks)) == HOW_MANY == 108
    assert not set("IOQSZ0") & set("".join(marks))
    assert all(looks_like_mark(mark) and looks_like_mark(mark.lower()) for mark in marks)
    assert mark_of(HOW_MANY) == marks[0]
    assert not any(looks_like_mark(text) for text in ("", "K", "K0", "O1", "K77", "77"))


@given(st.integers(0, 1000), st.sets(st.integers(0, HOW_MANY - 1)))
def test_the_next_free_mark_is_the_first_that_is_not_taken(count: int, taken: set[int]):
    """No free mark is passed over, and no taken one given."""
    marks = {mark_of(number) for number in taken}
    found = next_free(count, marks)
    if found is None:
        assert len(marks) == HOW_MANY
    else:
        assert mark_of(found) not in marks
        assert all(mark_of(number) in marks for number in range(count, found))


def test_a_mark_on_an_open_sheet_is_not_given_again(book: Book):
    """The counter goes round past the marks of sheets that are still open."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K2", 1, 1))
    book.write(SheetBegun("r1", "K3", 1, 1))
    assert [book.next_mark(), book.next_mark()] == ["K1", "K4"]
    book.write(SheetEnded("r1", "K3", Fate.DONE))
    given_since = [book.next_mark() for _ in range(HOW_MANY - 4)]
    assert [book.next_mark(), book.next_mark()] == ["K1", "K3"]
    assert len(set(given_since)) == len(given_since)


def test_marks_go_on_after_a_restart(book: Book):
    """The counter is in the book, not in the program."""
    assert book.path is not None
    first = book.next_mark()
    with Book.open(book.path, now=book._now) as again:
        assert (first, again.next_mark(), book.next_mark()) == ("K1", "K2", "K3")


def test_two_threads_never_get_the_same_mark(book: Book):
    """Marks are taken under the writer's lock."""
    with ThreadPoolExecutor(4) as pool:
        marks = list(pool.map(lambda _: book.next_mark(), range(24)))
    assert len(set(marks)) == 24


def test_when_every_mark_is_in_use_that_is_said(book: Book):
    """There is an end to marks while no sheet is ended."""
    book.write(begun("r1"))
    for count in range(HOW_MANY):
        book.write(SheetBegun("r1", mark_of(count), 1, 1))
    with pytest.raises(BookFault, match=f"{HOW_MANY} marks"):
        book.next_mark()


# --- records --------------------------------------------------------------------------------


def test_a_record_is_found_by_id_by_its_beginning_and_by_mark(book: Book):
    """A mark finds the newest record that has it; an ambiguous beginning is refused."""
    for record_id, mark in (("aa11", "K7"), ("aa22", "K7"), ("b_33", "K8")):
        book.write(begun(record_id))
        book.write(SheetBegun(record_id, mark, 1, 1))

    def found(key: str) -> str | None:
        page = book.record(key)
        return page.record.record_id if page else None

    assert [found("aa11"), found("aa1"), found("K7"), found("k8")] == [
        "aa11",
        "aa11",
        "aa22",
        "b_33",
    ]
    assert [found("b"), found("b_"), found("K9"), found("c"), found(""), found("_")] == [
        "b_33",
        "b_33",
        None,
        None,
        None,
        None,
    ]
    with pytest.raises(BookFault, match="aa11 and aa22"):
        book.record("aa")


def test_records_are_listed_newest_first_by_kind(book: Book):
    """The list is bounded, and may be of one kind only."""
    for number in range(5):
        book.write(begun(f"r{number}"))
    assert [record.record_id for record in book.records(limit=2)] == ["r4", "r3"]
    assert len(book.records(kind="strip")) == 5
    assert book.records(kind="lag strip") == []


# --- picks ----------------------------------------------------------------------------------


def pick(book: Book, choice: str, record_id: str | None = "r1", **more: str):
    return book.add_pick(
        choice, dose_s=8.0, stops=1 / 3, judged=Judged.WET, record_id=record_id, **more
    )


def test_the_last_pick_is_found_by_what_is_known(book: Book):
    """A pick belongs to a record, or to a subject, and to a filter."""
    book.write(begun("r1"))
    first = pick(book, "C", filter="2½")
    sky = pick(book, "C-D", None, subject="sky")
    assert book.last_pick() == sky
    assert book.last_pick(record_id="r1") == book.last_pick(filter="2½") == first
    assert book.last_pick(subject="sky") == sky
    assert book.last_pick(record_id="r2") is None
    assert (first.dose_s, first.stops, first.judged) == (8.0, 1 / 3, Judged.WET)
    page = book.record("r1")
    assert page is not None
    assert page.picks == (first,)
    with pytest.raises(BookFault):
        pick(book, "C", "nobody")


def test_a_patch_marked_unsure_warns_when_it_is_picked(book: Book):
    """A pick says which of its patches are not to be trusted."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K7", 1, 1))
    book.write(Intended("r1", 1, "K7", "C", 1.0, 1, 1))
    book.write(Remark("r1", "nothing about a patch"))
    assert pick(book, "C-D").warning() == ""
    book.write(Remark("r1", "unsure: the card moved late", "C"))
    assert book.unsure("r1") == {"C"}
    assert pick(book, "C-D").warning() == "patch C was marked unsure"
    assert pick(book, "D").warning() == ""
    book.write(Remark("r1", "unsure: the card moved late", "D"))
    assert pick(book, "C-D").warning() == "patches C and D were marked unsure"


def test_a_spoiled_sheet_takes_its_unsure_patches_along(book: Book):
    """Made again on a new sheet, a patch is sure again."""
    book.write(begun("r1"))
    book.write(SheetBegun("r1", "K7", 1, 1))
    book.write(Intended("r1", 1, "K7", "C", 1.0, 1, 1))
    book.write(Remark("r1", "unsure", "C"))
    book.write(SheetEnded("r1", "K7", Fate.SPOILED))
    book.write(SheetBegun("r1", "K8", 1, 1))
    assert book.unsure("r1") == set()
    assert book.unsure("r1", "K7") == {"C"}
    book.write(Remark("r1", "unsure, said late", "C"))  # C was lit on the former sheet only
    assert book.unsure("r1") == set()


# --- strips ---------------------------------------------------------------------------------


@settings(max_examples=20, deadline=None)
@given(st.lists(st.one_of(st.just("use"), st.integers(1, 12), st.integers(-9, 0))))
def test_the_strips_left_are_the_sum_and_never_less_than_none(shared: Book, moves: list):
    """Cutting adds, using takes one where there is one, and a count sets right."""
    assert shared.count_strips(0) == 0
    if shared.record("strips") is None:
        shared.write(begun("strips"))
    left = 0
    for move in moves[:6]:
        if move == "use":
            left = max(0, left - 1)
            assert shared.use_strip("strips") == left
        elif move > 0:
            left += move
            assert shared.cut_sheet(move) == left
        else:
            left = -move
            assert shared.count_strips(left) == left
        assert shared.strips_left() == left


def test_senseless_strips_are_refused(book: Book):
    """A sheet gives at least one strip, a count is not below none, a record is known."""
    for act in (
        lambda: book.cut_sheet(0),
        lambda: book.count_strips(-1),
        lambda: book.use_strip("nobody"),
    ):
        with pytest.raises(BookFault):
            act()
    assert book.strips_left() == 0


# --- lamps ----------------------------------------------------------------------------------


def test_the_newest_numbers_of_a_lamp_count_and_the_former_stay(book: Book):
    """Each lamp has a history of its own."""
    assert book.calibration("lamp") is None
    for lag_s in (0.1, 0.12):
        book.add_calibration(
            "lamp", cold_lag_s=lag_s, warm_gain_s2=0.02, uncertainty_s=0.01, how="lag strip K7"
        )
    other = book.add_calibration(
        "flash", cold_lag_s=0, warm_gain_s2=0, uncertainty_s=None, how="by hand"
    )
    newest = book.calibration("lamp")
    assert newest is not None
    assert (newest.cold_lag_s, newest.warm_gain_s2, newest.uncertainty_s, newest.how) == (
        0.12,
        0.02,
        0.01,
        "lag strip K7",
    )
    assert [entry.cold_lag_s for entry in book.calibrations("lamp")] == [0.12, 0.1]
    assert book.calibration("flash") == other


# --- papers ---------------------------------------------------------------------------------


def test_a_paper_remembers_the_newest_dry_down_of_its_batch(book: Book):
    """The batch at hand comes first; where it has none, the newest of the paper counts."""
    assert book.dry_down("warm fibre") is None
    book.write(begun("test"))
    tested = book.add_dry_down("warm fibre", 10, batch="17", record_id="test", how="K7")
    book.add_dry_down("warm fibre", 9, batch="18")
    newest = book.add_dry_down("warm fibre", 8, batch="18", how="told")
    book.add_dry_down("cold gloss", 2.5)
    assert book.dry_down("warm fibre", "17") == tested
    assert book.dry_down("warm fibre", "18") == newest
    assert book.dry_down("warm fibre", "19") == book.dry_down("warm fibre") == newest
    assert (tested.percent, tested.batch, tested.record_id, tested.how) == (10, "17", "test", "K7")
    assert newest.record_id is None
    assert book.dry_down("cold") is None


def test_a_dry_down_told_of_no_batch_is_preferred_where_no_batch_is_asked_for(book: Book):
    """Without a batch the paper at large is meant, though a batch was tested since."""
    at_large = book.add_dry_down("warm fibre", 8)
    book.add_dry_down("warm fibre", 11, batch="17")
    assert book.dry_down("warm fibre") == at_large


@pytest.mark.parametrize(
    ("kept", "asked"),
    [
        ("Warm Fibre", "  warm   FIBRE "),
        ("ÉCLAT STRASSE", "éclat straße"),
        ("E\u0301clat", "\u00c9clat"),
    ],
)
def test_names_of_papers_are_compared_without_case_and_stray_spaces(
    book: Book, kept: str, asked: str
):
    """What is typed with another case or accent key is the same paper; its spelling stays."""
    entry = book.add_dry_down(kept, 8, batch=" Box a ")
    assert book.dry_down(asked, "BOX  A") == entry
    assert (entry.paper, entry.batch) == (kept, "Box a")


@pytest.mark.parametrize(
    ("paper", "percent", "record_id"),
    [
        (" ", 8, None),
        ("warm fibre", -1, None),
        ("warm fibre", 50, None),
        ("warm fibre", float("nan"), None),
        ("warm fibre", 8, "nobody"),
    ],
)
def test_a_senseless_dry_down_is_refused(
    book: Book, paper: str, percent: float, record_id: str | None
):
    """It has a paper, a percentage below half, and a record that is known, if any."""
    with pytest.raises(BookFault):
        book.add_dry_down(paper, percent, record_id=record_id)
    assert book.dry_down("warm fibre") is None
