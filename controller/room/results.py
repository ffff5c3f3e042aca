"""What is known of the lights of a room for one paper at one place, and what follows for a set.

Of several tests of one light the newest fog test counts. What was typed in, a quick check or a
whole-cycle test can shorten it if it is newer, and never lengthens it. A lamp that came nearer
since its test shortens it too, by the inverse square; one that went away gains nothing before a
new test.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import Enum

from controller.room.ageing import Old, same_paper, why_old
from controller.room.limits import Bound, SafeTime, recalculated, smaller
from controller.room.model import Place, Result, ResultKind, Room
from controller.room.names import brighter, resolve
from controller.room.sums import Contradiction, allowed, contradiction, together

Names = frozenset[str]
PROPER = (ResultKind.FOG, ResultKind.WHICH)


@dataclass(frozen=True, slots=True)
class Known:
    """The safe time of one light or one set, the tests it stands on, and why they are old."""

    names: Names
    safe: SafeTime
    tests: tuple[Result, ...]
    old: tuple[Old, ...] = ()


class How(Enum):
    """How the safe time of a set was come by."""

    DARK = "no light"
    TESTED = "tested as a set"
    SUM = "sum of single lights"
    COVERED = "from tests in which more light burned"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Prediction:
    """The safe time of a set of lights.

    ``safe`` is None where no light burns, and where nothing is known. ``unknown`` names lights
    without any result: with them ``safe`` is what is known of the others, and the truth is
    shorter. ``against`` tells that sum and test contradict each other.
    """

    names: Names
    how: How
    safe: SafeTime | None
    unknown: tuple[str, ...] = ()
    against: Contradiction | None = None
    old: tuple[Old, ...] = ()

    @property
    def whole(self) -> bool:
        """Is something known of every light?"""
        return not self.unknown

    @property
    def lines(self) -> tuple[str, ...]:
        """Tell it."""
        names = ", ".join(sorted(self.names)) or "no light"
        head = f"{names}: no fog" if self.how is How.DARK else f"{names}: not known"
        if self.safe is not None:
            head = f"{names}: {self.safe.line}, {self.how.value}"
        found = [head]
        if self.unknown and self.safe is not None:
            found.append(f"and less than that, since {_of(self.unknown)} never tested")
        found += self.against.lines if self.against else ()
        found += [f"old: {one.words}" for one in self.old]
        return tuple(found)


def known(room: Room, *, at: Place, today: date, paper: str = "") -> dict[Names, Known]:
    """Give what is known at a place, by set of lights, for a paper (the room's own if empty).

    Tests on another paper tell nothing of this one. Where no paper is named at all, the worst
    of the papers that were tested counts.
    """
    wanted = paper or room.paper
    sets: dict[Names, dict[str, list[Result]]] = {}
    for test in room.tests:
        if test.at is at and (not wanted or same_paper(test.paper, wanted)):
            key = " ".join(test.paper.split()).casefold()
            sets.setdefault(test.names, {}).setdefault(key, []).append(test)
    found = {}
    for names, papers in sets.items():
        each = [_newest(tests, room) for tests in papers.values()]
        settled = [one for one in each if one is not None]
        if settled:
            tests = tuple(test for _, used in settled for test in used)
            old = [o for t in tests for o in why_old(t, room, today=today, paper=wanted)]
            safe = smaller([one for one, _ in settled])
            found[names] = Known(names, safe, tests, tuple(dict.fromkeys(old)))
    return found


def predict(
    room: Room, given: Iterable[str], *, at: Place, today: date, paper: str = ""
) -> Prediction:
    """Give the safe time of a set of lights at a place. Raises BadInput for an unknown name.

    The set as tested, and never longer than the sum of its lights. A light without a test of
    its own is covered by a test of a set in which it burned, or by a brighter level of the
    same screen; both are "at least".
    """
    names = resolve(room, given)
    if not names:
        return Prediction(names, How.DARK, None)
    results = known(room, at=at, today=today, paper=paper)
    single = {name: results[frozenset((name,))] for name in names if frozenset((name,)) in results}
    whole = results.get(names)
    if whole and len(names) > 1:
        return _tested(names, whole, single)
    parts, unknown, how = _cover(room, names, single, results)
    old = tuple(dict.fromkeys(one for part in parts for one in part.old))
    if not parts:
        return Prediction(names, How.UNKNOWN, None, unknown)
    return Prediction(names, how, together([one.safe for one in parts]), unknown, None, old)


def singles(
    room: Room, given: Iterable[str], *, at: Place, today: date, paper: str = ""
) -> dict[str, SafeTime]:
    """Give the safe time of each light that was tested alone, for shares and for advice."""
    results = known(room, at=at, today=today, paper=paper)
    names = sorted(resolve(room, given))
    return {n: results[frozenset((n,))].safe for n in names if frozenset((n,)) in results}


# --- inside -----------------------------------------------------------------------------------


def _tested(names: Names, whole: Known, single: dict[str, Known]) -> Prediction:
    old = list(whole.old)
    safe, against = whole.safe, None
    if len(single) == len(names):
        old += [one for each in single.values() for one in each.old]
        times = {name: one.safe for name, one in single.items()}
        safe = allowed(whole.safe, together(times.values()))
        against = contradiction(times, whole.safe)
    elif single:  # some of the lights alone are too much already
        safe = allowed(whole.safe, together([one.safe for one in single.values()]))
    how = How.TESTED if safe == whole.safe else How.SUM
    return Prediction(names, how, safe, (), against, tuple(dict.fromkeys(old)))


def _cover(
    room: Room, names: Names, single: dict[str, Known], results: dict[Names, Known]
) -> tuple[list[Known], tuple[str, ...], How]:
    left = sorted(names - set(single))
    covered: set[str] = set()
    parts: list[Known] = []
    unknown: list[str] = []
    how = How.SUM
    for name in left:
        if name in covered:
            continue
        sets = [one for key, one in results.items() if name in key and len(key) > 1]
        # that more light was too much says nothing of less
        sets = [one for one in sets if one.names <= names or one.safe.proved]
        up = [results[key] for one in brighter(room, name) if (key := frozenset((one,))) in results]
        up = [one for one in up if one.safe.proved]
        if sets:
            # a set with no light that is dark now says the most; then the longest
            best = max(sets, key=lambda one: (one.names <= names, one.safe.value_s))
            covered |= best.names
            parts.append(best if best.names <= names else _at_least(best))
        elif up:
            parts.append(_at_least(up[0]))
        else:
            unknown.append(name)
            continue
        how = How.COVERED
    parts += [one for name, one in single.items() if name not in covered]
    return parts, tuple(unknown), how


def _at_least(one: Known) -> Known:
    # it was tested with more light than burns now
    safe = SafeTime(one.safe.value_s, one.safe.low_s, math.inf, Bound.AT_LEAST, one.safe.basis)
    return Known(one.names, safe, one.tests, one.old)


def _newest(tests: Sequence[Result], room: Room) -> tuple[SafeTime, tuple[Result, ...]] | None:
    in_order = sorted(tests, key=lambda one: _moment(one.date))
    proper = [one for one in in_order if one.kind in PROPER]
    safe: SafeTime | None = None
    used: list[Result] = []
    since = datetime.min
    if proper:
        since = _moment(proper[-1].date)
        used = [one for one in proper if _moment(one.date) == since]
        safe = smaller([found for one in used if (found := _as_it_stands(one, room))])
    later = [one for one in in_order if one.kind not in PROPER and _moment(one.date) >= since]
    hands = [one for one in later if one.kind is ResultKind.HAND]
    for one in (*hands[-1:], *(each for each in later if each.kind is not ResultKind.HAND)):
        found = _as_it_stands(one, room)
        if found is None:
            continue
        if safe is None:
            safe, used = found, [*used, one]
        elif found.bound is not Bound.AT_LEAST and _caps(found) < safe.value_s:
            safe, used = smaller((safe, found)), [*used, one]
    return (safe, tuple(used)) if safe is not None else None


def _as_it_stands(test: Result, room: Room) -> SafeTime | None:
    """Give what a test says, shortened where a lamp of it is nearer now than it was."""
    safe = test.safe(room.rule)
    factor = 1.0
    for seen in test.seen:
        light = room.light(seen.light)
        now_m = light.distance_m(test.at) if light else None
        if seen.distance_m is not None and now_m is not None:
            # as of a point: of all sizes a lamp can have that shortens most
            factor = min(factor, (now_m / seen.distance_m) ** 2)
    return recalculated(safe, factor) if safe and factor < 1 else safe


def _caps(found: SafeTime) -> float:
    return found.value_s if found.proved else found.high_s


def _moment(when: date) -> datetime:
    return when if isinstance(when, datetime) else datetime.combine(when, time.min)


def _of(names: Sequence[str]) -> str:
    return f"{', '.join(names)} {'was' if len(names) == 1 else 'were'}"
