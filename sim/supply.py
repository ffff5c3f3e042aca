"""The mains: how high the voltage is now, in parts of the rated one."""

from __future__ import annotations

import math
import random

from sim.settings import SimulatorSettings


class Supply:
    """Relative supply voltage over time: a level, a slow wander, and the half cycles."""

    def __init__(self, settings: SimulatorSettings, rng: random.Random) -> None:
        self.level = settings.supply
        self.ripple = settings.ripple
        self.mains_hz = settings.mains_hz
        self._wander = settings.supply_wander
        self._period_s = settings.supply_wander_s
        self._turns = (rng.random(), rng.random())
        # a zero crossing lies here; nothing ties the mains to our clock
        self.phase_ns = rng.randrange(round(0.5e9 / settings.mains_hz))

    @property
    def steady(self) -> bool:
        """Is the voltage (as a mean over half cycles) always the same, and only that asked for?"""
        return not self.ripple and self._wander == 0.0

    def mean_square(self, now_ns: int) -> float:
        """Give the square of the relative voltage at this instant; 1 in the mean when rated."""
        if self._wander:
            at = now_ns / 1e9 / self._period_s
            # two periods with no common measure, so that it does not repeat itself soon
            first = math.sin(math.tau * (at + self._turns[0]))
            second = math.sin(math.tau * (at * 1.618 + self._turns[1]))
            square = (self.level + self._wander * (0.6 * first + 0.4 * second)) ** 2
        else:
            square = self.level**2
        if self.ripple:
            cycles = (now_ns - self.phase_ns) / 1e9 * self.mains_hz
            square *= 2.0 * math.sin(math.tau * (cycles % 1.0)) ** 2
        return square
