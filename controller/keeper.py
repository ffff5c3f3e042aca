"""The keeper: alone holds the relays and keeps time. Sans-I/O; a leaf.

Like the keeper of a lighthouse it knows nothing of ships: it takes pulses, cuts, lights and
heartbeats, and answers with measured edges. Two promises hold in every state:

* the lamp is never on later than its deadline;
* the lamp is never on without a living heartbeat from whoever asked for it.

``Keeper.step`` decides what to write; whoever drives it performs each write and tells
``Keeper.wrote`` when it had really happened. The same core runs in a process of its own on the
monotonic clock and in virtual time.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import TypeAlias

import msgspec

MS = 1_000_000
SILENCE_NS = 250 * MS
RETRY_NS = 10 * MS


# --- what the keeper is told ----------------------------------------------------------------


class Beat(msgspec.Struct, frozen=True, tag="beat"):
    """A heartbeat; ``sent_ns`` counts, not the moment it was read."""

    sent_ns: int


class Pulse(msgspec.Struct, frozen=True, tag="pulse"):
    """Light a lamp for ``duration_ns``. Read after ``not_after_ns`` it is refused, not late."""

    id: int
    output: str
    duration_ns: int
    not_after_ns: int


class Cut(msgspec.Struct, frozen=True, tag="cut"):
    """End this pulse now (a pause, or an end)."""

    id: int


class Put(msgspec.Struct, frozen=True, tag="put"):
    """Switch a light that is not a lamp (a safelight, the room light)."""

    output: str
    lit: bool


class AllSafe(msgspec.Struct, frozen=True, tag="safe"):
    """Bring every output to its safe state."""


Message: TypeAlias = Beat | Pulse | Cut | Put | AllSafe


# --- what the keeper answers ----------------------------------------------------------------


class Cause(Enum):
    """Why a pulse ended."""

    DEADLINE = "deadline"  # it was full
    CUT = "cut"
    SILENCE = "silence"  # no heartbeat from whoever asked for it
    SAFE = "safe"  # everything was asked to be safe
    FAULT = "fault"  # the output did not obey
    INTEGRAL = "integral"  # a sensor had seen the light that was wanted (who asked knows it)
    LOST = "lost"  # the keeper itself was lost and the lines were taken over


class Edge(msgspec.Struct, frozen=True, tag="edge"):
    """An output as it really is since ``at_ns``; ``lit`` None: unknown."""

    output: str
    lit: bool | None
    at_ns: int


class Ended(msgspec.Struct, frozen=True, tag="ended"):
    """A pulse that has ended, with its measured edges."""

    id: int
    output: str
    on_ns: int
    off_ns: int
    cause: Cause


class Refused(msgspec.Struct, frozen=True, tag="refused"):
    """A pulse that was not begun; ``why`` is a sentence."""

    id: int
    why: str


class Alive(msgspec.Struct, frozen=True, tag="alive"):
    """The keeper's own heartbeat."""

    sent_ns: int


Reply: TypeAlias = Edge | Ended | Refused | Alive


class OutputRule(msgspec.Struct, frozen=True):
    """What the keeper must know of an output: a lamp is bounded in time, a light is not."""

    name: str
    safe_lit: bool
    lamp: bool = False
    longest_ns: int = 0  # of one pulse; lamps only


class Write(msgspec.Struct, frozen=True):
    """Switch ``output`` now.

    ``most_ns``: how long it is to stay so at most, where that is known. A board with a clock of
    its own sees to it too.
    """

    output: str
    lit: bool
    most_ns: int | None = None


class Step(msgspec.Struct, frozen=True):
    """What a step of the keeper asks for; ``next_ns``: when it must be stepped again."""

    writes: tuple[Write, ...] = ()
    replies: tuple[Reply, ...] = ()
    next_ns: int | None = None


class Watch:
    """Listens for heartbeats: silent when the last was *sent* longer ago than ``limit_ns``.

    Both ends use it. Read everything that is waiting before asking ``silent``: a reader that
    was itself held up must not blame the sender.
    """

    def __init__(self, limit_ns: int, start_ns: int | None = None) -> None:
        self.limit_ns = limit_ns
        self.last_ns = start_ns

    def heard(self, now_ns: int, sent_ns: int) -> None:
        """Take a heartbeat; a time stamp from the future counts as now."""
        sent_ns = min(sent_ns, now_ns)
        if self.last_ns is None or sent_ns > self.last_ns:
            self.last_ns = sent_ns

    @property
    def until_ns(self) -> int | None:
        """When silence begins; None before the first beat."""
        return None if self.last_ns is None else self.last_ns + self.limit_ns

    def silent(self, now_ns: int) -> bool:
        """Is there silence at this time?"""
        return self.until_ns is None or now_ns >= self.until_ns


class _Burning:
    """The one pulse in hand."""

    def __init__(self, pulse: Pulse, now_ns: int) -> None:
        self.pulse = pulse
        self.on_ns: int | None = None
        self.due_ns = now_ns + pulse.duration_ns
        self.ending: Cause | None = None


class Keeper:
    """The state machine. One pulse at a time; any number of other lights."""

    def __init__(self, rules: Iterable[OutputRule], *, silence_ns: int = SILENCE_NS) -> None:
        self._rules = {rule.name: rule for rule in rules}
        self._watch = Watch(silence_ns)
        self._lit: dict[str, bool | None] = {n: r.safe_lit for n, r in self._rules.items()}
        self._burning: _Burning | None = None
        self._retry_ns: dict[str, int] = {}  # outputs that did not obey, and when to try again

    @property
    def lit(self) -> dict[str, bool | None]:
        """Every output as it is known to be; None: unknown."""
        return dict(self._lit)

    def step(self, now_ns: int, message: Message | None = None) -> Step:
        """Take the time, and perhaps a message, and say what is to be written and answered."""
        writes: list[Write] = []
        replies: list[Reply] = []
        if isinstance(message, Beat):
            self._watch.heard(now_ns, message.sent_ns)
        self._expire(now_ns, writes)
        match message:
            case Pulse():
                self._pulse(now_ns, message, writes, replies)
            case Cut():
                if self._burning and self._burning.pulse.id == message.id:
                    self._end(Cause.CUT, writes)
            case Put():
                rule = self._rules.get(message.output)
                # a lamp is never lit without an end: only Pulse may do that
                if rule and not rule.lamp and self._lit[rule.name] is not message.lit:
                    writes.append(Write(rule.name, message.lit))
            case AllSafe():
                if self._burning:
                    self._end(Cause.SAFE, writes)
                for rule in self._rules.values():
                    if self._lit[rule.name] is not rule.safe_lit and not rule.lamp:
                        writes.append(Write(rule.name, rule.safe_lit))
        return Step(tuple(writes), tuple(replies), self._next_ns())

    def wrote(
        self, now_ns: int, write: Write, *, ok: bool = True, began_ns: int | None = None
    ) -> Step:
        """Take note of what a write really did, and when it was done.

        ``began_ns`` is when it was begun, where that is long before. A board that takes 40 ms to
        confirm switches as long before that at both edges of a pulse, so the deadline counts from
        the begin: else every pulse would be too long by the time of one write.
        """
        rule = self._rules[write.output]
        burning = self._burning
        if burning and burning.pulse.output != rule.name:
            burning = None
        writes: list[Write] = []
        replies: list[Reply] = []
        if not ok:
            self._lit[rule.name] = None
            self._retry_ns[rule.name] = now_ns + RETRY_NS
            replies.append(Edge(rule.name, None, now_ns))
            if burning and burning.ending is None:
                burning.on_ns = burning.on_ns or now_ns  # it may be lit: say the worst
                self._end(Cause.FAULT, writes)
            return Step(tuple(writes), tuple(replies), self._next_ns())
        self._retry_ns.pop(rule.name, None)
        self._lit[rule.name] = write.lit
        replies.append(Edge(rule.name, write.lit, now_ns))
        if burning and write.lit:
            burning.on_ns = now_ns
            burning.due_ns = (now_ns if began_ns is None else began_ns) + burning.pulse.duration_ns
        elif burning and burning.ending:
            on_ns = burning.on_ns if burning.on_ns is not None else now_ns
            replies.append(Ended(burning.pulse.id, rule.name, on_ns, now_ns, burning.ending))
            self._burning = None
        return Step(tuple(writes), tuple(replies), self._next_ns())

    def doubted(self, now_ns: int, name: str) -> Step:
        """Take note that an output may no longer be as it was written: it is brought to safety."""
        rule = self._rules[name]
        return self.wrote(now_ns, Write(name, rule.safe_lit), ok=False)

    # -- inside ------------------------------------------------------------------------------

    def _pulse(self, now_ns: int, pulse: Pulse, writes: list[Write], replies: list[Reply]) -> None:
        rule = self._rules.get(pulse.output)
        if rule is None or not rule.lamp:
            why = f"{pulse.output!r} is not a lamp of this rig"
        elif self._burning:
            why = "the lamp is already lit"
        elif pulse.duration_ns <= 0:
            why = "a pulse must last longer than nothing"
        elif pulse.duration_ns > rule.longest_ns:
            why = (
                f"{pulse.duration_ns / 1e9:.1f} s is longer than the lamp's limit of "
                f"{rule.longest_ns / 1e9:.1f} s"
            )
        elif now_ns > pulse.not_after_ns:
            why = f"the command came {(now_ns - pulse.not_after_ns) / 1e6:.0f} ms too late"
        elif self._watch.silent(now_ns):
            why = "there is no living heartbeat from whoever asks"
        elif self._lit[rule.name] is None:
            why = f"the state of {rule.name!r} is unknown"
        else:
            self._burning = _Burning(pulse, now_ns)
            writes.append(Write(rule.name, True, pulse.duration_ns))
            return
        replies.append(Refused(pulse.id, why))

    def _expire(self, now_ns: int, writes: list[Write]) -> None:
        if self._burning and self._burning.ending is None:
            if now_ns >= self._burning.due_ns:
                self._end(Cause.DEADLINE, writes)
            elif self._watch.silent(now_ns):
                self._end(Cause.SILENCE, writes)
        for name, at_ns in self._retry_ns.items():
            if now_ns >= at_ns:
                self._retry_ns[name] = now_ns + RETRY_NS
                writes.append(Write(name, self._rules[name].safe_lit))

    def _end(self, cause: Cause, writes: list[Write]) -> None:
        assert self._burning is not None
        if self._burning.ending is None:
            self._burning.ending = cause
            writes.append(Write(self._burning.pulse.output, False))

    def _next_ns(self) -> int | None:
        times = list(self._retry_ns.values())
        if self._burning and self._burning.ending is None:
            times.append(self._burning.due_ns)
            if self._watch.until_ns is not None:
                times.append(self._watch.until_ns)
        return min(times, default=None)
