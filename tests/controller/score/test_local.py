"""Burn and dodge strips: what lies beneath, what each patch is, and what a pick makes of it."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from controller.book.entries import Judged
from controller.desk.pick import pick_from
from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.plan import Confirm
from controller.ports import Lens
from controller.score.amount import seconds, stops
from controller.score.doses import region_doses, region_names
from controller.score.file import score_of, to_toml
from controller.score.found import from_strip
from controller.score.local import local_strip
from controller.score.model import Flash, Pass, Score, SetUp
from controller.stops import Step, parse_step
from controller.strips.strip import LEAST_STEP_STOPS, Strip, patches_of, plan_strip
from tests.controller.exposing.asked import as_asked
from tests.controller.score.scores import doable_scores, split
from tests.controller.score.test_doses import burn, changed, dodge

Local = Literal["burn", "dodge"]
SIZE = (203.0, 25.0)
THIRD = parse_step("1/3")
slowly = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def strip_of(
    score: Score, kind: Local, region: str, within: str, step: Step = THIRD, patches: int = 5
) -> Strip:
    return local_strip(score, kind, region, within, step, patches, size_mm=SIZE)


def pick(score: Score, strip: Strip, choice: str) -> Score:
    return from_strip(strip, pick_from(strip, choice, Judged.WET), "K4", score)


def test_a_burn_strip_begins_at_what_the_pass_gives() -> None:
    """Patch A is no burn, and all else that the place gets lies beneath."""
    score = changed(split(), burns=(burn("sky+door", "+1", "hard"), burn("house", "9s", "soft")))
    strip = strip_of(score, "burn", "sky", "soft")
    assert strip.base_s == pytest.approx(12)
    assert strip.filter == "00"
    assert [(b.label, b.filter, b.dose_s) for b in strip.beneath] == [
        ("hard", "5", pytest.approx(6)),
        ("burn sky and door", "5", pytest.approx(6)),
    ]
    assert (strip.place, strip.purpose and strip.purpose.kind) == ("sky", "burn")


def test_a_dodge_strip_ends_at_what_the_pass_gives() -> None:
    """The last patch is no dodge; burns of the place over that very pass lie beneath."""
    score = changed(split(), burns=(burn("door", "+1", "hard"),))
    strip = strip_of(score, "dodge", "door", "hard")
    assert patches_of(strip)[-1].dose_s == pytest.approx(6)
    assert [(b.label, b.dose_s) for b in strip.beneath] == [
        ("soft", pytest.approx(12)),
        ("burn door", pytest.approx(6)),
    ]


@pytest.mark.parametrize(
    ("choice", "amount"), [("B", "+1/3"), ("D", "+1"), ("A-B", "+1/6"), ("E", "+1 1/3")]
)
def test_n_steps_up_are_a_burn_of_n_steps(choice: str, amount: str) -> None:
    """Picking the third step of a strip by thirds is a burn of a stop, written as one."""
    made = pick(split(), strip_of(split(), "burn", "sky", "soft"), choice)
    (burned,) = made.burns
    assert (burned.regions, burned.over, str(burned.amount)) == (("sky",), "soft", amount)
    assert made.came_from == (f"K4 {choice}, burn of sky",)


@pytest.mark.parametrize(("choice", "amount"), [("D", "+1/3"), ("B", "+1"), ("D-E", "+1/6")])
def test_n_steps_down_are_a_dodge_of_n_steps(choice: str, amount: str) -> None:
    """And so from the last patch of a dodge strip."""
    made = pick(split(), strip_of(split(), "dodge", "door", "hard"), choice)
    (dodged,) = made.dodges
    assert (dodged.regions, dodged.within, str(dodged.amount)) == (("door",), "hard", amount)


def test_a_burn_in_seconds_stays_in_seconds() -> None:
    """A strip that was stepped in seconds settles seconds."""
    made = pick(split(), strip_of(split(), "burn", "sky", "soft", parse_step("2s")), "C")
    assert made.burns[0].amount == seconds(4)


def test_patch_a_takes_the_burn_away() -> None:
    """And no other burn: of the same place over another pass, or of this place and another."""
    others = (burn("sky", "2s", "hard"), burn("sky+door", "+1", "soft"), burn("door", "+1", "soft"))
    score = changed(split(), burns=(burn("sky", "+1", "soft"), *others))
    assert pick(score, strip_of(score, "burn", "sky", "soft"), "A").burns == others


def test_the_last_patch_takes_the_dodge_away() -> None:
    """Picking what the pass gives is no dodge."""
    others = (dodge("door", "1/3", "soft"), dodge("sky", "1/3", "hard"))
    score = changed(split(), dodges=(dodge("door", "1/2", "hard"), *others))
    assert pick(score, strip_of(score, "dodge", "door", "hard"), "E").dodges == others


def test_a_burn_is_settled_anew_and_keeps_its_note() -> None:
    """The burn that was there lies not beneath the strip, and is replaced by what was picked."""
    old = burn("sky", "+2", "soft").model_copy(update={"note": "feather it"})
    score = changed(split(), burns=(old,))
    strip = strip_of(score, "burn", "sky", "soft")
    assert [one.label for one in strip.beneath] == ["hard"]
    (new,) = pick(score, strip, "C").burns
    assert (new.amount, new.note) == (stops(2 / 3), "feather it")


@pytest.mark.parametrize(("kind", "choice", "left_s"), [("dodge", "C", 4.5), ("burn", "E", 36)])
def test_a_place_that_another_dodge_holds_back_is_counted_from_what_is_left(
    kind: Local, choice: str, left_s: float
) -> None:
    """Half, or four times, of the 9 s that the place gets of a pass of 12 s."""
    score = changed(split(), dodges=(dodge("sky+door", "3s", "soft", "start"),))
    strip = strip_of(score, kind, "sky", "soft", parse_step("1/2"))
    assert patches_of(strip)["ABCDE".index(choice)].dose_s == pytest.approx(left_s)
    made = pick(score, strip, choice)
    assert region_doses(made)["sky"]["00"] == pytest.approx(left_s, rel=1e-5)
    assert region_doses(made)["door"]["00"] == pytest.approx(9)


def test_a_burn_over_all_of_one_pass_is_a_burn_over_it() -> None:
    """With a single pass both are the same burn."""
    score = changed(split(), passes=split().passes[:1], burns=(burn("sky", "+1"),))
    strip = strip_of(score, "burn", "sky", "soft")
    assert strip.beneath == ()
    assert [str(one.amount) for one in pick(score, strip, "B").burns] == ["+1/3"]


def test_what_is_wholly_dodged_lies_not_beneath() -> None:
    """A place that gets nothing of a pass has no exposure of it."""
    score = changed(split(), dodges=(dodge("sky", "6s", "hard"),))
    assert strip_of(score, "burn", "sky", "soft").beneath == ()
    with pytest.raises(BadInput, match="sky gets nothing of hard; right would be another pass"):
        strip_of(score, "burn", "sky", "hard")


def test_a_strip_asks_for_what_each_exposure_beneath_it_needs() -> None:
    """Bare light for the flash, each filter once, the lens where it differs, then its own."""
    score = changed(
        split(),
        flash=Flash(dose_s=2),
        setup=SetUp(aperture="8"),
        passes=(
            Pass(label="soft", filter="00"),
            Pass(label="second", filter="00", dose=stops(-1)),
            Pass(label="hard", filter="5", aperture="11"),
            Pass(label="open"),
        ),
    )
    made = plan_strip(strip_of(score, "burn", "sky", "open"), Calibration(), LampLimits())
    assert [action.say for action in as_asked(made) if isinstance(action, Confirm)] == [
        "lens to 8",
        "negative out, even light on the easel",
        "negative in, as it was",
        "filter 00",
        "lens to 11",
        "filter 5",
        "lens to 8",
        "filter away",
    ]
    at_11 = plan_strip(strip_of(score, "burn", "sky", "hard"), Calibration(), LampLimits())
    lenses = [a.hands for a in at_11.actions if isinstance(a, Confirm) and "lens" in a.say]
    assert lenses == [Lens("8"), Lens("11")]


def test_dry_down_is_not_taken_off_a_strip() -> None:
    """It is judged wet, and what is picked has its dry-down when it is printed."""
    paper = split().paper.model_copy(update={"dry_down": "10%"})
    strip = strip_of(changed(split(), paper=paper), "burn", "sky", "soft")
    assert strip.base_s == pytest.approx(12)
    assert strip.beneath[0].dose_s == pytest.approx(6)


@slowly
@given(
    doable_scores.filter(lambda score: score.sketch),
    st.sampled_from(["burn", "dodge"]),
    st.sampled_from(["1/12", "1/6", "1/3", "1/2", "1s", "20%"]),
    st.integers(2, 6),
    st.data(),
)
def test_a_place_gets_what_its_patch_got(
    score: Score, kind: Local, step: str, patches: int, data: st.DataObject
) -> None:
    """Whatever else is done in the score: after the pick the place gets what the patch had.

    Undried, filter by filter; the flash, which is no part of a strip's purpose, lies beneath.
    """
    region = data.draw(st.sampled_from(list(region_names(score))))
    within = data.draw(st.sampled_from([one.label for one in score.passes]))
    try:
        strip = strip_of(score, kind, region, within, parse_step(step), patches)
    except BadInput as refused:
        assume("gets nothing" not in refused.what)
        assert kind == "dodge"
        assert not step.startswith("1/")
        return
    steps = pairwise(patches_of(strip))
    assume(all(b.stops - a.stops >= LEAST_STEP_STOPS for a, b in steps))  # else no strip is made
    patch = data.draw(st.sampled_from(patches_of(strip)))
    try:
        made = pick(score, strip, patch.letter)
    except Refused:
        assert kind == "dodge"  # two dodges of one place found no room in the pass
        return
    assert score_of(to_toml(made), "a") == made
    got: dict[str, float] = {strip.filter or "none": patch.dose_s}
    for one in strip.beneath:
        light = "flash" if one.bare else one.filter or "none"
        got[light] = got.get(light, 0.0) + one.dose_s
    planned = region_doses(made.model_copy(update={"judged": "dry"}))[region]
    for light in {*got, *planned}:
        assert planned.get(light, 0.0) == pytest.approx(got.get(light, 0.0), rel=1e-4, abs=3e-3)


@pytest.mark.parametrize(
    ("score", "region", "within", "said"),
    [
        (split(), "tower", "soft", "no region 'tower'; right would be sky or door or house or"),
        (split(), "sky", "third", "no pass 'third'; right would be soft or hard"),
        (
            Score(base_s=8, passes=(Pass(label="soft"),)),
            "elsewhere",
            "soft",
            "no region 'elsewhere'; right would be a score with a sketch",
        ),
    ],
)
def test_a_strip_of_nowhere_is_refused(score: Score, region: str, within: str, said: str) -> None:
    """Region and pass have to be in the score; without a sketch there is no place to burn."""
    for kind in ("burn", "dodge"):
        with pytest.raises(BadInput, match=said):
            strip_of(score, kind, region, within)  # type: ignore[arg-type]


def test_a_pick_for_a_score_that_lacks_the_place_is_refused() -> None:
    """A strip that was made for another score does not make this one contradict itself."""
    strip = strip_of(split(), "burn", "sky", "soft")
    bare = Score(base_s=8, passes=(Pass(label="soft"),))
    with pytest.raises(BadInput, match="the score has no region 'sky'"):
        pick(bare, strip, "B")
    other = changed(split(), passes=(Pass(label="third"),))
    with pytest.raises(BadInput, match="the score has no pass 'soft'; right would be third"):
        pick(other, strip, "B")


def test_a_dodge_strip_is_stepped_in_stops() -> None:
    """Seconds or percent downwards end nowhere."""
    with pytest.raises(BadInput, match="2s is not stops; right would be a step in stops"):
        strip_of(split(), "dodge", "sky", "soft", parse_step("2s"))


def test_a_strip_that_cannot_be_is_refused() -> None:
    """Too many patches, in the words of strips."""
    with pytest.raises(BadInput, match=r"score strip, patches: 27 is not right"):
        strip_of(split(), "burn", "sky", "soft", patches=27)
