"""Variable-contrast paper: parts of one emulsion that differ in how they see green, only there.

All parts have one contrast and one blue speed (trade-facts section 7). Blue light therefore
exposes them together, and the sum of their curves is steep; green exposes one after the other,
and the sum is long. Each part has its share of the net density; densities add.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from controller.ports import Filter
from sim.filters import transmittance
from sim.paper import LEAST_LUX_S, Curve, counted_rate
from sim.settings import PaperSettings
from sim.spectra import NM, REFERENCE_K, glow, hump
from sim.tungsten import Floats


# What silver halide sees by itself, its end near 500 nm, and what the dye adds (section 13: to
# 560-580 nm). Chosen shapes; the dye's height is that of the part which has most of it.
def halide(nm: Floats = NM) -> Floats:
    """Give what silver halide sees by itself."""
    seen: Floats = 1.0 / (1.0 + np.exp((nm - 478.0) / 8.0))
    return seen


def dyed(nm: Floats = NM) -> Floats:
    """Give what the dye adds, in the part that has most of it."""
    return 2.5 * hump(535.0, 22.0, 22.0, nm)


_BLUE = halide()
_GREEN = dyed()

_NONE = Filter("none")


class VariablePaper:
    """One variable-contrast paper under one lamp, whose light per lux is ``spectrum``."""

    def __init__(self, settings: PaperSettings, spectrum: Floats) -> None:
        self.settings = s = settings
        self._spectrum = spectrum
        self.shares: Floats = np.array(s.part_shares) / sum(s.part_shares)
        self.parts = len(self.shares)
        self._sees: Floats = _BLUE + np.array(s.part_green)[:, None] * _GREEN
        self._curve = Curve(s.d_max - s.d_min, s.part_gamma, s.part_toe, s.part_shoulder)
        self._known: dict[Filter, Floats] = {}
        # speed: the curves stand such that the reference light gives 0.60 at 1000 / P
        self._foot = 0.0
        reference = (self._sees * glow(REFERENCE_K)).sum(axis=1)
        self._unit = float(reference @ self.shares)
        at_unit = self._log_exposure_for(s.d_min + 0.60, reference / self._unit)
        self._foot = float(np.log10(1000.0 / s.speed_p)) - at_unit
        self.unfiltered = self.through(_NONE)

    @property
    def linear(self) -> bool:
        """Does dim light count in full?"""
        return self.settings.reciprocity == 1.0

    def through(self, setting: Filter) -> Floats:
        """Give what one lux of the unfiltered lamp is to each part behind a filter.

        In lux of the light that the speed is stated for, as the parts see it on the average.
        """
        if setting not in self._known:
            light = self._spectrum * transmittance(setting)
            self._known[setting] = (self._sees * light).sum(axis=1) / self._unit
        return self._known[setting]

    def rate(self, lux: Floats) -> Floats:
        """Give how fast exposure adds up, as graded paper does in each part."""
        return counted_rate(self.settings, lux)

    def developed(self, exposure: Floats) -> Floats:
        """Give the density of exposures that have a row for each part."""
        log_h = np.log10(np.maximum(exposure, LEAST_LUX_S)) - self._foot
        net = np.tensordot(self.shares, self._curve.net(log_h), axes=1)
        result: Floats = self.settings.d_min + net
        return result

    def exposure_for(self, density: float, through: Floats) -> float:
        """Find the lux seconds of the lamp that give a density, through what ``through`` gave.

        A sum of several, each times its share of the time, is a mixed exposure.
        """
        s = self.settings
        if not s.d_min < density < s.d_max:
            raise ValueError(f"density {density:g} is not between {s.d_min:g} and {s.d_max:g}")
        return float(10.0 ** self._log_exposure_for(density, through))

    def iso_range(self, through: Floats) -> float:
        """Give 100 times the log exposure range, from 0.04 above Dmin to 90 % of the net Dmax."""
        s = self.settings
        shadow = self._log_exposure_for(s.d_min + 0.9 * (s.d_max - s.d_min), through)
        return 100.0 * (shadow - self._log_exposure_for(s.d_min + 0.04, through))

    def speed(self, through: Floats) -> float:
        """Give the ISO speed P, the lux being those of the lamp before the filter."""
        return 1000.0 / self.exposure_for(self.settings.d_min + 0.60, through)

    def _log_exposure_for(self, density: float, through: Floats) -> float:
        def excess(log_h: float) -> float:
            return float(self.developed(through * 10.0**log_h)) - density

        return float(brentq(excess, -8.0, 12.0))
