"""Paper as a page of the book: boxes one by one, curves drawn, within the smallest screen."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import pytest

from controller.boxes.fitting import LATER
from controller.boxes.model import Developing, How, PaperCurve, Point
from controller.desk.desk import Desk
from controller.paper.curve import Curve
from controller.score.model import Pass, Score
from controller.strips.strip import Strip
from tests.ui.terminal.fake_unit import Tried, walk
from ui.unit import open_book


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def with_curve(name: str, lux: float | None = None) -> None:
    """Put a box of paper with a curve of filter 3 into the book."""
    curve = Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2)
    developing = Developing("ours 1+9", 90.0)
    with open_book() as book:
        batch = book.papers.add_batch(name, developing=developing)
        points = tuple(
            Point(str(n), n / 10, curve.density(n / 10), 0.02, {"3": 1.0}) for n in range(5, 21)
        )
        reading = book.papers.add_reading(
            batch, points, filter="3", developing=developing, how=How.DENSITOMETER, lux=lux
        )
        kept = PaperCurve(
            0, batch.number, reading.number, "3", developing, 0.06, 2.1, 0.6, 0.9, 1.5, 90,
            100 if lux else None, 0.01, True, True, curve.as_numbers(), LATER,
        )  # fmt: skip
        found = book.papers.add_curve(kept)
        assert found.at > datetime(2020, 1, 1, tzinfo=UTC)


def test_boxes_are_shown_one_by_one_with_their_curves(home: Path) -> None:
    """The newest box comes first; n and b go through them, and stop at the ends."""
    with_curve("matt")
    with_curve("pearl")

    async def steps(tried: Tried) -> None:
        await tried.press("7", "p")
        await tried.settle()
        assert "box 1 of 2: pearl" in tried.text
        assert "filter 3: ISO R90" in tried.text
        assert "█" in tried.text
        await tried.press("n", "n")
        assert "box 2 of 2: matt" in tried.text
        await tried.press("b")
        assert "box 1 of 2: pearl" in tried.text
        await tried.press("escape")
        assert "came out" in tried.text

    walk(home, steps, size=(80, 24))


def test_a_strip_shows_the_tones_that_a_measured_paper_will_give(home: Path) -> None:
    """Told a patch of known density, page and form show what the others are to have."""
    with_curve("pearl")

    async def steps(tried: Tried) -> None:
        await tried.press("2", "d")
        await tried.settle()
        assert "seconds alone" not in tried.text
        await tried.type("0.4")
        assert "seconds alone" in tried.text  # this curve knows of no lux
        await tried.press(*(3 * ["backspace"]))
        await tried.type("B=0.15")
        assert "(0.15)" in tried.text
        assert "the paper has the last word" in tried.text
        await tried.press("escape")
        assert "(0.15)" in tried.text
        assert "as pearl is to take it" in tried.text
        await tried.press("d", *(6 * ["backspace"]))
        await tried.type("D=0.5")
        assert "(0.50)" in tried.text
        await tried.press("backspace", "backspace", "backspace", "9")
        assert "between this paper's white and black" in " ".join(tried.text.split())

    walk(home, steps, desk=Desk(strip=Strip(base_s=8, filter="3", patches=4)))


def test_a_print_shows_its_tones_though_the_strip_s_filter_has_no_curve(home: Path) -> None:
    """Strip and regions are told each on its own; regions without a print are a sentence."""
    with_curve("pearl", lux=1.0)
    score = Score(base_s=8, passes=(Pass(label="main", filter="3"),))
    curve_density = Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2).density(math.log10(8.0))

    async def steps(tried: Tried) -> None:
        await tried.press("3", "d")
        await tried.settle()
        await tried.type("0.4")
        await tried.press("down")
        await tried.type("elsewhere=1")
        assert "has no curve of filter 5" in " ".join(tried.text.split())
        assert f"elsewhere  {curve_density:.2f}" in tried.text

    walk(home, steps, desk=Desk(strip=Strip(base_s=8, filter="5", patches=4), score=score))
