"""The curve's fit: what it finds, what it leaves out, what it says of what it cannot know."""

from __future__ import annotations

import numpy as np
import pytest

from controller.errors import Refused
from controller.paper.curve import Curve
from controller.paper.figures import contrast_between, described, figures, third_of_a_stop_at
from controller.paper.fit import fit_curve
from controller.paper.grades import GRADES
from controller.paper.readings import Reading

PAPER = Curve(0.06, 2.10, 0.30, 2.0, 0.27, 0.33)


def sheet(at: np.ndarray, noise: float = 0.0, seed: int = 1) -> list[Reading]:
    scatter = np.random.default_rng(seed).normal(0.0, 1.0, len(at)) * noise
    return [
        Reading((float(x),), float(d), line)
        for line, (x, d) in enumerate(zip(at, PAPER.densities(at) + scatter, strict=True), start=2)
    ]


def test_a_clean_sheet_gives_its_curve_back() -> None:
    """From readings without noise the fitted curve passes within 0.005 of the true one."""
    fit = fit_curve(sheet(np.arange(21) * 0.1), "sheet")
    at = np.linspace(-0.5, 2.5, 50)
    assert np.abs(fit.curve.densities(at) - PAPER.densities(at)).max() < 0.005
    assert not fit.outliers
    assert fit.white_seen
    assert fit.black_seen


def test_one_spoiled_patch_is_named_and_left_out() -> None:
    """A patch 0.3 too dark is the one outlier, with its line, and does not bend the curve."""
    readings = sheet(np.arange(21) * 0.1, noise=0.01)
    spoiled = readings[12]
    readings[12] = Reading(spoiled.log_exposures, spoiled.density + 0.3, spoiled.line)
    fit = fit_curve(readings, "sheet")
    told = figures(fit, GRADES, relative=False)
    assert [each["line"] for each in told["outliers"]] == [spoiled.line]
    assert told["outliers"][0]["residual"] == pytest.approx(0.3, abs=0.03)
    assert told["residual_rms"] < 0.015
    unspoiled = fit_curve(sheet(np.arange(21) * 0.1, noise=0.01), "sheet")
    for density in (0.2, 1.0, 1.8):
        known = unspoiled.curve.log_exposure(density)
        assert fit.curve.log_exposure(density) == pytest.approx(known, abs=0.02)


def test_five_patches_are_enough_and_say_what_they_do_not_show() -> None:
    """Five middle tones give the speed, and white and black are said to be extrapolated."""
    fit = fit_curve(sheet(np.array([0.5, 0.65, 0.8, 0.95, 1.1])), "sheet")
    assert not fit.white_seen
    assert not fit.black_seen
    wanted = PAPER.log_exposure(PAPER.d_min + 0.60)
    assert fit.curve.log_exposure(fit.curve.d_min + 0.60) == pytest.approx(wanted, abs=0.03)
    told = "\n".join(described(fit, GRADES, relative=False))
    assert "d_min is extrapolated" in told
    assert "d_max is extrapolated" in told
    whole = fit_curve(sheet(np.arange(21) * 0.1), "sheet")
    assert fit.error_of(lambda curve: curve.d_max) > 3 * whole.error_of(lambda curve: curve.d_max)


def test_the_error_told_is_the_error_made() -> None:
    """Over many sheets of one paper the true middle tone lies within two errors mostly."""
    wanted = PAPER.log_exposure(0.66)
    within = 0
    for seed in range(8):
        fit = fit_curve(sheet(np.arange(21) * 0.1, noise=0.02, seed=seed), "sheet")
        error = fit.error_of(lambda curve: curve.log_exposure(0.66))
        assert 0.001 < error < 0.02
        within += abs(fit.curve.log_exposure(0.66) - wanted) < 2 * error
    assert within > 5


def test_relative_exposures_have_no_speed() -> None:
    """With relative exposures the speed is null and the rest is told."""
    fit = fit_curve(sheet(np.arange(21) * 0.1), "sheet")
    told = figures(fit, GRADES, relative=True)
    assert told["iso_speed"] is None
    assert told["iso_range"] == figures(fit, GRADES, relative=False)["iso_range"]


def test_the_keys_are_those_that_programs_rely_on() -> None:
    """The figures hold exactly seven names."""
    told = figures(fit_curve(sheet(np.arange(21) * 0.1), "sheet"), GRADES, relative=False)
    assert set(told) == {
        "d_min",
        "d_max",
        "iso_speed",
        "iso_range",
        "grade",
        "residual_rms",
        "outliers",
    }


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (sheet(np.arange(4) * 0.3), "has 4 patches"),
        (sheet(np.array([0.5, 0.5, 0.5, 0.9, 0.9, 0.9])), "2 different exposures"),
        (sheet(np.arange(6) * 0.1 - 2.0), "wider steps"),
        (
            [Reading((-each.log_exposure,), each.density) for each in sheet(np.arange(9) * 0.2)],
            "densities fall",
        ),
    ],
)
def test_what_is_no_curve_is_refused(readings: list[Reading], said: str) -> None:
    """Too few patches, too few exposures, one tone, or a scale turned round: each says so."""
    with pytest.raises(Refused, match=said):
        fit_curve(readings, "sheet")


def test_contrast_between_two_densities_is_the_chord() -> None:
    """The contrast between two densities is their difference over that of their exposures."""
    apart = PAPER.log_exposure(1.6) - PAPER.log_exposure(0.2)
    assert contrast_between(PAPER, 0.2, 1.6) == pytest.approx(1.4 / apart)


def test_a_third_of_a_stop_moves_the_middle_most() -> None:
    """A third of a stop changes the straight part by 0.1 of its slope, the toe by less."""
    less, more = third_of_a_stop_at(PAPER, 1.1)
    assert more - less == pytest.approx(2.0 * 0.2007, abs=0.01)
    toe_less, toe_more = third_of_a_stop_at(PAPER, 0.10)
    assert toe_more - toe_less < (more - less) / 2
