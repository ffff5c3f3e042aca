"""Reciprocity: whether a long exposure in dim light counts as much as a short one. Pure.

Schwarzschild's law: what counts is lux * t^p, and p = 1 is no failure. About a time of reference,
at which the exposure is what it seems, a time ``t`` that was worked out without it becomes
``t_ref * (t / t_ref)^(1/p)`` (trade-facts section 8). It is measured by giving one dose long and
short: patches under two or more lux.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from controller.errors import Refused
from controller.paper.curve import Curve, Floats
from controller.paper.fit import (
    LEAST_PATCHES,
    curve_of,
    refuse_what_is_no_curve,
    shape_unknowns,
)
from controller.paper.least_squares import Unknown, solve
from controller.paper.readings import Reading

REFERENCE_S = 10.0
EXPONENT = (1.0, 0.1)  # expected, and its doubt: project's choice, no sourced figure was found
LEAST_STOPS = 1.0  # of difference in lux, below which nothing can be told
LOG_OF_STOP = math.log10(2.0)


@dataclass(frozen=True)
class Reciprocity:
    """Schwarzschild's exponent of a paper, its standard error, and its curve at 10 s."""

    exponent: float
    error: float
    curve: Curve
    residual_rms: float
    outliers: tuple[Reading, ...]

    @property
    def is_told(self) -> bool:
        """Is the exponent further from 1 than two standard errors?"""
        return abs(1.0 - self.exponent) > 2.0 * self.error


def corrected_s(metered_s: float, exponent: float, reference_s: float = REFERENCE_S) -> float:
    """Give the time that makes up for reciprocity failure. Raises ValueError below 0."""
    if not metered_s > 0.0 or not exponent > 0.0:
        raise ValueError("time and exponent are above 0")
    return float(reference_s * (metered_s / reference_s) ** (1.0 / exponent))


def fit_reciprocity(readings: Sequence[Reading], where: str) -> Reciprocity:
    """Fit the exponent with the curve; ``log_exposures`` hold log10 lux and log10 seconds.

    Raises Refused where one dose was not given both long and short.
    """
    logs = np.array([each.log_exposures for each in readings], dtype=np.float64).reshape(-1, 2)
    densities = np.array([each.density for each in readings], dtype=np.float64)
    log_lux, log_s = logs[:, 0], logs[:, 1] - math.log10(REFERENCE_S)
    refuse_what_is_no_curve(log_lux + log_s, densities, where)
    if len(readings) < LEAST_PATCHES + 1 or np.ptp(log_lux) < LEAST_STOPS * LOG_OF_STOP:
        raise Refused(
            f"{where}: reciprocity shows where one dose is given long and short, and here all "
            "light has nearly the same lux",
            ("a second row of patches at least two stops dimmer, and as much longer",),
        )

    def model(values: Floats) -> Floats:
        return curve_of(values[:-1]).densities(log_lux + values[-1] * log_s)

    shape, starts = shape_unknowns(log_lux + log_s, densities)
    solved = solve(
        model,
        densities,
        (*shape, Unknown("exponent", 0.5, 1.3, *EXPONENT)),
        [(*start, 1.0) for start in starts],
    )
    return Reciprocity(
        float(solved.values[-1]),
        solved.error_of(lambda values: float(values[-1])),
        # exposures are lux times seconds as long as the light is on for the time of reference
        curve_of(solved.values[:-1]).shifted(math.log10(REFERENCE_S)),
        solved.rms,
        tuple(each for each, kept in zip(readings, solved.kept, strict=True) if not kept),
    )
