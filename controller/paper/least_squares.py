"""Fitting of readings by least squares, robust, with what is known before they are looked at.

Every unknown brings an expectation and a doubt about it; both count as one more reading. With
many patches they hardly matter; with five they keep what was not measured within what papers are.
Readings far off the fit lose weight at first (soft L1 loss), and then are left out and named.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from controller.paper.curve import Floats

READING_NOISE = 0.02  # density; what a small densitometer repeats to (common practice, no source)
_NOISE_COUNTS_AS = 4.0  # readings' worth of belief in that, against the scatter that is seen
_LEAST_NOISE = 0.002
OUTLIER_SIGMAS = 3.5
LEAST_OUTLIER = 0.07  # density: nothing nearer to the fit is called an outlier


class Unknown(NamedTuple):
    """One unknown of a fit: its bounds, what is expected, and one standard deviation of doubt."""

    name: str
    low: float
    high: float
    expected: float
    doubt: float


@dataclass(frozen=True)
class Solved:
    """A fit: the unknowns' values, their covariance, and which readings it rests on."""

    values: Floats
    covariance: Floats
    kept: NDArray[np.bool_]
    residuals: Floats  # of all readings: measured less fitted
    noise: float  # standard deviation of a reading, as it is believed after the fit
    badness: float  # n log of the mean robust loss: smaller is better

    @property
    def rms(self) -> float:
        """Root mean square of the residuals that the fit rests on."""
        return float(np.sqrt(np.mean(self.residuals[self.kept] ** 2)))

    def error_of(self, figure: Callable[[Floats], float]) -> float:
        """Give the standard error of a figure that follows from the unknowns (delta method)."""
        steps = 1e-3 * np.sqrt(np.diag(self.covariance)) + 1e-9
        slopes = np.empty(len(self.values))
        for index, step in enumerate(steps):
            aside = np.zeros(len(self.values))
            aside[index] = step
            slopes[index] = (figure(self.values + aside) - figure(self.values - aside)) / (2 * step)
        return float(np.sqrt(max(0.0, float(slopes @ self.covariance @ slopes))))


def solve(
    model: Callable[[Floats], Floats],
    measured: Floats,
    unknowns: Sequence[Unknown],
    starts: Sequence[Sequence[float]],
) -> Solved:
    """Fit a model to measured densities from several starts; the best one counts."""
    low = np.array([each.low for each in unknowns])
    high = np.array([each.high for each in unknowns])
    expected = np.array([each.expected for each in unknowns])
    doubt = np.array([each.doubt for each in unknowns])
    inside = 1e-6 * (high - low)

    def run(start: Floats, noise: float, kept: NDArray[np.bool_], loss: str) -> Floats:
        def weighed(values: Floats) -> Floats:
            off = (measured - model(values))[kept] / noise
            return np.concatenate([off, (values - expected) / doubt])

        result = least_squares(
            weighed,
            np.clip(start, low + inside, high - inside),
            bounds=(low, high),
            loss=loss,
            x_scale=np.minimum(doubt, high - low),
            max_nfev=100,
        )
        values: Floats = result.x
        return values

    def robust(values: Floats, noise: float) -> float:
        off = (measured - model(values)) / noise
        doubts = (values - expected) / doubt
        return float(np.sum(2.0 * (np.sqrt(1.0 + off**2) - 1.0)) + np.sum(doubts**2))

    everything = np.ones(len(measured), dtype=np.bool_)
    found = [run(np.array(start), READING_NOISE, everything, "soft_l1") for start in starts]
    values = min(found, key=lambda each: robust(each, READING_NOISE))
    kept = everything
    for _ in range(2):
        noise = _noise(measured - model(values), kept, len(unknowns))
        kept = _kept(measured - model(values), noise)
        values = run(values, noise, kept, "linear")
    residuals = measured - model(values)
    noise = _noise(residuals, kept, len(unknowns))
    return Solved(
        values,
        _covariance(model, values, unknowns, kept, noise),
        kept,
        residuals,
        noise,
        len(measured) * float(np.log(np.mean(_softened(residuals)) + 1e-9)),
    )


def _softened(residuals: Floats) -> Floats:
    """Square small residuals; large ones count by their size (in units of the reading noise)."""
    off = residuals / READING_NOISE
    softened: Floats = 2.0 * (np.sqrt(1.0 + off**2) - 1.0)
    return softened


def _noise(residuals: Floats, kept: NDArray[np.bool_], unknowns: int) -> float:
    """Give the scatter of a reading: what is seen, held by what is usual where little is seen."""
    freedom = max(float(kept.sum() - unknowns), 0.0)
    # median of the sizes: an outlier that is not left out yet must not widen its own limit
    seen = 1.4826 * float(np.median(np.abs(residuals[kept])))
    if freedom:
        seen *= np.sqrt(kept.sum() / freedom)
    held = (_NOISE_COUNTS_AS * READING_NOISE**2 + freedom * seen**2) / (_NOISE_COUNTS_AS + freedom)
    return float(max(_LEAST_NOISE, np.sqrt(held)))


def _kept(residuals: Floats, noise: float) -> NDArray[np.bool_]:
    """Leave out what is far off, but never so many that the rest is no calibration."""
    size = np.abs(residuals)
    may_go = max(0, (len(size) - 5) // 3)
    limit = max(OUTLIER_SIGMAS * noise, LEAST_OUTLIER)
    worst = np.argsort(size)[::-1][:may_go]
    kept = np.ones(len(size), dtype=np.bool_)
    kept[worst[size[worst] > limit]] = False
    return kept


def _covariance(
    model: Callable[[Floats], Floats],
    values: Floats,
    unknowns: Sequence[Unknown],
    kept: NDArray[np.bool_],
    noise: float,
) -> Floats:
    columns = []
    for index, unknown in enumerate(unknowns):
        step = 1e-5 * min(unknown.doubt, unknown.high - unknown.low)
        aside = np.zeros(len(values))
        aside[index] = step
        columns.append((model(values + aside) - model(values - aside))[kept] / (2.0 * step))
    slopes: Floats = np.array(columns, dtype=np.float64).T / noise
    known = np.diag([unknown.doubt**-2 for unknown in unknowns])
    information: Floats = np.asarray(slopes.T @ slopes + known, dtype=np.float64)
    return np.asarray(np.linalg.inv(information), dtype=np.float64)
