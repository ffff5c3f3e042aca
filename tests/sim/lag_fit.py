"""Find a lamp's two lag numbers from the physics: what a perfect light meter would find.

The formula belongs to the tests; the imagined room does not know it.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
from imagined_strip import Calibration
from scipy.optimize import brentq, linprog

from controller.ports import NewSheet
from sim.settings import SimulatorSettings
from sim.world import ImaginedWorld

DOSES_S = (0.3, 0.5, 1.0, 2.0, 6.0, 60.0)
GAPS_S = (1.0, 1.3, 1.7, 2.2, 3.0, 4.5, 7.0, 10.0)
BEFORE_S = (0.4, 3.0)


class Fit(NamedTuple):
    calibration: Calibration
    worst_s: float  # of one pulse
    worst_stops: float  # of one pulse; the shortest is the worst


def dose_of(
    settings: SimulatorSettings, on_s: float, gap_s: float | None, before_s: float = 3.0
) -> float:
    """Measure the light of one pulse that follows another after a gap."""
    world = ImaginedWorld(settings)
    now_ns = 1_000_000_000
    if gap_s is not None:
        world.switch(now_ns, "lamp", True)
        now_ns += round(before_s * 1e9)
        world.switch(now_ns, "lamp", False)
        now_ns += round(gap_s * 1e9)
    world.do(now_ns, NewSheet("", 4.0, 4.0))
    world.switch(now_ns, "lamp", True)
    now_ns += round(on_s * 1e9)
    world.switch(now_ns, "lamp", False)
    return world.develop(now_ns)[0].patches[0].delivered_s


def fit_lag(settings: SimulatorSettings, doses_s: tuple[float, ...] = DOSES_S) -> Fit:
    """Find the two numbers with the smallest worst error, gaps from 1 to 10 s."""
    settings = settings.model_copy(update={"relay_scatter_s": 0.0})
    cases = [(dose, None, 0.0) for dose in doses_s] + list(
        itertools.product(doses_s, GAPS_S, BEFORE_S)
    )
    lags = np.array(
        [
            brentq(lambda on, c=case: dose_of(settings, on, *c[1:]) - c[0], case[0], case[0] + 1)
            - case[0]
            for case in cases
        ]
    )
    inverse = np.array([0.0 if gap is None else 1.0 / gap for _, gap, _ in cases])
    doses = np.array([case[0] for case in cases])
    # smallest e with |lag - cold + warm / gap| <= e everywhere
    ones = np.ones_like(lags)
    above = np.column_stack([ones, -inverse, -ones])
    below = np.column_stack([-ones, inverse, -ones])
    found = linprog(
        [0, 0, 1],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([lags, -lags]),
        bounds=[(0, None)] * 3,
    ).x
    errors = lags - np.maximum(0.0, found[0] - found[1] * inverse)
    stops = np.log2((doses - errors) / doses)
    calibration = Calibration(float(found[0]), float(found[1]))
    return Fit(calibration, float(np.abs(errors).max()), float(np.abs(stops).max()))
