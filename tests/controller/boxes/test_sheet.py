"""Calibration sheets: what each patch gets, what is refused, and what is read of them."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from pydantic import ValidationError

from controller.boxes.by_eye import Seen, points_seen
from controller.boxes.measured import Given, densities_asked, mean_of, points_of
from controller.boxes.sheet import MIXED_RATIOS, PaperSheet, plan_paper_sheet
from controller.boxes.tablet import tablet_asked
from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.plan import Expose

LAMP, LIMITS = Calibration(0.1, 0.02), LampLimits()
WEDGE = PaperSheet(paper="pearl", filter="2", base_s=1.5)
MIXED = PaperSheet(
    paper="pearl", kind="mixed", filter="00", base_s=2.0, hard_filter="5", hard_s=4.0
)


def given(sheet: PaperSheet) -> list[Given]:
    """Give what a perfect lamp gives."""
    return [Given(*each) for each in zip(sheet.labels(), sheet.doses(), strict=True)]


def test_a_wedge_has_the_doses_that_it_says():
    """The pulses under a card add up to a third of a stop from patch to patch."""
    plan = plan_paper_sheet(WEDGE, LAMP, LIMITS)
    total, totals = 0.0, []
    for _, expose in plan.exposures():
        total += expose.dose_s
        totals.append(total)
    assert totals[0] == pytest.approx(1.5)
    assert [math.log2(b / a) for a, b in pairwise(totals)] == pytest.approx([1 / 3] * 20)


def test_a_tablet_gives_its_lightest_patch_where_it_is_densest():
    """Twenty-one nominal steps are twenty intervals: ten stops but a few hundredths."""
    densities, nominal = tablet_asked("21")
    sheet = PaperSheet(paper="pearl", kind="tablet", tablet=densities, base_s=60.0)
    doses = [patch["none"] for patch in sheet.doses()]
    assert nominal
    assert math.log2(doses[-1] / doses[0]) == pytest.approx(9.9658, abs=1e-3)
    assert (sheet.labels()[0], sheet.labels()[-1]) == ("21", "1")
    exposes = [a for a in plan_paper_sheet(sheet, LAMP, LIMITS).actions if isinstance(a, Expose)]
    assert [one.dose_s for one in exposes] == [60.0]


def test_a_mixed_sheet_has_three_ratios_at_five_levels():
    """Fifteen patches, each with soft and hard light, both in pulses that the plan gives."""
    ratios = {round(p["5"] / p["00"] / 2.0, 6) for p in MIXED.doses()}
    assert ratios == set(MIXED_RATIOS)
    plan = plan_paper_sheet(MIXED, LAMP, LIMITS)
    got = {expose.label: expose.dose_s for _, expose in plan.exposures()}
    for label, patch in zip(MIXED.labels(), MIXED.doses(), strict=True):
        assert (got[f"{label} soft"], got[f"{label} hard"]) == (patch["00"], patch["5"])


def test_a_wedge_too_fine_for_a_hand_is_refused():
    """Twenty-six patches on 10 cm are refused with what would work."""
    sheet = PaperSheet(paper="pearl", base_s=1.5, patches=26, width_mm=100.0)
    with pytest.raises(Refused, match="longer piece"):
        plan_paper_sheet(sheet, LAMP, LIMITS)


def test_a_pulse_too_short_for_the_lamp_is_refused():
    """Differences under a card that the lamp cannot be trusted with name their patch."""
    sheet = PaperSheet(paper="pearl", base_s=0.5)
    with pytest.raises(Refused, match="patch B"):
        plan_paper_sheet(sheet, LAMP, LIMITS)


def test_a_mixed_sheet_needs_both_filters():
    """A mixed sheet without its hard filter cannot be made at all."""
    with pytest.raises(ValidationError, match="hard filter"):
        PaperSheet(paper="pearl", kind="mixed", base_s=2.0)


def test_exposure_is_absolute_where_the_light_is_known():
    """With 4 lux at the easel 10 s are 40 lux seconds; without, 10 s are told as seconds."""
    lit = PaperSheet(paper="pearl", base_s=1.5, lux=4.0)
    assert lit.log_h({"none": 10.0}) == pytest.approx(math.log10(40.0))
    assert WEDGE.log_h({"2": 10.0}) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("0.05,0.2,0.1", "step 3"),
        ("0.05", "no tablet"),
        ("0.05,x,0.1", "no number"),
        ("0.05,0.2,9", "no density"),
    ],
)
def test_a_tablet_that_is_none_is_refused(text: str, told: str):
    """The first fault in a list of densities is named."""
    with pytest.raises(BadInput, match=told):
        tablet_asked(text)


def test_densities_are_checked_against_the_sheet():
    """Too few, one that is none, and a sheet that lies turned are refused; a dash leaves out."""
    short = PaperSheet(paper="pearl", base_s=1.5, patches=5)
    for text, told in (
        ("0.1 0.2", "2 densities"),
        ("0.1 0.2 0.3 0.4 7", "patch E"),
        ("1.9 1.2 0.7 0.3 0.1", "fall"),
    ):
        with pytest.raises(BadInput, match=told):
            densities_asked(text, short)
    points = points_of(short, given(short), densities_asked("0.06 0.1 - 0.9 1.8", short))
    assert [point.label for point in points] == ["A", "B", "D", "E"]


def test_an_eye_gives_bounds_that_hold_the_true_range():
    """What is seen of a paper of ISO range 100 gives bounds with 100 between them."""
    patches = given(WEDGE)
    logs = [WEDGE.log_h(dict(one.doses_s)) for one in patches]
    # highlight point at log 0.7, shadow point one unit above: told from white from there on
    light = next(one.label for one, log in zip(patches, logs, strict=True) if log >= 0.7)
    dark = next(one.label for one, log in zip(patches, logs, strict=True) if log >= 1.7)
    points, seen = points_seen(WEDGE, patches, Seen(light, dark, "L", 0.70))
    assert seen.least <= 100 <= seen.most
    assert [point.label for point in points] == [light, "L", dark]
    assert all(point.uncertain >= 0.015 for point in points)


@pytest.mark.parametrize(
    ("seen", "told"),
    [
        (Seen("A", "S"), "already patch A"),
        (Seen("H", "I"), "no later"),
        (Seen("H", "Z"), "no patch"),
        (Seen("H", "S", "L", 9.0), "is none"),
        (Seen("H", "S", white=2.0, black=1.0), "no densities"),
    ],
)
def test_an_eye_that_contradicts_itself_is_refused(seen: Seen, told: str):
    """What cannot have been seen is refused with the reason."""
    with pytest.raises(BadInput, match=told):
        points_seen(WEDGE, given(WEDGE), seen)


def test_a_sheet_read_twice_counts_by_its_mean():
    """Each patch is the mean of what was read of it, known better; a slip is named by its patch."""
    sheet = PaperSheet(paper="p", base_s=1.0, patches=5)
    once: list[float | None] = [0.06, 0.2, 0.5, None, 1.2]
    densities, uncertain = mean_of([once, [0.08, 0.2, None, None, 1.24]], sheet)
    assert densities == [pytest.approx(0.07), 0.2, 0.5, None, pytest.approx(1.22)]
    assert uncertain[0] == pytest.approx(0.02 / 2**0.5)
    assert uncertain[2] == 0.02
    with pytest.raises(BadInput, match=r"patch B was read as 0\.20 and as 0\.80"):
        mean_of([once, [0.06, 0.8, 0.5, None, 1.2]], sheet)
