"""Two curves of a paper compared: a box with itself later, or one box with another. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from controller.boxes.model import Box, PaperCurve, one_measure
from controller.errors import Refused

LOG_OF_STOP = math.log10(2.0)
# By so much a curve may be off by reading alone (a noise of 0.02, 21 patches; our own trials)
SURE_SPEED_STOPS, SURE_RANGE = 0.05, 5.0
NEAR_RANGE = 15.0  # from here on a filter does not stand for another (half a usual grade)
SURE_DENSITY = 0.03


@dataclass(frozen=True, slots=True)
class Apart:
    """By how much a second curve differs from a first one.

    ``speed_stops`` above 0 is faster: so much less light gives the speed point. ``range_more``
    is in hundredths of a log unit; densities are differences.
    """

    filter: str
    to_filter: str
    speed_stops: float
    highlight_stops: float
    range_more: float
    white_more: float
    black_more: float
    extrapolated: bool = False  # no patch of one of them was black

    @property
    def told_apart(self) -> bool:
        """Is any of it more than reading alone can be off?"""
        return (
            abs(self.speed_stops) > SURE_SPEED_STOPS
            or abs(self.range_more) > SURE_RANGE
            or abs(self.white_more) > SURE_DENSITY
            or abs(self.black_more) > SURE_DENSITY
        )

    def tell(self) -> str:
        """Tell it in one line, with what it means for an exposure."""
        name = f"filter {self.filter or 'none'}"
        if self.to_filter != self.filter:
            name += f" to {self.to_filter or 'none'}"
        if not self.told_apart:
            return f"{name}: alike, as far as readings tell"
        if abs(self.range_more) > NEAR_RANGE and not self.extrapolated:
            kind = "harder" if self.range_more > 0 else "softer"
            return (
                f"{name} is nearest, and {abs(self.range_more):.0f} off in range: "
                f"none {kind} was measured"
            )
        light = (
            f"highlight wants {-self.highlight_stops:+.2f} stop, middle {-self.speed_stops:+.2f}"
        )
        if self.extrapolated:
            return f"{name}: {light}; range and black are extrapolated, and not compared"
        # a rounded nothing has no minus
        white, black = (round(each, 2) + 0.0 for each in (self.white_more, self.black_more))
        densities = f"white {white:+.2f}, black {black:+.2f}"
        return f"{name}: {light}; range {self.range_more:+.0f}, {densities}"


def apart(first: PaperCurve, second: PaperCurve) -> Apart:
    """Compare a curve with a first one; both in the same measure of light."""
    return Apart(
        first.filter,
        second.filter,
        (first.log_hm - second.log_hm) / LOG_OF_STOP,
        (first.log_ht - second.log_ht) / LOG_OF_STOP,
        100.0 * (_ler(second) - _ler(first)),
        second.d_min - first.d_min,
        second.d_max - first.d_max,
        not (first.black_seen and second.black_seen),
    )


def nearest(curve: PaperCurve, others: Mapping[str, PaperCurve]) -> PaperCurve:
    """Give the curve whose range is nearest; of two as near the one of the same filter."""
    return min(
        others.values(),
        key=lambda one: (round(abs(_ler(one) - _ler(curve)), 2), one.filter != curve.filter),
    )


def matched(one: Box, other: Box) -> tuple[str, list[Apart]]:
    """Compare two boxes: for each filter of the first the nearest of the second.

    The condition under which that holds comes first; empty where there is none. Raises Refused.
    """
    for box in (one, other):
        if not box.curves:
            raise Refused(
                f"{box.batch.handle} has no curve yet",
                (f"a calibration sheet: dryside paper sheet {box.batch.handle} --filter 2",),
            )
    condition = one_measure(one, other)
    return condition, [apart(curve, nearest(curve, other.curves)) for curve in one.curves.values()]


def match_lines(one: Box, other: Box) -> list[str]:
    """Tell two boxes compared, line by line. Raises Refused."""
    condition, found = matched(one, other)
    return [*filter(None, [condition]), *(each.tell() for each in found)]


def _ler(curve: PaperCurve) -> float:
    return curve.log_hs - curve.log_ht
