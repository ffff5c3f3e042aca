from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from sim.relay import Ideal, Mechanical, Relay, ZeroCrossing, relay_of
from sim.settings import SimulatorSettings

MS = 1_000_000


def changes(relay: Relay, until_ns: int) -> list[tuple[int, bool]]:
    found = []
    while (change := relay.next_change(until_ns)) is not None:
        found.append(change)
    return found


def test_an_ideal_relay_follows_at_once():
    """No delay at all."""
    relay = Relay(Ideal())
    relay.command(5, True)
    assert changes(relay, 5) == [(5, True)]


def test_a_mechanical_relay_has_operate_and_release_times():
    """8 ms to close, 5 ms to open."""
    relay = Relay(Mechanical(0.008, 0.005, 0.0, random.Random(1)))
    relay.command(0, True)
    relay.command(100 * MS, False)
    assert changes(relay, 8 * MS - 1) == []
    assert changes(relay, 200 * MS) == [(8 * MS, True), (105 * MS, False)]


def test_a_command_shorter_than_the_relay_never_closes_it():
    """Released after 1 ms the coil lets go before the contact has closed."""
    relay = Relay(Mechanical(0.008, 0.005, 0.0, random.Random(1)))
    relay.command(0, True)
    relay.command(1 * MS, False)
    assert [closed for _, closed in changes(relay, 1000 * MS)] == [False]


def test_scatter_is_repeatable_by_its_seed_and_has_its_size():
    """The same seed gives the same times; their spread is the one asked for."""
    settings = SimulatorSettings(relay_scatter_s=0.001)

    def times(seed: int) -> list[int]:
        relay = relay_of(settings, random.Random(seed), 0)
        taken = []
        for n in range(400):
            relay.command(n * 100 * MS, True)
            taken += [at_ns - n * 100 * MS for at_ns, _ in changes(relay, (n + 1) * 100 * MS)]
        return taken

    first = times(1)
    assert first == times(1)
    assert first != times(2)
    mean = sum(first) / len(first)
    spread = (sum((t - mean) ** 2 for t in first) / len(first)) ** 0.5
    assert abs(mean - 8 * MS) < 0.2 * MS
    assert 0.9 * MS < spread < 1.1 * MS


@given(
    st.integers(10**9, 10**15),
    st.integers(1, 10**11),
    st.sampled_from([50.0, 60.0]),
    st.integers(0, 8 * MS),
)
def test_a_zero_crossing_relay_conducts_for_whole_half_cycles(on_ns, for_ns, hz, phase_ns):
    """Whole half cycles, within one of what was asked (trade-facts section 8, class V)."""
    half_ns = 0.5e9 / hz
    delay = ZeroCrossing(hz, phase_ns)
    on, off = delay.follows_ns(on_ns, True), delay.follows_ns(on_ns + for_ns, False)
    halves = (off - on) / half_ns
    assert abs(halves - round(halves)) < 1e-6
    assert -1 <= on - on_ns <= half_ns + 1
    assert abs((off - on) - for_ns) <= half_ns + 2
