"""Tungsten, as published: resistivity, total emissivity, heat capacity, and the light it gives.

Sources, all **from memory** (the numbers were not re-read when they were written here):

* resistivity and total emissivity: H. A. Jones and I. Langmuir, "The characteristics of tungsten
  filaments as functions of temperature", General Electric Review 30 (1927), as reproduced in
  handbooks of chemistry and physics;
* molar heat capacity: the fit of G. K. White and M. L. Minges (1997) to measured values;
* spectral emissivity: a plane through the values of J. C. De Vos, Physica 20 (1954).

Everything is tabulated once on a grid of whole kelvins, because the heat balance asks for it
many thousand times.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]

AMBIENT_K = 300.0
HOTTEST_K = 3650  # just below melting, 3695 K
DENSITY_KG_M3 = 19_250.0
MOLAR_MASS_KG = 0.18384
STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4)
_C2_NM_K = 1.438777e7  # second radiation constant, nm K

# The blue and green to which enlarging paper answers; red and infrared leave it as it is.
# (trade-facts, section 13: graded paper to about 500 nm, variable contrast to 560-580 nm.)
ACTINIC_NM = (380.0, 560.0)

_TABLE_K = (300.0, *(float(t) for t in range(400, 3700, 100)))
_RESISTIVITY_UOHM_CM = (
    *(5.65, 8.06, 10.56, 13.23, 16.09, 19.00, 21.94, 24.93, 27.94, 30.98, 34.08, 37.19),
    *(40.36, 43.55, 46.78, 50.05, 53.35, 56.67, 60.06, 63.48, 66.91, 70.39, 73.91, 77.49),
    *(81.04, 84.70, 88.33, 92.04, 95.76, 99.54, 103.3, 107.2, 111.1, 115.0),
)
_TOTAL_EMISSIVITY = (
    *(0.032, 0.042, 0.053, 0.064, 0.076, 0.088, 0.101, 0.114, 0.128, 0.143, 0.158, 0.175),
    *(0.192, 0.207, 0.222, 0.236, 0.249, 0.260, 0.270, 0.279, 0.288, 0.296, 0.303, 0.311),
    *(0.318, 0.323, 0.329, 0.334, 0.337, 0.341, 0.344, 0.348, 0.351, 0.354),
)


class Tungsten(NamedTuple):
    """Properties by temperature, on a grid of whole kelvins that begins at 300 K."""

    kelvin: Floats
    resistivity_ohm_m: Floats
    emissivity: Floats
    heat_capacity_j_kg_k: Floats
    actinic: Floats  # relative radiance of the wire in ACTINIC_NM, arbitrary units


@cache
def tungsten() -> Tungsten:
    """Give the tables, made on first use."""
    kelvin = np.arange(AMBIENT_K, HOTTEST_K + 1.0)
    return Tungsten(
        kelvin,
        np.interp(kelvin, _TABLE_K, np.array(_RESISTIVITY_UOHM_CM) * 1e-8),
        np.interp(kelvin, _TABLE_K, _TOTAL_EMISSIVITY),
        _molar_heat(kelvin) / MOLAR_MASS_KG,
        radiance(kelvin, np.arange(*ACTINIC_NM, 2.0) + 1.0),
    )


def radiance(kelvin: Floats, wavelengths_nm: Floats, weights: Floats | None = None) -> Floats:
    """Sum Planck's law times tungsten's spectral emissivity over equally spaced wavelengths.

    ``weights`` is the answer of an eye or a paper at each wavelength (default: 1 everywhere).
    The unit is arbitrary; only ratios between temperatures mean something.
    """
    spectrum = spectral_radiance(wavelengths_nm[:, None], kelvin[None, :])
    if weights is not None:
        spectrum = spectrum * weights[:, None]
    total: Floats = spectrum.sum(axis=0)
    return total


def spectral_radiance(nm: Floats, kelvin: Floats) -> Floats:
    """Give Planck's law times tungsten's emissivity, in arbitrary units."""
    planck = (500.0 / nm) ** 5 / np.expm1(_C2_NM_K / (nm * kelvin))
    result: Floats = planck * spectral_emissivity(nm, kelvin)
    return result


def spectral_emissivity(nm: Floats, kelvin: Floats) -> Floats:
    """Give the emissivity of tungsten in the visible, within about 0.01 of De Vos."""
    return 0.462 - 1.2e-4 * (nm - 500.0) - 1.8e-5 * (kelvin - 2000.0)


def _molar_heat(kelvin: Floats) -> Floats:
    """Give J/(mol K)."""
    powers = 21.868372 + 8.068661e-3 * kelvin - 3.756196e-6 * kelvin**2 + 1.075862e-9 * kelvin**3
    molar: Floats = powers + 1.406637e4 / kelvin**2
    return molar
