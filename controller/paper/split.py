"""Variable-contrast paper under soft and hard light: parts of one emulsion. Pure.

Two parts, or three where the readings clearly say so, have one shape of curve; their densities
add. They differ in what soft light is to them (the dye that sees green is shared out unevenly)
and hardly in what hard light is. Part ``i`` gets

    H_i = soft_i * H_soft + hard_i * H_hard

(trade-facts section 7; a project model). So soft light reaches the parts one after the other and
its curve is long; hard light reaches them together and its curve is steep. A mixture in any
ratio is again a curve of such parts, and all that is known of curves holds for it.

H_soft and H_hard are easel illuminance in lux, measured in one and the same way for both (as
metered without a filter), times seconds of dose through that filter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from controller.errors import Refused
from controller.paper.curve import Curve, Floats
from controller.paper.fit import (
    SECOND_PART,
    THIRD_PART,
    curve_of,
    refuse_what_is_no_curve,
    shape_unknowns,
)
from controller.paper.least_squares import Solved, Unknown, solve
from controller.paper.readings import Reading

LEAST_MIXED = 3  # patches; the prescribed sheet has 15: three ratios at five levels
# expected, and its doubt, in log units: one blue speed (trade-facts section 7)
HARD_LATER = (0.0, 0.15)
HARD_LATER_UNMIXED = (0.0, 0.05)  # nothing but mixtures can tell it


@dataclass(frozen=True)
class SplitPaper:
    """A paper under soft and hard light.

    ``curve`` is that of soft light alone, its first part being the one that soft light reaches
    first. ``hard`` is for each part log10 of what hard light is to it, against what soft light is
    to the first.
    """

    curve: Curve
    hard: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.hard) != len(self.curve.parts):
            raise ValueError("each part of the emulsion has its hard light")

    def mixed(self, hard_share: float) -> Curve:
        """Give the curve of light of which ``hard_share`` (0 to 1) of the dose is hard.

        Its exposures count both together: lux times the sum of the two doses.
        """
        if not 0.0 <= hard_share <= 1.0:
            raise ValueError(f"a share is from 0 to 1, not {hard_share:g}")
        soft = self.curve
        seen = [
            (math.log10((1.0 - hard_share) * 10.0**-late + hard_share * 10.0**hard), share)
            for (late, share), hard in zip(soft.parts, self.hard, strict=True)
        ]
        # hard light may reach the parts in another order
        (first, _), *others = sorted(seen, reverse=True)
        later = [number for sees, share in others for number in (first - sees, share)]
        return Curve(
            soft.d_min,
            soft.d_max,
            soft.foot - first,
            soft.slope,
            soft.toe,
            soft.shoulder,
            *later,
        )

    def densities(self, soft_lux_s: Floats, hard_lux_s: Floats) -> Floats:
        """Give the densities of pairs of soft and hard exposures, in lux seconds."""
        soft = self.curve
        shape = soft.shape
        full = np.zeros_like(soft_lux_s)
        for (late, share), hard in zip(soft.parts, self.hard, strict=True):
            seen = soft_lux_s * 10.0**-late + hard_lux_s * 10.0**hard
            full = full + share * shape.part(_log(seen) - soft.foot)
        result: Floats = soft.d_min + soft.net_range * full
        return result

    def density(self, soft_lux_s: float, hard_lux_s: float) -> float:
        """Give the density of one pair of exposures, in lux seconds."""
        return float(self.densities(np.array([soft_lux_s]), np.array([hard_lux_s]))[0])


@dataclass(frozen=True)
class SplitFit:
    """A paper fitted to a sheet of soft, hard and mixed patches."""

    paper: SplitPaper
    outliers: tuple[tuple[Reading, float], ...]
    residual_rms: float
    mixed_patches: int
    solved: Solved


def split_paper_of(values: Floats) -> SplitPaper:
    """Give the paper of a fit's unknowns: of two parts if there are ten, else of three."""
    parts = 2 if len(values) == 10 else 3
    of_curve = 4 + 2 * parts
    hard, *later = (float(value) for value in values[of_curve:])
    return SplitPaper(curve_of(values[:of_curve]), (hard, *(hard - each for each in later)))


def fit_split(
    soft: Sequence[Reading], hard: Sequence[Reading], mixed: Sequence[Reading] = ()
) -> SplitFit:
    """Fit a paper to patches of soft light, of hard light and of both. Raises Refused.

    ``mixed`` readings have two log exposures, soft and hard. Without them that both lights reach
    the parts as they usually do is taken for granted.
    """
    for readings, name in ((soft, "the soft sheet"), (hard, "the hard sheet")):
        refuse_what_is_no_curve(
            np.array([each.log_exposure for each in readings], dtype=np.float64),
            np.array([each.density for each in readings], dtype=np.float64),
            name,
        )
    if 0 < len(mixed) < LEAST_MIXED:
        raise Refused(
            f"the mixed sheet has {len(mixed)} patches, and less than {LEAST_MIXED} tell nothing",
            ("without it",),
        )
    alone = 10.0 ** np.array([each.log_exposure for each in soft], dtype=np.float64)
    hard_alone = 10.0 ** np.array([each.log_exposure for each in hard], dtype=np.float64)
    both = 10.0 ** np.array([each.log_exposures for each in mixed], dtype=np.float64).reshape(-1, 2)
    soft_lux_s = np.concatenate([alone, np.zeros(len(hard)), both[:, 0]])
    hard_lux_s = np.concatenate([np.zeros(len(soft)), hard_alone, both[:, 1]])
    readings = (*soft, *hard, *mixed)
    densities = np.array([each.density for each in readings], dtype=np.float64)

    def model(values: Floats) -> Floats:
        return split_paper_of(values).densities(soft_lux_s, hard_lux_s)

    shape, starts = shape_unknowns(_log(alone), densities[: len(soft)])
    _, hard_starts = shape_unknowns(_log(hard_alone), densities[len(soft) : len(soft) + len(hard)])
    middle, hard_middle = starts[0][2], hard_starts[0][2]
    offset = middle - hard_middle
    hard_later = HARD_LATER if mixed else HARD_LATER_UNMIXED
    hards = (
        Unknown("hard", offset - 2.5, offset + 2.5, offset, 1.0),
        Unknown("hard later", -2.0, 2.0, *hard_later),
        Unknown("hard last", -2.0, 2.0, *hard_later),
    )
    start = starts[-1]  # the steeper one
    begin = [
        # the first part answers before the middle of the soft curve, and to hard light with all
        (*start[:2], middle - late / 2.0, *start[3:], late, 0.6, offset - late / 2.0, 0.0)
        for late in (0.4, 1.0)
    ]
    solved = solve(model, densities, (*shape, *SECOND_PART, *hards[:2]), begin)
    at_first = tuple(float(value) for value in solved.values)
    in_three = solve(
        model,
        densities,
        (*shape, *SECOND_PART, *THIRD_PART, *hards),
        [(*each[:8], 0.5, 0.5, *each[8:], 0.0) for each in (at_first, begin[0])],
    )
    # three more unknowns must earn more than chance would give them (Schwarz)
    if in_three.badness + 3.0 * math.log(len(readings)) < solved.badness:
        solved = in_three
    return SplitFit(
        split_paper_of(solved.values),
        tuple(
            (each, float(off))
            for each, kept, off in zip(readings, solved.kept, solved.residuals, strict=True)
            if not kept
        ),
        solved.rms,
        len(mixed),
        solved,
    )


def _log(lux_s: Floats) -> Floats:
    logs: Floats = np.log10(np.maximum(lux_s, 1e-30))
    return logs
