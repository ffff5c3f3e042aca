"""A pedal that is unplugged: no light that nobody can stop, and no tap that nobody made."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.desk.menu import Menu
from controller.desk.orders import Order
from controller.enlarger.lamp import ns
from controller.events import Fate, Made, RunEnded
from controller.exposing.bench import State
from controller.exposing.foot import Contact, Foot, FootTimes, Gesture
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue, Sound
from tests.controller.exposing.bench_top import ScriptedWorld, Set, set_up

PRINT = Plan("print", "a print", (Sheet(200, 250), Go("a", lead_in_s=1), Expose("A", 10.0)))
SERIES = Plan("t", "t", (Go("a", lead_in_s=1), Expose("A", 6.0, pulses=6, gap_s=1.0)))
BY_ITSELF = Plan("t", "t", (Go("a", lead_in_s=1, after_s=5.0), Expose("A", 2.0)))


def until(made: Set, state: State) -> None:
    while made.runner.state is not state:
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)


def test_a_contact_that_went_is_up() -> None:
    """It tells whether it was down, and bounces no more."""
    contact = Contact(0.02)
    assert contact.gone() is False
    contact.edge(ns(1), True)
    assert contact.gone() is True
    assert (contact.down, contact.next_ns) == (False, None)
    assert contact.edge(ns(1.001), True) is True  # plugged in again, under a foot


def test_a_foot_that_went_made_no_tap() -> None:
    """Whatever the press was, it ends without a tap and without a long press."""
    foot = Foot(FootTimes())
    assert foot.edge(ns(10), True, light=False) is Gesture.FELT
    assert foot.gone(ns(10.2)) is None
    assert foot.next_ns is None
    assert foot.edge(ns(20), True, light=True) is Gesture.STOP
    assert foot.gone(ns(20.2)) is Gesture.LET_GO  # only a pause
    foot.edge(ns(30), True, light=False)
    assert [foot.wake(ns(32)), foot.wake(ns(36))] == [Gesture.LONG, Gesture.STUCK]
    assert foot.gone(ns(37)) is Gesture.FREE


class Something:
    def orders(self) -> list[Order]:
        return list(Order)[:2]

    def choices(self, order: Order) -> list[str]:
        return []


def test_what_was_offered_is_not_taken_by_pulling_the_plug() -> None:
    """At an idle bench the word that was spoken is not taken by a pedal that goes."""
    menu = Menu(FootTimes())
    menu.step(ns(10), Something(), True)
    (spoken,) = menu.step(ns(11.6), Something())
    assert isinstance(spoken, Cue)
    menu.step(ns(11.7), Something(), False)
    menu.step(ns(12.2), Something(), True)
    assert menu.gone(ns(12.3), Something()) == []
    assert menu.step(ns(12.4), Something(), True) == [Cue(sound=Sound.PRESS)]


@pytest.mark.parametrize("plan", [PRINT, SERIES])
def test_light_that_nobody_can_stop_is_paused(plan: Plan) -> None:
    """The lamp goes off at once, the account stays, and a tap gives the rest."""
    made = set_up(plan)
    until(made, State.LIT)
    made.unit.run_until(made.unit.now_ns + ns(0.5))
    gone_ns = made.unit.now_ns
    made.world.tap_after_s = None
    made.unit.pedal_gone()
    assert made.runner.state is State.PAUSED
    made.unit.run_until(gone_ns + ns(60))
    assert made.world.lamp_times()[-1][1] <= gone_ns
    made.world.tap_after_s = 1.3
    made.unit.run()  # the next "paused" is answered
    delivered_s = sum(e.delivered_dose_s for e in made.events if isinstance(e, Made))
    wanted_s = sum(expose.dose_s for _, expose in plan.exposures())
    assert delivered_s == pytest.approx(wanted_s, abs=0.01)
    assert [e.fate for e in made.events if isinstance(e, RunEnded)] == [Fate.DONE]


def test_another_pedal_goes_on_stopping_the_light() -> None:
    """One of two that goes costs no exposure anything."""
    made = set_up(PRINT)
    until(made, State.LIT)
    made.unit.run_until(made.unit.now_ns + ns(0.5))
    made.unit.pedal_gone(last=False)
    assert made.runner.state is State.LIT
    made.unit.run()
    assert len(made.world.lamp_times()) == 1


def test_a_lead_in_is_called_off() -> None:
    """Light that would have come goes back to its prompt."""
    made = set_up(PRINT)
    until(made, State.LEAD_IN)
    made.world.tap_after_s = None
    made.unit.pedal_gone()
    assert made.runner.state is State.WAITING
    made.unit.run_until(made.unit.now_ns + ns(60))
    assert made.world.lamp_times() == []


def test_a_go_that_comes_by_itself_does_not_come() -> None:
    """A plan that goes on by its own clock waits for a tap once the pedal has gone."""
    made = set_up(BY_ITSELF, ScriptedWorld(tap_after_s=None, presses=((70.0, True), (70.2, False))))
    made.unit.run_until(ns(2))
    made.unit.pedal_gone()
    made.unit.run_until(ns(69))
    assert made.world.lamp_times() == []
    made.unit.run()
    assert len(made.world.lamp_times()) == 1


def test_no_light_follows_a_press_that_ended_in_the_air() -> None:
    """Unplugged while it is down at a go prompt: that is no tap."""
    world = ScriptedWorld(tap_after_s=None, presses=((3.0, True),))
    made = set_up(SERIES, world)
    made.unit.run_until(ns(3.5))
    assert made.runner.state is State.WAITING
    made.unit.pedal_gone(last=False)
    made.unit.run_until(ns(60))
    assert made.world.lamp_times() == []
    assert made.runner.state is State.WAITING


@given(st.floats(0.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_whenever_it_goes_light_ends_there(at_s: float) -> None:
    """At any moment, through prompts, lead-ins, pulses and gaps: dark from then on."""
    made = set_up(SERIES, ScriptedWorld(tap_after_s=1.3))
    made.unit.run_until(ns(at_s))
    made.world.tap_after_s = None
    made.world._coming.clear()
    made.unit.pedal_gone()
    made.unit.run_until(made.unit.now_ns + ns(300))
    for _, to_ns in made.world.lamp_times():
        assert to_ns <= ns(at_s)
