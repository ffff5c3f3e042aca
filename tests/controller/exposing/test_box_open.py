"""No light while the paper box is open, whatever the bench was at."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.enlarger.lamp import ns
from controller.events import Made
from controller.exposing.bench import State
from controller.exposing.told import BoxIs
from controller.plan import Expose, Go, Plan, Sheet, Shine
from tests.controller.exposing.bench_top import ScriptedWorld, Set, set_up

PRINT = Plan("print", "a print", (Sheet(200, 250), Go("a", lead_in_s=1), Expose("A", 10.0)))
SERIES = Plan("t", "t", (Go("a", lead_in_s=1), Expose("A", 6.0, pulses=6, gap_s=1.0)))
FOCUS = Plan("focus", "focus", (Go("focus", lead_in_s=1), Shine("focus", 60.0)))


def until_lit(made: Set) -> None:
    while made.runner.state is not State.LIT:
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)


def delivered_s(made: Set) -> float:
    return sum(event.delivered_dose_s for event in made.events if isinstance(event, Made))


@pytest.mark.parametrize("plan", [PRINT, SERIES])
def test_an_exposure_is_paused_and_goes_on_when_the_box_is_shut(plan: Plan) -> None:
    """Not one nanosecond of light while it is open, and the whole dose in the end."""
    made = set_up(plan)
    until_lit(made)
    made.unit.run_until(made.unit.now_ns + ns(0.5))
    open_ns = made.unit.now_ns
    made.unit.box_is(BoxIs(True))
    assert made.runner.state is State.PAUSED
    assert "the paper box is open" in made.world.words()
    made.unit.run_until(open_ns + ns(30))
    shut_ns = made.unit.now_ns
    made.unit.box_is(BoxIs(False))
    made.unit.run()
    for from_ns, to_ns in made.world.lamp_times():
        assert to_ns <= open_ns or from_ns >= shut_ns
    wanted_s = sum(expose.dose_s for _, expose in plan.exposures())
    assert delivered_s(made) == pytest.approx(wanted_s, abs=0.01)


def test_a_tap_at_an_open_box_says_why_nothing_is_lit() -> None:
    """The prompt comes back, and works once the box is shut."""
    made = set_up(PRINT)
    made.unit.box_is(BoxIs(True))
    made.unit.run_until(ns(20))
    assert "the paper box is open; no light was lit" in made.world.words()
    assert made.world.lamp_times() == []
    made.unit.box_is(BoxIs(False))
    made.unit.run()
    assert len(made.world.lamp_times()) == 1


def test_the_focus_light_goes_out_too() -> None:
    """A whole box of paper is worth more than a sharp grain."""
    made = set_up(FOCUS)
    until_lit(made)
    made.unit.box_is(BoxIs(True))
    made.unit.run_until(made.unit.now_ns + ns(5))
    assert made.world.switched[-1][1:] == ("lamp", False)
    assert len(made.world.lamp_times()) == 1


@given(st.lists(st.floats(0.1, 6.0), min_size=1, max_size=12))
@settings(max_examples=60, deadline=None)
def test_whenever_it_opens_and_shuts_no_light_meets_it(gaps_s: list[float]) -> None:
    """At random moments, through prompts, lead-ins, pulses and gaps."""
    made = set_up(SERIES, ScriptedWorld(tap_after_s=1.3))
    spans: list[tuple[int, int]] = []
    opened_ns: int | None = None
    for gap_s in gaps_s:
        made.unit.run_until(made.unit.now_ns + ns(gap_s))
        if made.runner.over:
            break
        if opened_ns is None:
            opened_ns = made.unit.now_ns
        else:
            spans.append((opened_ns, made.unit.now_ns))
            opened_ns = None
        made.unit.box_is(BoxIs(opened_ns is not None))
    if opened_ns is not None:
        spans.append((opened_ns, made.unit.now_ns))
        made.unit.box_is(BoxIs(False))
    made.unit.run_until(made.unit.now_ns + ns(600))
    for from_ns, to_ns in made.world.lamp_times():
        assert all(to_ns <= a or from_ns >= b for a, b in spans)
