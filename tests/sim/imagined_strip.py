"""Strips made by hand in the imagined room, with a calibration of the tests' own."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from controller.ports import Move, NewSheet
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld


@dataclass(frozen=True)
class Calibration:
    """On-time = dose + max(0, cold - warm / gap)."""

    cold_lag_s: float
    warm_gain_s2: float

    def on_time_s(self, dose_s: float, gap_s: float | None) -> float:
        warm_s = 0.0 if gap_s is None else self.warm_gain_s2 / gap_s
        return dose_s + max(0.0, self.cold_lag_s - warm_s)


NONE = Calibration(0.0, 0.0)


def card_totals(base_s: float, step: float, patches: int) -> list[float]:
    return [base_s * 2.0 ** (step * n) for n in range(patches)]


def make_strip(
    settings: SimulatorSettings,
    calibration: Calibration,
    totals_s: Sequence[float],
    *,
    tool: str = "card",
    gaps: random.Random,
    gap_s: tuple[float, float] = (1.0, 10.0),
    start_ns: int = 987_654_321_123,
) -> DevelopedSheet:
    """Make one strip; its pulses follow each other after gaps drawn from ``gap_s``."""
    world = ImaginedWorld(settings)
    pulses_s = list(totals_s)
    if tool == "card":
        pulses_s = [b - a for a, b in zip([0.0, *totals_s], totals_s, strict=False)]
    now_ns = start_ns
    world.do(now_ns, NewSheet("K1", 120.0, 30.0))
    now_ns += 5_000_000_000
    for position, dose_s in enumerate(pulses_s):
        gap = gaps.uniform(*gap_s) if position else None
        if gap is not None:
            # the hand moves in the dark, when the filament has stopped glowing
            world.do(now_ns + 700_000_000, Move(tool, position, len(totals_s)))
            now_ns += round(gap * 1e9)
        else:
            world.do(now_ns, Move(tool, position, len(totals_s)))
        world.switch(now_ns, "lamp", True)
        now_ns += round(calibration.on_time_s(dose_s, gap) * 1e9)
        world.switch(now_ns, "lamp", False)
    return world.develop(now_ns)[0]
