"""Paper left in the light of the room: timed, paused by a foot, and dark again whatever happens."""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import ns
from controller.events import Fate, Intended, Made
from controller.exposing.bench import State
from controller.exposing.rest import rest_of
from controller.exposing.told import Wish
from controller.plan import Curtain, Dwell, Expose, Go, Lights, Plan, Sheet, Wait
from controller.ports import Sound
from tests.controller.exposing.bench_top import ScriptedWorld, Set, run, set_up

DARK = Lights({"ceiling": False}, 1.0)


def fog(*more: object, time_s: float = 60.0, screen: bool = False) -> Plan:
    """Lay a sheet, darken the room, and leave the paper under the ceiling light for so long."""
    actions = (
        Sheet(100, 50),
        Go("card away"),
        Curtain(True),
        DARK,
        Dwell("step 1", time_s, ("ceiling",), screen=screen),
        *more,
    )
    after = (Lights({"ceiling": True}), Curtain(False))
    return Plan("fog test", "fog", actions, after)  # type: ignore[arg-type]


def ceiling(made: Set) -> list[tuple[float, bool]]:
    return [(t / 1e9, lit) for t, name, lit in made.world.switched if name == "ceiling"]


def until(made: Set, state: State) -> None:
    while made.runner.state is not state:
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)


def test_a_light_burns_for_as_long_as_was_asked() -> None:
    """Dark, a minute of the light, dark; back afterwards; the lamp never; the book has both."""
    made = run(fog())
    (t0, off), (t1, on), (t2, off_again), (t3, back) = ceiling(made)
    assert (off, on, off_again, back) == (False, True, False, True)
    assert t2 - t1 == pytest.approx(60.0, abs=1e-6)
    assert t1 - t0 >= 1.0
    assert t3 >= t2
    assert made.world.lamp_times() == []
    intended = [e for e in made.events if isinstance(e, Intended)]
    done = [e for e in made.events if isinstance(e, Made)]
    assert [(e.label, e.dose_s) for e in intended] == [("step 1", 60.0)]
    assert [(e.delivered_dose_s, e.full) for e in done] == [(pytest.approx(60.0), True)]


def test_a_foot_puts_it_off_and_a_tap_gives_the_rest() -> None:
    """Pressed after some twenty seconds: dark on that edge, and the whole is a minute."""
    made = set_up(fog())
    until(made, State.DWELLING)
    at_ns = made.unit.now_ns + ns(20)
    made.unit.run_until(at_ns)
    made.unit.press(True)
    assert ceiling(made)[-1] == (at_ns / 1e9, False)
    made.unit.run_until(at_ns + ns(0.2))
    made.unit.press(False)
    assert made.runner.state is State.PAUSED
    made.unit.run()  # the scripted printer taps as soon as it is asked to go on
    assert made.runner.fate is Fate.DONE
    parts = [e.delivered_dose_s for e in made.events if isinstance(e, Made)]
    assert parts == pytest.approx([20.0, 40.0])
    edges = ceiling(made)[1:-1]
    lit_s = sum(b - a for (a, _), (b, _) in zip(edges[::2], edges[1::2], strict=True))
    assert lit_s == pytest.approx(60.0, abs=1e-6)


@pytest.mark.parametrize("how", ["wish", "foot"])
def test_an_abandoned_sheet_is_dark_at_once(how: str) -> None:
    """However it is abandoned, that light is off, what fell is written, and the run is over."""
    made = set_up(fog())
    until(made, State.DWELLING)
    made.unit.run_until(made.unit.now_ns + ns(20))
    if how == "wish":
        made.unit.wish(Wish.ABANDON)
    else:
        made.unit.press(True)
        made.unit.run_until(made.unit.now_ns + ns(2))
        made.unit.press(False)
    made.unit.run()
    assert made.runner.fate is Fate.ABANDONED
    assert [lit for _, lit in ceiling(made)][:3] == [False, True, False]
    assert [e.delivered_dose_s for e in made.events if isinstance(e, Made)] == pytest.approx([20])


def test_the_screen_is_a_light_as_well() -> None:
    """With the screen under test the curtain is lifted for the time, and falls again."""
    curtain: list[tuple[float, bool]] = []
    made = set_up(fog(screen=True))
    hear = made.runner.step

    def step(now_ns: int, heard: object = None) -> list[object]:
        out = hear(now_ns, heard)  # type: ignore[arg-type]
        curtain.extend((now_ns / 1e9, o.down) for o in out if type(o).__name__ == "LowerCurtain")
        return out  # type: ignore[return-value]

    made.runner.step = step  # type: ignore[assignment,method-assign]
    made.unit.run()
    assert [down for _, down in curtain] == [True, False, True, False]
    assert curtain[2][0] - curtain[1][0] == pytest.approx(60.0, abs=1e-6)


def test_light_of_the_room_needs_a_go_too() -> None:
    """A plan in which such a light would burn without a tap is refused."""
    with pytest.raises(ValueError, match="needs a go"):
        Plan("fog test", "fog", (Sheet(100, 50), Dwell("step 1", 5, ("ceiling",))))
    with pytest.raises(ValueError, match="needs a go"):
        Plan("fog test", "fog", (Go("on"), Dwell("a", 5), Expose("b", 5)))


def test_a_wait_passes_by_itself_and_lights_nothing() -> None:
    """The developer's minute is told at its beginning and its end; a tap means nothing."""
    world = ScriptedWorld(presses=[(80.0, True), (80.2, False)])
    made = run(fog(Wait("developer", 120)), world)
    assert made.runner.fate is Fate.DONE
    told = [(t / 1e9, cue) for t, cue in made.world.heard if "developer" in cue.text]
    ended = [t / 1e9 for t, cue in made.world.heard if cue.sound is Sound.END and not cue.text]
    assert ended[-1] - told[0][0] == pytest.approx(120.0)
    assert any(cue.sound is Sound.NOT_TAKEN for _, cue in made.world.heard)


def test_what_is_left_of_a_step_is_given_later() -> None:
    """Cut off after 20 of 60 seconds, the rest has 40."""
    rest = rest_of(fog(), {"step 1": 20.0})
    assert rest is not None
    assert [a.time_s for a in rest.actions if isinstance(a, Dwell)] == [40.0]
    assert rest_of(fog(), {"step 1": 60.0}) is None
