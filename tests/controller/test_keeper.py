"""The keeper's core: its two promises, in every state, in virtual time."""

from __future__ import annotations

import random

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from controller.keeper import (
    MS,
    RETRY_NS,
    SILENCE_NS,
    AllSafe,
    Beat,
    Cause,
    Cut,
    Edge,
    Ended,
    Keeper,
    Message,
    OutputRule,
    Pulse,
    Put,
    Refused,
    Reply,
    Step,
    Watch,
    Write,
)

LONGEST_NS = 2_000 * MS
RULES = (
    OutputRule("lamp", safe_lit=False, lamp=True, longest_ns=LONGEST_NS),
    OutputRule("flash", safe_lit=False, lamp=True, longest_ns=LONGEST_NS),
    OutputRule("safelight", safe_lit=True),
    OutputRule("room", safe_lit=False),
)
LAMPS = ("lamp", "flash")
MINUTE_NS = 60_000 * MS


class Bench:
    """Drives a core as the process does, against outputs that may fail, on a clock of its own."""

    def __init__(self) -> None:
        self.core = Keeper(RULES)
        self.now_ns = 1_000 * MS
        self.real = self.core.lit  # what the lights really do
        self.edges: dict[str, list[int]] = {rule.name: [] for rule in RULES}  # real ones
        self.next_ns: int | None = None
        self.replies: list[Reply] = []
        self.failing: list[str] = []  # how the next writes fail: "before" or "after" it was done

    def tell(self, message: Message | None = None) -> None:
        self._do(self.core.step(self.now_ns, message))

    def _do(self, step: Step) -> None:
        writes = list(step.writes)
        self.next_ns = step.next_ns
        self.replies += step.replies
        while writes:
            write = writes.pop(0)
            failing = self.failing.pop() if self.failing else None
            if failing != "before" and self.real[write.output] is not write.lit:
                self.real[write.output] = write.lit
                self.edges[write.output].append(self.now_ns)
            done = self.core.wrote(self.now_ns, write, ok=failing is None)
            writes += done.writes
            self.replies += done.replies
            self.next_ns = done.next_ns

    def pass_time(self, duration_ns: int, late_ns: int = 0) -> None:
        """Let time pass, stepping the core whenever it asked for it, ``late_ns`` late."""
        until_ns = self.now_ns + duration_ns
        while self.next_ns is not None and max(self.now_ns, self.next_ns + late_ns) <= until_ns:
            self.now_ns = max(self.now_ns, self.next_ns + late_ns)
            self.tell()
            assert self.next_ns is None or self.next_ns > self.now_ns  # it is never stuck
        self.now_ns = until_ns


class KeeperMachine(RuleBasedStateMachine):
    """Anything may be said at any time, writes may fail, and the driver may come late."""

    @initialize()
    def begin(self) -> None:
        self.bench = Bench()
        self.beat_ns: int | None = None
        self.asked: dict[int, Pulse] = {}

    @rule(age_ms=st.integers(0, 400))
    def beat(self, age_ms: int) -> None:
        sent_ns = self.bench.now_ns - age_ms * MS
        self.beat_ns = max(sent_ns, self.beat_ns or sent_ns)
        self.bench.tell(Beat(sent_ns))

    @rule(
        output=st.sampled_from([*LAMPS, "safelight", "nothing"]),
        duration_ms=st.one_of(st.integers(1, 1_000), st.integers(-1, 3_000)),
        late_ms=st.integers(-100, 10),
    )
    def pulse(self, output: str, duration_ms: int, late_ms: int) -> None:
        bench = self.bench
        pulse = Pulse(len(self.asked) + 1, output, duration_ms * MS, bench.now_ns - late_ms * MS)
        self.asked[pulse.id] = pulse
        bench.tell(pulse)
        if late_ms > 0:
            assert any(isinstance(r, Refused) and r.id == pulse.id for r in bench.replies)

    @rule(back=st.integers(0, 2))
    def cut(self, back: int) -> None:
        self.bench.tell(Cut(len(self.asked) - back))

    @rule(output=st.sampled_from([*LAMPS, "safelight", "room", "nothing"]), lit=st.booleans())
    def put(self, output: str, lit: bool) -> None:
        self.bench.tell(Put(output, lit))

    @rule()
    def all_safe(self) -> None:
        self.bench.tell(AllSafe())
        assert not any(self.bench.core.lit[lamp] for lamp in LAMPS)

    @rule(how=st.lists(st.sampled_from(["before", "after"]), min_size=1, max_size=3))
    def writes_will_fail(self, how: list[str]) -> None:
        self.bench.failing = how

    @rule(duration_ms=st.integers(1, 600), late_ms=st.integers(0, 30))
    def time_passes(self, duration_ms: int, late_ms: int) -> None:
        self.bench.pass_time(duration_ms * MS, late_ms * MS)
        if self.bench.next_ns is not None and self.bench.next_ns <= self.bench.now_ns:
            self.bench.tell()  # however late the driver is, it does come

    @invariant()
    def no_lamp_burns_past_its_deadline_or_without_a_heartbeat(self) -> None:
        bench = self.bench
        lit = [lamp for lamp in LAMPS if bench.real[lamp]]
        for lamp in lit:
            if bench.core.lit[lamp] is None:  # it did not obey: it is told again, and soon
                assert bench.next_ns is not None
                assert bench.next_ns <= bench.now_ns + RETRY_NS
                continue
            longest_ns = max(p.duration_ns for p in self.asked.values() if p.output == lamp)
            assert bench.now_ns < bench.edges[lamp][-1] + longest_ns
            assert self.beat_ns is not None
            assert bench.now_ns < self.beat_ns + SILENCE_NS
            # and the core wants to be stepped before either promise could break
            assert bench.next_ns is not None
            assert bench.next_ns <= self.beat_ns + SILENCE_NS
            assert bench.next_ns <= bench.edges[lamp][-1] + longest_ns
        assert len([lamp for lamp in lit if bench.core.lit[lamp]]) <= 1

    @invariant()
    def what_is_known_is_true(self) -> None:
        known = {name: lit for name, lit in self.bench.core.lit.items() if lit is not None}
        assert known == {name: self.bench.real[name] for name in known}

    @invariant()
    def a_pulse_comes_out_once(self) -> None:
        outcomes = [r.id for r in self.bench.replies if isinstance(r, Ended | Refused)]
        assert len(outcomes) == len(set(outcomes))
        assert len(set(self.asked) - set(outcomes)) <= 1

    @invariant()
    def an_end_tells_when_the_lamp_was_on(self) -> None:
        for reply in self.bench.replies:
            if isinstance(reply, Ended):
                assert reply.on_ns <= reply.off_ns
                if reply.cause is Cause.DEADLINE:
                    assert reply.off_ns - reply.on_ns >= self.asked[reply.id].duration_ns


TestKeeperMachine = KeeperMachine.TestCase
TestKeeperMachine.settings = settings(max_examples=80, stateful_step_count=40, deadline=None)


def alive() -> Bench:
    bench = Bench()
    bench.tell(Beat(bench.now_ns))
    return bench


def ended(bench: Bench) -> Ended:
    (only,) = [reply for reply in bench.replies if isinstance(reply, Ended)]
    return only


def refused(bench: Bench) -> str:
    (only,) = [reply for reply in bench.replies if isinstance(reply, Refused)]
    return only.why


def test_a_pulse_is_as_long_as_asked() -> None:
    """With a driver that is never late, the edges are exactly the duration apart."""
    bench = alive()
    bench.tell(Pulse(1, "lamp", 200 * MS, bench.now_ns))
    bench.pass_time(1_000 * MS)
    assert ended(bench) == Ended(1, "lamp", 1_000 * MS, 1_200 * MS, Cause.DEADLINE)
    assert bench.edges["lamp"] == [1_000 * MS, 1_200 * MS]


def test_a_slow_write_does_not_lengthen_a_pulse() -> None:
    """The deadline counts from when lighting was begun, where confirming it took long."""
    core = Keeper(RULES)
    core.step(0, Beat(0))
    (light,) = core.step(0, Pulse(1, "lamp", 200 * MS, MS)).writes
    assert core.wrote(40 * MS, light, began_ns=0).next_ns == 200 * MS
    assert core.step(200 * MS - 1).writes == ()
    assert core.step(200 * MS).writes == (Write("lamp", False),)


def test_silence_ends_a_pulse() -> None:
    """The lamp goes off 250 ms after the last heartbeat was sent, not after it was read."""
    bench = Bench()
    bench.tell(Beat(bench.now_ns - 100 * MS))
    bench.tell(Pulse(1, "lamp", 1_000 * MS, bench.now_ns))
    bench.pass_time(2_000 * MS)
    assert ended(bench) == Ended(1, "lamp", 1_000 * MS, 1_150 * MS, Cause.SILENCE)


@pytest.mark.parametrize(
    ("pulse", "why"),
    [
        (Pulse(1, "safelight", MS, MINUTE_NS), "'safelight' is not a lamp of this rig"),
        (Pulse(1, "lamp", 0, MINUTE_NS), "a pulse must last longer than nothing"),
        (Pulse(1, "lamp", 3_000 * MS, MINUTE_NS), "3.0 s is longer than the lamp's limit of 2.0 s"),
        (Pulse(1, "lamp", MS, 990 * MS), "the command came 10 ms too late"),
    ],
)
def test_a_pulse_is_refused_in_a_sentence(pulse: Pulse, why: str) -> None:
    """What can't be done lights nothing and says why."""
    bench = alive()
    bench.tell(pulse)
    assert refused(bench) == why
    assert not bench.edges[pulse.output if pulse.output == "lamp" else "lamp"]


def test_no_heartbeat_no_light() -> None:
    """A keeper that never heard a heartbeat lights nothing."""
    bench = Bench()
    bench.tell(Pulse(1, "lamp", 10 * MS, MINUTE_NS))
    assert "heartbeat" in refused(bench)
    assert bench.edges["lamp"] == []


def test_a_failed_write_is_unknown_until_a_write_succeeds() -> None:
    """A lamp that does not obey is tried again every 10 ms, and its pulse ends as a fault."""
    bench = alive()
    bench.failing = ["before", "before", "after"]  # taken from the end
    bench.tell(Pulse(1, "lamp", 100 * MS, bench.now_ns))
    assert bench.core.lit["lamp"] is None
    assert bench.real["lamp"] is True
    bench.pass_time(50 * MS)
    assert bench.core.lit["lamp"] is False
    assert ended(bench) == Ended(1, "lamp", 1_000 * MS, 1_020 * MS, Cause.FAULT)
    states = [r.lit for r in bench.replies if isinstance(r, Edge)]
    assert states == [None, None, None, False]


def test_one_lamp_failing_does_not_end_another() -> None:
    """The retry of a lamp that did not obey says nothing of the pulse of another lamp."""
    bench = alive()
    bench.failing = ["before", "before"]
    bench.tell(Pulse(1, "flash", 100 * MS, bench.now_ns))
    bench.tell(Cut(1))
    bench.pass_time(20 * MS)
    bench.replies.clear()
    bench.tell(Pulse(2, "lamp", 100 * MS, bench.now_ns))
    done = bench.core.wrote(bench.now_ns, Write("flash", False))
    assert not any(isinstance(reply, Ended) for reply in done.replies)
    bench.pass_time(150 * MS)
    assert ended(bench).cause is Cause.DEADLINE


def test_a_light_that_is_no_lamp_can_be_put() -> None:
    """Safelights obey Put, and return to their safe state when all is made safe."""
    bench = Bench()
    bench.tell(Put("safelight", False))
    bench.tell(Put("room", True))
    assert (bench.real["safelight"], bench.real["room"]) == (False, True)
    bench.tell(AllSafe())
    assert (bench.real["safelight"], bench.real["room"]) == (True, False)


@pytest.mark.parametrize("seed", range(3))
def test_an_hour_of_heartbeats_loses_nothing(seed: int) -> None:
    """Pauses below the limit, on either side, never end a pulse: no false alarm in an hour.

    Whatever was sent while the keeper was held up is read before silence is judged.
    """
    chance = random.Random(seed)
    bench = alive()
    hour_ns = bench.now_ns + 3_600_000 * MS
    beats_ns = [bench.now_ns]
    while beats_ns[-1] < hour_ns + 1_000 * MS:
        held_up = chance.random() < 0.02
        beats_ns.append(beats_ns[-1] + int(MS * (chance.uniform(60, 249) if held_up else 50)))
    number = 0
    i = 1
    while bench.now_ns < hour_ns:
        if bench.core.lit["lamp"] is False:
            number += 1
            bench.tell(Pulse(number, "lamp", LONGEST_NS, bench.now_ns))
        # the keeper itself: woken by the next beat, now and then up to half a second later
        late_ns = int(MS * chance.uniform(0, 500)) if chance.random() < 0.01 else 0
        bench.now_ns = max(bench.now_ns, beats_ns[i] + late_ns)
        while i + 1 < len(beats_ns) and beats_ns[i + 1] <= bench.now_ns:
            i += 1
        bench.tell(Beat(beats_ns[i]))
        i += 1
    causes = {reply.cause for reply in bench.replies if isinstance(reply, Ended)}
    assert number > 1_500
    assert not [reply for reply in bench.replies if isinstance(reply, Refused)]
    assert causes == {Cause.DEADLINE}


def test_a_watch_that_heard_nothing_is_silent() -> None:
    """Before the first heartbeat there is silence."""
    assert Watch(100 * MS).silent(0)
    assert not Watch(100 * MS, 0).silent(99 * MS)
    assert Watch(100 * MS, 0).silent(100 * MS)


def test_a_watch_believes_no_future_and_no_past() -> None:
    """A time stamp from the future counts as now, and an old one takes nothing back."""
    watch = Watch(100 * MS)
    watch.heard(10 * MS, 500 * MS)
    assert watch.until_ns == 110 * MS
    watch.heard(20 * MS, 5 * MS)
    assert watch.until_ns == 110 * MS
