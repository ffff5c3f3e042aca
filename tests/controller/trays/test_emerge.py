"""Developing by factor of the first image, in counted time."""

from __future__ import annotations

import msgspec
import pytest
from pydantic import ValidationError

from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.events import Fate, Made, PulseMade, RunBegun, SheetEnded
from controller.keeper import Cause
from controller.ports import Cue, Sound
from controller.rig.model import Rig
from controller.rig.wet import ProcessAt
from controller.trays.clock import WetClock
from controller.trays.emerge import by_factor, developing_s
from controller.trays.process import PROCESSES, Step
from controller.trays.side import Chosen, WetSide

SIX = by_factor(PROCESSES["fibre"], 6.0)


def through(clock: WetClock) -> str:
    """Let everything come through; gives what is written of the one sheet."""
    while clock.next_ns is not None:
        clock.step(clock.next_ns)
    (sheet,) = clock.through()
    return sheet.words


def begun() -> WetClock:
    """Give a clock with K1 in the developer, by factor 6, since second 10."""
    clock = WetClock()
    clock.start(0, "K1", "r", SIX)
    clock.step(ns(10.0))
    return clock


def test_the_first_tap_over_the_developer_gives_its_time() -> None:
    """An image at 20 s, times 6, is 120 s, of which the last 15 drain; it is written so."""
    clock = begun()
    assert clock.views()[0].where == "developer, no image"
    assert clock.tap(ns(30.0)) == [Cue("K1 emerged at 20, lift at 105", Sound.PRESS)]
    assert clock.views()[0].where == "developer, 20 s"
    assert clock.next_ns == ns(115.0)
    assert through(clock) == (
        "trays, fibre: developer 120 s (image at 20 s, factor 6), stop 30 s, fixer 120 s"
    )


@pytest.mark.parametrize(("image_s", "whole_s"), [(8.0, 75.0), (12.5, 75.0), (30.0, 180.0)])
def test_the_factor_never_goes_below_the_least(image_s: float, whole_s: float) -> None:
    """A fast image gets the least of its process all the same, a slow one the factor's time."""
    clock = begun()
    clock.tap(ns(10.0 + image_s))
    assert clock.next_ns == ns(10.0 + whole_s - 15.0)


def test_without_a_tap_the_fixed_time_holds_and_is_written() -> None:
    """Who taps no image develops by the clock, and the book says so."""
    clock = begun()
    assert clock.next_ns == ns(115.0)
    assert "developer 120 s (by the clock: no image told)" in through(clock)


def test_a_tap_right_after_the_call_still_says_late() -> None:
    """Nothing appears within seconds: the sheet is in only now, and its image counts from then."""
    clock = begun()
    assert clock.tap(ns(14.0))[0].text == "K1 late 4"
    assert clock.tap(ns(34.0))[0].text == "K1 emerged at 20, lift at 105"
    assert clock.next_ns == ns(119.0)


def test_a_second_tap_does_not_say_late_once_the_image_was_seen() -> None:
    """A sheet whose image is there was in: a tap just after it means nothing."""
    clock = begun()
    clock.tap(ns(20.0))
    assert clock.tap(ns(21.0)) == [Cue(sound=Sound.NOT_TAKEN)]


def test_a_tap_just_before_the_lift_still_says_not_yet() -> None:
    """Where no image was told, a tap at the end of the fixed time asks for ten seconds more."""
    clock = begun()
    assert clock.tap(ns(110.0))[0].text == "K1 not yet, 10 more"


def test_of_two_in_the_developer_the_image_is_the_first_one_s() -> None:
    """Taps tell the images in the order in which the sheets came in."""
    clock = begun()
    clock.start(ns(5.0), "K2", "r", SIX)
    clock.put_in(ns(20.0), "K2")
    assert clock.tap(ns(30.0))[0].text.startswith("K1 emerged at 20")
    assert clock.tap(ns(42.0))[0].text.startswith("K2 emerged at 22")


def test_a_slow_image_holds_a_dry_sheet_back() -> None:
    """A developer for one sheet that is needed for longer: the next is told to wait for longer."""
    one = msgspec.structs.replace(
        SIX, steps=(msgspec.structs.replace(SIX.steps[0], holds=1), *SIX.steps[1:])
    )
    clock = WetClock()
    clock.start(0, "K1", "r", one)
    clock.step(ns(10.0))
    clock.start(ns(15.0), "K2", "r", one)
    told = [cue.text for cue in clock.tap(ns(50.0))]
    assert told[0] == "K1 emerged at 40, lift at 225"
    assert told[1].startswith("K2 waits, in ")
    lift_ns, in_ns = clock.moves()[0].at_ns, next(m for m in clock.moves() if m.mark == "K2").at_ns
    assert in_ns >= lift_ns == ns(235.0)


def test_a_tap_elsewhere_keeps_its_meaning_without_a_factor() -> None:
    """A process by the clock knows no image."""
    clock = WetClock()
    clock.start(0, "K1", "r", PROCESSES["fibre"])
    clock.step(ns(10.0))
    assert clock.tap(ns(40.0)) == [Cue(sound=Sound.NOT_TAKEN)]


# -- one method for an edition ---------------------------------------------------------------------


def ended(wet: WetSide, record_id: str, mark: str, off_s: float, kind: str = "print") -> list[str]:
    """Let a sheet have its last light."""
    pulse = PulseMade(1, ns(off_s - 1), ns(off_s), ns(1), Cause.DEADLINE)
    wet.hear(ns(off_s), RunBegun(record_id, kind, "t", "{}", "{}", {}, "rig"))
    wet.hear(ns(off_s), Made(record_id, 1, (pulse,), 1.0, True))
    over = SheetEnded(record_id, mark, Fate.DONE)
    return [cue.text for cue in wet.hear(ns(off_s + 0.5), over)]


def test_the_method_is_kept_while_prints_are_under_way() -> None:
    """Another factor, or none, is refused in a sentence; another temperature is not."""
    wet = WetSide(Chosen("fibre", factor=6.0))
    ended(wet, "r1", "K1", 100.0)
    for other in (Chosen("fibre"), Chosen("fibre", factor=5.0)):
        with pytest.raises(BadInput, match=r"K1 .* by factor 6; one edition keeps to one method"):
            wet.choose(other)
    assert wet.view().factor == 6.0
    wet.choose(Chosen("fibre", 21.0, 6.0))
    assert wet.view().celsius == 21.0


def test_a_print_that_is_developed_another_way_than_its_record_is_told() -> None:
    """Chosen between two prints of one record, when none is under way, the change is spoken."""
    wet = WetSide(Chosen("fibre", factor=6.0))
    assert ended(wet, "r1", "K1", 100.0) == []
    wet.take_off(ns(100.0), "K1")
    wet.choose(Chosen("fibre"))
    assert ended(wet, "r2", "K2", 200.0) == []
    wet.take_off(ns(100.0), "K2")
    (said,) = ended(wet, "r1", "K3", 300.0)
    assert said == (
        "K3 is developed by the clock, the prints before it by factor 6: they will differ"
    )


def test_a_strip_is_developed_as_its_prints_will_be() -> None:
    """Its short process takes the factor over, or it would tell nothing of them."""
    wet = WetSide(Chosen("fibre", factor=6.0))
    ended(wet, "r1", "K1", 100.0, kind="strip")
    wet.step(ns(110.0))
    assert wet.tap(ns(130.0))[0].text == "K1 emerged at 20, lift at 105"


def test_choosing_a_factor_says_what_to_do() -> None:
    """What was chosen is spoken, with the fixed time that it falls back on."""
    (said,) = WetSide().choose(Chosen("fibre", factor=6.0))
    assert said.text == (
        "fibre at 20, developer 120 seconds or 6 times the first image: tap when it appears"
    )


@pytest.mark.parametrize("factor", [0.0, 1.5, 25.0, float("nan")])
def test_a_factor_that_no_print_needs_is_refused(factor: float) -> None:
    """One sentence says what would be right."""
    with pytest.raises(BadInput, match="4 to 8 is usual"):
        by_factor(PROCESSES["fibre"], factor)


def test_a_rig_file_says_the_factor_of_its_developer() -> None:
    """It reaches the clock; behind the first step it is refused."""
    steps = [
        {"name": "developer", "time_s": 90.0, "drain_s": 10.0, "factor": 5.0},
        {"name": "fixer", "time_s": 60.0},
        {"name": "wash"},
    ]
    process = ProcessAt.model_validate({"name": "mine", "step": steps}).process()
    assert process.steps[0] == Step("developer", 90.0, 10.0, factor=5.0)
    steps[1]["factor"] = 5.0
    with pytest.raises(ValidationError, match="factor in the developer"):
        ProcessAt.model_validate({"name": "mine", "step": steps})


def test_a_rig_file_chooses_the_factor_for_good() -> None:
    """Given in its trays table, an evening begins with it."""
    lamp = {"driver": "sim", "address": "lamp"}
    rig = Rig.model_validate({"lamp": lamp, "trays": {"process": "fibre", "factor": 6.0}})
    assert rig.wet_side().view().factor == 6.0


def test_the_least_counts_only_where_the_factor_gives_less() -> None:
    """Between the two the longer one holds."""
    assert [developing_s(image, 6.0, 75.0) for image in (10.0, 12.5, 13.0)] == [75.0, 75.0, 78.0]
