"""From densities of patches to the paper's curve. Pure.

The curve may be the sum of two or three parts (see ``curve``); that is taken only where twelve
patches or more are better told so.
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
GOOD_ENOUGH = 0.005  # residuals below what any densitometer repeats to
AKAIKE = 2.0  # what each unknown more must earn where parts are to be expected
SCHWARZ_TIMES = 2.0  # ... and where not, times the log of the number of patches
WAVES = 0.0  # correlation of neighbouring residuals above which parts are tried

# What papers are like before one is measured: project's choice, wide enough for matt and glossy
# papers of any grade; only sheets of few patches feel it.
WHITE = (0.06, 0.04)
NET_RANGE = (2.0, 0.4)
LOG_SLOPE = (float(np.log(2.2)), 0.8)
LOG_TOE = (float(np.log(0.14)), 0.25)
LOG_SHOULDER = (float(np.log(0.16)), 0.25)
# ... and the parts of variable-contrast paper: each steep, and half a log unit or so apart
PART_LOG_SLOPE = (float(np.log(3.6)), 0.2)
SECOND_PART = (
    Unknown("later", 0.0, 2.0, 0.6, 0.4),
    Unknown("later share", 0.05, 0.95, 0.6, 0.2),
)
THIRD_PART = (
    Unknown("after", 0.0, 2.0, 0.5, 0.4),
    Unknown("last of later", 0.05, 0.95, 0.5, 0.2),
)

_NAMES = (
    "d_min",
    "d_max",
    "foot",
    "slope",
    "toe",
    "shoulder",
    "later",
    "later_share",
    "last",
    "last_share",
)


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
    """Give the curve of a fit's unknowns: ``shape_unknowns``, ``SECOND_PART``, ``THIRD_PART``."""
    white, net, middle, log_slope, log_toe, log_shoulder, *parts = (float(v) for v in values)
    if len(parts) > len(SECOND_PART):
        later, share, after, of_share = parts
        parts = [later, share * (1.0 - of_share), later + after, share * of_share]
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


def fit_curve(readings: Sequence[Reading], where: str, *, filtered: bool = False) -> Fit:
    """Fit the curve of one filter; ``where`` names the readings. Raises Refused.

    ``filtered`` says that the light went through a contrast filter. The paper then is of variable
    contrast and its curve a sum of parts before anything was measured, so that parts need only
    improve what is to be predicted (Akaike); else they must earn it clearly (twice Schwarz: once
    lets noise alone make parts of one sheet in thirty, and then the range is off by ten).
    """
    exposures = np.array([each.log_exposure for each in readings], dtype=np.float64)
    densities = np.array([each.density for each in readings], dtype=np.float64)
    refuse_what_is_no_curve(exposures, densities, where)

    def model(values: Floats) -> Floats:
        return curve_of(values).densities(exposures)

    unknowns, starts = shape_unknowns(exposures, densities)
    solved = solve(model, densities, unknowns, starts)
    if len(readings) >= LEAST_PATCHES_FOR_PARTS and (filtered or _goes_in_waves(exposures, solved)):
        earned = AKAIKE if filtered else SCHWARZ_TIMES * float(np.log(len(readings)))
        solved = min(
            (solved, *_in_parts(model, densities, unknowns, solved)),
            key=lambda each: each.badness + len(each.values) * earned,
        )
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


def _in_parts(
    model: Callable[[Floats], Floats],
    densities: Floats,
    unknowns: tuple[Unknown, ...],
    whole: Solved,
) -> list[Solved]:
    """Fit curves of two parts and of three, starting about the middle of the one of one piece."""
    steep = Unknown("log slope", unknowns[3].low, unknowns[3].high, *PART_LOG_SLOPE)
    steeper = (*unknowns[:3], steep, *unknowns[4:])
    white, net, middle, *_ = (float(value) for value in whole.values)
    bends = (LOG_TOE[0], LOG_SHOULDER[0])

    def start(spread: float, *parts: float) -> tuple[float, ...]:
        return (white, net, middle - spread, PART_LOG_SLOPE[0], *bends, *parts)

    two = [start(0.15, 0.3, 0.5), start(0.4, 0.8, 0.5)]
    three = [
        start(spread, late, 0.7, late, 0.5)
        for spread, late in ((0.25, 0.3), (0.55, 0.55), (0.8, 0.7))
    ]
    return [
        solve(model, densities, (*steeper, *SECOND_PART), two),
        solve(model, densities, (*steeper, *SECOND_PART, *THIRD_PART), three),
    ]


def _goes_in_waves(exposures: Floats, solved: Solved) -> bool:
    """Do neighbours' residuals resemble each other, as they do where the form does not fit?"""
    order = np.argsort(exposures[solved.kept], kind="stable")
    residuals = solved.residuals[solved.kept][order]
    if solved.rms < GOOD_ENOUGH:
        return False
    together = float(residuals[1:] @ residuals[:-1])
    return together > WAVES * float(residuals @ residuals)


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


def shape_unknowns(
    exposures: Floats, densities: Floats
) -> tuple[tuple[Unknown, ...], list[tuple[float, ...]]]:
    """Give the unknowns of a curve of one piece, and where to start looking for them."""
    palest, darkest = float(densities.min()), float(densities.max())
    net = max(darkest - palest, NET_RANGE[0] if darkest < 1.5 else 0.0)
    order = np.argsort(exposures)
    half = min(palest, WHITE[0]) + net / 2.0
    risen = np.maximum.accumulate(densities[order])
    middle = float(np.interp(half, risen, exposures[order]))
    spread = float(np.ptp(exposures))
    unknowns: tuple[Unknown, ...] = (
        Unknown("white", -0.1, max(palest, 0.0) + 0.1, *WHITE),
        Unknown("net range", 0.5, 3.5, *NET_RANGE),
        Unknown("middle", middle - 2.0 - spread, middle + 2.0 + spread, middle, 2.0),
        Unknown("log slope", float(np.log(0.2)), float(np.log(15.0)), *LOG_SLOPE),
        Unknown("log toe", float(np.log(0.01)), float(np.log(1.0)), *LOG_TOE),
        Unknown("log shoulder", float(np.log(0.01)), float(np.log(1.0)), *LOG_SHOULDER),
    )
    starts: list[tuple[float, ...]] = [
        (max(min(palest, 0.1), 0.0), net, middle, float(np.log(slope)), LOG_TOE[0], LOG_SHOULDER[0])
        for slope in (1.5, 3.5)
    ]
    return unknowns, starts
