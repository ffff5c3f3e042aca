"""The runner: what it does with a plan, a foot and a keeper."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.enlarger.lag import LagStrip, plan_lag
from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.events import Fate, Intended, Made, Remark, RunEnded, SheetBegun, SheetEnded
from controller.exposing.around import Around
from controller.exposing.bench import Bench, State
from controller.exposing.rest import rest_of
from controller.exposing.told import Wish
from controller.plan import Confirm, Curtain, Expose, Go, Lights, Plan, Sheet, Shine
from controller.ports import Filter, Lens, Sound, Wants
from controller.score.model import Pass, Score, SetUp
from controller.score.plan import plan_score
from controller.strips.strip import Strip, plan_strip
from tests.controller.exposing.bench_top import ScriptedWorld, Set, run, set_up

LAMP = Calibration(0.1, 0.0)
LIMITS = LampLimits()


def strip_plan(**more: object) -> Plan:
    return plan_strip(Strip(base_s=4, patches=3, **more), LAMP, LIMITS)  # type: ignore[arg-type]


def doses(made: object, lag_s: float = 0.0) -> list[float]:
    return [round((b - a) / 1e9 - lag_s, 6) for a, b in made.world.lamp_times()]  # type: ignore[attr-defined]


def tap(made: Set, for_s: float = 0.2) -> None:
    made.unit.press(True)
    made.unit.run_until(made.unit.now_ns + ns(for_s))
    made.unit.press(False)


def until(made: Set, state: State) -> None:
    """Let time pass until the runner is there."""
    while made.runner.state is not state:
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)


def delivered(events: list[object]) -> float:
    return sum(e.delivered_dose_s for e in events if isinstance(e, Made))


def test_a_strip_is_made_by_one_tap_for_each_prompt() -> None:
    """Lens, sheet and three patches: five taps, three pulses, each dose plus the lag."""
    made = run(strip_plan(way="window"), lamp=LAMP)
    assert made.runner.fate is Fate.DONE
    assert doses(made, 0.1) == pytest.approx([4, 5.039684, 6.349604])
    assert [e.fate for e in made.events if isinstance(e, SheetEnded)] == [Fate.DONE]
    prompts = [c.wants for _, c in made.world.heard if c.wants is not Wants.NOTHING]
    assert prompts == [Wants.CONFIRM, Wants.CONFIRM, Wants.GO, Wants.GO, Wants.GO]


def test_the_lens_is_not_asked_for_again_once_it_is_set() -> None:
    """The working aperture is asked for after focusing, and not before every strip."""
    bench = Bench(lens="working")
    made = run(strip_plan(), bench=bench)
    assert not any("lens" in text for text in made.world.words())


def test_focusing_leaves_the_lens_open() -> None:
    """After the focus light the next plan asks for the aperture; the press only ends light."""
    plan = Plan("focus", "focus", (Go("focus light"), Shine("focusing", 60, opens_lens=True)))
    bench = Bench(lens="working")
    world = ScriptedWorld(presses=[(10.0, True), (10.2, False)])
    made = run(plan, world, bench=bench)
    assert made.runner.fate is Fate.DONE
    assert bench.lens == "open"
    assert world.lamp_times()[0][1] == ns(10.0)


def test_every_dose_is_intended_before_the_light_and_made_after_it() -> None:
    """The book has the intention before the lamp is lit, and the edges after it is off."""
    seen: list[tuple[str, bool]] = []
    made = set_up(strip_plan())
    unit = made.unit
    lit = lambda: bool(made.world.switched and made.world.switched[-1][2])  # noqa: E731
    unit._record = lambda e: seen.append((type(e).__name__, lit()))  # type: ignore[method-assign]
    unit.run()
    assert [name for name, _ in seen if name in ("Intended", "Made")] == ["Intended", "Made"] * 3
    assert not any(is_lit for _, is_lit in seen)


def test_a_press_puts_the_lamp_off_on_its_edge_and_a_tap_gives_what_was_left() -> None:
    """Pause on the way down; resume is a go, and the dose adds up to the planned one."""
    made = set_up(strip_plan(way="window"), lamp=LAMP)
    made.unit.run_until(ns(7))
    assert made.runner.state is State.LIT
    made.unit.press(True)
    assert made.world.switched[-1] == (ns(7), "lamp", False)
    assert made.runner.state is State.PAUSED
    made.unit.run_until(ns(7.2))
    made.unit.press(False)
    made.unit.run()
    assert made.runner.fate is Fate.DONE
    first = [e for e in made.events if isinstance(e, Made)][:2]
    assert [e.full for e in first] == [False, True]
    assert sum(e.delivered_dose_s for e in first) == pytest.approx(4, abs=1e-6)
    assert [e.resumed for e in made.events if isinstance(e, Intended)][:2] == [False, True]


def test_a_foot_kept_down_abandons_and_the_rising_tone_says_so() -> None:
    """Kept down 1.5 s: abandoned; the book has what fell."""
    made = set_up(strip_plan(), lamp=LAMP)
    made.unit.run_until(ns(7))
    made.unit.press(True)
    assert any(c.sound is Sound.RISING for _, c in made.world.heard)
    made.unit.run_until(ns(9))
    assert made.runner.fate is Fate.ABANDONED
    assert isinstance(made.events[-1], RunEnded)
    assert made.events[-1].fate is Fate.ABANDONED


def test_a_tap_in_the_lead_in_cancels_it() -> None:
    """The press in the lead-in brings the prompt back, and no light falls."""
    world = ScriptedWorld(tap_after_s=None)
    plan = Plan("t", "t", (Go("a"), Curtain(True), Expose("A", 4.0)))
    made = set_up(plan, world)
    for at_s, down in [(1.1, True), (1.2, False), (2.0, True), (2.1, False)]:
        made.unit.run_until(ns(at_s))
        made.unit.press(down)
    made.unit.run_until(ns(20))
    assert made.runner.state is State.WAITING
    assert world.lamp_times() == []
    assert delivered(made.events) == 0


def test_a_tap_in_the_deaf_moment_is_not_taken() -> None:
    """Within a second of the prompt a tap does nothing but sound."""
    world = ScriptedWorld(tap_after_s=None, presses=[(0.5, True), (1.4, False)])
    made = set_up(Plan("t", "t", (Go("a"), Expose("A", 4.0))), world)
    made.unit.run_until(ns(10))
    assert made.runner.state is State.WAITING
    sounds = [c.sound for _, c in world.heard if c.sound not in (None, Sound.PROMPT)]
    assert sounds == [Sound.NOT_TAKEN]


def test_a_long_press_speaks_choices_and_silence_changes_nothing() -> None:
    """At a prompt a long press offers; untouched, the prompt comes back."""
    world = ScriptedWorld(tap_after_s=None, presses=[(2.0, True), (4.0, False)])
    made = set_up(Plan("t", "t", (Go("a"), Expose("A", 4.0))), world)
    made.unit.run_until(ns(20))
    assert made.runner.state is State.WAITING
    assert [t for t in world.words() if t != "a"] == ["go on", "end"]


def test_spoiled_gives_a_new_sheet_with_a_new_mark() -> None:
    """The choice "spoiled" closes the sheet and begins again with the next mark."""
    made = set_up(strip_plan(), bench=Bench(lens="working"))
    made.unit.run_until(ns(14))
    while made.runner.state is not State.WAITING:
        made.unit.run_until(made.unit.now_ns + ns(0.1))
    made.world._coming.clear()
    start_s = made.unit.now_ns / 1e9 + 1.1
    made.unit.run_until(ns(start_s))
    made.unit.press(True)
    made.unit.run_until(ns(start_s + 1.7))
    made.unit.press(False)
    spoken = lambda: made.world.words()[-1]  # noqa: E731
    while spoken() != "spoiled":
        made.unit.run_until(made.unit.now_ns + ns(0.5))
    for _ in range(2):  # it is asked once more, since it cannot be taken back
        made.unit.run_until(made.unit.now_ns + ns(0.5))
        tap(made)
    assert "spoiled; tap again" in made.world.words()
    made.unit.run()
    assert made.runner.fate is Fate.DONE
    sheets = [e for e in made.events if isinstance(e, SheetBegun | SheetEnded)]
    assert [(type(e).__name__, e.mark) for e in sheets] == [
        ("SheetBegun", "K7"),
        ("SheetEnded", "K7"),
        ("SheetBegun", "K8"),
        ("SheetEnded", "K8"),
    ]


def test_a_sheet_that_cannot_be_given_up_now_is_a_sentence() -> None:
    """In the light, and before one lies there, the wish changes nothing and says why."""
    made = set_up(strip_plan())
    until(made, State.ASKING)
    made.unit.wish(Wish.SPOILED)
    assert made.world.words()[-1] == "no sheet is laid yet"
    until(made, State.LIT)
    made.unit.wish(Wish.SPOILED)
    assert made.world.words()[-1] == "not while the lamp is lit: pause first"
    made.unit.run()
    assert [e.fate for e in made.events if isinstance(e, SheetEnded)] == [Fate.DONE]


def test_curtain_not_confirmed_lights_nothing() -> None:
    """Where the screen does not go black there is no light, and the prompt comes back."""
    made = set_up(strip_plan(), bench=Bench(lens="working"))
    hear = made.unit._hear
    from controller.exposing.told import CurtainIs

    made.unit._hear = lambda x: hear(None if isinstance(x, CurtainIs) else x)  # type: ignore
    made.unit.run_until(ns(15))
    assert made.world.lamp_times() == []
    assert any("black" in t for t in made.world.words())


def test_lights_are_switched_before_the_light_and_back_after_it() -> None:
    """A safelight that is to be off has answered, and its afterglow has passed, before light."""
    plan = plan_strip(
        Strip(base_s=4, patches=2),
        LAMP,
        LIMITS,
        Around(lights_off={"ceiling": 3.0}, lights_back={"ceiling": True}),
    )
    made = run(plan, lamp=LAMP)
    ceiling = [(t, lit) for t, name, lit in made.world.switched if name == "ceiling"]
    lamp = made.world.lamp_times()
    assert [lit for _, lit in ceiling] == [False, True]
    assert lamp[0][0] - ceiling[0][0] >= ns(3.0)
    assert ceiling[1][0] >= lamp[-1][1]


def test_a_lag_strip_runs_its_short_pulses_by_itself() -> None:
    """Twelve pulses with the asked gap for one tap, each with the assumed lag."""
    strip = LagStrip(patches=3, gap_s=1.0, from_lag_s=0.0, to_lag_s=0.2)
    made = run(plan_lag(strip))
    times = made.world.lamp_times()
    assert len(times) == 3 * 13
    pulsed = times[14:26]  # patch B assumes 0.1 s
    assert all((b - a) == pytest.approx(ns(0.43), abs=2) for a, b in pulsed)
    gaps = [b[0] - a[1] for a, b in pairwise(pulsed)]
    assert gaps == pytest.approx([ns(1.0)] * 11, abs=2)


def test_unsure_is_remembered_with_the_patch() -> None:
    """A wish "unsure" remarks on the last patch exposed."""
    from controller.exposing.told import Wish

    made = set_up(strip_plan(), bench=Bench(lens="working"))
    while not any(isinstance(e, Made) for e in made.events):
        made.unit.run_until(made.unit.now_ns + ns(0.1))
    made.unit.wish(Wish.UNSURE)
    assert [e.label for e in made.events if isinstance(e, Remark)] == ["A"]


def test_ticks_count_the_last_three_seconds_differently() -> None:
    """Ticks come each second of a ticking exposure, the last three with another sound."""
    made = run(Plan("t", "t", (Go("a"), Expose("A", 5.5, ticks=True))))
    ticks = [c.sound for _, c in made.world.heard if c.sound in (Sound.TICK, Sound.LAST_TICK)]
    assert ticks == [Sound.TICK] * 2 + [Sound.LAST_TICK] * 3


def test_the_rest_of_a_strip_gives_each_patch_what_is_missing() -> None:
    """A strip cut off in patch C: the rest has C's remainder and D, lens and curtain first."""
    plan = plan_strip(Strip(base_s=4, patches=4, way="window"), LAMP, LIMITS)
    rest = rest_of(plan, {"A": 4.0, "B": 5.0396842, "C": 2.0})
    assert rest is not None
    exposures = [(e.label, round(e.dose_s, 4)) for _, e in rest.exposures()]
    assert exposures == [("C", 4.3496), ("D", 8.0)]
    assert not any(isinstance(a, Sheet) for a in rest.actions)
    assert isinstance(rest.actions[0], Confirm)
    made = run(rest, lamp=LAMP, mark="K7")
    assert doses(made, 0.1) == pytest.approx([4.349604, 8.0], abs=1e-5)
    assert rest_of(plan, {e.label: e.dose_s for _, e in plan.exposures()}) is None


PLAN = Plan(
    "t",
    "t",
    (
        Confirm("lens", Lens("8")),
        Sheet(100, 100),
        Go("a"),
        Curtain(True),
        Lights({"ceiling": False}, 0.2),
        Expose("A", 3.0),
        Go("b"),
        Expose("B", 2.0, pulses=4, gap_s=0.7),
    ),
    (Lights({"ceiling": True}), Curtain(False)),
)
press_times = st.lists(st.floats(0.001, 3.0, allow_nan=False), min_size=0, max_size=60)


@settings(max_examples=150, deadline=None)
@given(press_times, st.booleans())
def test_random_feet_never_light_without_a_go_and_always_pause(
    gaps_s: list[float], bounce: bool
) -> None:
    """No light without a tap at a go-prompt; a down edge while lit ends light at once; no tap
    both confirms and lights; and the doses always add up.
    """
    world = ScriptedWorld(tap_after_s=None)
    made = set_up(PLAN, world)
    now_s, down = 0.0, False
    for gap_s in gaps_s:
        now_s += gap_s
        made.unit.run_until(ns(now_s))
        if made.runner.over:
            break
        was_lit = bool(world.switched) and [
            lit for _, name, lit in world.switched if name == "lamp"
        ][-1:] == [True]
        down = not down
        made.unit.press(down)
        if bounce:
            made.unit.press(not down)
            made.unit.press(down)
        if down and was_lit:
            lamp = [(t, lit) for t, name, lit in world.switched if name == "lamp"]
            assert lamp[-1] == (made.unit.now_ns, False)
    lamp = [(t, lit) for t, name, lit in world.switched if name == "lamp"]
    goes = [t for t, c in world.heard if c.sound is Sound.GO]
    confirmed = [t for t, c in world.heard if c.sound is Sound.PRESS]
    for index, (on_ns, lit) in enumerate(lamp):
        if not lit:
            continue
        within_series = index > 0 and on_ns - lamp[index - 1][0] == ns(0.7)
        if not within_series:
            go_ns = max((t for t in goes if t < on_ns), default=None)
            assert go_ns is not None, "light without a go"
            assert on_ns - go_ns >= ns(1.5), "light before the lead-in was over"
            assert index == 0 or lamp[index - 1][0] < go_ns, "one go lit twice"
    assert not set(goes) & set(confirmed), "a tap both confirmed and let light follow"
    made_events = [e for e in made.events if isinstance(e, Made)]
    for label, dose_s in (("A", 3.0), ("B", 2.0)):
        numbers = [e.number for e in made.events if isinstance(e, Intended) and e.label == label]
        got = sum(e.delivered_dose_s for e in made_events if e.number in numbers)
        assert got <= dose_s + 1e-6
        if any(e.full for e in made_events if e.number in numbers):
            assert got == pytest.approx(dose_s, abs=2e-3)


# --- feet that found a way, once -------------------------------------------------------------


def test_a_press_that_meets_the_end_of_a_pulse_stops_the_series() -> None:
    """The cut comes too late for this pulse; the next must not follow."""
    plan = Plan("t", "t", (Go("a"), Expose("A", 2.0, pulses=4, gap_s=2.0)))
    made = set_up(plan)
    until(made, State.LIT)
    from controller.keeper import Cause, Edge, Ended

    runner, now = made.runner, made.unit.now_ns
    pulse = runner._hand.pulse
    assert pulse
    from controller.exposing.told import Press

    runner.step(now + ns(0.49), Press(True))
    runner.step(now + ns(0.5), Edge("lamp", False, now + ns(0.5)))
    runner.step(now + ns(0.5), Ended(pulse.id, "lamp", now, now + ns(0.5), Cause.DEADLINE))
    assert runner.state is State.PAUSED


def test_a_second_bump_right_after_a_pause_lights_nothing() -> None:
    """Whatever it was that paused, the pedal is deaf for a moment afterwards."""
    plan = Plan("t", "t", (Go("a"), Expose("A", 2.0, pulses=4, gap_s=3.0)))
    made = set_up(plan, ScriptedWorld())
    until(made, State.GAP)
    made.unit.run_until(made.unit.now_ns + ns(1.5))
    made.world.tap_after_s = None
    for _ in range(2):
        tap(made, 0.1)
        made.unit.run_until(made.unit.now_ns + ns(0.2))
    made.unit.run_until(made.unit.now_ns + ns(4))
    assert made.runner.state is State.PAUSED


def test_a_choice_does_not_change_under_the_foot() -> None:
    """What was spoken when the foot went down is taken, however late it comes up."""
    made = set_up(strip_plan(), ScriptedWorld(tap_after_s=None), bench=Bench(lens="working"))
    made.unit.run_until(ns(2))
    tap(made, 1.7)
    assert made.world.words()[-1] == "go on"
    made.unit.run_until(made.unit.now_ns + ns(1.6))
    tap(made, 1.0)  # "end" would have been spoken meanwhile
    assert made.runner.state is State.ASKING
    assert made.runner.fate is None


def test_a_capped_lens_is_asked_for() -> None:
    """After a warm-up that was called off the next plan asks for the working aperture."""
    bench = Bench(lens="working")
    plan = Plan("warm-up", "w", (Confirm("lens capped", Lens("capped")), Go("warm-up")))
    made = set_up(plan, bench=bench)
    until(made, State.WAITING)
    assert bench.lens == "capped"
    assert "lens to the working aperture" in run(strip_plan(), bench=bench).world.words()


def test_lights_settle_also_after_a_go_that_was_called_off() -> None:
    """The afterglow counts from when the light really went off."""
    plan = Plan("t", "t", (Go("a"), Lights({"ceiling": False}, 10.0), Expose("A", 1.0)))
    made = set_up(plan)
    until(made, State.SETTLING)
    made.unit.run_until(made.unit.now_ns + ns(0.5))
    tap(made)
    made.unit.run()
    off_ns = next(t for t, name, lit in made.world.switched if name == "ceiling" and not lit)
    assert made.world.lamp_times()[0][0] - off_ns >= ns(10.0)


def test_a_card_that_moved_late_makes_the_patch_before_unsure() -> None:
    """With the card it is the patch that should have been covered that got too much."""
    plan = strip_plan(way="card")
    doubtful = [e.doubtful for _, e in plan.exposures()]
    assert doubtful == [("A",), ("A",), ("B",)]
    window = [e.doubtful for _, e in strip_plan(way="window").exposures()]
    assert window == [("A",), ("A", "B"), ("B", "C")]


def test_a_foot_kept_down_on_a_light_that_ended_by_itself_abandons_nothing() -> None:
    """Only a press that stopped light abandons when it is kept."""
    plan = Plan("focus", "f", (Go("focus"), Shine("focusing", 60), Confirm("lens", Lens("8"))))
    made = set_up(plan, ScriptedWorld())
    until(made, State.LIT)
    made.world.tap_after_s = None
    made.unit.run_until(made.unit.now_ns + ns(2))
    tap(made, 2.0)
    assert made.runner.fate is None
    assert made.runner.state is State.ASKING


def test_a_foot_that_is_down_already_means_nothing() -> None:
    """A press from before the plan neither taps nor goes, and light waits for it to be gone."""
    from controller.exposing.runner import Runner

    made = set_up(Plan("t", "t", (Go("a", after_s=3.0), Expose("A", 1.0))))
    runner = Runner(
        made.runner.run,
        Bench(),
        lamp=LAMP,
        limits=LIMITS,
        foot=made.runner._times,
        next_mark=lambda: "K1",
        foot_down=True,
    )
    from controller.exposing.told import Press

    runner.step(0)
    runner.step(ns(4))
    assert runner.state is State.WAITING
    runner.step(ns(4.2), Press(False))
    runner.step(ns(4.3))
    assert runner.state is not State.WAITING


@pytest.mark.parametrize(
    "actions",
    [
        (Expose("A", 1.0),),
        (Curtain(True), Go("a"), Expose("A", 1.0)),
        (Go("a"), Expose("A", 1.0), Expose("B", 1.0)),
        (Confirm("x"), Shine("s", 3.0)),
    ],
)
def test_a_plan_in_which_light_could_fall_without_a_go_cannot_be_made(actions: tuple) -> None:  # type: ignore[type-arg]
    """The go is in the plan itself, so that no runner can forget it."""
    with pytest.raises(ValueError, match="needs a go"):
        Plan("t", "t", actions)


def two_filters() -> Plan:
    score = Score(
        base_s=3,
        passes=(Pass(label="soft", filter="00"), Pass(label="hard", filter="5")),
        setup=SetUp(aperture="8"),
    )
    return plan_score(score, LAMP, LIMITS, Around())


def test_a_new_sheet_after_a_spoiled_one_begins_with_the_right_filter() -> None:
    """Spoiled while the hard filter is in the light: the soft one is asked for again."""
    made = set_up(two_filters(), ScriptedWorld())
    while not any("hard" in text for text in made.world.words()):
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)
    made.unit.wish(Wish.SPOILED)
    made.unit.run()
    assert made.runner.fate is Fate.DONE
    words = [text for text in made.world.words() if text.startswith(("filter", "new sheet"))]
    assert words == [
        "filter 00",
        "new sheet, mark K7",
        "filter 5",
        "filter 00",
        "new sheet, mark K8",
        "filter 5",
    ]


def test_what_stands_at_the_enlarger_is_known_from_one_plan_to_the_next() -> None:
    """After a print at 8 through 5, a strip at 16 without a filter asks for both."""
    bench = Bench()
    run(two_filters(), bench=bench)
    assert (bench.lens, bench.filter) == ("8", Filter("5"))
    words = run(strip_plan(aperture="16"), bench=bench).world.words()
    assert words[:2] == ["lens to 16", "filter away"]
    assert run(strip_plan(aperture="16"), bench=bench).world.words()[0].startswith("new strip")
    # whatever aperture was set last is the working one, where none is named
    assert run(strip_plan(), bench=bench).world.words()[0].startswith("new strip")


@pytest.mark.parametrize(("through", "offered"), [("5", True), ("none", False), ("", False)])
def test_a_wrong_filter_is_offered_only_where_one_was_asked_for(
    through: str, offered: bool
) -> None:
    """In bare light no filter can have been the wrong one."""
    plan = Plan("t", "t", (Sheet(10, 10), Go("a"), Expose("A", 2, filter=through), Go("b")))
    made = set_up(plan)
    made.unit.run_until(ns(0))
    while not [event for event in made.events if isinstance(event, Made)]:
        assert made.unit.next_ns is not None
        made.unit.run_until(made.unit.next_ns)
    made.unit.wish(Wish.WRONG_FILTER)
    assert any("wrong filter" in text for text in made.world.words()) is offered
