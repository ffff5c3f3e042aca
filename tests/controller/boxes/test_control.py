"""Control charts, two curves compared, and curves drawn as text."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from controller.boxes.control import Figure, Limits, State, chart
from controller.boxes.match import apart, nearest
from controller.boxes.model import (
    Developing,
    How,
    PaperCurve,
    PaperReading,
    Point,
    Purpose,
)
from controller.boxes.text_plot import Drawn, plot
from controller.errors import Refused

DAY = datetime(2026, 1, 1, tzinfo=UTC)
WEDGE = (0.06, 0.07, 0.15, 0.35, 0.65, 1.0, 1.45, 1.85, 2.05, 2.10)


def strip(number: int, white: float = 0.0, light: float = 0.0, dark: float = 0.0) -> PaperReading:
    """Give a control strip whose white, light and dark grey are off by so much."""
    off = {0: white, 4: light, 6: dark}
    points = tuple(
        Point("ABCDEFGHIJ"[index], index / 5, density + off.get(index, 0.0), 0.02, {"none": 1.0})
        for index, density in enumerate(WEDGE)
    )
    return PaperReading(
        number, 1, "", Developing(), "r", f"K{number}", How.DENSITOMETER, Purpose.CONTROL, None,
        points, "", DAY,
    )  # fmt: skip


def curve(filter_: str = "2", ht: float = 0.0, ler: float = 1.1, black: float = 2.1) -> PaperCurve:
    """Give a curve by its points."""
    return PaperCurve(
        1, 1, 1, filter_, Developing(), 0.06, black, ht, ht + 0.5, ht + ler, 110, None, 0.01,
        True, True, {}, DAY,
    )  # fmt: skip


def test_strips_like_the_first_are_good():
    """Strips within the limits ask for nothing."""
    found = chart([strip(n, light=0.01 * (-1) ** n) for n in range(5)], Limits())
    assert {one.state for one in found.strips} == {State.GOOD}
    assert found.advice == ()
    assert (found.patches["white"], found.patches["light"], found.patches["dark"]) == (
        "A", "E", "G",
    )  # fmt: skip


def test_a_strip_beyond_the_limits_is_told_with_causes():
    """A light grey that is off by 0.12 asks for action, and first for a second strip."""
    found = chart([strip(1), strip(2), strip(3), strip(4, light=0.12, dark=0.12)], Limits())
    newest = found.strips[-1]
    assert newest.states == {
        Figure.WHITE: State.GOOD,
        Figure.SPEED: State.ACT,
        Figure.CONTRAST: State.GOOD,
        Figure.BLACK: State.GOOD,
    }
    assert "developer" in found.advice[0]
    assert "second control strip" in found.advice[-1]


def test_white_has_closer_limits():
    """A white that is 0.03 darker is watched, where a grey would be good."""
    found = chart([strip(1), strip(2), strip(3), strip(4, white=0.03, light=0.03)], Limits())
    states = found.strips[-1].states
    assert (states[Figure.WHITE], states[Figure.SPEED]) == (State.WATCH, State.GOOD)


def test_seven_on_one_side_drift():
    """Seven strips in a row a little below the aim are told, though each alone is good."""
    strips = [strip(n) for n in range(3)] + [strip(n, light=-0.02) for n in range(7)]
    assert any("drifts" in line for line in chart(strips, Limits()).advice)
    assert not any("drifts" in line for line in chart(strips[:-1], Limits()).advice)


def test_what_cannot_be_charted_is_refused():
    """No strip at all, and one without a black."""
    with pytest.raises(Refused, match="no control strip"):
        chart([], Limits())
    pale = strip(1)
    short = PaperReading(
        1, 1, "", Developing(), "r", "K1", How.DENSITOMETER, Purpose.CONTROL, None,
        pale.points[:5], "", DAY,
    )  # fmt: skip
    with pytest.raises(Refused, match="too little"):
        chart([short], Limits())


def test_twice_the_speed_wants_a_stop_less():
    """A curve that lies 0.30103 lower in log exposure is one stop faster in every tone."""
    found = apart(curve(), curve(ht=-math.log10(2.0)))
    assert (found.speed_stops, found.highlight_stops) == (pytest.approx(1.0), pytest.approx(1.0))
    assert "-1.00" in found.tell()
    assert not apart(curve(), curve(ht=0.01)).told_apart


def test_a_filter_that_is_far_off_is_not_offered_as_the_same():
    """Where the nearest range is 40 off it is said that none harder was measured."""
    assert "none harder was measured" in apart(curve("5", ler=0.6), curve("3", ler=1.0)).tell()


def test_what_was_extrapolated_is_not_compared():
    """Where one paper's black was never seen its range is not told as a difference."""
    found = replace(apart(curve(), curve(ler=1.5)), extrapolated=True)
    assert "not compared" in found.tell()


def test_the_nearest_filter_is_that_of_the_nearest_range():
    """Filter 2 of the old paper is filter 3 of one that is softer throughout."""
    others = {"2": curve("2", ler=1.3), "3": curve("3", ler=1.12), "4": curve("4", ler=0.8)}
    assert nearest(curve("2", ler=1.1), others).filter == "3"
    assert nearest(curve("2"), {"3": curve("3"), "2": curve("2")}).filter == "2"


def test_a_text_plot_holds_its_curve_and_its_patches():
    """White lies on the lowest row at the left, black on a high one at the right; all in width."""
    line = [(x / 20, min(2.0, max(0.0, x / 20))) for x in range(41)]
    lines = plot([Drawn("5", line, [(0.0, 0.0), (2.0, 2.0)])], columns=60, rows=12)
    assert all(len(row) <= 64 for row in lines)
    assert lines[11][6] == "5"
    assert lines[0].endswith("5")
    assert "2.0" in lines[0]
    rises = [row.find(sign) for row in lines[:12] for sign in "▀▄█" if sign in row]
    assert rises[0] > rises[-1]
