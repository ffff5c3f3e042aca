"""The clock of the trays, in counted time."""

from __future__ import annotations

import os
import random
from itertools import pairwise

import pytest

from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.ports import Cue, Sound
from controller.trays.clock import WetClock
from controller.trays.process import PROCESSES, process_named, spans, warmth_words

FIBRE = PROCESSES["fibre"]


def heard(clock: WetClock, until_s: float) -> list[tuple[float, str]]:
    """Let time pass until then; gives what was called, and when."""
    calls = []
    while clock.next_ns is not None and clock.next_ns <= ns(until_s):
        at_ns = clock.next_ns
        calls += [(at_ns / 1e9, cue.text) for cue in clock.step(at_ns)]
    return calls


def test_a_sheet_is_called_through_its_trays_without_a_tap():
    """Ten seconds after its last light it goes in, and drains within each step's time."""
    clock = WetClock()
    assert clock.start(0, "K7", "r1", FIBRE) == []
    assert heard(clock, 1000.0) == [
        (10.0, "K7 in, developer"),
        (115.0, "K7 lift"),
        (130.0, "K7 in, stop"),
        (150.0, "K7 lift"),
        (160.0, "K7 in, fixer"),
        (265.0, "K7 lift"),
        (280.0, "K7 in, holding bath"),
    ]
    (through,) = clock.through()
    assert [(lay.tray, lay.actual_s, lay.late_s) for lay in through.lay] == [
        ("developer", 120.0, 0.0),
        ("stop", 30.0, 0.0),
        ("fixer", 120.0, 0.0),
    ]
    assert clock.next_ns is None


def test_a_tap_after_a_call_makes_all_that_follows_later():
    """Lifted five seconds late: the developer had 125 s, and the stop bath its full time."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 115.0)
    assert clock.tap(ns(120.0)) == [Cue("K7 late 5", Sound.PRESS)]
    assert heard(clock, 200.0)[0] == (135.0, "K7 in, stop")
    heard(clock, 1000.0)
    (through,) = clock.through()
    assert [(lay.actual_s, lay.late_s) for lay in through.lay] == [
        (125.0, 5.0),
        (30.0, 0.0),
        (120.0, 0.0),
    ]
    assert through.words == "trays, fibre: developer 125 s (5 late), stop 30 s, fixer 120 s"


def test_a_tray_that_is_reached_late_counts_from_then():
    """In the stop bath four seconds late: the developer went on for those four."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 130.0)
    clock.tap(ns(134.0))
    heard(clock, 1000.0)
    (through,) = clock.through()
    assert [lay.actual_s for lay in through.lay] == [124.0, 30.0, 120.0]


def test_a_late_last_move_is_written_down_too():
    """In the holding bath six seconds late: the fixer had them, and nobody hears of it before."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 280.0)
    assert clock.through(ns(281.0)) == []
    clock.tap(ns(286.0))
    (through,) = clock.through(ns(310.0))
    assert through.lay[-1].actual_s == 126.0


def test_a_tap_before_a_call_says_not_yet():
    """Just before the lift a tap gives ten seconds more; elsewhere it means nothing."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 10.0)
    assert clock.tap(ns(60.0)) == [Cue(sound=Sound.NOT_TAKEN)]
    assert clock.tap(ns(110.0)) == [Cue("K7 not yet, 10 more", Sound.PRESS)]
    assert heard(clock, 130.0) == [(125.0, "K7 lift")]


def test_a_dry_sheet_waits_until_hands_are_free_all_the_way():
    """Of two sheets at once the second is held back, said so, and never meets the first."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    (said,) = clock.start(0, "K8", "r2", FIBRE)
    assert said.text == "K8 waits, in 63"
    assert clock.collisions() == []


def test_lateness_that_brings_two_moves_together_is_told_before():
    """A late sheet that comes too close to another is warned of once, ahead of both moves."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    clock.start(0, "K8", "r2", FIBRE)
    heard(clock, 115.0)
    told = clock.tap(ns(120.0))
    assert told[0].text == "K7 late 5"
    assert any("K7 in, fixer and K8 lift will be 3 seconds apart" in cue.text for cue in told)
    assert [cue.text for cue in clock.tap(ns(121.0))] == ["K7 late 1"]


def test_a_dry_sheet_makes_way_for_one_that_is_late():
    """Where lateness brings a wet sheet in the way of a dry one, the dry one waits for longer."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    clock.start(0, "K8", "r2", FIBRE)
    heard(clock, 10.0)
    assert [cue.text for cue in clock.tap(ns(15.0))] == ["K7 late 5", "K8 waits, in 53"]
    assert clock.collisions() == []


def test_an_exposure_waits_that_would_outlast_the_next_move():
    """Thirty seconds of light do not fit before a lift in twenty; ten do."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 10.0)
    assert clock.wait_s(ns(95.0), 10.0) == 0
    wait_s = clock.wait_s(ns(95.0), 30.0)
    start_ns = clock.earliest_start_ns(ns(95.0), 30.0)
    assert wait_s == pytest.approx((start_ns - ns(95.0)) / 1e9, abs=1.0)
    assert not any(start_ns < move.at_ns < start_ns + ns(30.0) for move in clock.moves())


def test_a_sheet_that_gets_more_light_is_counted_no_more():
    """Taken off while dry it leaves nothing behind; taken off wet it is written down as it was."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    assert clock.take_off(0, "K7")
    assert not clock.take_off(0, "K7")
    assert clock.through() == []
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, 140.0)
    assert clock.take_off(ns(145.0), "K7")
    (through,) = clock.through()
    assert "taken off the clock" in through.words


@pytest.mark.parametrize(("until_s", "under_fixed"), [(200.0, True), (300.0, False)])
def test_a_print_taken_away_before_its_fixing_is_marked_with_the_remedy(until_s, under_fixed):
    """Off the clock in the fixer it must be fixed again before toning; after it nothing is said."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    heard(clock, until_s)
    clock.take_off(ns(until_s), "K7")
    (through,) = clock.through()
    assert through.is_under_fixed is under_fixed
    assert ("fix it again" in through.words) is under_fixed


def test_a_sheet_can_be_put_in_at_once():
    """Its printer may overrule the count."""
    clock = WetClock()
    clock.start(0, "K7", "r1", FIBRE)
    assert clock.put_in(ns(3.0), "K7")[0].text == "K7 in, developer"


@pytest.mark.parametrize(
    ("celsius", "developer_s"),
    [(20.0, 120.0), (16.0, 173.1), (18.0, 144.1), (24.0, 83.2), (30.0, 75.0)],
)
def test_cold_developer_takes_longer(celsius, developer_s):
    """By Q10 2.5 as the trade's table has it, and never below the sheet's least."""
    assert FIBRE.at(celsius).steps[0].time_s == pytest.approx(developer_s, abs=0.1)


def test_too_cold_a_developer_is_refused():
    """Below 15 C there is one sentence and no time."""
    with pytest.raises(BadInput, match="too cold"):
        FIBRE.at(14.0)


def test_trays_too_warm_are_refused_and_warm_ones_told():
    """Above 35 C no coefficient holds; from 24 C on there is a word about warmth."""
    with pytest.raises(BadInput, match="too warm"):
        FIBRE.at(35.1)
    assert FIBRE.at(35.0).steps[0].time_s == FIBRE.steps[0].least_s
    assert warmth_words(24.0) == ""
    assert "warm" in warmth_words(24.5)


@pytest.mark.parametrize(
    ("name", "total_s"), [("fibre-plain", 300.0), ("two-bath-plain", 300.0), ("fibre", 120.0)]
)
def test_fixing_takes_what_its_fixer_needs(name, total_s):
    """A plain one 5 to 10 min and a rapid one 1 to 3 (common practice), in equal halves of two."""
    fixers = [step.time_s for step in PROCESSES[name].steps if "fixer" in step.name]
    assert sum(fixers) == total_s
    assert len(set(fixers)) == 1
    assert all(step.agitation for step in PROCESSES[name].steps[:-1])


def test_a_process_nobody_knows_is_refused_with_the_nearest():
    """A misspelt process names the right one."""
    with pytest.raises(BadInput, match="fibre"):
        process_named("fiber")


@pytest.mark.parametrize("name", PROCESSES)
def test_every_shipped_process_drains_within_its_steps(name):
    """No step is so short that hands could not follow it, and each ends in one that keeps."""
    process = PROCESSES[name]
    assert all(lift_s - in_s >= 8.0 for _, in_s, lift_s in spans(process))
    assert process.steps[-1].time_s is None


@pytest.mark.parametrize("seed", range(100 if os.environ.get("DRYSIDE_LONG") else 6))
def test_a_day_of_overlapping_prints_has_no_collision_that_was_not_told(seed):
    """Thirty prints and a printer who is late now and then: every close pair was warned of."""
    chance = random.Random(seed)
    clock, now_ns = WetClock(), 0
    told: list[str] = []
    called: list[tuple[int, str]] = []
    starts = sorted(chance.uniform(0.0, 4000.0) for _ in range(30))
    taps: list[int] = []
    queue = [(ns(at), f"K{n}") for n, at in enumerate(starts)]
    while queue or clock.next_ns is not None:
        times = [at for at, _ in queue[:1]] + [t for t in (clock.next_ns,) if t] + taps[:1]
        now_ns = max(now_ns, min(times))
        if taps and taps[0] <= now_ns:
            taps.pop(0)
            told += [cue.text for cue in clock.tap(now_ns)]
        elif queue and queue[0][0] <= now_ns:
            _, mark = queue.pop(0)
            told += [cue.text for cue in clock.start(now_ns, mark, mark, FIBRE)]
        else:
            for cue in clock.step(now_ns):
                called.append((now_ns, cue.text))
                if chance.random() < 0.1:
                    taps.append(now_ns + ns(chance.uniform(1.0, 6.0)))
                    taps.sort()
    assert len(clock.through()) == 30
    assert len(called) == 30 * 7
    for (at_ns, first), (then_ns, second) in pairwise(called):
        if then_ns - at_ns < ns(7.9) and first.split()[0] != second.split()[0]:
            assert any(first in text and second in text for text in told), (first, second)
