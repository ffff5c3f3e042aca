"""Trays that hold only so many sheets, in counted time."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from controller.enlarger.lamp import ns
from controller.rig.wet import ProcessAt
from controller.trays.clock import WetClock
from controller.trays.full import TOO_FULL, OverFull, Stay, has_room, over_full
from controller.trays.process import PROCESSES, Process, Step

FIBRE = PROCESSES["fibre"]


def holding(*, developer: int | None = None, fixer: int | None = None) -> Process:
    """Give fibre with trays that hold so many, and with no bound on the others."""
    holds = {"developer": developer, "fixer": fixer}
    steps = tuple(msgspec.structs.replace(s, holds=holds.get(s.name)) for s in FIBRE.steps)
    return msgspec.structs.replace(FIBRE, steps=steps)


def test_a_dry_sheet_waits_until_the_one_before_it_is_lifted() -> None:
    """A developer for one: the second is told to wait, and comes in after the first's lift."""
    clock, one = WetClock(), holding(developer=1)
    clock.start(0, "K1", "r", one)
    (said,) = clock.start(0, "K2", "r", one)
    first, second = (next(line.stays()) for line in clock._lines)
    assert second.in_ns >= first.out_ns
    assert said.text == f"K2 waits, in {round(second.in_ns / 1e9)}"
    assert clock.too_full() == []


def test_a_light_of_the_next_sheet_reckons_with_the_one_that_waits() -> None:
    """An exposure that would outlast the late coming in of a held-back sheet is kept back."""
    clock, one = WetClock(), holding(developer=1)
    clock.start(0, "K1", "r", one)
    clock.start(0, "K2", "r", one)
    (in_ns,) = [m.at_ns for m in clock.moves() if m.mark == "K2" and m.words == "K2 in, developer"]
    start_ns = clock.earliest_start_ns(in_ns - ns(5.0), 10.0)
    assert start_ns > in_ns


def test_a_longer_stay_holds_a_dry_sheet_back() -> None:
    """Given ten seconds more in a developer for one, a sheet makes the dry one wait so long."""
    clock, one = WetClock(), holding(developer=1)
    clock.start(0, "K1", "r", one)
    clock.start(0, "K2", "r", one)
    clock.step(ns(10.0))
    before_ns = next(m.at_ns for m in clock.moves() if m.mark == "K2")
    said = [cue.text for cue in clock.tap(ns(110.0))]
    assert said[0] == "K1 not yet, 10 more"
    assert said[1].startswith("K2 waits, in ")
    assert next(m.at_ns for m in clock.moves() if m.mark == "K2") >= before_ns + ns(10.0)


def test_a_sheet_that_is_put_in_all_the_same_is_warned_of_once() -> None:
    """Who overrides the count hears that the tray gets too full, and hears it no second time."""
    clock, one = WetClock(), holding(developer=1)
    clock.start(0, "K1", "r", one)
    clock.step(ns(10.0))
    clock.start(ns(10.0), "K2", "r", one)
    told = [cue.text for cue in clock.put_in(ns(30.0), "K2")]
    words = "developer will be too full: K2 makes 2, it holds 1"
    assert words in told
    assert words in clock.warnings()
    assert words not in [cue.text for cue in clock.put_in(ns(31.0), "K2")]


def test_lateness_that_fills_a_tray_is_told_beforehand() -> None:
    """A fixer for one, and a sheet that stays there longer: told before the next one comes in."""
    slow = Process(
        "slow", (Step("stop", 90.0, 40.0), Step("fixer", 100.0, 5.0, holds=1), Step("bath"))
    )
    clock = WetClock()
    clock.start(0, "K1", "r", slow)
    clock.start(0, "K2", "r", slow)
    called: list[str] = []
    while (move := clock.moves()[0]).words != "K1 lift" or "K1 in, fixer" not in called:
        called += [cue.text for cue in clock.step(move.at_ns)]
    told = [cue.text for after_s in (-5.0, 5.0) for cue in clock.tap(move.at_ns + ns(after_s))]
    assert told.count("K1 not yet, 10 more") == 2
    assert "fixer will be too full: K2 makes 2, it holds 1" in told
    assert "K2 in, fixer" not in called


@given(
    lights=st.lists(st.floats(0.0, 900.0), min_size=1, max_size=7),
    developer=st.integers(1, 3),
    fixer=st.integers(1, 3),
)
@settings(max_examples=20, deadline=None)
def test_no_tray_ever_gets_more_than_it_holds_without_a_word(
    lights: list[float], developer: int, fixer: int
) -> None:
    """However prints follow each other, what is called fits, or was told."""
    process = holding(developer=developer, fixer=fixer)
    clock, told, inside = WetClock(), "", {"developer": 0, "fixer": 0}
    where: dict[str, str] = {}
    queue = [(ns(at), f"K{n}") for n, at in enumerate(sorted(lights))]
    while queue or clock.next_ns is not None:
        if queue and (clock.next_ns is None or queue[0][0] <= clock.next_ns):
            at_ns, mark = queue.pop(0)
            told += " ".join(cue.text for cue in clock.start(at_ns, mark, mark, process))
            continue
        assert clock.next_ns is not None
        for cue in clock.step(clock.next_ns):
            mark, what = cue.text.split(" ", 1)
            if what == "lift":
                inside[where.pop(mark)] -= 1
            elif (tray := what.removeprefix("in, ")) != "holding bath":
                where[mark] = tray
                inside[tray] = inside.get(tray, 0) + 1
                limit = {"developer": developer, "fixer": fixer}.get(tray, 99)
                assert inside[tray] <= limit or f"{tray} {TOO_FULL}: {mark}" in told


@given(
    st.lists(
        st.builds(
            lambda n, tray, holds, at, lasts: Stay(f"K{n}", tray, holds, at, at + lasts),
            st.integers(1, 99),
            st.sampled_from(["developer", "fixer"]),
            st.none() | st.integers(1, 3),
            st.integers(0, 50),
            st.integers(1, 20),
        ),
        max_size=8,
        unique_by=lambda stay: stay.mark,
    )
)
@settings(max_examples=60, deadline=None)
def test_a_stay_has_room_where_nothing_more_is_too_full_with_it(stays: list[Stay]) -> None:
    """The two ways of looking at it agree: it fits if no moment of its stay is too full."""
    for mine in stays:
        theirs = [stay for stay in stays if stay is not mine]
        moments = range(mine.in_ns, mine.out_ns)
        crowds = [[e for e in stays if e.tray == mine.tray and e.at(now)] for now in moments]
        said = [[e.holds for e in crowd if e.holds is not None] for crowd in crowds]
        fits = all(
            not holds or len(crowd) <= min(holds) for crowd, holds in zip(crowds, said, strict=True)
        )
        assert has_room([mine], theirs) is fits


def test_the_least_that_is_said_of_a_tray_counts() -> None:
    """A strip in a tray for four, with two prints whose process says two, is one too many."""
    stays = [Stay("K1", "developer", 2, 0, 9), Stay("K2", "developer", 2, 1, 9)]
    assert over_full(stays) == []
    strip = Stay("S1", "developer", 4, 2, 9)
    assert over_full([*stays, strip]) == [OverFull(2, "S1", "developer", 3, 2)]


def test_a_rig_file_says_what_its_trays_hold() -> None:
    """A step's holds reaches the clock; in the last step, where sheets stay, it is refused."""
    steps = [{"name": "developer", "time_s": 90.0, "drain_s": 10.0, "holds": 3}, {"name": "wash"}]
    process = ProcessAt.model_validate({"name": "mine", "step": steps}).process()
    assert process.steps == (Step("developer", 90.0, 10.0, holds=3), Step("wash"))
    steps[1]["holds"] = 5
    with pytest.raises(ValidationError, match="last step"):
        ProcessAt.model_validate({"name": "mine", "step": steps})
