"""Paper under soft and hard light: the model's laws, and two tones solved."""

from __future__ import annotations

import math

import numpy as np
import pytest

from controller.errors import BadInput, Refused
from controller.paper.curve import Curve
from controller.paper.iso import points_of
from controller.paper.readings import Reading
from controller.paper.solving import (
    Tone,
    choose_filter,
    flash_for,
    share_for_range,
    solve_split,
)
from controller.paper.split import SplitPaper, fit_split

SOFT = Curve(0.06, 2.10, 0.30, 3.5, 0.30, 0.30, 0.8, 0.55)
PAPER = SplitPaper(SOFT, (-0.6, -0.65))
THREE = SplitPaper(Curve(0.06, 2.1, 0.3, 3.5, 0.3, 0.3, 0.5, 0.3, 1.1, 0.4), (-0.6, -0.6, -0.7))
SHARES = [0.0, *np.linspace(0.02, 0.98, 25), 1.0]


def patch(paper: SplitPaper, soft_lux_s: float, hard_lux_s: float) -> Reading:
    logs = tuple(math.log10(each) for each in (soft_lux_s, hard_lux_s) if each)
    return Reading(logs, paper.density(soft_lux_s, hard_lux_s))


@pytest.mark.parametrize("paper", [PAPER, THREE])
def test_a_mixture_is_a_curve_of_its_own(paper: SplitPaper) -> None:
    """The curve of a ratio gives what the sum over the parts gives, at each exposure."""
    for share in (0.0, 0.2, 0.7, 1.0):
        curve = paper.mixed(share)
        for exposure in 10.0 ** np.linspace(-1.0, 3.0, 21):
            known = paper.density((1.0 - share) * exposure, share * exposure)
            assert curve.density(math.log10(exposure)) == pytest.approx(known, abs=1e-9)


@pytest.mark.parametrize("paper", [PAPER, THREE])
def test_more_hard_light_never_makes_the_range_longer(paper: SplitPaper) -> None:
    """The log exposure range falls from soft alone to hard alone."""
    ranges = [points_of(paper.mixed(float(share))).ler for share in SHARES]
    assert (np.diff(ranges) <= 1e-9).all()
    assert ranges[0] > ranges[-1] + 0.3


def test_both_doses_doubled_shift_every_density_by_a_stop() -> None:
    """Twice both doses are one stop on the mixture's curve, whatever the ratio."""
    curve = PAPER.mixed(0.3)
    at = curve.log_exposure(0.9)
    doubled = PAPER.density(2 * 0.7 * 10**at, 2 * 0.3 * 10**at)
    assert doubled == pytest.approx(curve.density(at + math.log10(2.0)))


@pytest.mark.parametrize("paper", [PAPER, THREE])
@pytest.mark.parametrize("span", [0.75, 0.9, 1.1])
def test_two_tones_are_solved(paper: SplitPaper, span: float) -> None:
    """Both tones come out exactly as the model has them, with doses of 0 or more."""
    light, dark = Tone(0.3, 0.12), Tone(0.3 * 10.0**span, 1.7)
    doses = solve_split(paper, light, dark)
    assert doses.soft_dose_s >= 0.0
    assert doses.hard_dose_s >= 0.0
    for tone in (light, dark):
        made = paper.density(tone.lux * doses.soft_dose_s, tone.lux * doses.hard_dose_s)
        assert made == pytest.approx(tone.density, abs=1e-4)
        assert doses.density_at(tone.lux) == pytest.approx(made, abs=1e-6)


def test_a_range_too_long_for_soft_light_tells_of_a_flash() -> None:
    """No ratio holds three log units: the refusal names soft dose and flash, and they would."""
    light, dark = Tone(0.02, 0.12), Tone(20.0, 1.7)
    with pytest.raises(Refused, match="no ratio of soft to hard") as told:
        solve_split(PAPER, light, dark)
    assert "with a flash of" in str(told.value)
    found = flash_for(SOFT, light, dark)
    assert found
    dose_s, flash_lux_s = found
    for tone in (light, dark):
        made = SOFT.density(math.log10(dose_s * tone.lux + flash_lux_s))
        assert made == pytest.approx(tone.density, abs=1e-6)


def test_a_picture_too_flat_for_hard_light_is_told_so() -> None:
    """A tenth of a log unit cannot span 1.6 of density, and no flash is offered."""
    with pytest.raises(Refused, match="too flat for hard light alone"):
        solve_split(PAPER, Tone(1.0, 0.12), Tone(1.26, 1.7))


@pytest.mark.parametrize(
    ("light", "dark", "fault", "said"),
    [
        (Tone(1.0, 0.12), Tone(0.5, 1.7), BadInput, "more light and more density"),
        (Tone(0.1, 1.12), Tone(0.5, 0.7), BadInput, "more light and more density"),
        (Tone(0.0, 0.12), Tone(0.5, 0.7), BadInput, "no light"),
        (Tone(0.1, 0.05), Tone(1.0, 1.7), Refused, "highlight cannot have density 0.05"),
        (Tone(0.1, 0.12), Tone(1.0, 2.2), Refused, "shadow cannot have density 2.20"),
    ],
)
def test_tones_that_no_print_has_are_refused(
    light: Tone, dark: Tone, fault: type[Exception], said: str
) -> None:
    """Tones the wrong way round, without light or outside the paper: each says why."""
    with pytest.raises(fault, match=said):
        solve_split(PAPER, light, dark)


def test_the_ratio_for_a_range_has_that_range() -> None:
    """What is found for a wanted range has it; a range of no ratio is refused."""
    wanted = 0.95
    assert points_of(PAPER.mixed(share_for_range(PAPER, wanted))).ler == pytest.approx(wanted)
    with pytest.raises(Refused, match="no mixture has"):
        share_for_range(PAPER, 3.0)


def test_a_clean_sheet_gives_its_paper_back() -> None:
    """From 21, 21 and 15 patches without noise any mixture is predicted within 0.01."""
    soft = [patch(PAPER, float(x), 0.0) for x in 10.0 ** np.linspace(-0.1, 2.2, 21)]
    hard = [patch(PAPER, 0.0, float(x)) for x in 10.0 ** np.linspace(0.5, 2.1, 21)]
    mixed = [
        patch(PAPER, 14.0 * level * soft_part, 30.0 * level * (1.0 - soft_part))
        for soft_part in (0.25, 0.5, 0.75)
        for level in (0.3, 0.6, 1.0, 1.8, 3.0)
    ]
    fit = fit_split(soft, hard, mixed)
    assert not fit.outliers
    assert len(fit.paper.hard) == 2
    for x in (3.0, 8.0, 20.0, 50.0):
        for y in (5.0, 20.0, 60.0):
            assert fit.paper.density(x, y) == pytest.approx(PAPER.density(x, y), abs=0.01)
    # fewer patches tell the same less surely
    few = fit_split(soft[::4], hard[::4])

    def error(of: object) -> float:
        assert hasattr(of, "solved")
        return float(np.sqrt(np.trace(of.solved.covariance)))

    assert error(few) > error(fit)
    with pytest.raises(Refused, match="mixed sheet has 2 patches"):
        fit_split(soft, hard, mixed[:2])


def test_among_single_filters_the_nearest_shadow_wins() -> None:
    """With the highlight held, the filter is chosen whose shadow comes nearest."""
    curves = {name: PAPER.mixed(share) for name, share in (("00", 0.0), ("3", 0.7), ("5", 1.0))}
    for name, curve in curves.items():
        span = curve.log_exposure(1.7) - curve.log_exposure(0.12)
        chosen = choose_filter(curves, Tone(0.3, 0.12), Tone(0.3 * 10.0 ** (span + 0.02), 1.7))
        assert chosen.name == name
        assert chosen.density_at(0.3) == pytest.approx(0.12, abs=1e-6)
