"""Safelights: limits, lamps that add up, before and after, against values from outside.

Classes as in ``test_exposure_arithmetic``: D arithmetic (or by definition), V seen in an excerpt
of the source that is named, V2 seen in a page that reports the source, M from memory of it, C
common practice. A tolerance is half a unit of the last place printed.
"""

from __future__ import annotations

import itertools

import pytest

from controller.room.advice import moved_factor
from controller.room.limits import Bound, Reading, Rule, limit, smaller, typed
from controller.room.steps import card_totals, grey_is_right
from controller.room.sums import split_use, together

MIN = 60.0

# Safe minutes by ISO 8374:1986 (scope, seen on a catalogue page, V), ANSI IT2.26-1998 (3.6 and
# 3.14, seen on a preview, V) and Publication K-4, 2006 (V): the rules are V, the figures D.
LIMITS = [
    # N, C, half-clean, half-mean, half-changed
    (1, 3, 0.500, 0.866, 1.500),
    (3, 7, 1.500, 2.291, 3.500),
    (4, 5, 2.000, 2.236, 2.500),
    (7, 8, 3.500, 3.742, 4.000),
]


@pytest.mark.parametrize(("n", "c", "iso", "ansi", "k4"), LIMITS, ids=lambda v: f"{v}-V-rule")
def test_three_published_limits(n: float, c: float, iso: float, ansi: float, k4: float) -> None:
    """Half the last clean step, half the geometric mean, half the first changed step."""
    reading = Reading(n * MIN, c * MIN)
    figures = zip(Rule, (iso, ansi, k4), strict=True)
    for rule, minutes in figures:
        assert limit(reading, rule).value_s / MIN == pytest.approx(minutes, abs=5e-4)
    assert iso <= ansi <= k4  # D


def test_each_rule_names_its_source() -> None:
    """The standards and the publication stand on the figures that follow from them (V)."""
    names = ("ISO 8374:1986", "ANSI IT2.26-1998", "K-4")
    for rule, name in zip(Rule, names, strict=True):
        (source,) = limit(Reading(180, 420), rule).sources
        assert name in source


def test_all_clean_and_none_clean() -> None:
    """No step changed: at least N/2, and not N. The first changed: unsafe (D, of the rules)."""
    clean = limit(Reading(7 * MIN, None))
    assert (clean.bound, clean.value_s) == (Bound.AT_LEAST, 3.5 * MIN)
    changed = limit(Reading(None, 1 * MIN))
    assert (changed.bound, changed.value_s) == (Bound.LESS_THAN, 0)


def test_a_worked_reading_of_k4() -> None:
    """Before 7 min, after 3 min: "limit the total to 3 min" (Publication K-4, V).

    The example quotes the clean time itself and does not halve it, so that it stands as typed;
    by the rules of the limits 3 min clean allow half of that.
    """
    assert smaller((typed(7 * MIN), typed(3 * MIN))).value_s == 3 * MIN
    halves = [limit(Reading(n * MIN, None)) for n in (7, 3)]
    assert smaller(halves).value_s == 1.5 * MIN


# Derived from irradiances adding at one place of the paper; the last is the screen: D.
COMBINED = [
    # minutes of each light, of all together
    ((8, 8), 4.000),
    ((12, 6), 4.000),
    ((10, 15, 30), 5.000),
    ((4, 7), 2.545),
    ((4, 12), 3.000),
]


@pytest.mark.parametrize(("each", "minutes"), COMBINED, ids=lambda v: f"{v}-D")
def test_lamps_combined(each: tuple[float, ...], minutes: float) -> None:
    """1/T = sum(1/Ti), a screen of 4 min beside a lamp of 12 min being one of them (D)."""
    found = together([typed(one * MIN) for one in each])
    assert found.value_s / MIN == pytest.approx(minutes, abs=5e-4)
    exact = 1 / sum(1 / one for one in each)
    assert found.value_s / MIN == pytest.approx(exact, rel=1e-12)


def test_adding_a_lamp_never_lengthens() -> None:
    """Whatever is added to whatever burns, the time is not longer (D)."""
    minutes = (4, 7, 8, 10, 15, 30, 240)
    for lit in itertools.combinations(minutes, 3):
        fewer = together([typed(one * MIN) for one in lit[:2]])
        more = together([typed(one * MIN) for one in lit])
        assert more.value_s < fewer.value_s


def test_before_and_after_counted_apart() -> None:
    """4 of 14 min before and 2 of 6 min after use 0.619 of a budget of two parts (D).

    The stricter rule, 6 min in total against the smaller (K-4, V), is used up.
    """
    assert split_use(4, 14, 2, 6) == pytest.approx(0.619, abs=5e-4)
    total = smaller((typed(14 * MIN), typed(6 * MIN)))
    assert (4 + 2) * MIN / total.value_s == 1.0
    assert split_use(4, 14, 2, 6) < 1.0


def test_cover_series() -> None:
    """A card drawn on at 15, 30, 60, 180, 360 s: 0:15 0:45 1:45 4:45 10:45.

    V: TM 1-1500-335-23, non-destructive inspection, safelight test for film.
    """
    assert card_totals((15, 30, 60, 180, 360)) == (15, 45, 105, 285, 645)


@pytest.mark.parametrize(
    ("above_paper", "right"), [(0.14, False), (0.15, True), (0.40, True), (0.41, False)]
)
def test_grey_target(above_paper: float, right: bool) -> None:
    """Paper is flashed to 0.15 to 0.40 above its own density (Publication K-4, V)."""
    assert grey_is_right(above_paper) is right


def test_a_lamp_moved_away() -> None:
    """From 1.2 to 1.8 m is 2.25 times by the inverse square (D)."""
    assert moved_factor(1.2, 1.8) == pytest.approx(2.25, rel=1e-9)


# The black of an LCD on paper: E = L A / d^2 of a small panel that faces it, and the time to a
# shift of 0.02 on a light grey that needs 2.2 lx s at a local gradient of 1: D, order of
# magnitude only. What is asserted of Dryside is how such a time changes with distance.
SCREEN = [
    # black in cd/m2, metres, lux, seconds
    (0.2, 0.5, 0.0107, 9.7),
    (0.2, 1.0, 0.0027, 38.9),
    (0.2, 1.5, 0.0012, 87.5),
    (0.05, 0.5, 0.0027, 38.9),
]


@pytest.mark.parametrize(("black", "metres", "lux", "seconds"), SCREEN, ids=lambda v: f"{v}-D")
def test_the_black_of_a_screen(black: float, metres: float, lux: float, seconds: float) -> None:
    """A black screen is a safelight of seconds, and moving it gains by the inverse square (D)."""
    area_m2 = 0.155 * 0.086
    assert black * area_m2 / metres**2 == pytest.approx(lux, abs=6e-5)
    nearest_s = 9.7 * 0.2 / black  # half a metre, as the first row has it
    assert nearest_s * moved_factor(0.5, metres) == pytest.approx(seconds, rel=5e-3)
