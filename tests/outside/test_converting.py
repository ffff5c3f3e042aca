"""Converting exposures against values from outside, and against light traced through lenses.

Classes as in ``test_exposure_arithmetic``: D arithmetic, V seen in an excerpt, V2 seen in a page
that reports the source, M from memory, C common practice. Tolerances are half a unit of the last
place printed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest

from controller.enlarger import converting as c
from controller.enlarger.filter_table import STARTING_POINTS
from controller.stops import percent_to_stops

# ((1+m2)/(1+m1))^2, thin lens: D.
MAGNIFICATIONS = [
    # m1, m2, factor, stops, what 20 s become, and the wrong rule (m2/m1)^2
    (2, 4, 2.7778, 1.4739, 55.56, 4.0000),
    (4, 8, 3.2400, 1.6960, 64.80, 4.0000),
    (3, 5, 2.2500, 1.1699, 45.00, 2.7778),
    (8, 11.2, 1.8375, 0.8778, 36.75, 1.9600),
    (10, 5, 0.2975, -1.7489, 5.95, 0.2500),
    (6, 6, 1.0000, 0.0000, 20.00, 1.0000),
]


@pytest.mark.parametrize(("m1", "m2", "factor", "stops", "of_20_s", "wrong"), MAGNIFICATIONS)
def test_magnification(m1, m2, factor, stops, of_20_s, wrong):
    """Exposure grows with the square of 1 + m, not of m (D)."""
    found = c.magnification_factor(m1, m2)
    assert found.value == pytest.approx(factor, abs=5e-5)
    assert found.stops == pytest.approx(stops, abs=5e-5)
    assert 20 * found.value == pytest.approx(of_20_s, abs=5e-3)
    if m1 != m2:
        assert abs(found.value - wrong) > 0.04


def test_the_textbooks_example():
    """From 2x to 4x is 2.78 (V2: Kingslake, and S. F. Ray, as an apug.org thread reports them)."""
    assert c.magnification_factor(2, 4).value == pytest.approx(2.78, abs=5e-3)


def test_the_same_example_by_distance():
    """From 450 to 750 mm between lens and paper is 2.7778 (V2: the same thread)."""
    assert c.distance_factor(450, 750).value == pytest.approx(2.7778, abs=5e-5)
    # D: a lens for which 450 mm is 2x has f = 150 mm, and then 750 mm is 4x
    assert 150 * (1 + 2) == 450
    assert 150 * (1 + 4) == 750


@pytest.mark.parametrize(
    ("n1", "n2", "intended"), [(5.6, 8, 1), (8, 11, 1), (5.6, 11, 2), (4, 11, 3)]
)
def test_engraved_apertures_are_what_they_are_meant_for(n1, n2, intended):
    """Closing from one engraved full stop to another is whole stops (D), not (N2/N1)^2."""
    assert c.aperture_factor(n1, n2).stops == intended
    assert c.aperture_factor(n1, n2).value == 2**intended
    assert 2 * math.log2(n2 / n1) != pytest.approx(intended, abs=0.02)


# --- rays through thick lenses: what the pupils do ---------------------------------------------


def lens(f: float) -> np.ndarray:
    return np.array([[1.0, 0.0], [-1.0 / f, 1.0]])


def gap(d: float) -> np.ndarray:
    return np.array([[1.0, d], [0.0, 1.0]])


@dataclass(frozen=True)
class Objective:
    """Two thin lenses with the aperture between them; light goes from front to back (mm)."""

    front_f: float
    to_stop: float
    from_stop: float
    back_f: float

    def reversed(self) -> Objective:
        return Objective(self.back_f, self.from_stop, self.to_stop, self.front_f)

    def conjugates(self, m: float) -> tuple[float, float]:
        """Negative to front lens, and back lens to paper, for a sharp inverted image m long."""
        before_stop = gap(self.to_stop) @ lens(self.front_f)
        (a, b), (low_c, d) = lens(self.back_f) @ gap(self.from_stop) @ before_stop
        object_mm, image_mm = (-1 / m - d) / low_c, (-m - a) / low_c
        whole = gap(image_mm) @ np.array([[a, b], [low_c, d]]) @ gap(object_mm)
        assert whole[0, 1] == pytest.approx(0, abs=1e-9)  # sharp
        assert whole[0, 0] == pytest.approx(-m)
        return object_mm, image_mm

    def illuminance(self, m: float) -> float:
        """Light on the paper: the cone from a point of the negative that the aperture passes.

        The negative sends light evenly, as the square of a small angle, and its light is spread
        over m^2 times its area. Neither pupil is used.
        """
        object_mm, _ = self.conjugates(m)
        to_the_aperture = gap(self.to_stop) @ lens(self.front_f) @ gap(object_mm)
        height_per_angle = to_the_aperture[0, 1]
        return (1 / height_per_angle) ** 2 / m**2

    def pupil(self) -> float:
        """Width of the aperture as seen from the paper over that seen from the negative."""
        from_paper, _ = self._seen(self.from_stop, self.back_f)
        from_negative, _ = self._seen(self.to_stop, self.front_f)
        return from_paper / from_negative

    def exit_to_paper(self, m: float) -> float:
        return self.conjugates(m)[1] + self._seen(self.from_stop, self.back_f)[1]

    @staticmethod
    def _seen(behind: float, f: float) -> tuple[float, float]:
        """Width of the aperture seen through a lens, and how far behind the lens it appears."""
        return f / (f - behind), behind * f / (f - behind)


SYMMETRICAL = Objective(100, 10, 10, 100)
LONG_FRONT = Objective(200, 5, 30, 80)
TELEPHOTO = Objective(50, 25, 5, -120)
OBJECTIVES = [SYMMETRICAL, LONG_FRONT, LONG_FRONT.reversed(), TELEPHOTO, TELEPHOTO.reversed()]


@pytest.mark.parametrize("objective", OBJECTIVES)
@pytest.mark.parametrize(("m1", "m2"), [(2, 4), (8, 11.2), (10, 5), (0.5, 1)])
def test_pupils_by_traced_light(objective, m1, m2):
    """Light traced through a thick lens falls as (1 + m/P)^2, P being exit over entrance (D)."""
    traced = objective.illuminance(m1) / objective.illuminance(m2)
    found = c.magnification_factor(m1, m2, pupil=objective.pupil())
    assert found.value == pytest.approx(traced, rel=1e-9)


@pytest.mark.parametrize("objective", [LONG_FRONT, TELEPHOTO, TELEPHOTO.reversed()])
def test_the_pupils_the_other_way_about_are_wrong(objective):
    """With 1/P for P, as for a lens on a camera, traced light differs by over 0.1 stop (D)."""
    traced = objective.illuminance(2) / objective.illuminance(4)
    wrong = c.magnification_factor(2, 4, pupil=1 / objective.pupil())
    assert abs(math.log2(wrong.value / traced)) > 0.1


def test_a_lens_turned_round_has_one_over_its_pupil_magnification():
    """A lens has the pupil magnification 1/P when light goes the other way (D)."""
    for objective in OBJECTIVES:
        assert objective.reversed().pupil() == pytest.approx(1 / objective.pupil())
    assert SYMMETRICAL.pupil() == 1


@pytest.mark.parametrize("objective", OBJECTIVES)
def test_distance_from_the_aperture_seen_from_the_paper(objective):
    """Measured from the exit pupil, the distance rule agrees with traced light, any lens (D)."""
    traced = objective.illuminance(2) / objective.illuminance(4)
    found = c.distance_factor(objective.exit_to_paper(2), objective.exit_to_paper(4))
    assert found.value == pytest.approx(traced, rel=1e-9)


def test_a_pupil_left_out():
    """Taking 1 for a P of 0.8 makes 0.08 stop from 2 to 4, as the docstring says (D)."""
    right, taken = c.magnification_factor(2, 4, pupil=0.8), c.magnification_factor(2, 4)
    assert right.stops - taken.stops == pytest.approx(0.08, abs=5e-3)


def worst_between(m1: float, m2: float) -> float:
    """Stops by which interpolation between two notes is off, against f(2 + m + 1/m) of height."""
    notes = [(2 + m + 1 / m, m) for m in (m1, m2)]
    true = np.linspace(m1, m2, 101)[1:-1]
    found = [c.magnification_at(2 + m + 1 / m, notes) for m in true]
    return max(abs(c.magnification_factor(a, b).stops) for a, b in zip(true, found, strict=True))


@pytest.mark.parametrize(("m1", "most"), [(2, 0.02), (3, 0.02), (8, 0.02), (1, 0.25)])
def test_between_notes_of_the_column(m1, most):
    """Notes one magnification apart interpolate within 0.02 stop from 2 up, 1/4 below (D)."""
    assert 0 < worst_between(m1, m1 + 1) < most
    assert worst_between(1, 2) > 0.1  # so that below 2 notes do need to be closer


# --- filters, papers and the change table ------------------------------------------------------


@pytest.mark.parametrize("name", ["0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2"])
def test_soft_filters_take_one_stop(name):
    """Filters 0 to 3 1/2 need one stop over no filter (V: NAVEDTRA 14209, an excerpt)."""
    assert c.filter_factor("none", name).stops == 1


@pytest.mark.parametrize("name", ["4", "4 1/2", "5"])
def test_hard_filters_take_two_stops(name):
    """Filters 4 and 5 need one more, two over no filter (V: NAVEDTRA 14209, an excerpt)."""
    assert c.filter_factor("none", name).stops == 2


# Speeds with filters in, of one maker's technical sheet: M.
SPEEDS = {"00": 200, "0": 200, "1": 200, "2": 200, "3": 200, "4": 100, "5": 100}


@pytest.mark.parametrize("name", SPEEDS)
def test_filters_agree_with_speeds(name):
    """The table's factors are those of a technical sheet's speeds by filter (M)."""
    by_speed = c.paper_factor(SPEEDS["2"], SPEEDS[name])
    assert isinstance(by_speed, c.Factor)
    assert c.filter_factor("2", name).value == by_speed.value


def test_half_the_paper_speed_is_one_stop():
    """P200 to P100 is one stop more (D)."""
    found = c.paper_factor(200, 100)
    assert isinstance(found, c.Factor)
    assert found.stops == 1


@pytest.mark.parametrize(
    ("change", "soft_s", "hard_s"),
    [
        (c.told_factor(Fraction(1, 3)), 15.12, 7.56),
        (c.told_factor(percent_to_stops(-10), "dry-down 10 %"), 10.8, 5.4),
        (c.magnification_factor(2, 4), 33.33, 16.67),
    ],
)
def test_soft_and_hard_move_together(change, soft_s, hard_s):
    """Soft 12 s and hard 6 s become as in the table, and stay one stop apart (D)."""
    soft, hard = (dose_s * c.combine([change]).factor for dose_s in (12.0, 6.0))
    assert soft == pytest.approx(soft_s, abs=5e-3)
    assert hard == pytest.approx(hard_s, abs=5e-3)
    assert math.log2(hard / soft) == pytest.approx(-1)


def test_filter_3_to_4():
    """Filter 3, 10 s at f/8 is filter 4, 20 s at f/8 or 10 s at f/5.6 (V: NAVEDTRA 14209)."""
    harder = c.filter_factor("3", "4", STARTING_POINTS)
    assert 10 * c.combine([harder]).factor == 20
    assert 10 * c.combine([harder, c.aperture_factor(8, 5.6)]).factor == 10
