"""The book in figures: every sheet counted once, and what was wasted told by its own rule."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from controller.book.book import Book
from controller.book.entries import (
    ExposureEntry,
    LampEntry,
    Page,
    PulseEntry,
    Record,
    SheetEntry,
)
from controller.book_out.bars import (
    bar,
    between,
    columns,
    figure_lines,
    minutes_words,
    sparkline,
)
from controller.book_out.drift import drifts_of
from controller.book_out.figures import Figures, figures, since_asked
from controller.boxes.model import Developing, How, Point, Purpose
from controller.errors import BadInput
from controller.events import Fate
from controller.keeper import Cause
from controller.record_sheet.figures_page import figures_page
from controller.record_sheet.ink import Words
from controller.record_sheet.raster import write_png
from controller.score.file import to_json
from tests.controller.book.histories import now
from tests.controller.imagined_scene import SCENE

START = datetime(2026, 1, 10, 18, tzinfo=UTC)


def page(
    kind: str, minutes: float, *fates: Fate | None, lasted: float = 5, paper: str = "pearl"
) -> Page:
    """Give a record that began so many minutes after the start, with a sheet of each fate."""
    at = START + timedelta(minutes=minutes)
    name = f"{kind} {minutes}"
    score = SCENE.model_copy(update={"paper": SCENE.paper.model_copy(update={"name": paper})})
    spec = to_json(score) if kind in ("print", "trial piece") else "{}"
    end = at + timedelta(minutes=lasted)
    record = Record(name, kind, "", spec, "{}", {}, "rig", at, end, Fate.DONE, "")
    sheets = tuple(
        SheetEntry(f"K{n}", 200.0, 100.0, at, end, fate, None) for n, fate in enumerate(fates)
    )
    return Page(record, sheets, (), (), ())


EVENING = [
    page("strip", 0, Fate.DONE),
    page("strip", 10, Fate.SPOILED, Fate.DONE),
    page("print", 25, Fate.SPOILED),
    page("print", 40, Fate.DONE, lasted=10),
    page("print", 60, Fate.DONE, Fate.DONE, lasted=20, paper="glossy"),
]


def test_an_evening_is_counted() -> None:
    """Sheets by kind and fate, area, tests before each good print, and its minutes."""
    found = figures(reversed(EVENING))
    assert found.sheets == {"print": {"done": 3, "spoiled": 1}, "strip": {"done": 2, "spoiled": 1}}
    assert (found.used_m2, found.wasted_m2) == (pytest.approx(0.14), pytest.approx(0.04))
    assert found.tests_per_print is not None
    assert (found.tests_per_print.most, found.tests_per_print.least) == (3, 0)
    assert found.minutes_per_print is not None
    # from the first strip to the end of the print that came of it; two prints share their time
    assert (found.minutes_per_print.most, found.minutes_per_print.least) == (50, 10)
    assert [(one.name, one.sheets) for one in found.papers] == [("pearl", 5), ("glossy", 2)]


def test_a_night_between_is_no_time_for_a_print() -> None:
    """A strip of the evening before still is a test of the print, but its hours are not counted."""
    found = figures([page("strip", 0, Fate.DONE), page("print", 24 * 60, Fate.DONE, lasted=6)])
    assert found.tests_per_print is not None
    assert found.tests_per_print.most == 1
    assert found.minutes_per_print is not None
    assert found.minutes_per_print.most == 6


def test_months_without_a_sheet_are_there() -> None:
    """From the first to the last, over the end of a year."""
    early = [page("print", -60 * 24 * 100, Fate.DONE), page("print", 0, None)]
    months = figures(early).months
    assert [one.month for one in months] == ["2025-10", "2025-11", "2025-12", "2026-01"]
    assert [one.prints for one in months] == [1, 0, 0, 1]


def test_only_from_a_day_on() -> None:
    """What came before it is in no figure; a day that is none is refused."""
    lags = [
        LampEntry("lamp", 0.1 + n / 100, 0, None, "", START + timedelta(days=n)) for n in range(3)
    ]
    found = figures([*EVENING, page("print", 60 * 24, Fate.DONE)], lags, since=date(2026, 1, 11))
    assert found.sheets == {"print": {"done": 1}}
    assert len(found.lags) == 2
    assert since_asked("") is None
    with pytest.raises(BadInput, match="2026-03-01"):
        since_asked("March")


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["print", "strip", "trial piece", "fog"]),
            st.integers(0, 10**6),
            st.lists(st.sampled_from([*Fate, None]), max_size=3),
        ),
        max_size=12,
        unique_by=lambda one: (one[0], one[1]),
    )
)
def test_every_sheet_is_counted_once(drawn: list[tuple[str, int, list[Fate | None]]]) -> None:
    """By kind, by paper and in the area: the same sheets, and no more is wasted than was used."""
    found = figures(page(kind, minutes, *fates) for kind, minutes, fates in drawn)
    count = sum(len(fates) for _, _, fates in drawn)
    assert sum(sum(fates.values()) for fates in found.sheets.values()) == count
    assert sum(one.sheets for one in found.papers) == count
    assert found.used_m2 == pytest.approx(0.02 * count)
    assert sum(one.used_m2 for one in found.papers) == pytest.approx(found.used_m2)
    assert found.wasted_m2 <= found.used_m2 + 1e-9
    assert all(len(line) <= 100 for line in figure_lines(found))


@settings(deadline=None)
@given(st.lists(st.floats(0, 1e6), min_size=1, max_size=40))
def test_lines_of_blocks_keep_the_order_of_what_they_show(values: list[float]) -> None:
    """As many blocks as values, none lower for a larger value; nothing is a space."""
    line = sparkline(values)
    assert len(line) == len(values)
    for (value, block), (other, next_block) in zip(
        zip(values, line, strict=True), list(zip(values, line, strict=True))[1:], strict=False
    ):
        assert value >= other or block <= next_block
    assert all((value == 0) == (block == " ") for value, block in zip(values, line, strict=True))
    assert len(between(values)) == len(values)


def test_a_bar_has_a_block_for_the_least_and_never_more_than_its_width() -> None:
    """Nothing has none."""
    assert (len(bar(1e-9, 1, 20)), len(bar(2, 1, 20)), bar(0, 1), bar(1, 0)) == (1, 20, "", "")


@settings(deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 300)] * 3), max_size=30), st.integers(1, 8))
def test_columns_are_as_high_as_their_sums(stacks: list[tuple[int, int, int]], high: int) -> None:
    """No more rows than asked for; more than nothing is seen, and more is never lower."""
    lines = columns(stacks, high, "abc")
    assert len(lines) <= high
    heights = [
        sum(1 for line in lines if len(line) > 5 + 2 * x and line[5 + 2 * x] != " ")
        for x in range(len(stacks))
    ]
    for one, own in zip(stacks, heights, strict=True):
        assert (own == 0) == (sum(one) == 0)
        for other, height in zip(stacks, heights, strict=True):
            assert sum(one) < sum(other) or own >= height


def test_time_that_was_only_counted_is_no_time_for_a_print() -> None:
    """A print that took less time than its own light was made on the simulator."""
    lit = PulseEntry(1, 0, 60 * 10**9, 60 * 10**9, Cause.DEADLINE)
    given = ExposureEntry(1, "K0", "soft", 60.0, 1, 1, False, START, 60.0, True, None, None, (lit,))
    for lasted, known in ((0.1, False), (5.0, True)):
        made = page("print", 0, Fate.DONE, lasted=lasted)
        found = figures([msgspec.structs.replace(made, exposures=(given,))])
        assert (found.minutes_per_print is not None) == known


def test_drift_of_the_developer_comes_of_control_strips(tmp_path: Path) -> None:
    """Strips alike are charted by box, off the mean of the first three."""
    book = Book.open(tmp_path / "book.sqlite", now=now)
    box = book.papers.add_batch("pearl", box="12")
    for weaker in (0.0, 0.0, 0.0, 0.2):
        points = tuple(
            Point("ABCDEF"[k], k / 5, max(0.06, density - weaker * (density > 0.1)), 0.02, {})
            for k, density in enumerate((0.06, 0.3, 0.7, 1.2, 1.7, 2.1))
        )
        book.papers.add_reading(
            box,
            points,
            filter="2",
            developing=Developing("1+9", 90),
            how=How.DENSITOMETER,
            purpose=Purpose.CONTROL,
        )
    (drift,) = drifts_of(book.papers)
    book.close()
    assert (drift.box, drift.developer) == ("pearl/12, filter 2", "1+9")
    assert [round(one.black, 2) for one in drift.points] == [0, 0, 0, -0.2]
    assert figures(EVENING, (), [drift], since=date(2099, 1, 1)).drifts[0].points == ()
    told = "\n".join(figure_lines(figures(EVENING, (), [drift])))
    assert "control strips on pearl/12, filter 2 in 1+9" in told
    assert "now -0.20" in told


@pytest.mark.parametrize(
    ("minutes", "told"), [(0.6, "36 s"), (12.4, "12 min"), (89, "89 min"), (150, "2.5 h")]
)
def test_minutes_are_told_as_one_would_say_them(minutes: float, told: str) -> None:
    """Neither fractions of minutes nor hundreds of them."""
    assert minutes_words(minutes) == told


def lagging(found: Figures) -> Figures:
    entries = [
        LampEntry("lamp", 0.1, 0, None, "", START),
        LampEntry("lamp", 0.1, 0, None, "", START),
    ]
    return msgspec.structs.replace(found, lags=figures([], entries).lags)


@pytest.mark.parametrize(
    "made", [lambda: figures(EVENING), lambda: figures([]), lambda: lagging(figures(EVENING))]
)
def test_a_picture_of_any_figures(made: Callable[[], Figures], tmp_path: Path) -> None:
    """Of many, of none, of a lag that never changed on one day: words on the page, and a PNG."""
    marks, size = figures_page(made())
    for mark in marks:
        if isinstance(mark, Words):
            assert 0 < mark.x < size[0]
            assert 0 < mark.y < size[1]
    write_png(tmp_path / "f.png", marks, size)
    with Image.open(tmp_path / "f.png") as image:
        assert image.getextrema()[0] < 80  # something was drawn
    with pytest.raises(BadInput, match=r"\.png"):
        write_png(tmp_path / "f.gif", marks, size)
