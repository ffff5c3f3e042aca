"""Light by wavelength: lamps, and the eye that lux is counted with.

Smooth curves of the usual shapes, made here and measured on nothing; every 10 nm over the blue
and green that paper sees, and the end of red that it does not.
"""

from __future__ import annotations

import numpy as np

from sim.lamps import rating_of
from sim.settings import LampKind, SimulatorSettings
from sim.tungsten import Floats, spectral_radiance

NM: Floats = np.arange(380.0, 621.0, 10.0)

# The light that paper's speed is stated for here: an opal bulb's.
REFERENCE_K = 2800.0


def hump(centre_nm: float, below_nm: float, above_nm: float, nm: Floats = NM) -> Floats:
    """Give a bell that is 1 at its centre, with a width for each side (standard deviations)."""
    width_nm = np.where(centre_nm > nm, below_nm, above_nm)
    result: Floats = np.exp(-0.5 * ((nm - centre_nm) / width_nm) ** 2)
    return result


def per_lux(spectrum: Floats, nm: Floats = NM) -> Floats:
    """Scale a spectrum to one lux, in arbitrary but equal units.

    The eye's answer by daylight as a bell over wavelength (a usual fit, from memory).
    """
    eye = 1.019 * np.exp(-285.4 * (nm / 1000.0 - 0.559) ** 2)
    result: Floats = spectrum / float((spectrum * eye).sum())
    return result


def glow(kelvin: float, nm: Floats = NM) -> Floats:
    """Give one lux of a filament's light."""
    return per_lux(spectral_radiance(nm, np.full_like(nm, kelvin)), nm)


def white_led(nm: Floats = NM) -> Floats:
    """Give one lux of a white LED: a narrow blue line, and the broad light of its phosphor."""
    light = hump(452.0, 11.0, 11.0, nm) + 0.55 * hump(565.0, 55.0, 55.0, nm)
    return per_lux(light, nm)


def lamp_spectrum(settings: SimulatorSettings, nm: Floats = NM) -> Floats:
    """Give one lux of the enlarger's lamp, steady at its rated supply."""
    if settings.lamp is LampKind.LED:
        return white_led(nm)
    return glow(rating_of(settings).kelvin, nm)
