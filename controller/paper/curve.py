"""The characteristic curve of a paper: density over log exposure. Pure.

A straight line over log10 exposure, bent into the paper's white at the toe and into its full
black at the shoulder. Each bend is the mean of a ramp whose corner is spread normally, as the
sensitivities of grains are: ``ramp(u) = u Phi(u/w) + w phi(u/w)``, w being a standard deviation
in density. The form is a project model; it rises everywhere, whatever its parameters.

Soft light does not give such a curve on variable-contrast paper, but the sum of two or three: parts
of the emulsion of one shape, of which some answer later. ``later`` and ``last`` are their distances
from the first in log exposure, ``later_share`` and ``last_share`` their shares of the net density;
with 0 there is no such part.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

Floats = NDArray[np.float64]

FURTHEST = 60.0  # log10 units from the straight line's foot: beyond any light there is


def ramp(u: Floats, width: float) -> Floats:
    """Give max(0, u), its corner rounded over ``width``."""
    z = u / width
    density_of_z = np.exp(-0.5 * np.minimum(z * z, 1400.0)) / math.sqrt(2.0 * math.pi)
    rounded: Floats = np.maximum(u * ndtr(z) + width * density_of_z, 0.0)
    return rounded


@dataclass(frozen=True)
class Shape:
    """How one part of an emulsion answers: net range, slope and the widths of its two bends.

    ``net_range`` in density; ``slope`` in density for each unit of log10 exposure, as the whole
    would have it if all parts acted as one; ``toe`` and ``shoulder`` in density.
    """

    net_range: float
    slope: float
    toe: float
    shoulder: float

    def __post_init__(self) -> None:
        for name in ("net_range", "slope", "toe", "shoulder"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"{name} of a curve is above 0, not {value:g}")

    def part(self, log_h: Floats) -> Floats:
        """Give the part of the net density, 0 to 1, at log exposures above the line's foot."""
        risen = ramp(self.slope * log_h, self.toe)
        at_nothing = self._limited(np.zeros(1))[0]
        full: Floats = (self._limited(risen) - at_nothing) / (self.net_range - at_nothing)
        return full

    def _limited(self, risen: Floats) -> Floats:
        return self.net_range - ramp(self.net_range - risen, self.shoulder)


@dataclass(frozen=True)
class Curve:
    """A characteristic curve. Exposures are log10 of lux seconds, or relative to some unit.

    ``d_min`` and ``d_max`` are the densities of paper white and of full black; ``foot`` is the
    log exposure where the straight line, drawn on, meets the white. The widths of the bends are
    densities. A curve is made of numbers alone: ``as_numbers`` and ``from_numbers`` keep it.
    """

    d_min: float
    d_max: float
    foot: float
    slope: float
    toe: float
    shoulder: float
    later: float = 0.0
    later_share: float = 0.0
    last: float = 0.0
    last_share: float = 0.0

    def __post_init__(self) -> None:
        if not self.d_min < self.d_max:
            raise ValueError(f"d_max {self.d_max:g} is not above d_min {self.d_min:g}")
        if min(self.later, self.last, self.later_share, self.last_share) < 0.0:
            raise ValueError("a later part comes later, and its share is not negative")
        if not self.later_share + self.last_share < 1.0:
            raise ValueError("the later parts leave a share to the first")
        _ = self.shape

    @property
    def net_range(self) -> float:
        """The density between paper white and full black."""
        return self.d_max - self.d_min

    @cached_property
    def shape(self) -> Shape:
        """How each part of the emulsion answers."""
        return Shape(self.net_range, self.slope, self.toe, self.shoulder)

    @cached_property
    def parts(self) -> tuple[tuple[float, float], ...]:
        """Each part of the emulsion: by how much later it answers, and its share."""
        later = ((self.later, self.later_share), (self.last, self.last_share))
        first = 1.0 - self.later_share - self.last_share
        return ((0.0, first), *(each for each in later if each[1] > 0.0))

    def densities(self, log_exposures: Floats) -> Floats:
        """Give the densities of many log exposures at once."""
        log_h = np.asarray(log_exposures, dtype=np.float64) - self.foot
        shape = self.shape
        full = np.zeros_like(log_h)
        for late, share in self.parts:
            full = full + share * shape.part(log_h - late)
        result: Floats = self.d_min + self.net_range * full
        return result

    def density(self, log_exposure: float) -> float:
        """Give the density of one log exposure."""
        return float(self.densities(np.array([log_exposure]))[0])

    def log_exposure(self, density: float) -> float:
        """Find the log exposure of a density. Raises ValueError where the paper has none."""
        if not self.d_min < density < self.d_max:
            raise ValueError(
                f"density {density:.2f} is not between this paper's white, {self.d_min:.2f}, "
                f"and its black, {self.d_max:.2f}"
            )
        low, high = self.foot - FURTHEST, self.foot + FURTHEST
        return float(brentq(lambda x: self.density(x) - density, low, high, xtol=1e-9))

    def gradient(self, log_exposure: float) -> float:
        """Give the slope of the curve at a log exposure, in density for each unit of log10."""
        near = 1e-4
        rise = self.density(log_exposure + near) - self.density(log_exposure - near)
        return rise / (2.0 * near)

    def points(self, count: int = 101, beyond: float = 0.3) -> list[tuple[float, float]]:
        """Give evenly spaced points (log exposure, density) to draw the curve by.

        They reach from ``beyond`` log units before the first 1 % of the net density to as far
        behind its last.
        """
        first = self.log_exposure(self.d_min + 0.01 * self.net_range) - beyond
        last = self.log_exposure(self.d_min + 0.99 * self.net_range) + beyond
        at = np.linspace(first, last, count)
        return [(float(x), float(y)) for x, y in zip(at, self.densities(at), strict=True)]

    def shifted(self, log_units: float) -> Curve:
        """Give the same curve for exposures counted in another unit, or of slower paper."""
        return Curve(**{**asdict(self), "foot": self.foot + log_units})

    def as_numbers(self) -> dict[str, float]:
        """Give all that makes the curve, by name."""
        return asdict(self)

    @classmethod
    def from_numbers(cls, numbers: dict[str, Any]) -> Curve:
        """Make a curve of what ``as_numbers`` gave. Raises ValueError, TypeError."""
        return cls(**{name: float(value) for name, value in numbers.items()})
