"""From densities of patches to the paper's curve. Pure.

Where ``later`` is free the curve may be the sum of two parts (see ``curve``); it is taken only
where twelve patches or more are clearly better told so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from controller.errors import Refused
from controller.paper.curve import Curve, Floats
from controller.paper.least_squares import Solved, Unknown, solve
from controller.paper.readings import Reading

LEAST_PATCHES = 5
LEAST_PATCHES_FOR_PARTS = 12
LEAST_SPAN = 0.3  # density from the palest to the darkest patch
WHITE_IS_SEEN = 0.03  # density from paper white to the palest patch
BLACK_IS_SEEN = 0.06  # density from full black to the darkest

# What papers are like before one is measured: project's choice, wide enough for matt and glossy
# papers of any grade; only sheets of few patches feel it.
WHITE = (0.06, 0.04)
NET_RANGE = (2.0, 0.4)
LOG_SLOPE = (float(np.log(2.2)), 0.8)
LOG_TOE = (float(np.log(0.14)), 0.45)
LOG_SHOULDER = (float(np.log(0.16)), 0.45)

_NAMES = ("d_min", "d_max", "foot", "slope", "toe", "shoulder", "later", "later_share")


@dataclass(frozen=True)
class Fit:
    """A curve fitted to readings, and how well it is known."""

    curve: Curve
    kept: tuple[Reading, ...]
    outliers: tuple[tuple[Reading, float], ...]  # with measured less fitted density
    residual_rms: float
    noise: float
    white_seen: bool
    black_seen: bool
    solved: Solved

    def error_of(self, figure: Callable[[Curve], float]) -> float:
        """Give the standard error of any figure that is read from the curve."""
        return self.solved.error_of(lambda values: figure(curve_of(values)))

    def errors(self) -> dict[str, float]:
        """Give the standard error of each parameter of the curve, by its name."""
        count = len(self.solved.values)

        def number(name: str) -> Callable[[Curve], float]:
            return lambda curve: curve.as_numbers()[name]

        return {name: self.error_of(number(name)) for name in _NAMES[:count]}


def curve_of(values: Floats) -> Curve:
    """Give the curve of a fit's unknowns (in the order of ``_unknowns``)."""
    white, net, middle, log_slope, log_toe, log_shoulder, *parts = (float(v) for v in values)
    slope = float(np.exp(log_slope))
    return Curve(
        white,
        white + net,
        middle - net / (2.0 * slope),
        slope,
        float(np.exp(log_toe)) * net,
        float(np.exp(log_shoulder)) * net,
        *parts,
    )


def fit_curve(readings: Sequence[Reading], where: str) -> Fit:
    """Fit the curve of one filter; ``where`` names the readings. Raises Refused."""
    exposures = np.array([each.log_exposure for each in readings], dtype=np.float64)
    densities = np.array([each.density for each in readings], dtype=np.float64)
    refuse_what_is_no_curve(exposures, densities, where)

    def model(values: Floats) -> Floats:
        return curve_of(values).densities(exposures)

    unknowns, starts = _unknowns(exposures, densities)
    solved = solve(model, densities, unknowns, starts)
    if len(readings) >= LEAST_PATCHES_FOR_PARTS:
        more = (
            Unknown("later", 0.0, 2.0, 0.4, 0.5),
            Unknown("later_share", 0.0, 0.9, 0.4, 0.3),
        )
        at_first = tuple(float(value) for value in solved.values)
        in_parts = solve(
            model,
            densities,
            (*unknowns, *more),
            [(*at_first, later, share) for later in (0.3, 0.7) for share in (0.5,)],
        )
        # two more unknowns must earn more than chance would give them (Schwarz, doubled)
        if in_parts.badness + 4.0 * np.log(len(readings)) < solved.badness:
            solved = in_parts
    curve = curve_of(solved.values)
    used = densities[solved.kept]
    return Fit(
        curve,
        tuple(each for each, kept in zip(readings, solved.kept, strict=True) if kept),
        tuple(
            (each, float(off))
            for each, kept, off in zip(readings, solved.kept, solved.residuals, strict=True)
            if not kept
        ),
        solved.rms,
        solved.noise,
        bool(used.min() < curve.d_min + WHITE_IS_SEEN),
        bool(used.max() > curve.d_max - BLACK_IS_SEEN),
        solved,
    )


def refuse_what_is_no_curve(exposures: Floats, densities: Floats, where: str) -> None:
    """Say what is wrong with readings that no curve can be fitted to. Raises Refused."""
    if len(densities) < LEAST_PATCHES:
        raise Refused(
            f"{where} has {len(densities)} patches, and a curve takes {LEAST_PATCHES} or more"
        )
    if len(np.unique(exposures)) < LEAST_PATCHES:
        raise Refused(
            f"{where} has {len(np.unique(exposures))} different exposures, "
            f"and a curve takes {LEAST_PATCHES} or more"
        )
    if np.ptp(densities) < LEAST_SPAN:
        raise Refused(
            f"{where}: from the palest to the darkest patch are {np.ptp(densities):.2f} of "
            f"density, and a curve takes {LEAST_SPAN:g} or more",
            ("a sheet with wider steps",),
        )
    if np.corrcoef(exposures, densities)[0, 1] < 0.0:
        raise Refused(
            f"{where}: the densities fall where log_exposure rises",
            ("log_exposure = what reached the paper, not the density of the tablet over it",),
        )


def _unknowns(
    exposures: Floats, densities: Floats
) -> tuple[tuple[Unknown, ...], list[tuple[float, ...]]]:
    palest, darkest = float(densities.min()), float(densities.max())
    net = max(darkest - palest, NET_RANGE[0] if darkest < 1.5 else 0.0)
    order = np.argsort(exposures)
    half = min(palest, WHITE[0]) + net / 2.0
    risen = np.maximum.accumulate(densities[order])
    middle = float(np.interp(half, risen, exposures[order]))
    spread = float(np.ptp(exposures))
    unknowns = (
        Unknown("white", -0.1, max(palest, 0.0) + 0.1, *WHITE),
        Unknown("net range", 0.5, 3.5, *NET_RANGE),
        Unknown("middle", middle - 2.0 - spread, middle + 2.0 + spread, middle, 2.0),
        Unknown("log slope", float(np.log(0.2)), float(np.log(15.0)), *LOG_SLOPE),
        Unknown("log toe", float(np.log(0.01)), float(np.log(1.0)), *LOG_TOE),
        Unknown("log shoulder", float(np.log(0.01)), float(np.log(1.0)), *LOG_SHOULDER),
    )
    starts = [
        (max(min(palest, 0.1), 0.0), net, middle, float(np.log(slope)), bend, bend)
        for slope in (1.5, 3.5)
        for bend in (float(np.log(0.1)),)
    ]
    return unknowns, starts
