from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.ports import Cue, Move, NewSheet, Sound, Wants
from sim.hands import Done, Operator, PedalEdge
from sim.settings import HandsSettings

S = 1_000_000_000
GO = Cue("next", wants=Wants.GO)


def until_idle(operator: Operator) -> list[PedalEdge | Done]:
    happened = []
    while (due_ns := operator.next_ns()) is not None:
        happened += operator.act(due_ns)
    return happened


def pedal(happened) -> list[PedalEdge]:
    return [h for h in happened if isinstance(h, PedalEdge)]


@given(st.integers(0, 10**6), st.sampled_from([Wants.GO, Wants.CONFIRM]))
def test_a_prompt_is_answered_by_one_tap_when_the_pedal_listens(seed, wants):
    """Down no sooner than 1.1 s after the prompt, up 0.15 to 0.3 s later."""
    operator = Operator(seed=seed)
    operator.hear(5 * S, Cue("ready", wants=wants))
    down, up = pedal(until_idle(operator))
    assert (down.down, up.down) == (True, False)
    assert down.at_ns >= 5 * S + 1_100_000_000
    assert 0.15 <= (up.at_ns - down.at_ns) / S <= 0.30


@given(st.integers(0, 10**6))
def test_the_card_is_moved_before_the_tap(seed):
    """Hands first, then the foot."""
    operator = Operator(seed=seed)
    operator.hear(0, Cue("B", wants=Wants.GO, hands=Move("card", 1, 5)))
    done, down, _up = until_idle(operator)
    assert isinstance(done, Done)
    assert isinstance(down, PedalEdge)
    assert done.at_ns < down.at_ns


@given(st.integers(0, 10**6))
def test_jobs_are_done_in_their_order_and_without_a_prompt_too(seed):
    """A cue that waits for nothing is still heard by the hands."""
    operator = Operator(seed=seed)
    operator.hear(0, Cue("new sheet", hands=NewSheet("K1", 100, 50)))
    operator.hear(100, Cue("card", hands=Move("card", 0, 5)))
    first, second = until_idle(operator)
    assert isinstance(first.hands, NewSheet)
    assert isinstance(second.hands, Move)
    assert first.at_ns < second.at_ns


def test_what_is_asked_for_again_is_not_done_again():
    """A prompt that is repeated asks for a card that already lies there."""
    operator = Operator(seed=1)
    move = Cue("B", wants=Wants.GO, hands=Move("card", 1, 5))
    operator.hear(0, move)
    assert len(until_idle(operator)) == 3
    operator.hear(20 * S, move)
    assert len(until_idle(operator)) == 2


def gaps_of(operator: Operator, count: int, lead_s: float) -> list[float]:
    now_ns, gaps, off_ns = 0, [], None
    for n in range(count):
        operator.hear(now_ns, Cue("next", wants=Wants.GO, hands=Move("card", n % 5, 5)))
        edges = pedal(until_idle(operator))
        on_ns = edges[-1].at_ns + round(lead_s * S)
        if off_ns is not None:
            gaps.append((on_ns - off_ns) / S)
        operator.saw(on_ns, "lamp", True)
        off_ns = now_ns = on_ns + 2 * S
        operator.saw(off_ns, "lamp", False)
    return gaps


@pytest.mark.parametrize("lead_s", [0.0, 1.5])
def test_gaps_between_pulses_fill_their_range(lead_s):
    """From as soon as hands and pedal allow to ten seconds, whatever the lead-in."""
    gaps = gaps_of(Operator(seed=4), 300, lead_s)[2:]
    assert max(gaps) < 10.5
    assert max(gaps) > 9.3
    assert min(gaps) < 1.6 + lead_s + 0.4
    assert 4.5 < sum(gaps) / len(gaps) < 7.5


def test_the_same_seed_gives_the_same_evening():
    """Repeatable, and different with another seed."""
    assert gaps_of(Operator(seed=7), 10, 1.0) == gaps_of(Operator(seed=7), 10, 1.0)
    assert gaps_of(Operator(seed=7), 10, 1.0) != gaps_of(Operator(seed=8), 10, 1.0)


def test_a_reminder_does_not_put_the_tap_off_for_ever():
    """A prompt that is repeated every four seconds is answered all the same."""
    operator = Operator(seed=1)
    tapped = []
    for second in range(0, 40, 4):
        operator.hear(second * S, GO)
        tapped += pedal(operator.act((second + 4) * S - 1))
        if tapped:
            break
    assert len(tapped) == 2


def test_a_tap_that_was_not_taken_is_made_again():
    """The pedal was deaf: the printer tries once more."""
    operator = Operator(seed=1)
    operator.hear(0, GO)
    now_ns = until_idle(operator)[-1].at_ns
    operator.hear(now_ns, Cue(sound=Sound.NOT_TAKEN))
    down, _ = pedal(until_idle(operator))
    assert down.at_ns >= now_ns + 1_100_000_000


def test_no_tap_falls_on_a_burning_lamp():
    """If light comes before the tap (it went by itself), the foot stays off the pedal."""
    operator = Operator(seed=1)
    operator.hear(0, GO)
    operator.saw(1_000_000, "lamp", True)
    assert operator.next_ns() is None


def test_a_choice_passes_in_silence_unless_told_to_take_it():
    """Only the words that were given are taken."""
    choice = Cue("spoiled", wants=Wants.CHOICE)
    silent = Operator(seed=1)
    silent.hear(0, choice)
    assert silent.next_ns() is None
    taking = Operator(HandsSettings(take=("spoiled",)), seed=1)
    taking.hear(0, Cue("go on", wants=Wants.CHOICE))
    assert taking.next_ns() is None
    taking.hear(2 * S, choice)
    assert len(pedal(until_idle(taking))) == 2


def test_pauses_fall_on_the_lamp_on_time_of_the_whole_run():
    """Pauses at 3 s and 7 s of light: in the second pulse of 2 s, and in the fourth."""
    operator = Operator(HandsSettings(pause_at=(3.0, 7.0)), seed=1)
    presses = []
    for pulse in range(4):
        on_ns = pulse * 20 * S
        operator.saw(on_ns, "lamp", True)
        due_ns = operator.next_ns()
        if due_ns is not None and due_ns < on_ns + 2 * S:
            edges = pedal(operator.act(due_ns))
            operator.saw(due_ns, "lamp", False)
            presses.append((pulse, (due_ns - on_ns) / S))
            operator.hear(due_ns, Cue("paused", sound=Sound.PAUSED, wants=Wants.GO))
            edges += pedal(until_idle(operator))
            assert [e.down for e in edges] == [True, False, True, False]
            assert edges[1].at_ns - edges[0].at_ns < 1_500_000_000
            resumed_ns = edges[3].at_ns + S
            operator.saw(resumed_ns, "lamp", True)
            operator.saw(resumed_ns + on_ns + 2 * S - due_ns, "lamp", False)
        else:
            operator.saw(on_ns + 2 * S, "lamp", False)
    assert presses == [(1, 1.0), (3, 1.0)]


def test_a_forgotten_move_is_made_up_for_after_the_lamp_is_on():
    """The second move of the run is made half a second too late."""
    operator = Operator(HandsSettings(late_moves=(2,), late_by_s=0.5), seed=1)
    operator.hear(0, Cue("A", wants=Wants.GO, hands=Move("card", 0, 5)))
    assert len(until_idle(operator)) == 3
    operator.hear(10 * S, Cue("B", wants=Wants.GO, hands=Move("card", 1, 5)))
    assert len(until_idle(operator)) == 2
    operator.saw(20 * S, "lamp", True)
    (late,) = until_idle(operator)
    assert late == Done(20 * S + S // 2, Move("card", 1, 5))


@given(st.integers(0, 10**6))
@settings(max_examples=50)
def test_bounce_ends_at_the_level_that_was_meant_within_a_few_milliseconds(seed):
    """Every edge is followed by an even number of others, over in 15 ms."""
    operator = Operator(HandsSettings(bounce=True), seed=seed)
    operator.hear(0, GO)
    edges = pedal(until_idle(operator))
    assert len(edges) > 2
    ups = [n for n, edge in enumerate(edges) if edge.at_ns - edges[0].at_ns > 100_000_000]
    presses, releases = edges[: ups[0]], edges[ups[0] :]
    for group, meant in ((presses, True), (releases, False)):
        assert [e.down for e in group] == [meant, not meant] * (len(group) // 2) + [meant]
        assert group[-1].at_ns - group[0].at_ns < 15_000_000
