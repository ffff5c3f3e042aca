"""The factorial method against values from outside.

Classes as in ``test_exposure_arithmetic``: D arithmetic (or by definition), V seen in an excerpt
of the source that is named.
"""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import ns
from controller.trays.clock import WetClock
from controller.trays.emerge import by_factor, developing_s
from controller.trays.process import PROCESSES

# image in s, factor, whole time in s
FACTORIAL = [
    (20.0, 6.0, 120.0),  # D
    (15.0, 6.0, 90.0),  # D
    (45.0, 5.0, 225.0),  # V, an old worked example, of a plate
]


@pytest.mark.parametrize(("image_s", "factor", "whole_s"), FACTORIAL)
def test_the_whole_time_is_the_image_s_times_the_factor(
    image_s: float, factor: float, whole_s: float
) -> None:
    """As worked examples have it."""
    assert developing_s(image_s, factor) == pytest.approx(whole_s)


@pytest.mark.parametrize(("image_s", "factor", "whole_s"), FACTORIAL)
def test_a_sheet_on_the_clock_gets_that_time(image_s: float, factor: float, whole_s: float) -> None:
    """Tapped at the image, a sheet leaves the developer for the stop bath then."""
    clock = WetClock()
    clock.start(0, "K1", "", by_factor(PROCESSES["fibre"], factor))
    clock.step(ns(10.0))
    clock.tap(ns(10.0 + image_s))
    (in_stop,) = [move.at_ns for move in clock.moves() if move.words == "K1 in, stop"]
    assert in_stop == ns(10.0 + whole_s)
