"""The curve of a print, and its regions on it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from math import exp, log10

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import Refused
from controller.record_sheet.figures import spread
from controller.record_sheet.print_curve import print_curve
from controller.score.doses import region_doses
from tests.controller.imagined_scene import SCENE


class Logistic:
    """A paper that answers to the sum of all light, without a toe of its own."""

    filters = ("00", "5")
    d_min, d_max = 0.06, 2.06

    def density(self, doses_s: Mapping[str, float], log_light: float) -> float:
        total = sum(doses_s.values())
        return 0.06 + 2.0 / (1.0 + exp(-4.0 * (log10(max(total, 1e-9)) + log_light)))


class NotThese(Logistic):
    """A paper that was not measured through these filters."""

    def density(self, doses_s: Mapping[str, float], log_light: float) -> float:
        raise Refused("nothing is known of these filters", ("another sheet",))


PLAIN = SCENE.model_copy(update={"flash": None})


def test_a_region_without_handwork_lies_on_the_curve_and_a_burned_one_above() -> None:
    """Its light is found by what it got; what the burn did is the way from the curve."""
    doses = region_doses(PLAIN)
    burned = {name for burn in PLAIN.burns for name in burn.regions}
    dodged = {name for dodge in PLAIN.dodges for name in dodge.regions}
    curve = print_curve(Logistic(), PLAIN, [(name, 0.8) for name in doses], "a paper")
    assert curve is not None
    assert {one.name for one in curve.tones} == set(doses)
    for one in curve.tones:
        assert Logistic().density(doses[one.name], one.at) == pytest.approx(0.8, abs=1e-6)
        if one.name in burned - dodged:
            assert one.bare < 0.8 - 0.01
        elif one.name in dodged - burned:
            assert one.bare > 0.8 + 0.01
        elif one.name not in burned | dodged:
            assert one.bare == pytest.approx(0.8, abs=1e-6)


def test_the_curve_rises_from_white_to_black_and_holds_every_region() -> None:
    """Nearly white at the left, nearly black at the right, each region between."""
    curve = print_curve(Logistic(), PLAIN, [("sky", 0.3), ("no region of it", 1.0)], "a paper")
    assert curve is not None
    densities = [density for _, density in curve.points]
    assert densities == sorted(densities)
    assert densities[0] < 0.1
    assert densities[-1] > 2.0
    assert [one.name for one in curve.tones] == ["sky"]
    assert curve.points[0][0] <= curve.tones[0].at <= curve.points[-1][0]


def test_what_the_curve_cannot_know_is_left_out() -> None:
    """A density blacker than the paper's black has no place, other filters and a flash no curve."""
    curve = print_curve(Logistic(), PLAIN, [("sky", 3.0)], "a paper")
    assert curve is not None
    assert curve.tones == ()
    assert print_curve(NotThese(), PLAIN, [], "a paper") is None
    flashed = SCENE.model_validate(
        PLAIN.model_dump(mode="json", exclude_defaults=True) | {"flash": {"dose_s": 1.0}}
    )
    assert print_curve(Logistic(), flashed, [], "a paper") is None


@given(st.lists(st.floats(0, 30), max_size=12))
def test_labels_stand_apart_and_near(wanted: list[float]) -> None:
    """Each label keeps its distance from the next, in order and within the frame."""
    placed = spread(sorted(wanted), 2.0, 0.0, 30.0)
    assert all(b - a >= 2.0 - 1e-9 for a, b in pairwise(placed))
    assert all(1.0 - 1e-9 <= one <= 29.0 + 1e-9 for one in placed)
