"""The chart of control strips in a terminal: where a strip lies against its limits."""

from __future__ import annotations

import pytest

from controller.boxes.control import Chart, Limits, chart
from controller.boxes.control_text import ACT, AIM, control_blocks
from controller.boxes.fitting import LATER
from controller.boxes.model import Developing, How, PaperReading, Point, Purpose

WEDGE = (0.06, 0.10, 0.30, 0.66, 1.05, 1.46, 1.80, 2.05)


def charted(*off: float) -> Chart:
    """Chart strips whose greys are off by so much."""
    readings = []
    for number, each in enumerate((0.0, 0.0, 0.0, *off)):
        points = tuple(
            Point("ABCDEFGH"[n], n / 3, d + (each if 0 < n < 7 else 0.0), 0.02, {"2": 1.0})
            for n, d in enumerate(WEDGE)
        )
        what = How.DENSITOMETER, Purpose.CONTROL, None
        mark = f"K{number}"
        reading = PaperReading(number, 1, "2", Developing(), "", mark, *what, points, "", LATER)
        readings.append(reading)
    return chart(readings, Limits())


def panel(lines: list[str], name: str) -> list[str]:
    """Give the lines of one panel, without their labels."""
    wide = (72 - 2) // 2 + 2
    at = next(n for n, line in enumerate(lines) if name in line)
    left = lines[at].index(name)
    high = len(lines) // 2 - 1
    return [line[left : left + wide].ljust(wide)[6:] for line in lines[at + 1 : at + 1 + high]]


@pytest.mark.parametrize("off", [0.13, -0.13])
def test_a_strip_that_is_off_lies_beyond_the_limit_of_acting(off: float):
    """Above its line for more, below it for less; those before lie on the aim."""
    lines = control_blocks(charted(off), Limits(), columns=72, rows=24)
    rows = panel(lines, "speed")
    dots = [next(n for n, row in enumerate(rows) if row[2 + 4 * at] in "▀▄") for at in range(4)]
    acting = [n for n, row in enumerate(rows) if ACT in row]
    aim = next(n for n, row in enumerate(rows) if AIM in row)
    assert dots[:3] == [aim] * 3
    assert dots[3] < acting[0] if off > 0 else dots[3] > acting[-1]
    assert f"speed {off:+.2f}, act" in lines[0]


def test_of_many_strips_the_newest_are_drawn():
    """Whatever does not fit goes at the left; no line is wider than what was given."""
    lines = control_blocks(charted(*([0.0] * 60), 0.09), Limits(), columns=72, rows=12)
    assert len(lines) == 12
    assert max(map(len, lines)) <= 72
    assert "speed +0.09, watch" in lines[0]
    rows = panel(lines, "speed")
    assert [row[28] for row in rows].count("▀") + [row[28] for row in rows].count("▄") == 1
    assert "▀" in rows[0] + rows[1] or "▄" in rows[0] + rows[1]
