"""From two tones that are wanted to soft and hard dose, or to one exposure. Pure.

A tone is a place of the picture: the easel light that falls there, in lux, and the density that
the print is to have. The ratio of doses sets how far apart in light two densities lie, the sum of
doses where they lie: two equations, solved one after the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from controller.errors import BadInput, Refused
from controller.paper import iso
from controller.paper.curve import Curve
from controller.paper.split import SplitPaper

UNSEEN = 0.02  # density by which a shadow may miss where one light alone is all but enough
VEIL = 0.02  # density over white that a flash may leave unseen (common practice, no source)


@dataclass(frozen=True)
class Tone:
    """A place: its easel light in lux, and the density it shall have."""

    lux: float
    density: float


def behind(bare_lux: float, density: float) -> float:
    """Give the easel light, in lux, behind a density of the negative: ``bare_lux * 10**-D``.

    By the definition of transmission density (ISO 5-2, as commonly told). ``bare_lux`` is the
    easel's light with the carrier empty, all else as it will be. What a densitometer reads is
    diffuse density: a condenser head makes more of it on the easel (Callier's effect, known to
    the trade by that name), so that readings of the light itself go before.
    """
    return bare_lux * math.pow(10.0, -density)


@dataclass(frozen=True)
class Doses:
    """What was found: seconds of full light through the soft and the hard filter."""

    soft_dose_s: float
    hard_dose_s: float
    curve: Curve  # of that mixture; exposures are lux times both doses together

    @property
    def hard_share(self) -> float:
        """The hard part of both doses together."""
        return self.hard_dose_s / (self.soft_dose_s + self.hard_dose_s)

    def density_at(self, lux: float) -> float:
        """Give the density of a place with so much easel light."""
        return self.curve.density(math.log10(lux * (self.soft_dose_s + self.hard_dose_s)))


def check_tones(highlight: Tone, shadow: Tone) -> None:
    """Refuse tones that no print can have both. Raises BadInput."""
    for tone, where in ((highlight, "--highlight"), (shadow, "--shadow")):
        if not tone.lux > 0.0:
            raise BadInput(f"{tone.lux:g} lux is no light", where, "LUX=DENSITY, LUX above 0")
    if not highlight.lux < shadow.lux or not highlight.density < shadow.density:
        raise BadInput(
            "the shadow of a print gets more light and more density than its highlight",
            "--shadow",
            "more of both than in --highlight",
        )


def refuse_what_paper_has_not(curve: Curve, highlight: Tone, shadow: Tone) -> None:
    """Refuse densities outside the paper's own. Raises Refused."""
    for tone, name in ((highlight, "highlight"), (shadow, "shadow")):
        if not curve.d_min < tone.density < curve.d_max:
            raise Refused(
                f"the {name} cannot have density {tone.density:.2f}: this paper's white is "
                f"{curve.d_min:.2f} and its black {curve.d_max:.2f}",
                ("a density between them",),
            )


def solve_split(paper: SplitPaper, highlight: Tone, shadow: Tone) -> Doses:
    """Find the soft and hard dose that give both tones. Raises BadInput, Refused."""
    check_tones(highlight, shadow)
    refuse_what_paper_has_not(paper.curve, highlight, shadow)
    wanted = math.log10(shadow.lux / highlight.lux)

    def excess(hard_share: float) -> float:
        return _apart(paper.mixed(hard_share), highlight, shadow) - wanted

    hard_share = _crossing(paper, excess)
    if hard_share is None:
        for end in (0.0, 1.0):
            doses = _doses(paper, end, highlight)
            if abs(doses.density_at(shadow.lux) - shadow.density) <= UNSEEN:
                return doses
        raise _out_of_reach(paper, highlight, shadow, excess(0.0), excess(1.0))
    return _doses(paper, hard_share, highlight)


def _doses(paper: SplitPaper, hard_share: float, highlight: Tone) -> Doses:
    """Give the doses of a ratio that hold the highlight."""
    curve = paper.mixed(hard_share)
    dose_s = 10.0 ** curve.log_exposure(highlight.density) / highlight.lux
    return Doses((1.0 - hard_share) * dose_s, hard_share * dose_s, curve)


@dataclass(frozen=True)
class OneFilter:
    """A single filter and its dose in seconds of full light."""

    name: str
    curve: Curve
    dose_s: float

    def density_at(self, lux: float) -> float:
        """Give the density of a place with so much easel light."""
        return self.curve.density(math.log10(lux * self.dose_s))


def choose_filter(curves: Mapping[str, Curve], highlight: Tone, shadow: Tone) -> OneFilter:
    """Choose the filter whose shadow comes nearest while the highlight is as wanted.

    Raises BadInput, Refused.
    """
    check_tones(highlight, shadow)
    found = []
    for name, curve in curves.items():
        refuse_what_paper_has_not(curve, highlight, shadow)
        dose_s = 10.0 ** curve.log_exposure(highlight.density) / highlight.lux
        found.append(OneFilter(name, curve, dose_s))
    return min(found, key=lambda each: abs(each.density_at(shadow.lux) - shadow.density))


def share_for_range(paper: SplitPaper, ler: float) -> float:
    """Find the hard part of the dose that gives a log exposure range. Raises Refused."""
    share = _crossing(paper, lambda each: iso.points_of(paper.mixed(each)).ler - ler)
    if share is None:
        ends = [iso.points_of(paper.mixed(each)).ler for each in (0.0, 1.0)]
        raise Refused(
            f"no mixture has a log exposure range of {ler:.2f}: soft light alone has "
            f"{ends[0]:.2f}, hard light alone {ends[1]:.2f}",
            ("a range between them",),
        )
    return share


def flash_for(curve: Curve, highlight: Tone, shadow: Tone) -> tuple[float, float] | None:
    """Give the dose in seconds, and the even flash in lux seconds, that hold a range too long.

    Both through the filter of ``curve``: dose * lux + flash is the exposure that each tone
    wants. None where a flash would have to take light away.
    """
    wanted = 10.0 ** curve.log_exposure(highlight.density)
    deep = 10.0 ** curve.log_exposure(shadow.density)
    dose_s = (deep - wanted) / (shadow.lux - highlight.lux)
    flash_lux_s = wanted - dose_s * highlight.lux
    return (dose_s, flash_lux_s) if flash_lux_s > 0.0 else None


def _apart(curve: Curve, highlight: Tone, shadow: Tone) -> float:
    return curve.log_exposure(shadow.density) - curve.log_exposure(highlight.density)


def _crossing(paper: SplitPaper, excess: Callable[[float], float]) -> float | None:
    """Find where an excess over all shares of hard light passes through 0; the softest counts."""
    steps = np.linspace(-3.0, 3.0, 25) - paper.hard[0]
    odds = 10.0**steps
    shares = [0.0, *(float(each) for each in odds / (1.0 + odds)), 1.0]
    values = [float(excess(share)) for share in shares]
    for index, (before, after) in enumerate(pairwise(values)):
        if before == 0.0:
            return shares[index]
        if before * after < 0.0 or after == 0.0:
            return float(brentq(excess, shares[index], shares[index + 1], xtol=1e-12))
    return None


def _out_of_reach(
    paper: SplitPaper, highlight: Tone, shadow: Tone, soft_excess: float, hard_excess: float
) -> Refused:
    span = math.log10(shadow.lux / highlight.lux)
    ends = sorted((span + soft_excess, span + hard_excess))
    why = (
        f"no ratio of soft to hard holds both tones: they lie {span:.2f} apart in log light, and "
        f"between those densities this paper spans {ends[0]:.2f} to {ends[1]:.2f}"
    )
    if span < ends[0]:
        return Refused(
            f"{why}; the picture is too flat for hard light alone, and a flash would make it "
            "flatter still",
            ("tones that lie further apart", "densities that lie nearer to each other"),
        )
    found = flash_for(paper.curve, highlight, shadow)
    if found is None:
        return Refused(why, ("densities that lie further apart",))
    dose_s, flash_lux_s = found
    veil = paper.curve.density(math.log10(flash_lux_s)) - paper.curve.d_min
    seen = "and leaves white as it is" if veil <= VEIL else f"but greys the white by {veil:.2f}"
    return Refused(
        why,
        (
            "burning the highlight in,",
            f"soft light alone for {dose_s:.1f} s with a flash of {flash_lux_s:.3g} lx s through "
            f"the same filter, which holds both {seen}",
        ),
    )
