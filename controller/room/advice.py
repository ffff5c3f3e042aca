"""What would help: which light to put out, how far to move it, how bright the screen may be.

Each piece of advice says what it buys. All of it is calculated: what a light put out buys
follows from tests of the lights that stay, but a lamp moved or a screen dimmed has to be
tested where it then is, and until then its tested time stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum

from controller.errors import BadInput
from controller.room.limits import SafeTime, told
from controller.room.model import LEVEL_MARK, Kind, Light, Place, Room
from controller.room.names import dimmer, resolve
from controller.room.results import Prediction, known, predict
from controller.room.sums import Share, shares, together

# What printers need from box to stop bath: "often 4 to 7 min" (common practice, no source).
WANTED_S = 240.0
# A source counts as a point from five times its width on: its light then falls off within
# 1 % as the square of the distance (derived from a disc seen head on).
POINT_AT = 5.0
# Beyond twice the distance, light back from the walls no longer falls off so: common practice,
# no source.
FARTHEST = 2.0
# Less than this is not worth a step off the ladder: common practice, no source.
WORTH = 1.1

ONLY_A_TEST = "only a new test proves it"
INVERSE_SQUARE = "by the inverse square, which reflections from walls make too hopeful"


class Remedy(Enum):
    """What is done to a light."""

    PUT_OUT = "put out"
    DIM = "dim"
    MOVE = "move"
    TEST = "test"


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to do, and the safe time of all lights together before and after it.

    ``then_s`` is infinite where no light would be left, and None where it is not known (a
    light that was never tested). ``prove`` is true where only a new test can make use of it.
    """

    remedy: Remedy
    light: str
    what: str
    now_s: float
    then_s: float | None
    prove: bool
    caution: str = ""
    distance_m: float | None = None

    @property
    def factor(self) -> float:
        """Give by how much the time grows; infinite from nothing, and 1 where it is not known."""
        if self.then_s is None or self.then_s == self.now_s:
            return 1.0
        return self.then_s / self.now_s if self.now_s else math.inf

    @property
    def line(self) -> str:
        """Tell it: ``switch amber off: 2 min becomes 7 min``."""
        head = self.what
        if self.then_s is not None:
            then = "no fog at all" if math.isinf(self.then_s) else told(self.then_s)
            head += f": {told(self.now_s) if self.now_s else 'nothing proved'} becomes {then}"
        said = [head, self.caution, ONLY_A_TEST if self.prove else ""]
        return "; ".join(one for one in said if one)


@dataclass(frozen=True, slots=True)
class Report:
    """The lights that burn, what they do together, and what would help, best first."""

    at: Place
    times: dict[str, SafeTime]
    shares: tuple[Share, ...]
    all_on: Prediction
    advice: tuple[Advice, ...]

    def tables(self) -> dict[str, object]:
        """Give it for a program; a figure is null where none is known or it has no end."""
        part = {one.name: one for one in self.shares}
        lights = [
            {
                "name": name,
                "safe_time_s": time.value_s,
                "low_s": time.low_s,
                "high_s": _finite(time.high_s),
                "share": part[name].value,
                "bound": time.bound.value,
                "rule": time.rule,
            }
            for name, time in self.times.items()
        ]
        lights += [
            {
                "name": name,
                "safe_time_s": None,
                "low_s": None,
                "high_s": None,
                "share": None,
                "bound": "unknown",
                "rule": None,
            }
            for name in sorted(self.all_on.names - set(self.times))
        ]
        safe = self.all_on.safe
        return {
            "at": self.at.value,
            "lights": lights,
            "all_on_safe_time_s": safe.value_s if safe else None,
            "all_on_bound": safe.bound.value if safe else "unknown",
            "rule": safe.rule if safe else None,
            "unknown": list(self.all_on.unknown),
            "contradiction": list(self.all_on.against.lines) if self.all_on.against else [],
            "old": [one.words for one in self.all_on.old],
            "advice": [
                {
                    "remedy": one.remedy.value,
                    "light": one.light,
                    "now_s": one.now_s,
                    "then_s": None if one.then_s is None else _finite(one.then_s),
                    "distance_m": one.distance_m,
                    "must_be_tested": one.prove,
                    "line": one.line,
                }
                for one in self.advice
            ],
        }


def advise(
    room: Room,
    given: Iterable[str] | None = None,
    *,
    at: Place,
    today: date,
    paper: str = "",
    wanted_s: float = WANTED_S,
) -> Report:
    """Say what would help paper at a place under some lights; under every light if none is given.

    Ordered by what it buys, lights to be tested first of all last. Raises BadInput for a name
    that is not known, and for a wanted time that is none.
    """
    if not 0 < wanted_s < math.inf:
        raise BadInput(f"{wanted_s:g} s is no time", "wanted", "seconds above 0, such as 240")
    names = resolve(room, [one.name for one in room.lights] if given is None else given)
    results = known(room, at=at, today=today, paper=paper)
    alone = {next(iter(key)): one.safe for key, one in results.items() if len(key) == 1}
    times = {name: alone[name] for name in sorted(names) if name in alone}
    all_on = predict(room, names, at=at, today=today, paper=paper)
    found = _found(room, at, times, alone, all_on, wanted_s) if times else []
    now_s = all_on.safe.value_s if all_on.safe else 0.0
    unknown = sorted(names - set(times))
    if unknown:
        besides = f"not counting {', '.join(unknown)}, of which nothing is known"
        found = [
            replace(one, caution="; ".join(filter(None, (besides, one.caution)))) for one in found
        ]
    asked = [(name, f"test {name}, of which nothing is known") for name in unknown]
    asked += [
        (level, f"test {level}, in percent, which may be bright enough to read")
        for name in sorted(times)
        for level in dimmer(room, name)
        if level not in alone
    ]
    found += [Advice(Remedy.TEST, name, what, now_s, None, False) for name, what in asked]
    ordered = dict(sorted(times.items(), key=lambda each: (each[1].value_s, each[1].high_s)))
    return Report(at, ordered, shares(times) if times else (), all_on, tuple(found))


def moved_factor(from_m: float, to_m: float, size_m: float = 0.0) -> float:
    """Give the factor of safe time for a lamp moved from one distance to paper to another.

    ``(d2^2 + r^2) / (d1^2 + r^2)`` with r half the width of what shines: a disc seen head on
    (derived), and the inverse square for a point or from five widths on. Raises BadInput.
    """
    for value, where in ((from_m, "from"), (to_m, "to")):
        if not 0 < value < math.inf:
            raise BadInput(f"{value:g} is no distance", where, "metres above 0")
    if not 0 <= size_m < math.inf:
        raise BadInput(f"{size_m:g} is no width", "size", "metres, 0 for a point")
    radius_m = size_m / 2
    return (to_m**2 + radius_m**2) / (from_m**2 + radius_m**2)


def distance_for(factor: float, from_m: float, size_m: float = 0.0) -> float:
    """Give the distance at which a lamp's safe time is ``factor`` times as long; its reverse.

    Raises BadInput for a factor that even touching the source does not give.
    """
    radius_m = size_m / 2
    square = factor * (from_m**2 + radius_m**2) - radius_m**2
    if not 0 < square < math.inf:
        raise BadInput(f"no distance gives {factor:g} times", "factor", "a larger one")
    return math.sqrt(square)


# --- inside -----------------------------------------------------------------------------------

_EASE = {Remedy.PUT_OUT: 0, Remedy.DIM: 1, Remedy.MOVE: 2, Remedy.TEST: 3}
_OUT = {
    Kind.SAFELIGHT: "switch {} off",
    Kind.SCREEN: "switch the backlight of {} off, or cover it",
    Kind.INDICATOR: "cover {}",
    Kind.DOOR: "seal {}",
    Kind.ENLARGER_LEAK: "mask {}",
    Kind.OTHER: "switch {} off, or cover it",
}
_DARKER = "less light to see by: keep the way to door and sink clear, and know where acids stand"


_LAMPS = (Kind.SAFELIGHT, Kind.OTHER)
_COOL = "pull its plug and let it cool before it is moved, and never with wet hands"


@dataclass(frozen=True, slots=True)
class _Now:
    """The rates of fog now: all of it, and what burns beyond the single lights' sum."""

    times: dict[str, SafeTime]
    now_s: float
    beyond: float  # per second; a light that nobody listed stays when another is put out

    def without(self, *names: str) -> float:
        """Give the safe time of what is left; infinite where nothing is."""
        return self.replaced(dict.fromkeys(names, math.inf))

    def replaced(self, others: Mapping[str, float]) -> float:
        """Give the safe time with other times of some lights."""
        rates = [_rate(others.get(name, one.value_s)) for name, one in self.times.items()]
        total = math.fsum([*rates, self.beyond])
        return 1 / total if total else math.inf


def _found(
    room: Room,
    at: Place,
    times: dict[str, SafeTime],
    alone: Mapping[str, SafeTime],
    all_on: Prediction,
    wanted_s: float,
) -> list[Advice]:
    sum_s = together(times.values()).value_s
    now_s, beyond = sum_s, 0.0
    if all_on.whole and all_on.safe and 0 < all_on.safe.value_s < sum_s:
        now_s = all_on.safe.value_s
        beyond = max(0.0, 1 / now_s - 1 / sum_s)
    now = _Now(times, now_s, beyond)
    found = []
    unsafe = [name for name, one in times.items() if not one.proved]
    for name in times:
        light = room.light(name)
        assert light is not None  # its name was resolved
        found.append(_put_out(light, now, (name,)))
        found += _dim(room, light, name, now, alone)
        found += _move(light, at, name, now, wanted_s)
    if len(unsafe) > 1:
        out = [_out(light) for name in unsafe if (light := room.light(name))]
        what = " and ".join(out)
        then_s = now.without(*unsafe)
        found.append(Advice(Remedy.PUT_OUT, ", ".join(unsafe), what, now_s, then_s, False, _DARKER))
    found = [one for one in found if one.factor >= WORTH]
    return sorted(found, key=lambda one: (-(one.then_s or 0.0), _EASE[one.remedy], one.light))


def _out(light: Light) -> str:
    if not light.switchable and light.kind in _LAMPS:
        return f"leave {light.name} off for the evening, or cover it (it may not be cycled)"
    return _OUT[light.kind].format(light.name)


def _put_out(light: Light, now: _Now, names: tuple[str, ...]) -> Advice:
    caution = _DARKER if light.kind in _LAMPS else ""
    then_s = now.without(*names)
    return Advice(Remedy.PUT_OUT, ", ".join(names), _out(light), now.now_s, then_s, False, caution)


def _dim(
    room: Room, light: Light, name: str, now: _Now, alone: Mapping[str, SafeTime]
) -> list[Advice]:
    # only levels that were tested: black leaks, so that a screen does not dim in proportion
    found = []
    for level in dimmer(room, name):
        if level in alone and alone[level].proved:
            then_s = now.replaced({name: alone[level].value_s})
            what = f"dim {light.name} to {level.partition(LEVEL_MARK)[2]} %"
            found.append(Advice(Remedy.DIM, level, what, now.now_s, then_s, False))
    return found


def _move(light: Light, at: Place, name: str, now: _Now, wanted_s: float) -> list[Advice]:
    from_m = light.distance_m(at)
    mine = now.times[name]
    if from_m is None or light.kind not in (*_LAMPS, Kind.SCREEN) or not mine.proved:
        return []
    most = moved_factor(from_m, FARTHEST * from_m, light.size_m)
    others_s = now.without(name)
    room_left = 1 / wanted_s - _rate(others_s)
    factor = min(_rate(mine.value_s) / room_left, most) if room_left > 0 else most
    if factor <= 1:  # there is the wanted time already
        return []
    # to the next 5 cm, which is what a tape in the dark is good for
    to_m = min(math.ceil(distance_for(factor, from_m, light.size_m) * 20 - 1e-6) / 20, 50.0)
    then_s = now.replaced({name: mine.value_s * moved_factor(from_m, to_m, light.size_m)})
    cautions = [INVERSE_SQUARE]
    if from_m < POINT_AT * light.size_m:
        cautions.append(f"so near it is no point: reckoned as a disc of {light.size_m:g} m")
    cautions.append(_COOL)
    what = f"move {light.name} from {from_m:g} to {to_m:g} m from the {at.value}"
    return [Advice(Remedy.MOVE, name, what, now.now_s, then_s, True, "; ".join(cautions), to_m)]


def _rate(time_s: float) -> float:
    return math.inf if time_s == 0 else 1 / time_s  # of infinity it is zero


def _finite(time_s: float) -> float | None:
    return time_s if math.isfinite(time_s) else None
