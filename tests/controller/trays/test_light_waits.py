"""Light that would outlast the next move in the trays waits for it; a second tap overrides."""

from __future__ import annotations

from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.exposing.bench import Bench, State
from controller.exposing.foot import FootTimes
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.plan import Expose, Go, Plan, Sheet, light_s
from controller.virtual import VirtualUnit
from tests.controller.exposing.bench_top import RULES, ScriptedWorld

GO = Go("patch A", lead_in_s=1.0)
PLAN = Plan("strip", "t", (Sheet(200, 25), GO, Expose("A", 6.0), GO, Expose("B", 2.0)))


class Trays:
    """Trays that want hands until a time, and take note of what was asked."""

    def __init__(self, until_s: float) -> None:
        self.until_s = until_s
        self.asked: list[float] = []

    def wait_s(self, now_ns: int, busy_s: float) -> int:
        self.asked.append(busy_s)
        return max(0, round(self.until_s - now_ns / 1e9))


def made(world: ScriptedWorld, trays: Trays, plan: Plan = PLAN) -> VirtualUnit:
    runner = Runner(
        Run("r1", plan),
        Bench(),
        lamp=Calibration(0.0, 0.0),
        limits=LampLimits(),
        foot=FootTimes(),
        next_mark=lambda: "K7",
        wait_s=trays.wait_s,
    )
    return VirtualUnit(runner, Keeper(RULES), world, record=lambda _event: None)


def test_light_is_kept_back_and_asked_for_again() -> None:
    """A tap is answered by how long to wait; then the prompt comes again and a tap goes."""
    world, trays = ScriptedWorld(), Trays(until_s=40.0)
    unit = made(world, trays)
    unit.run()
    assert [words for words in world.words() if words.startswith("wait")] == ["wait 37"]
    ((first_on_ns, _), _) = world.lamp_times()
    assert first_on_ns > ns(40.0)
    words = world.words()
    assert sum("patch A" in each for each in words) == 3  # twice for A, once for B
    proposed = [each for each in words if each.startswith("light in")]
    assert len(proposed) == 1  # at the prompt already; not where light fits
    assert words.index(proposed[0]) + 1 == words.index("patch A")
    assert 37 <= int(proposed[0].split()[-1]) <= 40


def test_a_second_tap_overrides() -> None:
    """Who taps again before the time is over gets light at once."""
    world = ScriptedWorld(presses=[(5.0, True), (5.2, False)])
    unit = made(world, Trays(until_s=40.0))
    unit.run_until(ns(20.0))
    ((on_ns, _),) = world.lamp_times()[:1]
    assert on_ns < ns(8.0)


def test_what_is_asked_for_is_the_light_up_to_the_next_prompt() -> None:
    """Lead-in and dose count, and nothing behind the next go."""
    world, trays = ScriptedWorld(), Trays(until_s=0.0)
    made(world, trays).run()
    assert trays.asked == [7.0, 7.0, 3.0, 3.0]  # at each prompt, and at each tap
    series = Plan("t", "t", (GO, Expose("A", 6.0, pulses=4, gap_s=1.0)))
    assert light_s(series, 0) == 9.0


def test_light_that_comes_by_itself_comes_later() -> None:
    """Where nobody taps, the go that comes by itself is put off until the trays are served."""
    itself = Plan("t", "t", (Go("a", lead_in_s=1.0, after_s=3.0), Expose("A", 2.0)))
    world = ScriptedWorld(tap_after_s=None)
    unit = made(world, Trays(until_s=30.0), itself)
    unit.run()
    ((on_ns, _),) = world.lamp_times()
    assert ns(30.0) <= on_ns < ns(33.0)


def test_a_paused_exposure_is_not_cut_short_but_resumed_later() -> None:
    """What is paused waits for the trays as a fresh exposure does, and no light is lost."""
    world = ScriptedWorld(presses=[(6.0, True), (6.2, False), (9.0, True), (9.2, False)])
    trays = Trays(until_s=0.0)
    unit = made(world, trays)
    unit.run_until(ns(7.0))
    assert unit.runner.state is State.PAUSED
    trays.until_s = 30.0
    unit.run()
    assert any(words.startswith("wait") for words in world.words())
    pulses = world.lamp_times()
    assert pulses[1][0] > ns(10.0)
