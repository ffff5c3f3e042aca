"""What the trays make of a sheet: developer that tires, fixing that takes longer with use.

A fresh process at 20 C for its full times changes nothing at all of what ``sim.paper`` gives.
Less of it shows as it does on paper: blacks that are not reached, whites that stain. The laws are
chosen shapes where no source is named; they are meant for direction and size, not for a figure of
any product.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.paper import Emulsion
from sim.tungsten import Floats
from sim.wet_hands import TrayHands
from sim.wet_settings import WetSettings

STANDARD_C = 20.0
FIXER_Q10 = 2.0  # "double for each 18 F below 68 F": trade-facts section 9, V S8
# Hydroquinone nearly stops near 13 C (trade-facts section 9, V); how sharply is invented.
STOPS_C, STOPS_OVER_C = 13.0, 0.8
# Invented for the demo: how development goes on to its end, of e^-COMPLETION that is then missing;
# the part of the full time before the first trace; how much speed an unfinished image lacks.
COMPLETION, EMERGES, SPEED_POWER = 4.0, 0.08, 0.5
FOG_BEYOND, FOG_PER_DOUBLING = 2.0, 0.02  # invented: fog of a sheet left for twice as long
LEFT_WHEN_FIXED = 1e-3  # silver halide left after the full time; invented, and called fixed
STAIN, STAIN_TONED = 0.10, 0.90  # density over all halide, in light and in selenium; invented
SILVER_ENOUGH = 3e-3  # of the sheet's silver: what a test drop shows; invented


class Wet(NamedTuple):
    """What the trays did to one sheet.

    ``degree`` is development against that of the full process (1 or more: complete), and
    ``silver_left`` the part of the undeveloped silver that fixing left.
    """

    degree: float
    silver_left: float
    toned: bool = False

    @property
    def under_fixed(self) -> bool:
        """Would a residual silver test show something?"""
        return self.silver_left > SILVER_ENOUGH

    @property
    def is_full(self) -> bool:
        """Is it what a fresh, full process gives?"""
        return 1.0 <= self.degree <= FOG_BEYOND and self.silver_left <= LEFT_WHEN_FIXED


FULL = Wet(1.0, LEFT_WHEN_FIXED)


class Trays:
    """The developer and the fixer of an evening: each sheet takes something out of them."""

    def __init__(self, settings: WetSettings, hands: TrayHands | None = None) -> None:
        self._s = settings
        self._hands = hands or TrayHands()  # that saw where each sheet lay, if any did
        self._developed_m2 = settings.developer_used_m2
        self._fixed_m2 = settings.fixer_used_m2

    def took(self, mark: str, area_m2: float) -> Wet:
        """Let a sheet go through them, for as long as it was seen in each.

        One that was told into no tray gets the times of the settings: its own, or those of all.
        """
        s = self._s
        own = s.marks.get(mark, s)
        # what is not said of the one sheet is as for the others
        developer_s = _first(own.developer_s, s.developer_s, s.developer_full_s)
        fixer_s = _first(own.fixer_s, s.fixer_s, s.fixer_full_s)
        # one whose way is not over is foretold to get its full times
        is_seen = self._hands.is_known(mark) and not self._hands.is_under_way(mark)
        if is_seen:
            developer_s = self._hands.seconds(mark, "developer")
            fixer_s = self._hands.seconds(mark, "fix")
        degree = developer_s / s.developer_full_s * self.developer_activity
        left = LEFT_WHEN_FIXED ** (fixer_s / s.fixer_full_s * self.fixer_activity)
        if not is_seen or self._hands.was_in(mark, "developer"):
            self._developed_m2 += area_m2
        if not is_seen or self._hands.was_in(mark, "fix"):
            self._fixed_m2 += area_m2
        return Wet(degree, left, s.toned)

    @property
    def developed_m2(self) -> float:
        """Give the area that went through the developer."""
        return self._developed_m2

    @property
    def fixed_m2(self) -> float:
        """Give the area that went through the fixer."""
        return self._fixed_m2

    @property
    def developer_activity(self) -> float:
        """Give how fast the developer works now; 1 is fresh at 20 C.

        Exponential with the paper that went through it; with the temperature by Q10, and falling
        steeply where hydroquinone stops.
        """
        s = self._s
        used = self._developed_m2 / s.developer_litres / s.developer_capacity_m2_per_l
        warm = s.developer_q10 ** ((s.developer_c - STANDARD_C) / 10.0)
        cold = _works(s.developer_c) / _works(STANDARD_C)
        return float(warm * cold * 1.5**-used)

    @property
    def fixer_activity(self) -> float:
        """Give how fast the fixer works now; 1 is fresh at 20 C."""
        s = self._s
        used = self._fixed_m2 / s.fixer_litres / s.fixer_capacity_m2_per_l
        return float(FIXER_Q10 ** ((s.fixer_c - STANDARD_C) / 10.0) * 2.0**-used)


def developed(paper: Emulsion, exposure: Floats, wet: Wet) -> Floats:
    """Give the density of exposures that went through the trays; rows as ``Emulsion`` has them."""
    if wet.is_full:
        return paper.developed(exposure)
    s = paper.settings
    span = s.d_max - s.d_min
    grown = grown_part(wet.degree)
    speed = min(wet.degree, 1.0) ** SPEED_POWER
    net = (paper.developed(exposure * speed) - s.d_min) * grown
    if wet.degree > FOG_BEYOND:
        net = net + FOG_PER_DOUBLING * math.log2(wet.degree / FOG_BEYOND)
    if wet.silver_left > LEFT_WHEN_FIXED:
        # halide is what did not become image, and it is most in the whites
        halide = np.clip(1.0 - net / span, 0.0, 1.0) * wet.silver_left
        net = net + (STAIN_TONED if wet.toned else STAIN) * halide
    result: Floats = s.d_min + np.minimum(net, span)
    return result


def grown_part(degree: float) -> float:
    """Give the part of the full density that has grown; 0 before the image comes, 1 at the end."""
    since = max(0.0, (min(degree, 1.0) - EMERGES) / (1.0 - EMERGES))
    return math.expm1(-COMPLETION * since) / math.expm1(-COMPLETION)


def _works(celsius: float) -> float:
    return 1.0 / (1.0 + math.exp(-(celsius - STOPS_C) / STOPS_OVER_C))


def _first(*given: float | None) -> float:
    return next(each for each in given if each is not None)
