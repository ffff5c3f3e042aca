"""How many sheets are in a tray at once, and when that is more than it holds. Sans-I/O."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

TOO_FULL = "will be too full"  # as it is told


class Stay(msgspec.Struct, frozen=True):
    """A sheet lies in a tray from ``in_ns`` until it is lifted at ``out_ns``.

    ``holds`` is how many sheets the tray holds at once, as far as this one's process says.
    """

    mark: str
    tray: str
    holds: int | None
    in_ns: int
    out_ns: int

    def at(self, ns: int) -> bool:
        """Is it in there at that time?"""
        return self.in_ns <= ns < self.out_ns

    def later(self, by_ns: int) -> Stay:
        """Give the same, later."""
        return Stay(self.mark, self.tray, self.holds, self.in_ns + by_ns, self.out_ns + by_ns)


class OverFull(msgspec.Struct, frozen=True):
    """With this sheet there are ``count`` in a tray that ``holds`` fewer."""

    at_ns: int
    mark: str
    tray: str
    count: int
    holds: int

    @property
    def words(self) -> str:
        """Say it."""
        return f"{self.tray} {TOO_FULL}: {self.mark} makes {self.count}, it holds {self.holds}"


def over_full(stays: Iterable[Stay]) -> list[OverFull]:
    """Give each sheet that comes into a tray that is full by then, the first one first.

    Processes may differ in what they say of a tray; the least of those that are in it counts.
    """
    known = sorted(stays, key=lambda stay: stay.in_ns)
    found = (_with(stay, [e for e in known if e is not stay]) for stay in known)
    return [each for each in found if each is not None]


def has_room(mine: Sequence[Stay], theirs: Iterable[Stay]) -> bool:
    """Do these stays fit beside the others', from their first moment to their last?"""
    beside = list(theirs)
    for stay in mine:
        others = [e for e in beside if e.tray == stay.tray and e.mark != stay.mark]
        met = [e for e in others if e.in_ns < stay.out_ns and stay.in_ns < e.out_ns]
        # it is fullest at a moment at which one comes in
        if any(_with(each, [stay, *(e for e in met if e is not each)]) for each in met):
            return False
        if _with(stay, met) is not None:
            return False
    return True


def _with(stay: Stay, others: Iterable[Stay]) -> OverFull | None:
    inside = [e for e in others if e.tray == stay.tray and e.at(stay.in_ns)]
    said = [e.holds for e in (stay, *inside) if e.holds is not None]
    count = len(inside) + 1
    if not said or count <= min(said):
        return None
    return OverFull(stay.in_ns, stay.mark, stay.tray, count, min(said))
