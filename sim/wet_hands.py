"""The imagined printer at the trays: moves sheets as the ear is told, and sees where they lie.

It knows nothing of any clock or process: it goes by the words alone ("K1 in, fixer"), may be slow,
and then taps the wet pedal when the move is done. What lay where, and how long, is seen here and
owes nothing to what the unit wrote down.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import NamedTuple

WORKS = "developer", "stop", "fix"  # what is in the name of a tray that works on a sheet
REACTION_S = (2.0, 6.0)  # how late a move is that is late; invented


@dataclass
class Visit:
    """A sheet lies in a tray, or over it draining; ``out_ns`` is None as long as it does."""

    mark: str
    tray: str
    in_ns: int
    out_ns: int | None = None

    @property
    def seconds(self) -> float:
        """How long it lay there; 0 while it still does."""
        return 0.0 if self.out_ns is None else (self.out_ns - self.in_ns) / 1e9


class Told(NamedTuple):
    """A move that was told and is not done yet."""

    at_ns: int  # when it will be done
    mark: str
    tray: str  # empty: it is lifted, to drain
    taps: bool


class TrayHands:
    """One pair of hands. ``late`` is the part of the moves that is done some seconds late."""

    def __init__(self, *, late: float = 0.0, seed: int = 1) -> None:
        self._late = late
        self._chance = random.Random(f"{seed} trays")
        self._coming: list[Told] = []
        self.visits: list[Visit] = []
        self._thrown: set[str] = set()

    def hear(self, now_ns: int, text: str) -> None:
        """Hear what is said; a call is taken up, all else is not the hands' business."""
        mark, _, what = text.partition(" ")
        if what.endswith(" apart"):
            return  # a warning of two moves that will come together: no call yet
        if what == "lift":
            tray = ""
        elif what.startswith("in, "):
            tray = what.removeprefix("in, ")
        else:
            return
        is_late = self._late > 0.0 and self._chance.random() < self._late
        at_ns = now_ns + (round(self._chance.uniform(*REACTION_S) * 1e9) if is_late else 0)
        # one pair of hands: what was told before is done before
        at_ns = max([at_ns, *(told.at_ns for told in self._coming)])
        # a tap is taken for what was called last, so who hears another call taps no more
        self._coming = [told._replace(taps=False) for told in self._coming]
        self._coming.append(Told(at_ns, mark, tray, at_ns > now_ns))
        if at_ns == now_ns:
            self.act(now_ns)

    def next_ns(self) -> int | None:
        """When is the next move done?"""
        return self._coming[0].at_ns if self._coming else None

    def act(self, now_ns: int) -> bool:
        """Do what is due by now; tells whether the wet pedal is tapped."""
        is_tapped = False
        while self._coming and self._coming[0].at_ns <= now_ns:
            told = self._coming.pop(0)
            is_tapped = is_tapped or told.taps
            if told.tray:
                self.take_out(told.mark, told.at_ns)
                self.visits.append(Visit(told.mark, told.tray, told.at_ns))
        return is_tapped

    def take_out(self, mark: str, now_ns: int) -> None:
        """A sheet leaves the tray in which it lies, if any."""
        for visit in self.visits:
            if visit.mark == mark and visit.out_ns is None:
                visit.out_ns = now_ns

    def throw_away(self, mark: str, now_ns: int) -> None:
        """A sheet goes into the bin, dry or wet."""
        self._thrown.add(mark)
        self._coming = [told for told in self._coming if told.mark != mark]
        self.take_out(mark, now_ns)

    def is_known(self, mark: str) -> bool:
        """Was it moved, or thrown away, so that its way through the trays is known?"""
        return mark in self._thrown or self.was_in(mark)

    def seconds(self, mark: str, of: str) -> float:
        """How long a sheet lay in the trays of that name, such as "fix", until now."""
        return sum(v.seconds for v in self.visits if v.mark == mark and of in v.tray)

    def is_under_way(self, mark: str) -> bool:
        """Does it still lie in a tray that works on it?"""
        return any(
            v.mark == mark and v.out_ns is None and any(of in v.tray for of in WORKS)
            for v in self.visits
        )

    def was_in(self, mark: str, of: str = "") -> bool:
        """Did it come into a tray of that name (or any)?"""
        return any(v.mark == mark and of in v.tray for v in self.visits)
