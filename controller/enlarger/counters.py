"""How long each lamp has burnt and how often each relay has worked, as the unit has seen it.

Counted from the outputs' real edges, so that focusing, safelights and abandoned exposures count
too, which no book of sheets holds. Bulbs and relays are counted apart, since they are changed
apart. One operation of a relay is on and off again, as data sheets count them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum

import msgspec

from controller.keeper import Edge

SOON = 0.9  # from this part of a life on one is told of it


class Part(Enum):
    """What wears out, and is changed by itself."""

    BULB = "bulb"
    RELAY = "relay"


class Count(msgspec.Struct, frozen=True):
    """What an output has done since its bulb, or its relay, was changed; ``since``: dates."""

    on_s: float = 0.0
    longest_s: float = 0.0  # the longest on-time without a break
    operations: int = 0
    bulb_since: str = ""
    relay_since: str = ""

    def plus(self, more: Count) -> Count:
        """Add what was done in the meantime."""
        return Count(
            self.on_s + more.on_s,
            max(self.longest_s, more.longest_s),
            self.operations + more.operations,
            self.bulb_since,
            self.relay_since,
        )

    def changed(self, parts: Iterable[Part], day: str) -> Count:
        """Begin anew for what was changed on this day."""
        count = self
        for part in parts:
            if part is Part.BULB:
                count = msgspec.structs.replace(count, on_s=0.0, longest_s=0.0, bulb_since=day)
            else:
                count = msgspec.structs.replace(count, operations=0, relay_since=day)
        return count


class Life(msgspec.Struct, frozen=True):
    """What the data sheets of bulb and relay promise; None: not known."""

    hours: float | None = None
    operations: int | None = None


class Tally:
    """Counts what the outputs do, from edge to edge, until somebody takes it to a file."""

    def __init__(self, now_ns: int, lit: Mapping[str, bool | None]) -> None:
        self._lit_ns = {name: now_ns for name, is_lit in lit.items() if is_lit}  # since when
        self._counted_ns = dict(self._lit_ns)  # and until when that is counted
        self._new: dict[str, Count] = {}

    def edge(self, edge: Edge) -> bool:
        """Take an edge; is there something new that is worth writing down?"""
        name = edge.output
        if edge.lit:
            if name not in self._lit_ns:
                self._lit_ns[name] = self._counted_ns[name] = edge.at_ns
                self._add(name, Count(operations=1))
            return False
        if name not in self._lit_ns:
            return False
        self._burnt(name, edge.at_ns)
        del self._lit_ns[name], self._counted_ns[name]
        return True

    def take(self, now_ns: int) -> dict[str, Count]:
        """Give what was done since the last call, that of lights that still burn included."""
        for name in self._lit_ns:
            self._burnt(name, now_ns)
        new, self._new = self._new, {}
        return new

    def _burnt(self, name: str, until_ns: int) -> None:
        on_s = max(0, until_ns - self._counted_ns[name]) / 1e9
        longest_s = max(0, until_ns - self._lit_ns[name]) / 1e9
        self._counted_ns[name] = until_ns
        self._add(name, Count(on_s, longest_s))

    def _add(self, name: str, count: Count) -> None:
        self._new[name] = self._new.get(name, Count()).plus(count)


def together(first: Mapping[str, Count], second: Mapping[str, Count]) -> dict[str, Count]:
    """Add up, output by output."""
    names = [*first, *(name for name in second if name not in first)]
    return {name: first.get(name, Count()).plus(second.get(name, Count())) for name in names}


def reminders(counts: Mapping[str, Count], lives: Mapping[str, Life]) -> list[str]:
    """Give a sentence for each bulb and relay whose life is nearly, or quite, over."""
    told = []
    for name, life in lives.items():
        count = counts.get(name, Count())
        hours = count.on_s / 3600
        if life.hours and hours >= SOON * life.hours:
            worn = f"{name}: its bulb has burnt {hours:.1f} of {life.hours:g} h"
            told.append(_advice(worn, name, Part.BULB, over=hours >= life.hours))
        if life.operations and count.operations >= SOON * life.operations:
            worn = f"{name}: its relay has worked {count.operations:,} of {life.operations:,} times"
            told.append(_advice(worn, name, Part.RELAY, over=count.operations >= life.operations))
    return told


def _advice(worn: str, name: str, part: Part, *, over: bool) -> str:
    if over:
        return f"{worn}; change it, then `dryside rig counters reset {name} --{part.value}`"
    return f"{worn}; have a new one ready"
