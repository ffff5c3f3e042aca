"""What a paper answers to doses under filters: by one curve, or by a model of two exposures.

Light is told as log10 of a factor: 0 is the light of the calibration sheet, with the negative out,
and whatever lies in between (negative, another height of the head) makes it less.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from controller.errors import BadInput, Refused

LIGHT_LOW, LIGHT_HIGH = -8.0, 4.0  # log10: beyond any negative and any head


class Answers(Protocol):
    """A paper in its developer, under the filters that it was measured with."""

    @property
    def box(self) -> str:
        """What the box is called by, for what is said of it."""

    @property
    def filters(self) -> tuple[str, ...]:
        """The filters that it knows."""

    @property
    def d_min(self) -> float:
        """Density of paper white."""

    @property
    def d_max(self) -> float:
        """Density of full black."""

    def density(self, doses_s: Mapping[str, float], log_light: float) -> float:
        """Give the density of doses in seconds by filter, in light of log10 ``log_light``."""


class HasDensity(Protocol):
    """What is asked of a curve."""

    @property
    def d_min(self) -> float:
        """Density of paper white."""

    @property
    def d_max(self) -> float:
        """Density of full black."""

    def density(self, log_exposure: float) -> float:
        """Give the density of one log exposure."""


@dataclass(frozen=True)
class EachFilter:
    """A paper by the curve of each filter: light of two filters at once is refused."""

    curves: Mapping[str, HasDensity]
    box: str = "this paper"

    @property
    def filters(self) -> tuple[str, ...]:
        """The filters that were measured."""
        return tuple(self.curves)

    @property
    def d_min(self) -> float:
        """Density of paper white: the lowest that any curve has."""
        return min(curve.d_min for curve in self.curves.values())

    @property
    def d_max(self) -> float:
        """Density of full black: the highest that any curve has."""
        return max(curve.d_max for curve in self.curves.values())

    def density(self, doses_s: Mapping[str, float], log_light: float) -> float:
        """Give the density of a dose under one filter. Raises Refused for two."""
        used = [name for name, dose_s in doses_s.items() if dose_s > 0.0]
        if not used:
            return self.d_min
        if len(used) > 1:
            raise Refused(
                f"the curves of {self.box} say nothing of filters {' and '.join(used)} together",
                (f"the split sheets: dryside paper sheet {self.box} --split {used[0]},{used[1]}",),
            )
        curve = self.curves[used[0]]
        return curve.density(math.log10(doses_s[used[0]]) + log_light)


def light_for(paper: Answers, doses_s: Mapping[str, float], density: float, what: str) -> float:
    """Find the light in which doses give a density, as log10.

    Raises BadInput, naming ``what``, where this paper has no such density.
    """
    low, high = LIGHT_LOW, LIGHT_HIGH
    if not paper.density(doses_s, low) < density < paper.density(doses_s, high):
        raise BadInput(
            f"{density:.2f} for {what} is not between this paper's white and black",
            "--density",
            f"a density between {paper.d_min:.2f} and {paper.d_max:.2f}, both left out",
        )
    return solve(lambda light: paper.density(doses_s, light) - density, low, high)


def solve(rising: Rising, low: float, high: float) -> float:
    """Find where something that rises passes zero, by halving; it lies between the two."""
    for _ in range(60):
        middle = (low + high) / 2.0
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


class Rising(Protocol):
    """Something that rises."""

    def __call__(self, at: float, /) -> float:
        """Give its value."""


def spread(paper: Answers, doses_s: Mapping[str, float], lights: Sequence[float]) -> list[float]:
    """Give the densities of doses in several lights."""
    return [paper.density(doses_s, light) for light in lights]
