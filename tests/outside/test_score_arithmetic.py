"""Burns, dodges, dry-down and split contrast against values from outside.

Classes as in ``test_exposure_arithmetic``: D arithmetic (or by definition), V seen in an excerpt
of the source that is named, V2 seen in a page that reports the source, M from memory of it, C
common practice. A tolerance is half a unit of the last place printed.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from controller.score.amount import parse_amount, seconds, stops
from controller.score.convert import Wanted, convert
from controller.score.doses import exposures, region_doses
from controller.score.dry_down import USUAL_PERCENT
from controller.score.model import Burn, Dodge, PaperUsed, Pass, Score

# Seconds of burn and dodge over a base of 25.398 s, which prints as 25.4: D.
TABLE = [
    # stops, burn, dodge
    ("1/6", 3.11, 2.77),
    ("1/3", 6.60, 5.24),
    ("1/2", 10.52, 7.44),
    ("2/3", 14.92, 9.40),
    ("+1", 25.40, 12.70),
    ("+1.5", 46.44, 16.42),
    ("+2", 76.19, 19.05),
]
BASE_S = 25.398


@pytest.mark.parametrize(("amount", "burn_s", "dodge_s"), TABLE, ids=lambda v: f"{v}-D")
def test_burn_and_dodge_over_a_base(amount: str, burn_s: float, dodge_s: float) -> None:
    """A burn of n stops over b is b(2^n - 1), a dodge of n stops of b is b(1 - 2^-n) (D)."""
    assert parse_amount(amount).over_s(BASE_S) == pytest.approx(burn_s, abs=5e-3)
    assert parse_amount(amount).held_s(BASE_S) == pytest.approx(dodge_s, abs=5e-3)


def test_a_printed_timing_table() -> None:
    """At 25.4 s a dodge of 1/3 is 5.2 s and a burn of 1/2 is 10.5 s.

    V: R. W. Lambrecht, "f/stop Timing Table", 1999, 2005.
    """
    score = Score(
        base_s=25.4,
        passes=(Pass(label="print"),),
        sketch=("SD",),
        regions={"S": "sky", "D": "door"},
        burns=(Burn(regions=("sky",), amount=parse_amount("+1/2"), over="print"),),
        dodges=(Dodge(regions=("door",), amount=parse_amount("1/3"), within="print"),),
    )
    print_, burn = exposures(score)
    assert burn.dose_s == pytest.approx(10.5, abs=0.05)
    assert print_.held[0].end_s - print_.held[0].begin_s == pytest.approx(5.2, abs=0.05)


@pytest.mark.parametrize("base_s", [0.5, 8, 25.398, 900])
def test_a_burn_of_a_stop_is_the_base_again(base_s: float) -> None:
    """+1 is b, +2 is 3 b, and what is held by n stops leaves 2^-n (D)."""
    assert stops(1).over_s(base_s) == pytest.approx(base_s, rel=1e-12)
    assert stops(2).over_s(base_s) == pytest.approx(3 * base_s, rel=1e-12)
    assert base_s - stops(2).held_s(base_s) == pytest.approx(base_s / 4, rel=1e-12)


def score_of(soft_s: float, hard_s: float, **more: object) -> Score:
    return Score.model_validate(
        {
            "base_s": soft_s,
            "passes": (
                Pass(label="soft", filter="00"),
                Pass(label="hard", filter="5", dose=stops(math.log2(hard_s / soft_s))),
            ),
            **more,
        }
    )


def test_two_burns_of_a_stop_on_one_place() -> None:
    """They are 3 b in all, 1.585 stop over it, and not two stops (D)."""
    burn = Burn(regions=("sky",), amount=stops(1), over="soft")
    score = score_of(10, 5, sketch=("S",), regions={"S": "sky"}, burns=(burn, burn))
    dose_s = region_doses(score)["sky"]["00"]
    assert dose_s == pytest.approx(30, rel=1e-12)
    assert math.log2(dose_s / 10) == pytest.approx(1.585, abs=5e-4)


def test_percent_style() -> None:
    """A burn of 20 % is +0.263 stop, a dodge of 20 % is -0.322 (D).

    V2 for the style: A. Adams, The Print, as quoted on a public page.
    """
    assert stops(0.263).over_s(100) == pytest.approx(20, abs=0.05)
    assert stops(0.322).held_s(100) == pytest.approx(20, abs=0.05)


def doses(score: Score) -> list[float]:
    return [one.dose_s for one in exposures(score)]


# What 20 s become: D.
DRY_DOWN = [(0, 20.00), (6, 18.80), (8, 18.40), (10, 18.00), (12, 17.60), (14, 17.20)]


@pytest.mark.parametrize(("percent", "time_s"), DRY_DOWN, ids=lambda v: f"{v}-D")
def test_dry_down_of_a_base(percent: int, time_s: float) -> None:
    """So many percent less, once (D)."""
    score = Score(base_s=20, passes=(Pass(label="print"),), paper=PaperUsed(dry_down=f"{percent}%"))
    assert doses(score) == pytest.approx([time_s], abs=5e-3)


def test_a_quarter_stop_of_dry_down() -> None:
    """1/4 stop less is 15.9 % less (V the quarter: a public page on dry-down; percent D)."""
    score = Score(base_s=100, passes=(Pass(label="a"),), paper=PaperUsed(dry_down="1/4"))
    assert doses(score) == pytest.approx([100 - 15.9], abs=0.05)


def test_the_usual_pieces_of_a_dry_down_test() -> None:
    """4 to 14 percent (C)."""
    assert USUAL_PERCENT == (4, 6, 8, 10, 12, 14)


# Soft 12 s and hard 6 s: D.
def test_a_third_of_a_stop_more_of_both() -> None:
    """15.12 and 7.56 s, the ratio as it was (D)."""
    more = convert(score_of(12, 6), Wanted(stops=Fraction(1, 3))).score
    assert doses(more) == pytest.approx([15.12, 7.56], abs=5e-3)
    assert math.log2(doses(more)[1] / doses(more)[0]) == pytest.approx(-1, abs=1e-12)


def test_ten_percent_of_dry_down_from_both() -> None:
    """10.8 and 5.4 s (D)."""
    score = score_of(12, 6, paper=PaperUsed(dry_down="10%"))
    assert doses(score) == pytest.approx([10.8, 5.4], abs=1e-9)


def test_both_at_another_size() -> None:
    """From 2x to 4x 33.33 and 16.67 s (D; V2 for the factor 2.78: Kingslake, and S. F. Ray)."""
    larger = convert(score_of(12, 6), Wanted(from_magnification=2, to_magnification=4)).score
    assert doses(larger) == pytest.approx([33.33, 16.67], abs=5e-3)


@pytest.mark.parametrize(("more", "time_s"), [({}, 20), ({"to_aperture": "5.6"}, 10)])
def test_from_filter_3_to_4(more: dict[str, str], time_s: float) -> None:
    """10 s at f/8 through 3 are 20 s through 4, or 10 s at f/5.6 (V: NAVEDTRA 14209)."""
    score = Score(base_s=10, passes=(Pass(label="print", filter="3"),))
    wanted = Wanted(filters=(("3", "4"),), from_aperture="8" if more else "", **more)
    assert doses(convert(score, wanted).score) == pytest.approx([time_s], abs=1e-4)


def test_a_field_manuals_print() -> None:
    """10 s for all, 3 s dodged, 8 s burned in (V the figures: US Army Signal subcourse)."""
    score = Score(
        base_s=10,
        passes=(Pass(label="print"),),
        sketch=("SD.",),
        regions={"S": "sky", "D": "door"},
        burns=(Burn(regions=("sky",), amount=seconds(8)),),
        dodges=(Dodge(regions=("door",), amount=seconds(3), within="print"),),
    )
    assert region_doses(score) == {
        "sky": {"none": pytest.approx(18)},
        "door": {"none": pytest.approx(7)},
        "elsewhere": {"none": pytest.approx(10)},
    }
