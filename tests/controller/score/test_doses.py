"""What a score gives the paper: what follows the base, dry-down, dodges in time, regions' sums."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from controller.errors import Refused
from controller.score.amount import parse_amount, seconds, stops
from controller.score.change import with_dodge, with_settings
from controller.score.doses import (
    Given,
    Kind,
    exposures,
    filter_of,
    print_factor,
    region_doses,
    region_names,
)
from controller.score.model import Burn, Dodge, Flash, Pass, Score
from tests.controller.score.scores import can_be_done, doable_scores, scores, split

slowly = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def changed(score: Score, **update: Any) -> Score:
    """Give another score, judged again by the model."""
    return Score.model_validate(score.model_dump() | update)


def burn(regions: str, amount: str, over: str = "all", filter_: str = "") -> Burn:
    return Burn(
        regions=tuple(regions.split("+")), amount=parse_amount(amount), over=over, filter=filter_
    )


def dodge(regions: str, amount: str, within: str = "soft", begin: str = "") -> Dodge:
    return Dodge(
        regions=tuple(regions.split("+")), amount=parse_amount(amount), within=within, begin=begin
    )


def times_of(score: Score) -> list[tuple[str, float]]:
    return [(one.label, pytest.approx(one.dose_s)) for one in exposures(score)]


def held_of(score: Score, label: str = "soft") -> list[tuple[float, float]]:
    one = next(one for one in exposures(score) if one.label == label)
    return [pytest.approx((held.begin_s, held.end_s)) for held in one.held]


# --- what follows -------------------------------------------------------------------------------


def test_the_base_is_changed_and_stops_follow() -> None:
    """Passes, burns and dodges in stops follow the base; seconds do not, and the flash never."""
    score = changed(
        split(),
        flash=Flash(dose_s=2),
        passes=(*split().passes, Pass(label="third", filter="2", dose=seconds(5))),
        burns=(burn("sky", "+1", "soft"), burn("door", "4s", "hard"), burn("sky", "+1", "third")),
        dodges=(dodge("house", "+1", "soft"), dodge("water", "2s", "hard")),
    )
    assert times_of(score) == [
        ("flash", 2),
        ("soft", 12),
        ("hard", 6),
        ("third", 5),
        ("burn sky", 12),
        ("burn door", 4),
        ("burn sky (2)", 5),
    ]
    twice = score.model_copy(update={"base_s": 24.0})
    assert times_of(twice) == [
        ("flash", 2),
        ("soft", 24),
        ("hard", 12),
        ("third", 5),
        ("burn sky", 24),
        ("burn door", 4),
        ("burn sky (2)", 5),
    ]
    assert held_of(score) == [(0, 6)]
    assert held_of(twice) == [(0, 12)]
    assert held_of(score, "hard") == [(0, 2)]
    assert held_of(twice, "hard") == [(0, 2)]


@slowly
@given(doable_scores, st.floats(1.01, 3))
def test_whatever_follows_says_so(score: Score, factor: float) -> None:
    """With another base those exposures that say they follow change by its factor, no other."""
    other = score.model_copy(update={"base_s": score.base_s * factor})
    assume(can_be_done(other))
    for old, new in zip(exposures(score), exposures(other), strict=True):
        assert new.dose_s == pytest.approx(old.dose_s * (factor if old.follows else 1))


def test_a_burn_over_all_is_in_proportion() -> None:
    """Stops over all passes are as many stops over each, under its own filter."""
    score = changed(split(), burns=(burn("sky", "+1"),))
    given = exposures(score)[2:]
    assert [(one.label, one.filter) for one in given] == [
        ("burn sky, soft", "00"),
        ("burn sky, hard", "5"),
    ]
    assert [one.dose_s for one in given] == pytest.approx([12, 6])
    assert region_doses(score)["sky"] == pytest.approx({"00": 24, "5": 12})


def test_a_burn_in_seconds_over_all_falls_once() -> None:
    """It is given under its own filter, once."""
    score = changed(split(), burns=(burn("sky", "4s", "all", "2"),))
    assert region_doses(score)["sky"] == pytest.approx({"00": 12, "5": 6, "2": 4})


def test_two_burns_of_a_stop_are_three_times_the_light() -> None:
    """Burns are counted from the pass, not from each other (trade: 3B, and not 4B)."""
    score = changed(split(), burns=(burn("sky", "+1", "soft"), burn("sky", "+1", "soft")))
    assert region_doses(score)["sky"]["00"] == pytest.approx(36)


# --- dry-down -----------------------------------------------------------------------------------


def dried(score: Score, dry_down: str, **update: Any) -> Score:
    paper = score.paper.model_copy(update={"dry_down": dry_down})
    return changed(score, paper=paper, **update)


def test_dry_down_is_taken_off_once_and_never_off_the_flash() -> None:
    """All but the flash get 10 % less, with whatever is timed in them."""
    score = changed(
        split(),
        flash=Flash(dose_s=2),
        burns=(burn("sky", "+1", "soft"), burn("door", "4s", "hard")),
        dodges=(dodge("house", "3s", "soft", "2s"),),
    )
    dry = dried(score, "10%")
    assert times_of(dry) == [
        ("flash", 2),
        ("soft", 10.8),
        ("hard", 5.4),
        ("burn sky", 10.8),
        ("burn door", 3.6),
    ]
    assert [one.undried_s for one in exposures(dry)] == pytest.approx([2, 12, 6, 12, 4])
    assert held_of(score) == [(2, 5)]
    assert held_of(dry) == [(1.8, 4.5)]


def test_what_was_judged_dry_gets_all_of_it() -> None:
    """A strip that had dried needs no dry-down."""
    assert times_of(dried(split(), "10%", judged="dry")) == [("soft", 12), ("hard", 6)]


@slowly
@given(doable_scores)
def test_dry_down_keeps_every_proportion(score: Score) -> None:
    """Each region has so much less of every filter, and as much flash as ever."""
    undried = region_doses(score.model_copy(update={"judged": "dry"}))
    for name, doses in region_doses(score).items():
        for light, dose_s in doses.items():
            factor = 1 if light == "flash" else print_factor(score)
            assert dose_s == pytest.approx(undried[name][light] * factor, abs=1e-9)


# --- regions --------------------------------------------------------------------------------------


def test_regions_add_up_what_falls_on_them() -> None:
    """Burns and dodges over lists of regions that overlap count for each region named."""
    score = changed(
        split(),
        burns=(burn("sky+door", "+1", "soft"), burn("door+elsewhere", "3s", "hard")),
        dodges=(dodge("door+house", "1/2", "soft", "start"), dodge("house", "2s", "hard")),
    )
    half = 12 * (1 - 2**-0.5)
    assert region_doses(score) == {
        "sky": pytest.approx({"00": 24, "5": 6}),
        "door": pytest.approx({"00": 24 - half, "5": 9}),
        "house": pytest.approx({"00": 12 - half, "5": 4}),
        "water": pytest.approx({"00": 12, "5": 6}),
        "elsewhere": pytest.approx({"00": 12, "5": 9}),
    }


def test_without_a_sketch_there_is_elsewhere_alone() -> None:
    """And where every cell belongs to a region there is none."""
    bare = Score(base_s=8, passes=(Pass(label="print"),))
    assert region_doses(bare) == {"elsewhere": {"none": 8.0}}
    full = changed(split(), sketch=("SS", "DD", "HW"))
    assert region_names(full) == ("sky", "door", "house", "water")


def test_a_colour_head_is_named_by_its_settings() -> None:
    """Where no filter is named, yellow and magenta tell two passes apart."""
    assert filter_of(Pass(label="a", yellow=40)) == "40Y"
    assert filter_of(Pass(label="a", yellow=10, magenta=62.5)) == "10Y 62.5M"
    assert filter_of(Pass(label="a")) == "none"
    assert filter_of(Pass(label="a", filter="2", yellow=40)) == "2"


def test_a_burn_takes_filter_and_lens_of_the_pass_unless_it_has_its_own() -> None:
    """The settings of a head go with the pass, and are off under a filter of the burn's own."""
    score = changed(
        split(),
        passes=(Pass(label="soft", yellow=80, aperture="11"),),
        burns=(burn("sky", "+1", "soft"), burn("sky", "2s", "soft", "5")),
    )
    first, second = exposures(score)[1:]
    assert (first.filter, first.yellow, first.aperture) == ("80Y", 80, "11")
    assert (second.filter, second.yellow, second.aperture) == ("5", 0, "11")


# --- dodges in time -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("begin", "held"),
    [
        ("", (0, 3)),
        ("start", (0, 3)),
        ("middle", (4.5, 7.5)),
        ("end", (9, 12)),
        ("0s", (0, 3)),
        ("4.5s", (4.5, 7.5)),
        ("9", (9, 12)),
    ],
)
def test_when_a_dodge_is(begin: str, held: tuple[float, float]) -> None:
    """Start, middle, end, or seconds of the pass."""
    assert held_of(changed(split(), dodges=(dodge("sky", "3s", "soft", begin),))) == [held]


def test_dodges_take_turns() -> None:
    """Without a beginning each comes a moment after the one before, as long as the pass lasts."""
    amounts = {"sky": "3s", "door": "2s", "house": "6s", "water": "+1"}
    score = changed(split(), dodges=tuple(dodge(name, held) for name, held in amounts.items()))
    assert held_of(score) == [(0, 3), (4.5, 6.5), (6, 12), (6, 12)]


@pytest.mark.parametrize(
    ("one", "at_most"),
    [
        (dodge("sky", "12.3s"), "12s"),
        (dodge("door", "20s", "hard"), "6s"),
    ],
)
@pytest.mark.parametrize("dry_down", ["", "10%"])
def test_a_dodge_longer_than_its_pass_is_refused(one: Dodge, at_most: str, dry_down: str) -> None:
    """With the remedy, in the figures in which a score is written."""
    with pytest.raises(Refused, match=rf"is longer than its pass {one.within}") as refused:
        exposures(dried(split(), dry_down, dodges=(one,)))
    assert refused.value.instead[0] == f"{at_most} at most"
    assert "the lens closed by a stop" in refused.value.instead[1]


@slowly
@given(st.floats(0.4, 30), st.floats(0.1, 40), st.floats(0, 40), st.sampled_from(["", "8%"]))
def test_the_remedy_for_a_dodge_that_does_not_fit_does(
    pass_s: float, held_s: float, begin: float, dry_down: str
) -> None:
    """What the refusal offers, typed as it is offered, is taken."""
    score = dried(changed(split(), base_s=pass_s), dry_down)
    asked = f"sky={held_s:.3f}s:{begin:.3f}s@soft"
    for _ in range(2):
        offered = refusal(with_dodge(score, asked, "a"))
        if offered.endswith(" at most"):
            asked = f"sky={offered.removesuffix(' at most')}:0s@soft"
        elif offered:
            latest = offered.removeprefix("a beginning at ").removesuffix(" or sooner")
            asked = f"sky={held_s:.3f}s:{latest}@soft"
    assert not refusal(with_dodge(score, asked, "a"))


def refusal(score: Score) -> str:
    """Give the first remedy for a score that is refused, nothing where it can be done."""
    try:
        exposures(score)
    except Refused as refused:
        return refused.instead[0]
    return ""


def test_a_beginning_too_late_is_refused_with_the_latest() -> None:
    """A dodge that would outlast its pass names when it has to begin."""
    with pytest.raises(Refused, match="outlasts soft") as refused:
        exposures(changed(split(), dodges=(dodge("sky", "3s", "soft", "9.5s"),)))
    assert refused.value.instead == ("a beginning at 9s or sooner",)


def test_a_region_is_not_held_twice_at_once() -> None:
    """Light cannot be kept twice from one place; other places may overlap, and others' turns."""
    both = (dodge("sky+door", "3s", "soft", "1s"), dodge("door+house", "3s", "soft", "3.5s"))
    with pytest.raises(Refused, match=r"two dodges of door in soft overlap in time; try one dodge"):
        exposures(changed(split(), dodges=both))
    exposures(changed(split(), dodges=(both[0], dodge("house+water", "3s", "soft", "3.5s"))))
    exposures(changed(split(), dodges=(both[0], dodge("door", "3s", "soft", "4s"))))
    exposures(changed(split(), dodges=(both[0], dodge("door", "3s", "hard", "2s"))))


@slowly
@given(scores(words=st.just("")))
def test_what_is_held_lies_within_its_pass(score: Score) -> None:
    """Unless it is refused, each dodge lies within its pass and no region is held twice."""
    assume(not refusal(score))
    given_ = exposures(score)
    assert len({one.label for one in given_}) == len(given_)
    for one in given_:
        for held in one.held:
            assert 0 <= held.begin_s < held.end_s <= one.dose_s + 0.0011
        for a, b in combinations(one.held, 2):
            if set(a.regions) & set(b.regions):
                assert min(a.end_s, b.end_s) - max(a.begin_s, b.begin_s) < 0.0011


# --- labels ---------------------------------------------------------------------------------------


def labels(given_: list[Given]) -> list[str]:
    return [one.label for one in given_]


def test_every_exposure_has_a_label_of_its_own() -> None:
    """Also where a pass is already called what a second burn would be."""
    score = changed(
        split(),
        passes=(Pass(label="flash"), Pass(label="burn sky"), Pass(label="burn sky (2)")),
        flash=Flash(dose_s=1),
        burns=(burn("sky", "1s", "flash"), burn("sky", "1s", "flash")),
    )
    assert labels(exposures(score)) == [
        "flash",
        "flash (2)",
        "burn sky",
        "burn sky (2)",
        "burn sky (3)",
        "burn sky (4)",
    ]
    assert exposures(score)[0].kind is Kind.FLASH


def test_stops_are_stops_of_what_was_typed() -> None:
    """A pass a third of a stop under the base has 2^(-1/3) of it."""
    score = with_settings(split(), ["passes.hard.dose=-1/3"], "a")
    assert exposures(score)[1].dose_s == pytest.approx(12 * 2 ** (-1 / 3))
    assert score.passes[1].dose == stops(-1 / 3)
