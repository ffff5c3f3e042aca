"""Mixing against values from outside.

Classes as in ``test_exposure_arithmetic``: D arithmetic (or by definition), V seen in an excerpt
of the source that is named, M from memory of it, C common practice.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from controller.chemistry.amounts import volume_ml
from controller.chemistry.dilution import (
    Colon,
    dilution_of,
    enough,
    mix,
    strength_percent,
    weaker,
)
from controller.chemistry.tray_volume import depth_cm, tray_cm, tray_ml

# volume, dilution, concentrate, water in ml; D
DILUTIONS = [
    (1000, "1+9", 100, 900),
    (2000, "1+9", 200, 1800),
    (1000, "1+4", 200, 800),
    (1500, "1+14", 100, 1400),
    (1000, "1+19", 50, 950),
    (2000, "1+31", 62.5, 1937.5),
    (500, "1+49", 10, 490),
    (1000, "1 in 10", 100, 900),
]


@pytest.mark.parametrize(("volume", "parts", "concentrate", "water"), DILUTIONS)
def test_dilutions(volume: int, parts: str, concentrate: float, water: float) -> None:
    """Concentrate is volume a / (a+b), to the last digit (D)."""
    mixed = mix(dilution_of(parts, "here"), Fraction(volume))
    assert mixed.concentrate_ml == Fraction(concentrate)
    assert mixed.water_ml == Fraction(water)


def test_a_colon_read_as_one_in_nine() -> None:
    """1:9 as one part in nine: 111.1 ml in 1000 (D)."""
    mixed = mix(dilution_of("1:9", "here", Colon.IN), Fraction(1000))
    assert mixed.concentrate_ml == Fraction(1000, 9)
    assert float(mixed.water_ml) == pytest.approx(888.9, abs=0.05)


def test_a_bottle_in_reverse() -> None:
    """500 ml of concentrate at 1+9 make 5000 ml (D)."""
    found = enough(dilution_of("1+9", "here"), Fraction(5000), (Fraction(500),))
    assert (found.can_make_ml, found.enough) == (5000, True)


@pytest.mark.parametrize(
    ("have", "want", "volume", "taken"), [(60, 2, 1000, 33.33), (80, 2, 2000, 50)]
)
def test_acid_strengths(have: int, want: int, volume: int, taken: float) -> None:
    """C1 V1 = C2 V2 (D)."""
    mixed = weaker(Fraction(have), Fraction(want), Fraction(volume), "here")
    assert float(mixed.concentrate_ml) == pytest.approx(taken, abs=0.005)


def test_the_28_percent_of_old_formulas() -> None:
    """3 parts glacial and 8 of water are 27.3 % by volume (D; "28 %" is the classic rule, M)."""
    assert float(strength_percent(Fraction(100), Fraction(3), Fraction(11), "here")) == (
        pytest.approx(27.3, abs=0.05)
    )
    # 48 ml of it in a litre of finished stop bath: 1.34 % (formula M, figure D)
    assert float(strength_percent(Fraction(28), Fraction(48), Fraction(1000), "here")) == (
        pytest.approx(1.34, abs=0.005)
    )


# paper, depth in cm, litres; D (the depth C)
TRAYS = [("20x25", "1.5", 0.75), ("25x30", "2", 1.5), ("30x40", "2", 2.4), ("40x50", "2", 4.0)]


@pytest.mark.parametrize(("size", "depth", "litres"), TRAYS)
def test_tray_volumes(size: str, depth: str, litres: float) -> None:
    """Width times length times depth of a flat floor (D)."""
    assert tray_ml(tray_cm(size, "tray"), depth_cm(depth, "depth")) == Fraction(str(litres)) * 1000


def test_us_measures() -> None:
    """A US gallon is 3.785 l, a US fluid ounce 29.574 ml (D)."""
    assert float(volume_ml("1gal", "volume")) == pytest.approx(3785.41, abs=0.005)
    assert float(volume_ml("1 fl oz", "volume")) == pytest.approx(29.574, abs=0.0005)
