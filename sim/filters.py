"""Contrast filters as what they are: yellow and magenta dye, which take blue and green.

The table gives each numbered filter its two peak densities. They were found with the paper of
``sim.variable`` in an opal bulb's light, so that 00 to 3 1/2 need one stop more than no filter and
4 to 5 two (trade-facts section 7), with ISO ranges as data sheets give them (section 3, from
memory of one maker's sheet). What follows in other light is the spectra's doing.
"""

from __future__ import annotations

from typing import NamedTuple

from controller.ports import Filter
from sim.spectra import hump
from sim.tungsten import Floats

NO_FILTER = "none"  # how light without a filter is called in what was delivered


class Dyes(NamedTuple):
    """Peak densities of the two dyes."""

    yellow: float
    magenta: float


FILTERS = {
    "00": Dyes(3.10, 0.0),
    "0": Dyes(1.70, 0.04),
    "1/2": Dyes(1.09, 0.11),
    "1": Dyes(0.78, 0.18),
    "1 1/2": Dyes(0.58, 0.24),
    "2": Dyes(0.41, 0.32),
    "2 1/2": Dyes(0.26, 0.40),
    "3": Dyes(0.13, 0.52),
    "3 1/2": Dyes(0.01, 0.69),
    "4": Dyes(0.23, 1.31),
    "4 1/2": Dyes(0.12, 1.65),
    "5": Dyes(0.0, 2.29),
}

# A colour head's scale: hundredths of density (common practice, no source; heads differ).
HEAD_UNIT = 0.01

# Real dyes are not clean: yellow takes a little of everything, magenta some violet too.
_YELLOW = hump(440.0, 45.0, 32.0) + 0.01
_MAGENTA = hump(545.0, 34.0, 28.0) + 0.12 * hump(400.0, 40.0, 40.0) + 0.01


def transmittance(setting: Filter) -> Floats:
    """Give the part of the light that passes at each wavelength of ``sim.spectra.NM``.

    A name that is not in the table, and "none", take nothing; a colour head's settings do.
    """
    yellow, magenta = FILTERS.get(_written(setting.name), Dyes(0.0, 0.0))
    density = (yellow + HEAD_UNIT * setting.yellow) * _YELLOW
    density = density + (magenta + HEAD_UNIT * setting.magenta) * _MAGENTA
    result: Floats = 10.0**-density
    return result


def counted_as(setting: Filter) -> str:
    """Give the name under which light through a filter is counted.

    Its own; of a colour head without one, its settings, as "60Y 0M"; else "none".
    """
    if setting.name not in ("", NO_FILTER):
        return setting.name
    if setting.yellow or setting.magenta:
        return f"{setting.yellow:g}Y {setting.magenta:g}M"
    return NO_FILTER


def _written(name: str) -> str:
    """Give a filter's name as the table has it: also "2½" and "2.5" are 2 1/2."""
    words = name.replace("½", " 1/2").replace(".5", " 1/2").split()
    written = " ".join(words)
    return "1/2" if written == "0 1/2" else written
