"""The wet side beside a runner: counted in at the last light, told, and written down."""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.errors import BadInput
from controller.events import Event, Fate, Made, PulseMade, Remark, RunBegun, SheetBegun, SheetEnded
from controller.exposing.bench import Bench
from controller.exposing.foot import FootTimes
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Cause, Keeper
from controller.plan import Expose, Go, Plan, Sheet
from controller.trays.side import TO_BENCH, TO_TRAYS, Chosen, WetSide
from controller.virtual import VirtualUnit
from tests.controller.exposing.bench_top import RULES, ScriptedWorld

PRINT = (Sheet(200, 250), Go("print", lead_in_s=1.0), Expose("print", 20.0))


def unit(wet: WetSide, copies: int = 1, kind: str = "print") -> tuple[VirtualUnit, list[Event]]:
    marks = iter(f"K{n}" for n in range(1, 10))
    actions = tuple(
        Expose(f"print {n}", 20.0) if isinstance(action, Expose) else action
        for n in range(copies)
        for action in PRINT
    )
    runner = Runner(
        Run("r1", Plan(kind, "t", actions)),
        Bench(),
        lamp=Calibration(0.0, 0.0),
        limits=LampLimits(),
        foot=FootTimes(),
        next_mark=lambda: next(marks),
        wait_s=wet.wait_s,
    )
    events: list[Event] = []
    return VirtualUnit(
        runner, Keeper(RULES), ScriptedWorld(), record=events.append, wet=wet
    ), events


def ended(wet: WetSide, mark: str, off_s: float, kind: str = "print") -> list[str]:
    """Let a sheet have its last light."""
    pulse = PulseMade(1, ns(off_s - 1), ns(off_s), ns(1), Cause.DEADLINE)
    told = []
    for event in (
        RunBegun("r1", kind, "t", "{}", "{}", {}, "rig"),
        SheetBegun("r1", mark, 200, 250),
        Made("r1", 1, (pulse,), 1.0, True),
        SheetEnded("r1", mark, Fate.DONE),
    ):
        told += [cue.text for cue in wet.hear(ns(off_s + 0.5), event)]
    return told


def test_three_prints_go_through_the_trays_while_the_next_is_exposed() -> None:
    """Each goes in ten seconds or more after its light, no light meets a move, all is kept."""
    wet = WetSide(Chosen("fibre"))
    made, events = unit(wet, copies=3)
    made.run()
    made.go_on_to_trays()
    world = made._world
    assert isinstance(world, ScriptedWorld)
    calls = [(at, cue.text) for at, cue in world.heard if " in, " in cue.text or "lift" in cue.text]
    assert len(calls) == 21
    for on_ns, off_ns in world.lamp_times():
        assert not any(on_ns < at_ns < off_ns for at_ns, _ in calls)
    remarks = [event.text for event in events if isinstance(event, Remark)]
    assert remarks == ["trays, fibre: developer 120 s, stop 30 s, fixer 120 s"] * 3
    first_off_ns = world.lamp_times()[0][1]
    assert calls[0] == (first_off_ns + ns(10.0), "K1 in, developer")


def test_without_a_process_nothing_is_counted() -> None:
    """Who has chosen none hears nothing of trays."""
    wet = WetSide()
    made, events = unit(wet)
    made.run()
    assert made.go_on_to_trays() == []
    assert not [event for event in events if isinstance(event, Remark)]


def test_a_strip_goes_the_short_way() -> None:
    """What is no print is fixed only as long as looking at it takes."""
    wet = WetSide(Chosen("fibre"))
    ended(wet, "K1", 100.0, kind="strip")
    assert [line.process for line in wet.view().lines] == ["strip"]


def test_a_strip_stays_in_a_plain_fixer_for_as_much_longer() -> None:
    """Forty seconds in a rapid one are a hundred in one that takes five minutes with prints."""
    wet = WetSide(Chosen("fibre-plain"))
    ended(wet, "K1", 0.0, kind="strip")
    while wet.next_ns is not None:
        wet.step(wet.next_ns)
    (strip,) = wet.through()
    assert [lay.actual_s for lay in strip.lay] == [180.0, 20.0, 100.0]


def test_a_sheet_that_is_counted_no_more_lets_the_next_one_in_sooner() -> None:
    """Who takes K1 off hears that K2 need not wait any longer."""
    wet = WetSide(Chosen("fibre"))
    ended(wet, "K1", 0.0)
    assert "K2 waits, in 63" in ended(wet, "K2", 0.0)
    told = [cue.text for cue in wet.take_off(ns(20.0), "K1")]
    assert told == ["K1 off the clock", "K2 sooner, in 10"]


def test_a_spoiled_sheet_is_not_counted_in() -> None:
    """What was spoiled or abandoned goes into no tray by itself."""
    wet = WetSide(Chosen("fibre"))
    for fate in (Fate.SPOILED, Fate.ABANDONED):
        assert wet.hear(ns(1), SheetEnded("r1", "K1", fate)) == []
    assert wet.next_ns is None


def test_one_pedal_is_the_bench_s_or_the_trays_and_says_so() -> None:
    """It is the trays' from the last light of a sheet to the first of the next, and at the end."""
    wet = WetSide(Chosen("fibre"), shares_pedal=True)
    assert not wet.owns_pedal
    assert ended(wet, "K1", 100.0) == [TO_TRAYS]
    assert wet.owns_pedal
    assert [c.text for c in wet.hear(ns(120), SheetBegun("r2", "K2", 1, 1))] == [TO_BENCH]
    assert not wet.owns_pedal


def test_nothing_is_written_while_light_falls() -> None:
    """A sheet that comes through during an exposure is written down after it."""
    wet = WetSide(Chosen("fibre"))
    ended(wet, "K1", 0.0)
    while wet.next_ns is not None:
        wet.step(wet.next_ns)
    wet.lit(lit=True)
    assert wet.through(ns(400)) == []
    wet.lit(lit=False)
    assert [sheet.mark for sheet in wet.through(ns(400))] == ["K1"]


def test_a_print_that_gets_more_light_leaves_the_clock() -> None:
    """An extra on a sheet that waits to go in stops its count."""
    wet = WetSide(Chosen("fibre"))
    ended(wet, "K1", 100.0)
    wet.hear(ns(105), RunBegun("r1", "print", "t", "{}", "{}", {}, "rig", mark="K1"))
    assert wet.view().lines == ()


def test_a_process_is_said_with_its_developing_time() -> None:
    """What was chosen is spoken, and a warm developer is warned of."""
    wet = WetSide()
    (said,) = wet.choose(Chosen("resin-coated", 18.0))
    assert said.text == "resin coated at 18, developer 90 seconds"
    assert "warm" in wet.choose(Chosen("fibre", 26.0))[0].text
    with pytest.raises(BadInput, match="too cold"):
        wet.choose(Chosen("fibre", 12.0))
    assert wet.chosen == Chosen("fibre", 26.0)
