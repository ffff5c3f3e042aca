"""The paper's figures against numbers worked by hand, the trade's tables and plain optimising."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit, fsolve

from controller.errors import BadInput
from controller.paper import iso
from controller.paper.curve import Curve
from controller.paper.fit import fit_curve
from controller.paper.grades import GRADES, grade_of, parse_grades
from controller.paper.readings import Reading
from controller.paper.solving import Tone, solve_split
from controller.paper.split import SplitPaper


class Broken:
    """A curve of three straight pieces, whose points can be read off by hand.

    White 0.05 up to log exposure 0, then 2 densities for each log unit, black 2.05 from 1 on.
    """

    d_min = 0.05
    d_max = 2.05

    def log_exposure(self, density: float) -> float:
        return (density - 0.05) / 2.0


def test_points_of_a_curve_worked_by_hand() -> None:
    """0.04, 0.60 and 90 % of 2.00 over white, at 2 for each log unit: 0.02, 0.30, 0.90."""
    points = iso.points_of(Broken())
    assert points == pytest.approx((0.02, 0.30, 0.90))
    assert iso.iso_range(points.ler) == 90
    assert iso.iso_speed(points.log_hm) == 500  # 1000 / 10^0.30 = 501


@pytest.mark.parametrize(("ler", "told"), [(1.32, 130), (0.92, 90), (1.14, 110), ("0.50", 50)])
def test_range_is_told_to_the_nearest_ten(ler: float | str, told: int) -> None:
    """The trade's worked ranges."""
    assert iso.iso_range(ler) == told


@pytest.mark.parametrize("ler", [1.15, "1.15"])
def test_hundredths_do_not_fall_into_the_floating_trap(ler: float | str) -> None:
    """1.15 is 115 hundredths, though 100 * 1.15 is 114.99999999999999."""
    assert 100 * 1.15 < 115
    assert iso.hundredths(ler) == 115


@pytest.mark.parametrize(
    ("hm_lux_s", "told"), [(5.0, 200), (10.0, 100), (6.4, 160), (2.5, 400), (80.0, 12), (1.0, 1000)]
)
def test_speed_is_told_in_its_series(hm_lux_s: float, told: int) -> None:
    """1000 / Hm, in steps of a tenth of a log unit."""
    assert iso.iso_speed(math.log10(hm_lux_s)) == told


def test_the_series_is_that_of_the_trade() -> None:
    """Twenty-three steps of a tenth from P1000 down to P6 give the known series."""
    told = [iso.iso_speed(tenth / 10) for tenth in range(23)]
    assert told == [
        *(1000, 800, 640, 500, 400, 320, 250, 200, 160, 125, 100),
        *(80, 64, 50, 40, 32, 25, 20, 16, 12, 10, 8, 6),
    ]


@pytest.mark.parametrize(
    ("ler", "number"),
    [(1.05, 2), (0.40, None), (1.71, None), (1.70, 0), (0.50, 5), (1.15, 1), (0.95, 2), (0.65, 4)],
)
def test_grades_by_the_published_limits(ler: float, number: int | None) -> None:
    """A range lies in its grade; a limit belongs to the softer; outside there is none."""
    grade = grade_of(ler)
    assert (grade and grade.number) == number


def test_grades_leave_no_gap() -> None:
    """From 0.50 to 1.70 each hundredth has one grade, and softer never has a higher number."""
    numbers = [grade_of(f"{each / 100:.2f}") for each in range(50, 171)]
    found = [grade.number for grade in numbers if grade]
    assert len(found) == 121
    assert found == sorted(found, reverse=True)


def test_grades_can_be_the_users_own() -> None:
    """A table in TOML takes the place of the published one, and must not overlap."""
    own = parse_grades('[[grade]]\nnumber = 6\nname = "beyond"\nler = [0.35, 0.50]\n', "own")
    assert [grade_of(0.40, own), grade_of(1.05, own)] == [own[0], None]
    text = "".join(f"[[grade]]\nnumber = {n}\nler = [0.5, 0.{n}]\n" for n in (8, 9))
    with pytest.raises(BadInput, match="hold the same range"):
        parse_grades(text, "own")
    for wrong in ("grade = 3", "x = [", "[[grade]]\nnumber = 2\nler = [2, 1]\n"):
        with pytest.raises(BadInput):
            parse_grades(wrong, "own")
    assert grade_of(1.05, GRADES) is not None


def test_a_tablet_of_21_steps_spans_20_intervals() -> None:
    """21 steps of 0.15 reach over 3.00, which is 9.9658 stops and not 10."""
    span = (21 - 1) * 0.15
    assert span == pytest.approx(3.00)
    assert span / math.log10(2) == pytest.approx(9.9658, abs=1e-4)
    # a curve read through it: each step takes its density off the log exposure
    paper = Curve(0.06, 2.1, 0.0, 2.0, 0.2, 0.25)
    readings = [
        Reading((2.4 - 0.15 * step,), paper.density(2.4 - 0.15 * step)) for step in range(21)
    ]
    assert fit_curve(readings, "tablet").curve.density(0.7) == pytest.approx(
        paper.density(0.7), abs=0.005
    )


def test_the_fit_agrees_with_plain_least_squares() -> None:
    """With many clean patches SciPy's ``curve_fit`` of the same form finds the same curve."""
    paper = Curve(0.07, 2.0, 0.2, 2.4, 0.25, 0.3)
    at = np.linspace(-0.4, 1.6, 61)
    measured = paper.densities(at) + np.random.default_rng(7).normal(0.0, 0.01, len(at))

    def form(x: np.ndarray, *numbers: float) -> np.ndarray:
        return Curve(*numbers).densities(x)

    low, high = [0, 1, -2, 0.5, 0.01, 0.01], [0.5, 3, 2, 8, 1, 1]
    plain, _ = curve_fit(form, at, measured, p0=[0.1, 2.1, 0.0, 2.0, 0.2, 0.2], bounds=(low, high))
    ours = fit_curve(
        [Reading((float(x),), float(d)) for x, d in zip(at, measured, strict=True)], ""
    )
    assert not ours.outliers
    assert np.abs(ours.curve.densities(at) - form(at, *plain)).max() < 0.004


@pytest.mark.parametrize("dark_lux", [1.2, 1.5, 2.0])
def test_two_tones_agree_with_a_general_solver(dark_lux: float) -> None:
    """SciPy's ``fsolve`` of both equations at once finds the same soft and hard dose."""
    paper = SplitPaper(Curve(0.06, 2.10, 0.30, 3.5, 0.30, 0.30, 0.8, 0.55), (-0.6, -0.65))
    light, dark = Tone(0.2, 0.15), Tone(dark_lux, 1.6)

    def off(logs: np.ndarray) -> list[float]:
        soft_s, hard_s = np.exp(logs)
        return [
            paper.density(tone.lux * soft_s, tone.lux * hard_s) - tone.density
            for tone in (light, dark)
        ]

    ours = solve_split(paper, light, dark)
    start = np.log([ours.soft_dose_s * 1.3, ours.hard_dose_s / 1.3])
    found, _, how, _ = fsolve(off, start, full_output=True, xtol=1e-10)
    assert how == 1
    assert np.exp(found) == pytest.approx([ours.soft_dose_s, ours.hard_dose_s], rel=1e-4)


def test_a_mixed_dose_worked_by_hand() -> None:
    """Where hard light is to both parts a quarter of soft, 4 s hard do what 1 s soft does."""
    quarter = math.log10(0.25)
    paper = SplitPaper(Curve(0.06, 2.1, 0.3, 3.0, 0.2, 0.2), (quarter,))
    assert paper.density(10.0, 0.0) == pytest.approx(paper.density(0.0, 40.0))
    assert paper.density(10.0, 40.0) == pytest.approx(paper.density(20.0, 0.0))
