"""A step's time as a range, and what starts it, in counted time and in a rig file."""

from __future__ import annotations

import msgspec
import pytest
from pydantic import ValidationError

from controller.enlarger.lamp import ns
from controller.rig.wet import ProcessAt
from controller.trays.clock import Through, WetClock
from controller.trays.process import PROCESSES, Process, Step, short_beside, spans

RANGED = Process(
    "ranged",
    (
        Step("developer", 90.0, 10.0),
        Step("stop", 30.0, 10.0, most_s=60.0),
        Step("fixer", 60.0, 10.0),
        Step("holding bath"),
    ),
)


def counting(counts_from: str, step: int) -> Process:
    """Give the same, one step of which counts from something else."""
    steps = list(RANGED.steps)
    steps[step] = msgspec.structs.replace(steps[step], counts_from=counts_from)
    return msgspec.structs.replace(RANGED, steps=tuple(steps))


def calls_until(clock: WetClock, words: str) -> dict[str, float]:
    """Let time pass until that is called; gives when each call came."""
    called: dict[str, float] = {}
    while words not in called:
        assert clock.next_ns is not None, called
        at_ns = clock.next_ns
        called |= {cue.text: at_ns / 1e9 for cue in clock.step(at_ns)}
    return called


def through(clock: WetClock) -> Through:
    """Let it come through."""
    calls_until(clock, "K7 in, holding bath")
    (found,) = clock.through()
    return found


@pytest.mark.parametrize(
    ("late_s", "said", "noted_s"),
    [(12.0, "K7 now, within its time", 0.0), (38.0, "K7 late 8", 8.0)],
)
def test_a_range_is_called_at_its_least_and_late_only_after_its_most(
    late_s: float, said: str, noted_s: float
) -> None:
    """Thirty seconds of room behind the lift: a tap within them notes no lateness."""
    clock = WetClock()
    clock.start(0, "K7", "r", RANGED)
    called = calls_until(clock, "K7 in, stop")
    lift_s = called["K7 in, stop"] + 20.0
    assert calls_until(clock, "K7 lift") == {"K7 lift": lift_s}
    assert clock.tap(ns(lift_s + late_s))[0].text == said
    assert calls_until(clock, "K7 in, fixer") == {"K7 in, fixer": lift_s + late_s + 10.0}
    stop = through(clock).lay[1]
    assert (stop.actual_s, stop.late_s) == (30.0 + late_s, noted_s)


def test_what_a_range_has_left_is_used_once() -> None:
    """Twenty seconds late at the lift and twenty at the next tray are ten beyond thirty."""
    clock = WetClock()
    clock.start(0, "K7", "r", RANGED)
    calls_until(clock, "K7 in, stop")
    for words, said in (("K7 lift", "within"), ("K7 in, fixer", "late 10")):
        (at_s,) = calls_until(clock, words).values()
        assert said in clock.tap(ns(at_s + 20.0))[0].text
    assert through(clock).lay[1].late_s == 10.0


def test_ten_seconds_more_within_a_range_are_not_late() -> None:
    """Not yet, before the lift from the stop bath: it has had 40 s of at most 60."""
    clock = WetClock()
    clock.start(0, "K7", "r", RANGED)
    (in_s,) = [at for text, at in calls_until(clock, "K7 in, stop").items() if "stop" in text]
    assert "not yet" in clock.tap(ns(in_s + 16.0))[0].text
    assert through(clock).lay[1].late_s == 0.0


def test_a_step_may_count_from_the_lift_before() -> None:
    """The draining over the developer is then part of the stop bath's time."""
    way = counting("lift", 1)
    clock = WetClock()
    clock.start(0, "K7", "r", way)
    called = calls_until(clock, "K7 in, stop")
    (lift_s,) = calls_until(clock, "K7 lift").values()
    assert lift_s == called["K7 lift"] + 20.0
    assert through(clock).lay[1].actual_s == 20.0


def test_a_step_may_count_from_the_last_light() -> None:
    """The way to the developer is then part of its time, however long the sheet had to wait."""
    clock = WetClock()
    for mark in ("K7", "K8"):
        clock.start(0, mark, "r", counting("light", 0))
    called = calls_until(clock, "K7 lift")
    assert (called["K7 in, developer"], called["K7 lift"]) == (10.0, 80.0)
    while clock.next_ns is not None:
        clock.step(clock.next_ns)
    assert [sheet.lay[0].actual_s for sheet in clock.through()] == [80.0, 80.0]


@pytest.mark.parametrize(("counts_from", "developer_s"), [("in", 90.0), ("light", 76.0)])
def test_who_comes_in_late_loses_it_where_the_time_began_before(
    counts_from: str, developer_s: float
) -> None:
    """Four seconds late into the developer: it goes on for those, or its lift stays as it was."""
    clock = WetClock()
    clock.start(0, "K7", "r", counting(counts_from, 0))
    calls_until(clock, "K7 in, developer")
    clock.tap(ns(14.0))
    assert through(clock).lay[0].actual_s == developer_s


def test_a_range_grows_in_the_cold_as_its_time_does() -> None:
    """Both ends of it by the same coefficient, and no warmth turns it about."""
    step = Step("fixer", 60.0, 10.0, 2.0, 60.0, most_s=120.0)
    cold, warm = (Process("p", (step, Step("b"))).at(c).steps[0] for c in (15.0, 35.0))
    assert (cold.most_s or 0.0) / (cold.time_s or 1.0) == pytest.approx(2.0)
    assert (warm.time_s, warm.most_s) == (60.0, 60.0)


def test_no_sheet_is_lifted_before_it_came_in_however_warm_it_is() -> None:
    """Draining of 15 s in a time that warmth makes of 5: there is still a moment inside."""
    way = Process("p", (Step("developer", 20.0, 15.0, 2.5), Step("bath"))).at(35.0)
    assert all(lift_s > in_s for _, in_s, lift_s in spans(way))


def test_a_stop_bath_may_last_and_is_a_range_in_every_shipped_process() -> None:
    """30 to 60 s for prints (common practice, no source)."""
    for process in PROCESSES.values():
        (stop,) = [step for step in process.steps if step.name == "stop"]
        assert stop.most_s == 2 * (stop.time_s or 0.0)


def test_a_strip_is_developed_and_fixed_as_the_prints_trays_ask() -> None:
    """A plain fixer takes two and a half times as long, for a strip too; its developer as well."""
    short = {
        name: short_beside(PROCESSES["strip"], PROCESSES[name]).steps
        for name in ("fibre", "fibre-plain", "two-bath-plain", "resin-coated")
    }
    assert {name: steps[0].time_s for name, steps in short.items()} == {
        "fibre": 120.0,
        "fibre-plain": 180.0,
        "two-bath-plain": 180.0,
        "resin-coated": 75.0,
    }
    assert {name: (steps[2].name, steps[2].time_s) for name, steps in short.items()} == {
        "fibre": ("fixer", 40.0),
        "fibre-plain": ("fixer", 100.0),
        "two-bath-plain": ("first fixer", 100.0),
        "resin-coated": ("fixer", 40.0),
    }
    own = Process("strip", (Step("developer", 60.0, 5.0), Step("fixer", 20.0, 5.0), Step("water")))
    assert short_beside(own, PROCESSES["fibre-plain"]).steps == own.steps


def test_a_rig_file_says_ranges_and_what_counts_as_start() -> None:
    """Both reach the clock as they stand there."""
    steps = [
        {"name": "developer", "time_s": 90.0, "drain_s": 10.0, "counts_from": "light"},
        {"name": "stop", "time_s": 30.0, "drain_s": 5.0, "most_s": 60.0, "counts_from": "lift"},
        {"name": "wash"},
    ]
    first, second, _ = ProcessAt.model_validate({"name": "mine", "step": steps}).process().steps
    assert (first.counts_from, first.most_s) == ("light", None)
    assert (second.counts_from, second.most_s) == ("lift", 60.0)


DEVELOPER: dict[str, object] = {"name": "developer", "time_s": 90.0, "drain_s": 10.0}
STOP: dict[str, object] = {"name": "stop", "time_s": 30.0, "drain_s": 5.0}


@pytest.mark.parametrize(
    ("first", "second", "last", "said"),
    [
        ({}, {"most_s": 20.0}, {}, "most_s = 20 is below time_s; right would be at least 30"),
        ({}, {}, {"most_s": 20.0}, "most_s stands where there is no time_s"),
        ({}, {}, {"counts_from": "lift"}, "counts_from stands where there is no time_s"),
        ({"counts_from": "lift"}, {}, {}, "none is before it"),
        ({}, {"counts_from": "light"}, {}, "another step is before it"),
        ({"drain_s": 60.0}, {"counts_from": "lift"}, {}, "a time_s above 65"),
        ({}, {"counts_from": "dark"}, {}, "'in', 'lift' or 'light'"),
    ],
)
def test_what_contradicts_itself_is_refused(
    first: dict[str, object], second: dict[str, object], last: dict[str, object], said: str
) -> None:
    """One sentence each, with what would be right."""
    steps = [DEVELOPER | first, STOP | second, {"name": "wash"} | last]
    with pytest.raises(ValidationError, match=said):
        ProcessAt.model_validate({"name": "mine", "step": steps})


# -- dry sheets, and a way that is free again -----------------------------------------------------


def test_a_dry_sheet_goes_in_sooner_when_the_one_before_it_is_gone() -> None:
    """Taken off the clock, a sheet leaves its moves to the one that waited for it."""
    steps = tuple(msgspec.structs.replace(s, holds=1) for s in PROCESSES["fibre"].steps[:-1])
    clock, way = WetClock(), Process("one", (*steps, Step("bath")))
    clock.start(0, "K1", "r", way)
    clock.start(0, "K2", "r", way)
    clock.start(0, "K3", "r", way)
    clock.step(ns(10.0))
    assert clock.take_off(ns(40.0), "K1")
    assert next(cue.text for cue in clock.settle_dry(ns(40.0))) == "K2 sooner, in 10"
    assert clock.settle_dry(ns(40.0)) == []
    assert clock.step(ns(50.0))[0].text == "K2 in, developer"
    assert clock.collisions() == []
    assert clock.too_full() == []


def test_dry_sheets_keep_their_order_whatever_makes_them_wait() -> None:
    """A late wet sheet pushes those behind it; none overtakes another, none is too close."""
    clock = WetClock()
    for mark in ("K1", "K2", "K3", "K4"):
        clock.start(0, mark, "r", PROCESSES["fibre"])
    calls_until(clock, "K1 lift")
    clock.tap(ns(121.0))
    clock.tap(ns(127.0))
    came = [m.mark for m in clock.moves() if m.words == f"{m.mark} in, developer"]
    assert came == ["K3", "K4"]
    assert not any({a.mark, b.mark} & {"K3", "K4"} for a, b in clock.collisions())


def test_a_dry_sheet_is_never_called_sooner_than_its_printer_put_it_off() -> None:
    """Ten seconds more that were asked for stay, whatever becomes free."""
    clock = WetClock()
    clock.start(0, "K1", "r", PROCESSES["fibre"])
    assert clock.tap(ns(5.0))[0].text == "K1 not yet, 10 more"
    assert clock.settle_dry(ns(5.0)) == []
    assert clock.next_ns == ns(20.0)
