"""Mixing, capacities, lives and two baths against values from outside.

Classes as in ``test_exposure_arithmetic``: D arithmetic (or by definition), V seen in an excerpt
of the source that is named, M from memory of it, C common practice.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from controller.chemistry.amounts import US_GAL_ML, volume_ml
from controller.chemistry.bath import (
    EIGHT_BY_TEN_M2,
    Base,
    Bath,
    Entry,
    Figures,
    Place,
    Role,
    What,
)
from controller.chemistry.cautions import Kind
from controller.chemistry.dilution import (
    Colon,
    dilution_of,
    enough,
    mix,
    strength_percent,
    weaker,
)
from controller.chemistry.freshness import Status, eights, status
from controller.chemistry.product import shipped
from controller.chemistry.rotation import Move, advise
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


# sheet in inches and its worth in 8x10 in; D
EIGHTS = [
    (4, 5, 0.25),
    (5, 7, 0.4375),
    (8, 10, 1),
    (9.5, 12, 1.425),
    (11, 14, 1.925),
    (12, 16, 2.4),
    (16, 20, 4),
    (20, 24, 6),
]


@pytest.mark.parametrize(("width", "height", "worth"), EIGHTS)
def test_sizes_in_8x10_equivalents(width: float, height: float, worth: float) -> None:
    """80 square inches, 0.0516 m2, are one (D)."""
    assert eights(width * height * 0.0254**2) == pytest.approx(worth)
    assert round(EIGHT_BY_TEN_M2, 4) == 0.0516


# 8x10 per litre of working bath, fibre and resin-coated, as (least, most); the class of each.
# "200 per US gal" of a general fixer (seen in a paper on fixing, V) is 53 a litre (D).
CAPACITIES = {
    "paper developer": ((25, 50), (50, 100), "C"),
    "stop bath": ((30, 30), (60, 60), "C"),
    "fixer": ((10, 53), (40, 80), "M, V"),
    "fixer in two baths": ((40, 40), (40, 80), "M"),
    "clearing bath": ((20, 50), None, "C"),
}


@pytest.mark.parametrize("name", CAPACITIES)
def test_the_starting_points_are_the_cautious_end_of_what_is_published(name: str) -> None:
    """Never above the least figure that is published for lasting prints."""
    fibre, coated, _ = CAPACITIES[name]
    held = next(product for product in shipped() if product.name == name).capacity
    assert held is not None
    assert held.fibre == fibre[0]
    assert held.resin_coated == (coated[0] if coated else None)
    per_l = 200 / (US_GAL_ML / 1000)
    assert float(per_l) == pytest.approx(53, abs=0.5)  # D, of a figure V


# least hours in the tray, least days in a full bottle and in a half one; C, developer stock M
LIVES = {
    "paper developer": (8, 1, 0.5),
    "developer stock": (24, 180, 60),
    "stop bath": (72, 60, 30),
    "fixer": (168, 30, 30),
    "clearing bath": (24, 90, 30),
    "selenium toner": (None, None, None),
}


@pytest.mark.parametrize("name", LIVES)
def test_the_lives_are_the_short_end_of_common_practice(name: str) -> None:
    """A day for the open tray of a developer is the long end; eight hours the short one (C)."""
    life = next(product for product in shipped() if product.name == name).life
    assert (life.in_tray_h, life.full_bottle_days, life.half_bottle_days) == LIVES[name]


def test_the_rotation_of_two_baths() -> None:
    """Capacity 40: prints 1-40 on A and B; at 40 B and C; at 80 C and D (V the rule, D, M the 40).

    After four promotions, or a week, both are replaced (M).
    """
    start = datetime(2026, 5, 1, 18, tzinfo=UTC)
    figures = Figures(fibre_m2_per_l=40 * EIGHT_BY_TEN_M2, in_tray_h=168)
    uses: dict[str, list[Entry]] = {"A": [], "B": []}
    made = dict.fromkeys("AB", (start, 0))
    first, second, moves = "A", "B", []

    def stands(name: str, role: Role, now: datetime) -> Status:
        at, promotions = made[name]
        own = role if name in "A" else Role.SECOND  # all others began as a second
        bath = Bath(1, name, "fixer", Kind.FIXER, "1+4", 1000, figures, Place.TRAY, at, own,
                    promotions, start)  # fmt: skip
        return status(bath, uses[name], now)

    for sheet in range(1, 241):
        now = start + timedelta(minutes=10 * sheet)
        for name in (first, second):
            uses[name].append(Entry(What.SHEET, now, EIGHT_BY_TEN_M2, Base.FIBRE))
        one, two = stands(first, Role.FIRST, now), stands(second, Role.SECOND, now)
        found = advise(one, two, now)
        if found.move is Move.KEEP:
            continue
        moves.append((sheet, found.move))
        if found.move is Move.REPLACE_BOTH:
            break
        uses[second].append(Entry(What.PROMOTED, now, tray="first"))
        fresh = chr(ord(second) + 1)
        made[fresh], uses[fresh] = (now, two.promotions + 1), []
        first, second = second, fresh
        if sheet in (40, 80):
            assert (first, second) == {40: ("B", "C"), 80: ("C", "D")}[sheet]
    assert moves == [
        (40, Move.PROMOTE),
        (80, Move.PROMOTE),
        (120, Move.PROMOTE),
        (160, Move.PROMOTE),
        (200, Move.REPLACE_BOTH),
    ]
    week = start + timedelta(days=7)
    old = advise(stands("A", Role.FIRST, week), stands("B", Role.SECOND, week), week)
    assert old.move is Move.REPLACE_BOTH
