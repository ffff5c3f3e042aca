"""What hands are told while light falls, and when."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from controller.enlarger.lamp import Calibration, ns
from controller.exposing.calls import MOST_TICKS, WARN_S, at_once, at_start, calls_of
from controller.exposing.exposure import Exposing
from controller.keeper import Cause, Ended
from controller.plan import SAME_S, Expose, Handwork
from controller.ports import Shade, Sound

NO_LAG = Calibration()
LAG = Calibration(0.1, 0.0)
AREA = ("#.",)
ON_NS = ns(1000)


def work(name: str, begin_s: float, end_s: float) -> Handwork:
    return Handwork(Shade("wand", name, AREA), begin_s, end_s)


def begun(
    dose_s: float,
    *works: Handwork,
    ticks: bool = False,
    delivered_s: float = 0.0,
    lamp: Calibration = NO_LAG,
) -> tuple[Exposing, int]:
    """Give an exposure with a pulse in hand, and when it ends; some of it may have been given."""
    exposing = Exposing(Expose("a", dose_s, ticks=ticks, handwork=works), lamp)
    if delivered_s:
        exposing.next_pulse(None)
        on_ns = ns(lamp.on_time_s(delivered_s, None))
        exposing.ended(Ended(1, "lamp", 0, on_ns, Cause.CUT))
        assert exposing.delivered_s == pytest.approx(delivered_s)
    return exposing, ON_NS + exposing.next_pulse(None)


@dataclass(frozen=True)
class Told:
    """Something told: how long after the light came on, and what."""

    at_s: float
    what: str


def told(exposing: Exposing, off_ns: int) -> list[Told]:
    found = []
    for at_ns, cue in calls_of(exposing, ON_NS, off_ns):
        what = cue.text
        if cue.sound is not None:
            what = cue.sound.value
            if isinstance(cue.hands, Shade):
                assert cue.hands.held is (cue.sound is Sound.HAND_IN)
                assert cue.hands.area == AREA
                what += f" {cue.hands.name}"
        found.append(Told(pytest.approx((at_ns - ON_NS) / 1e9, abs=1e-6), what))
    return found


def held_at_start(exposing: Exposing) -> list[str]:
    return [cue.hands.name for cue in at_start(exposing) if isinstance(cue.hands, Shade)]


# --- ticks ------------------------------------------------------------------------------------


def test_ticks_count_the_seconds_that_are_left() -> None:
    """Each whole second before the end, the last three with a sound of their own."""
    assert told(*begun(5.4, ticks=True)) == [
        Told(0.4, "tick"),
        Told(1.4, "tick"),
        Told(2.4, "last-tick"),
        Told(3.4, "last-tick"),
        Told(4.4, "last-tick"),
    ]
    assert [one.at_s for one in told(*begun(3, ticks=True))] == [1, 2]


def test_without_handwork_nothing_ticks() -> None:
    """Ticks are for hands that have something to do."""
    assert told(*begun(5.4)) == []


def test_ticks_are_of_the_light_and_not_of_the_dose() -> None:
    """A lamp that lags burns longer, and the last tick is a second before it goes out."""
    calls = told(*begun(5.0, ticks=True, lamp=LAG))
    assert [one.at_s for one in calls] == [0.1, 1.1, 2.1, 3.1, 4.1]


def test_a_very_long_exposure_ticks_at_its_end() -> None:
    """A bounded number of cues, the last of them a second before the end."""
    calls = told(*begun(1000, ticks=True))
    assert len(calls) == MOST_TICKS
    assert (calls[0].at_s, calls[-1].at_s) == (400, 999)


# --- tools --------------------------------------------------------------------------------------


def test_a_tool_is_announced_brought_and_taken_away() -> None:
    """A word before, a sound on the moment, both ways."""
    assert told(*begun(20, work("sky", 5, 12))) == [
        Told(5 - WARN_S, "sky, ready"),
        Told(5, "hand-in sky"),
        Told(12 - WARN_S, "sky, out"),
        Told(12, "hand-out sky"),
    ]


def test_the_moments_are_of_the_dose() -> None:
    """A lamp that lags by 0.1 s has given 5 s after 5.1 s."""
    calls = told(*begun(20, work("sky", 5, 12), lamp=LAG))
    assert [one.at_s for one in calls] == [5.1 - WARN_S, 5.1, 12.1 - WARN_S, 12.1]


def test_a_tool_that_is_there_from_the_start_comes_before_the_light() -> None:
    """No cue for what is in the beam already, but one to take it out."""
    exposing, off_ns = begun(20, work("sky", 0, 8))
    assert held_at_start(exposing) == ["sky"]
    assert at_once(exposing) == ["sky"]
    assert told(exposing, off_ns) == [Told(8 - WARN_S, "sky, out"), Told(8, "hand-out sky")]


def test_a_tool_that_comes_too_soon_for_a_word_is_told_before_the_light() -> None:
    """It is not in the beam yet, but the hand must be ready; its sound comes on the moment."""
    exposing, off_ns = begun(20, work("sky", 2, 12), work("door", 6, 9))
    assert held_at_start(exposing) == []
    assert at_once(exposing) == ["sky"]
    assert told(exposing, off_ns)[0] == Told(2, "hand-in sky")
    assert "sky, ready" not in [one.what for one in told(exposing, off_ns)]


def test_no_word_falls_into_a_short_dodge_nor_with_the_lights_going_out() -> None:
    """A dodge too short for a word has sounds alone, and one to the end needs no word to go."""
    assert told(*begun(20, work("sky", 5, 9))) == [
        Told(5 - WARN_S, "sky, ready"),
        Told(5, "hand-in sky"),
        Told(9, "hand-out sky"),
    ]
    assert told(*begun(20, work("sky", 5, 20)))[2:] == [Told(20, "hand-out sky")]


def test_dodges_that_overlap_are_told_each_at_its_time() -> None:
    """In the order of time, not in that of the score."""
    assert told(*begun(30, work("door", 8, 20), work("sky", 5, 14))) == [
        Told(5 - WARN_S, "sky, ready"),
        Told(5, "hand-in sky"),
        Told(8 - WARN_S, "door, ready"),
        Told(8, "hand-in door"),
        Told(14 - WARN_S, "sky, out"),
        Told(14, "hand-out sky"),
        Told(20 - WARN_S, "door, out"),
        Told(20, "hand-out door"),
    ]


@pytest.mark.parametrize("turned", [False, True])
def test_one_tool_goes_before_the_next_comes(turned: bool) -> None:
    """Two dodges of one place that meet: out, then in, whichever is written first."""
    works = [work("sky", 5, 9), work("sky", 9, 13)]
    calls = told(*begun(20, *(works[::-1] if turned else works)))
    assert [one.what for one in calls if one.at_s == 9] == ["hand-out sky", "hand-in sky"]


# --- paused and resumed -------------------------------------------------------------------------


def test_a_dodge_that_was_paused_goes_on_for_what_is_left_of_it() -> None:
    """After 7 s of dose the tool is in the beam before light falls, and leaves it 5 s later."""
    exposing, off_ns = begun(20, work("sky", 5, 12), delivered_s=7, lamp=LAG)
    assert held_at_start(exposing) == ["sky"]
    assert at_once(exposing) == ["sky"]
    assert told(exposing, off_ns) == [
        Told(5.1 - WARN_S, "sky, out"),
        Told(5.1, "hand-out sky"),
    ]


def test_what_was_over_before_the_pause_is_not_told_again() -> None:
    """And what is to come is told by the dose that is left until then."""
    exposing, off_ns = begun(20, work("sky", 0, 6), work("door", 12, 15), delivered_s=7)
    assert held_at_start(exposing) == at_once(exposing) == []
    assert told(exposing, off_ns) == [
        Told(5 - WARN_S, "door, ready"),
        Told(5, "hand-in door"),
        Told(8, "hand-out door"),
    ]


def test_a_pause_on_the_very_moment() -> None:
    """What begins then is held before light falls; what ends then is over."""
    exposing, off_ns = begun(20, work("sky", 2, 7), work("door", 7, 12), delivered_s=7)
    assert held_at_start(exposing) == ["door"]
    assert [one.what for one in told(exposing, off_ns)] == ["hand-out door"]


def test_the_ticks_of_a_resumed_exposure_count_what_is_left() -> None:
    """They begin anew with its own pulse."""
    assert [one.at_s for one in told(*begun(20, ticks=True, delivered_s=17.5))] == [0.5, 1.5]


@given(
    st.floats(1, 60),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=4),
    st.floats(0, 0.99),
    st.sampled_from([NO_LAG, LAG, Calibration(-0.02, 0.0)]),
    st.booleans(),
)
def test_every_tool_comes_and_goes_within_the_light(
    dose_s: float,
    spans: list[tuple[float, float]],
    part: float,
    lamp: Calibration,
    ticks: bool,
) -> None:
    """However an exposure is cut and dodged: each tool is in the beam for what is left of its dose.

    No cue comes before the light or after it, and none goes that had not come.
    """
    works = [
        work(str(number), min(span) * dose_s, max(span) * dose_s)
        for number, span in enumerate(spans)
        if abs(span[0] - span[1]) > 1e-3
    ]
    delivered_s = part * dose_s if part > 0.05 else 0.0
    assume(lamp.on_time_s(delivered_s, None) > 0)
    exposing, off_ns = begun(dose_s, *works, ticks=ticks, delivered_s=delivered_s, lamp=lamp)
    delivered_s = exposing.delivered_s
    calls = calls_of(exposing, ON_NS, off_ns)
    assert all(ON_NS <= at_ns <= off_ns for at_ns, _ in calls)
    assert [at_ns for at_ns, _ in calls] == sorted(at_ns for at_ns, _ in calls)
    came = dict.fromkeys(held_at_start(exposing), ON_NS)
    stayed: dict[str, float] = {}
    for at_ns, cue in calls:
        if cue.sound is Sound.HAND_IN:
            assert isinstance(cue.hands, Shade)
            assert cue.hands.name not in came
            came[cue.hands.name] = at_ns
        elif cue.sound is Sound.HAND_OUT:
            assert isinstance(cue.hands, Shade)
            lit_s = (at_ns - came.pop(cue.hands.name)) / 1e9
            stayed[cue.hands.name] = lit_s
    assert not came
    for one in works:
        left_s = one.end_s - max(one.begin_s, delivered_s)
        if left_s <= 0:
            assert one.shade.name not in stayed
            continue
        # a tool that is there from the start also stands through the lamp's coming up, and
        # what a lamp gives after it was switched off (a negative lag) is nobody's to time
        there = one.begin_s <= delivered_s + SAME_S
        expected_s = max(0.0, left_s + (lamp.cold_lag_s if there else 0.0))
        slack_s = SAME_S + max(0.0, -lamp.cold_lag_s) + 1e-6
        assert stayed.get(one.shade.name, 0.0) == pytest.approx(expected_s, abs=slack_s)


def test_a_dodge_that_is_over_before_it_could_begin_is_not_told() -> None:
    """Within that same little while there is nothing that a hand could do."""
    exposing, off_ns = begun(10, work("sky", 0.005, 0.015), lamp=Calibration(-0.02, 0.0))
    assert held_at_start(exposing) == []
    assert told(exposing, off_ns) == []


def test_a_tool_that_is_there_is_told_to_go_however_soon() -> None:
    """Paused so near the end of a dodge that the lamp needs no time for what is left of it."""
    exposing, off_ns = begun(10, work("sky", 2, 5), lamp=Calibration(-0.02, 0.0), delivered_s=4.99)
    assert held_at_start(exposing) == ["sky"]
    assert [one.what for one in told(exposing, off_ns)] == ["hand-out sky"]


def test_a_tool_that_comes_within_a_negative_lag_is_told_to_come() -> None:
    """An LED that goes on a little after it was switched off loses no cue by it."""
    exposing, off_ns = begun(10, work("sky", 0.01, 4), lamp=Calibration(-0.02, 0.0))
    assert held_at_start(exposing) == []
    assert [one.what for one in told(exposing, off_ns)] == ["hand-in sky", "hand-out sky"]
