"""The strip: pulses, refusals, the plan, and what is picked from it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.book.entries import Judged
from controller.desk.pick import pick_from
from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import Around
from controller.plan import Curtain, Expose, Go, Lights
from controller.ports import Move
from controller.stops import parse_step
from controller.strips.strip import (
    Strip,
    fell_on,
    obstacle,
    patches_of,
    plan_strip,
    pulses_of,
    require,
    variants,
)

LAMP, LIMITS = Calibration(0.1, 0.02), LampLimits()
strips = st.builds(
    Strip,
    base_s=st.floats(0.05, 300),
    step=st.sampled_from(["1/12", "1/6", "1/4", "1/3", "1/2", "1", "2s", "0.5s", "10%", "25%"]).map(
        parse_step
    ),
    patches=st.integers(2, 12),
    way=st.sampled_from(["card", "window", "same-spot"]),
)


@given(strips)
def test_what_falls_on_each_patch_adds_up_to_its_dose(strip: Strip) -> None:
    """Whatever the way, the pulses that a patch sees sum to the exposure it is labelled with."""
    pulses = dict(zip("ABCDEFGHIJKL", pulses_of(strip), strict=False))
    for patch in patches_of(strip):
        assert sum(pulses[label] for label in fell_on(strip, patch.letter)) == pytest.approx(
            patch.dose_s, rel=1e-9
        )


@given(strips)
def test_everything_refused_names_a_variant_that_is_accepted(strip: Strip) -> None:
    """A refusal is never a dead end."""
    if obstacle(strip, LAMP, LIMITS) is None:
        require(strip, LAMP, LIMITS)
        return
    with pytest.raises(Refused) as refused:
        plan_strip(strip, LAMP, LIMITS)
    offered = variants(strip, LAMP, LIMITS)
    assert offered
    assert refused.value.instead == tuple(v.words for v in offered)
    for variant in offered:
        plan_strip(variant.strip, LAMP, LIMITS)


def test_a_card_strip_covers_one_patch_more_before_each_pulse() -> None:
    """Card positions count the covered patches; the curtain comes after the first tap."""
    plan = plan_strip(Strip(base_s=8, side="right"), LAMP, LIMITS, Around(lights_off={"red": 2.0}))
    goes = [a for a in plan.actions if isinstance(a, Go)]
    assert [a.hands for a in goes] == [Move("card", n, 5, "right") for n in range(5)]
    kinds = [type(a) for a in plan.actions]
    first = kinds.index(Go)
    assert kinds[first : first + 4] == [Go, Curtain, Lights, Expose]
    assert kinds[first + 4 :] == [Go, Expose] * 4


def test_it_advances_by_itself_only_if_asked() -> None:
    """Without ``advance_after_s`` every patch waits for the pedal; the first always does."""
    by_foot = plan_strip(Strip(base_s=8), LAMP, LIMITS)
    assert all(a.after_s is None for a in by_foot.actions if isinstance(a, Go))
    by_itself = plan_strip(Strip(base_s=8, advance_after_s=6), LAMP, LIMITS)
    assert [a.after_s for a in by_itself.actions if isinstance(a, Go)] == [None, 6, 6, 6, 6]


def test_a_plan_and_a_spec_survive_being_written_down() -> None:
    """Both come back from their text as they were."""
    strip = Strip(base_s=8, step="1/3", place="the sky")
    assert Strip.model_validate_json(strip.model_dump_json()) == strip
    plan = plan_strip(strip, LAMP, LIMITS)
    assert type(plan).from_json(plan.to_json()) == plan


@pytest.mark.parametrize("text", ["C-D", "between C and D", "c d", "D/C"])
def test_between_two_patches_is_half_way_in_stops(text: str) -> None:
    """Between +2/3 and +1 stop lies +5/6."""
    picked = pick_from(Strip(base_s=8, step="1/3"), text, Judged.WET)
    assert picked.stops == pytest.approx(5 / 6)
    assert picked.dose_s == pytest.approx(8 * 2 ** (5 / 6))


@pytest.mark.parametrize("text", ["F", "A-C", "", "3", "A-A", "between A"])
def test_a_choice_that_is_none_is_refused(text: str) -> None:
    """A letter that is not there, or two that are not neighbours, get a sentence."""
    with pytest.raises(BadInput, match="pick"):
        pick_from(Strip(base_s=8), text, Judged.DRY)
