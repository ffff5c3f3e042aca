"""Paper as a page of the book: boxes one by one, curves drawn, within the smallest screen."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from controller.boxes.fitting import LATER
from controller.boxes.model import Developing, How, PaperCurve, Point
from controller.paper.curve import Curve
from tests.ui.terminal.fake_unit import Tried, walk
from ui.unit import open_book


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def with_curve(name: str) -> None:
    """Put a box of paper with a curve of filter 3 into the book."""
    curve = Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2)
    developing = Developing("ours 1+9", 90.0)
    with open_book() as book:
        batch = book.papers.add_batch(name, developing=developing)
        points = tuple(
            Point(str(n), n / 10, curve.density(n / 10), 0.02, {"3": 1.0}) for n in range(5, 21)
        )
        reading = book.papers.add_reading(
            batch, points, filter="3", developing=developing, how=How.DENSITOMETER
        )
        kept = PaperCurve(
            0, batch.number, reading.number, "3", developing, 0.06, 2.1, 0.6, 0.9, 1.5, 90, None,
            0.01, True, True, curve.as_numbers(), LATER,
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
