"""Photographic paper: light summed up, and the density that developing makes of it.

The curve is a straight line of slope gamma over log exposure, bent at the toe and at the
shoulder by two soft limits of their own widths. It is placed by the ISO speed: density 0.60
above Dmin at Hm = 1000 / P lux seconds (trade-facts section 3, from memory of ISO 6846).
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from sim.settings import PaperSettings
from sim.tungsten import Floats

_LEAST_LUX_S = 1e-9


class Paper:
    """One kind of paper in one developer."""

    def __init__(self, settings: PaperSettings | None = None) -> None:
        self.settings = settings or PaperSettings()
        self._range = self.settings.d_max - self.settings.d_min
        self._at_nothing = self._limited(0.0)
        log_hm = np.log10(1000.0 / self.settings.speed_p)
        # foot of the straight line, such that the curve goes through the speed point
        self._foot = float(brentq(lambda foot: self._net(log_hm - foot) - 0.60, log_hm - 4, log_hm))

    @property
    def linear(self) -> bool:
        """Does dim light count in full?"""
        return self.settings.reciprocity == 1.0

    def rate(self, lux: Floats) -> Floats:
        """Give how fast exposure adds up under an illuminance, in effective lux.

        Schwarzschild's I·t^p = constant, said of one instant: I^(1/p). Brighter light than the
        reference counts as it is.
        """
        if self.linear:
            return lux
        p, reference = self.settings.reciprocity, self.settings.reciprocity_lux
        dim = np.minimum(lux / reference, 1.0)
        result: Floats = lux * dim ** (1.0 / p - 1.0)
        return result

    def density(self, lux_s: Floats | float) -> Floats:
        """Give the density that an exposure develops to."""
        log_h = np.log10(np.maximum(lux_s, _LEAST_LUX_S))
        result: Floats = self.settings.d_min + self._net(log_h - self._foot)
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

    def _net(self, log_h: Floats | float) -> Floats:
        toe = self.settings.toe
        risen = toe * np.logaddexp(0.0, self.settings.gamma * log_h / toe)
        net: Floats = (
            self._range
            * (self._limited(risen) - self._at_nothing)
            / (self._range - self._at_nothing)
        )
        return net

    def _limited(self, risen: Floats | float) -> Floats:
        shoulder = self.settings.shoulder
        limited: Floats = self._range - shoulder * np.logaddexp(
            0.0, (self._range - risen) / shoulder
        )
        return limited
