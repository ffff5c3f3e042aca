"""The fog budget: how much of its safe time each sheet has used. No I/O and no clock.

The caller says what happens and when (``step``) and gets a new budget and what is to be said.
Between two steps nothing changes, so that the used part is an exact integral of the rates.
Before and after the image are one total against one limit, the stricter way (Publication K-4).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import Enum

from controller.room.limits import Bound
from controller.room.model import Place, Room
from controller.room.results import predict

S_IN_NS = 1_000_000_000
NEAR, FULL = 0.8, 1.0  # of the safe time
_HAIR = 1e-9  # of it: a sum of floats that is due to be 0.8 may be this much less
STOCK = "strips"  # the mark of the piece that strips are cut from


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast a set of lights uses the budget at a place.

    ``per_s`` is one over the safe time of the lights that are known; ``unknown`` names the
    others. Not ``proved``: paper is over its limit at once, and ``per_s`` is the least that is
    known.
    """

    per_s: float
    unknown: tuple[str, ...] = ()
    proved: bool = True

    def __post_init__(self) -> None:
        if not 0.0 <= self.per_s < math.inf:
            raise ValueError(f"{self.per_s} per second is no rate")


RateOf = Callable[[frozenset[str], Place], Rate]


class Where(Enum):
    """Where a sheet is."""

    BOX = "in the box"
    EASEL = "at the easel"
    TRAYS = "at the trays"
    STOP = "in the stop bath"  # no light matters any more

    @property
    def place(self) -> Place | None:
        """Give the place where light reaches it, if it does."""
        return {Where.EASEL: Place.EASEL, Where.TRAYS: Place.TRAYS}.get(self)


@dataclass(frozen=True, slots=True)
class Account:
    """What one sheet has had: ``used`` of its safe time, 1 being all of it.

    ``unknown_ns`` is time under lights of which nothing is known: it is in no figure.
    ``unsafe``: it lay under lights in which no time is proved safe.
    """

    where: Where = Where.BOX
    used: float = 0.0
    unknown_ns: int = 0
    unsafe: bool = False
    said: tuple[float, ...] = ()  # which of the cues were given

    @property
    def near(self) -> bool:
        """Has it had so much that the book should say so?"""
        return self.unsafe or self.used >= NEAR - _HAIR

    @property
    def over(self) -> bool:
        """Has it had more than is safe?"""
        return self.unsafe or self.used >= FULL - _HAIR

    @property
    def certain(self) -> bool:
        """Were all lights that it lay under known?"""
        return self.unknown_ns == 0

    @property
    def words(self) -> str:
        """Tell it for bar and book: ``84 % of the safe time, and 12 s under unknown light``."""
        said = f"{math.floor(self.used * 100 + 1e-9)} % of the safe time"
        if self.unsafe:
            said += ", and under light in which no time is proved safe"
        if self.unknown_ns:
            said += f", and {self.unknown_ns / S_IN_NS:.0f} s under unknown light"
        return said


# --- what happens -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Lights:
    """These lights burn from now on; ``unsure`` may, and count as lit."""

    lit: frozenset[str]
    unsure: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Out:
    """A sheet comes out of the box, or is carried to another place.

    A mark whose sheet is in the stop bath is that of another, fresh sheet from now on.
    """

    mark: str
    at: Place = Place.EASEL


@dataclass(frozen=True, slots=True)
class InBox:
    """A sheet is back in the box; it keeps what it has had."""

    mark: str


@dataclass(frozen=True, slots=True)
class InStop:
    """A sheet is in the stop bath: its account is closed."""

    mark: str


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece is cut from a sheet or from the stock, and has had what that has had.

    Cut from a sheet into the stock, the stock has had the most of both.
    """

    source: str
    piece: str


@dataclass(frozen=True, slots=True)
class NewPaper:
    """The stock, or a mark that is used again, is fresh paper from now on, in the box."""

    mark: str = STOCK


Happening = Lights | Out | InBox | InStop | Cut | NewPaper


class Say(Enum):
    """What is to be said."""

    NEAR = "80 percent of the safe time"
    FULL = "the safe time is used up"
    UNSAFE = "in this light no time is proved safe"
    UNKNOWN = "this light was never tested"


@dataclass(frozen=True, slots=True)
class Cue:
    """Something to say, of which sheet or which light, and when it became true."""

    say: Say
    name: str
    at_ns: int


# --- the accounts -----------------------------------------------------------------------------


@dataclass(frozen=True)
class FogBudget:
    """The accounts of all sheets at one moment; ``step`` gives those of a later one.

    At first every light named in ``lit`` counts; give all lights of the room until their
    states are known.
    """

    rate_of: RateOf
    now_ns: int
    lit: frozenset[str]
    accounts: Mapping[str, Account] = field(default_factory=dict)
    told_unknown: frozenset[str] = frozenset()

    def step(
        self, now_ns: int, happening: Happening | None = None
    ) -> tuple[FogBudget, tuple[Cue, ...]]:
        """Count until now, then let something happen; None only counts.

        Cues come in the order in which they became true, each once for a sheet or a light.
        Raises ValueError where time runs backwards.
        """
        budget, cues = self._counted(now_ns)
        if happening is None:
            return budget, cues
        changed, more = budget._changed(happening)._said_now()
        return changed, (*cues, *more)

    def account(self, mark: str) -> Account:
        """Give a sheet's account; a mark never heard of is fresh paper in the box."""
        return self.accounts.get(mark, Account())

    @property
    def paper_out(self) -> tuple[str, ...]:
        """Name the sheets that light can reach."""
        return tuple(m for m, one in self.accounts.items() if one.where.place is not None)

    def next_cue_ns(self) -> int | None:
        """Tell when the next cue is due if nothing happens; None for never."""
        due = [
            self._crossing_ns(one, mark)
            for one in self.accounts.values()
            for mark in (NEAR, FULL)
            if mark not in one.said
        ]
        return min((each for each in due if each is not None), default=None)

    def rate(self, at: Place) -> Rate:
        """Give the rate at a place under the lights that count as lit now."""
        return self.rate_of(self.lit, at) if self.lit else Rate(0.0)

    def left_s(self, mark: str) -> float:
        """Give the seconds that a sheet has left under these lights; infinite in the dark."""
        one = self.account(mark)
        place = one.where.place
        rate = self.rate(place) if place else Rate(0.0)
        if one.over or not rate.proved:
            return 0.0
        return (FULL - one.used) / rate.per_s if rate.per_s else math.inf

    # -- inside ------------------------------------------------------------------------------

    def _counted(self, now_ns: int) -> tuple[FogBudget, tuple[Cue, ...]]:
        if now_ns < self.now_ns:
            raise ValueError(f"{now_ns} ns is before {self.now_ns} ns")
        spent_ns = now_ns - self.now_ns
        if not spent_ns:
            return self, ()
        accounts, cues = dict(self.accounts), []
        for mark, one in self.accounts.items():
            place = one.where.place
            if place is None:
                continue
            rate = self.rate(place)
            counted = replace(
                one,
                used=one.used + rate.per_s * (spent_ns / S_IN_NS),
                unknown_ns=one.unknown_ns + (spent_ns if rate.unknown else 0),
                unsafe=one.unsafe or not rate.proved,
            )
            for bar, say in _BARS:
                if bar not in counted.said and counted.used >= bar - _HAIR:
                    due_ns = self._crossing_ns(one, bar)
                    at_ns = now_ns if due_ns is None else min(due_ns, now_ns)
                    cues.append(Cue(say, mark, at_ns))
                    counted = replace(counted, said=(*counted.said, bar))
            accounts[mark] = counted
        cues.sort(key=lambda cue: cue.at_ns)
        return replace(self, now_ns=now_ns, accounts=accounts), tuple(cues)

    def _crossing_ns(self, one: Account, bar: float) -> int | None:
        place = one.where.place
        per_s = self.rate(place).per_s if place else 0.0
        if one.used >= bar - _HAIR:
            return self.now_ns
        if not per_s:
            return None
        return self.now_ns + math.ceil((bar - one.used) / per_s * S_IN_NS)

    def _changed(self, happening: Happening) -> FogBudget:
        match happening:
            case Lights(lit, unsure):
                return replace(self, lit=lit | unsure)
            case Out(mark, at):
                return self._put(mark, Where.EASEL if at is Place.EASEL else Where.TRAYS)
            case InBox(mark):
                return self._put(mark, Where.BOX)
            case InStop(mark):
                return self._put(mark, Where.STOP)
            case NewPaper(mark):
                return replace(self, accounts={**self.accounts, mark: Account()})
            case Cut(source, piece):
                had = self.account(source)
                old = self.accounts.get(piece)
                if old is not None and old.where is not Where.STOP:
                    had = _worse(had, old)
                return replace(self, accounts={**self.accounts, piece: had})

    def _put(self, mark: str, where: Where) -> FogBudget:
        one = self.account(mark)
        if one.where is Where.STOP:
            if where is not Where.EASEL and where is not Where.TRAYS:
                return self
            one = Account()  # developed paper does not come back: another sheet has this mark
        return replace(self, accounts={**self.accounts, mark: replace(one, where=where)})

    def _said_now(self) -> tuple[FogBudget, tuple[Cue, ...]]:
        """Say what is true at once: unknown and unsafe light, and a piece that is used up."""
        accounts, cues, told = dict(self.accounts), [], set(self.told_unknown)
        for mark, one in self.accounts.items():
            place = one.where.place
            if place is None:
                continue
            rate = self.rate(place)
            for name in rate.unknown:
                if name not in told:
                    told.add(name)
                    cues.append(Cue(Say.UNKNOWN, name, self.now_ns))
            if not rate.proved and not one.unsafe:
                cues.append(Cue(Say.UNSAFE, mark, self.now_ns))
                # nothing more is to be said of paper that is over its limit
                accounts[mark] = replace(one, unsafe=True, said=(NEAR, FULL))
        return replace(self, accounts=accounts, told_unknown=frozenset(told)), tuple(cues)


def rates_of(room: Room, *, today: date, paper: str = "") -> RateOf:
    """Give the rates of a room's lights on a paper (the room's own if empty).

    ``1 / safe time`` by the room's rule, of the set as it burns. Names that the room does not
    have are unknown lights.
    """
    seen: dict[tuple[frozenset[str], Place], Rate] = {}

    def rate(lit: frozenset[str], at: Place) -> Rate:
        if (lit, at) not in seen:
            seen[lit, at] = _rate(room, lit, at, today, paper)
        return seen[lit, at]

    return rate


_BARS = ((NEAR, Say.NEAR), (FULL, Say.FULL))


def _rate(room: Room, lit: frozenset[str], at: Place, today: date, paper: str) -> Rate:
    strangers = tuple(sorted(name for name in lit if room.light(name) is None))
    found = predict(room, lit - set(strangers), at=at, today=today, paper=paper)
    unknown = tuple(sorted((*found.unknown, *strangers)))
    if found.safe is None:
        return Rate(0.0, unknown)
    if found.safe.bound is Bound.LESS_THAN:
        # an unbounded figure cannot be unsafe: the first step that changed gives a least rate
        return Rate(1 / found.safe.high_s, unknown, proved=False)
    return Rate(1 / found.safe.value_s, unknown)


def _worse(one: Account, other: Account) -> Account:
    return replace(
        other,
        used=max(one.used, other.used),
        unknown_ns=max(one.unknown_ns, other.unknown_ns),
        unsafe=one.unsafe or other.unsafe,
    )
