"""The lamp is counted in dose: seconds of full light.

A filament takes a moment to reach full light, so a pulse that is on for t seconds gives the
paper less than t. What is missing is the *lag*; a lamp that was off only briefly is still warm
and lags less. Two numbers describe it (DEVELOPERS.md, "Decisions, and why"):

    lag(gap) = cold_lag_s - warm_gain_s2 / gap        never below zero
    on-time  = dose + lag

This is a description that is fitted by a printed test, not a law of physics.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

SECOND_NS = 1_000_000_000


def ns(seconds: float) -> int:
    """Turn seconds into whole nanoseconds, to the nearest."""
    return round(seconds * SECOND_NS)


@dataclass(frozen=True, slots=True)
class Calibration:
    """A lamp's two numbers. Zero and zero: no compensation at all.

    ``cold_lag_s`` may be slightly negative: an LED behind a relay that releases slowly.
    """

    cold_lag_s: float = 0.0
    warm_gain_s2: float = 0.0

    def lag_s(self, gap_s: float | None) -> float:
        """Give the lag of a pulse that follows ``gap_s`` after the last; None: a cold lamp."""
        if gap_s is None or math.isinf(gap_s):
            return self.cold_lag_s
        if gap_s <= 0:
            return min(0.0, self.cold_lag_s)
        return max(min(0.0, self.cold_lag_s), self.cold_lag_s - self.warm_gain_s2 / gap_s)

    def on_time_s(self, dose_s: float, gap_s: float | None) -> float:
        """Give how long the lamp must be on to give a dose (both in seconds)."""
        return max(0.0, dose_s + self.lag_s(gap_s))

    def dose_s(self, on_time_s: float, gap_s: float | None) -> float:
        """Give the dose of a pulse that was on for so long; never below zero."""
        return max(0.0, on_time_s - self.lag_s(gap_s))


@dataclass(frozen=True, slots=True)
class LampLimits:
    """What may be asked of a lamp.

    ``least_pulse_s``: the least dose of one pulse that can be trusted. ``longest_on_s``: one
    continuous on-time, for the sake of negative and lamp. ``rest_s``: least time off between
    two pulses. ``warm_up_s``: how long it burns, lens capped, before it is steady.
    """

    least_pulse_s: float = 0.3
    longest_on_s: float = 180.0
    rest_s: float = 0.0
    warm_up_s: float = 0.0

    def longest_dose_s(self, calibration: Calibration) -> float:
        """Give the largest dose that one pulse may have on a cold lamp."""
        return self.longest_on_s - max(0.0, calibration.cold_lag_s)
