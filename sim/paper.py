"""Photographic paper: light summed up, and the density that developing makes of it.

The curve is a straight line of slope gamma over log exposure, bent at the toe and at the
shoulder by two soft limits of their own widths. It is placed by the ISO speed: density 0.60
above Dmin at Hm = 1000 / P lux seconds (trade-facts section 3, from memory of ISO 6846).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from scipy.optimize import brentq

from controller.ports import Filter
from sim.settings import PaperSettings
from sim.tungsten import Floats

LEAST_LUX_S = 1e-9


class Emulsion(Protocol):
    """What a sheet needs of its paper: exposures in parts, each summed on its own.

    ``shares`` are the parts' shares of the net density; ``unfiltered`` is what one lux of the
    lamp without a filter is to each of them.
    """

    settings: PaperSettings
    parts: int
    shares: Floats
    unfiltered: Floats

    @property
    def linear(self) -> bool:
        """Does dim light count in full?"""

    def through(self, setting: Filter) -> Floats:
        """Give what one lux of the unfiltered lamp is to each part behind a filter."""

    def rate(self, lux: Floats) -> Floats:
        """Give how fast exposure adds up under an illuminance, in effective lux."""

    def developed(self, exposure: Floats) -> Floats:
        """Give the density of exposures that have a row for each part."""


class Curve:
    """A characteristic curve above Dmin, its foot at log exposure 0."""

    def __init__(self, net_range: float, gamma: float, toe: float, shoulder: float) -> None:
        self._range = net_range
        self._gamma = gamma
        self._toe = toe
        self._shoulder = shoulder
        self._at_nothing = self._limited(0.0)

    def net(self, log_h: Floats | float) -> Floats:
        """Give the density above Dmin, 0 in the dark and the whole range in bright light."""
        risen = self._toe * np.logaddexp(0.0, self._gamma * log_h / self._toe)
        net: Floats = (
            self._range
            * (self._limited(risen) - self._at_nothing)
            / (self._range - self._at_nothing)
        )
        return net

    def _limited(self, risen: Floats | float) -> Floats:
        limited: Floats = self._range - self._shoulder * np.logaddexp(
            0.0, (self._range - risen) / self._shoulder
        )
        return limited


def counted_rate(settings: PaperSettings, lux: Floats) -> Floats:
    """Give how fast exposure adds up under an illuminance, in effective lux.

    Schwarzschild's I·t^p = constant, said of one instant: I^(1/p). Brighter light than the
    reference counts as it is.
    """
    if settings.reciprocity == 1.0:
        return lux
    p, reference = settings.reciprocity, settings.reciprocity_lux
    dim = np.minimum(lux / reference, 1.0)
    result: Floats = lux * dim ** (1.0 / p - 1.0)
    return result


class Paper:
    """One kind of graded paper in one developer; ``filters`` are parts of light by name."""

    parts = 1

    def __init__(
        self,
        settings: PaperSettings | None = None,
        filters: Mapping[str, float] | None = None,
    ) -> None:
        self.settings = s = settings or PaperSettings()
        self._filters = filters or {}
        self.shares: Floats = np.ones(1)
        self.unfiltered: Floats = np.ones(1)
        self._range = s.d_max - s.d_min
        self._curve = Curve(self._range, s.gamma, s.toe, s.shoulder)
        log_hm = np.log10(1000.0 / s.speed_p)

        def excess(foot: float) -> float:
            return float(self._curve.net(log_hm - foot)) - 0.60

        # foot of the straight line, such that the curve goes through the speed point
        self._foot = float(brentq(excess, log_hm - 4, log_hm))

    @property
    def linear(self) -> bool:
        """Does dim light count in full?"""
        return self.settings.reciprocity == 1.0

    def through(self, setting: Filter) -> Floats:
        """Give the part of the light that a filter leaves; an unknown one takes nothing."""
        return np.array([self._filters.get(setting.name, 1.0)])

    def rate(self, lux: Floats) -> Floats:
        """Give how fast exposure adds up under an illuminance, in effective lux."""
        return counted_rate(self.settings, lux)

    def developed(self, exposure: Floats) -> Floats:
        """Give the density of exposures that have one row for the one part."""
        return self.density(exposure[0])

    def density(self, lux_s: Floats | float) -> Floats:
        """Give the density that an exposure develops to."""
        log_h = np.log10(np.maximum(lux_s, LEAST_LUX_S))
        result: Floats = self.settings.d_min + self._curve.net(log_h - self._foot)
        return result

    def exposure_for(self, density: float) -> float:
        """Find the exposure in lux seconds that gives a density between Dmin and Dmax."""
        s = self.settings
        if not s.d_min < density < s.d_max:
            raise ValueError(f"density {density:g} is not between {s.d_min:g} and {s.d_max:g}")
        return float(10 ** brentq(lambda h: float(self.density(10**h)) - density, -8, 8))

    def iso_range(self) -> float:
        """Give 100 times the log exposure range, from 0.04 above Dmin to 90 % of the net Dmax."""
        s = self.settings
        highlight = self.exposure_for(s.d_min + 0.04)
        shadow = self.exposure_for(s.d_min + 0.9 * self._range)
        return float(100.0 * np.log10(shadow / highlight))
