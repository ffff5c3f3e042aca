"""Fog adds up: safe times of several lights, each light's share, and contradictions.

Irradiances add at one place of the paper, so that rates of fog do: ``1/T = sum(1/Ti)``
(derived). A sum can only be shorter than each of its parts. Rates are never subtracted: what
one light does cannot be told from two times of which it is a part.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from controller.room.limits import Bound, SafeTime, basis_of, smaller, told


def together(times: Iterable[SafeTime]) -> SafeTime:
    """Give the safe time of lights that burn together; low and high add up by themselves.

    "At least" stays so, with a highest value only if every part has one; a part that is unsafe
    makes the whole unsafe. Raises ValueError for no light at all, which has no safe time.
    """
    parts = tuple(times)
    if not parts:
        raise ValueError("no light fogs for ever")
    bound = next((b for b in _WEAKEST if any(one.bound is b for one in parts)), Bound.ABOUT)
    low_s = _sum(one.low_s for one in parts)
    high_s = _sum(one.high_s for one in parts)
    value_s = 0.0 if bound is Bound.LESS_THAN else _sum(one.value_s for one in parts)
    # rounding must not put a figure a hair outside its range
    value_s = min(max(value_s, low_s), high_s)
    return SafeTime(value_s, low_s, high_s, bound, basis_of(parts))


@dataclass(frozen=True, slots=True)
class Share:
    """A light's part of all the fog, 0 to 1, and the range that the steps leave for it."""

    name: str
    value: float
    low: float
    high: float

    @property
    def line(self) -> str:
        """Tell it: ``amber 71 % of the fog, 48 to 87 % by the steps``."""
        head = f"{self.name} {self.value:.0%} of the fog".replace("%", " %")
        if self.high - self.low < 0.005:
            return head
        return f"{head}, {100 * self.low:.0f} to {100 * self.high:.0f} % by the steps"


def shares(times: Mapping[str, SafeTime]) -> tuple[Share, ...]:
    """Give each light's share of the fog, the largest first; values add up to 1.

    The share is ``T/Ti``. For a light of which the first step changed only the least rate is
    known; for its value the threshold is taken half a stop below that step.
    """
    middle = {name: _rate(_middle_s(one)) for name, one in times.items()}
    total = sum(middle.values())
    low = {name: _rate(one.high_s) for name, one in times.items()}
    high = {name: _rate(one.low_s) for name, one in times.items()}
    found = []
    for name, rate in middle.items():
        others_high = sum(each for other, each in high.items() if other != name)
        others_low = sum(each for other, each in low.items() if other != name)
        value = rate / total
        least = _part(low[name], others_high)
        most = 1.0 if math.isinf(high[name]) else _part(high[name], others_low)
        found.append(Share(name, value, min(least, value), max(most, value)))
    return tuple(sorted(found, key=lambda one: (-one.value, one.name)))


@dataclass(frozen=True, slots=True)
class Guilty:
    """The light that fogs most; ``rivals`` are those that the steps cannot tell from it."""

    name: str
    rivals: tuple[str, ...] = ()

    @property
    def certain(self) -> bool:
        """Is no other light possible, as far as the steps tell?"""
        return not self.rivals


def guilty(times: Mapping[str, SafeTime]) -> Guilty | None:
    """Name the light that fogs most, and those that might as well be it; None of none."""
    if not times:
        return None
    first, *others = shares(times)
    slowest_s = times[first.name].high_s
    # told apart only where every time of the one is shorter than any of the other
    rivals = [one.name for one in others if times[one.name].low_s < slowest_s]
    return Guilty(first.name, tuple(rivals))


@dataclass(frozen=True, slots=True)
class Contradiction:
    """All lights together do not fog as their sum says; ``lines`` are what could be true."""

    predicted: SafeTime
    read: SafeTime
    missing_s: tuple[float, float] | None  # safe time of a light that would explain it
    lines: tuple[str, ...]


def contradiction(times: Mapping[str, SafeTime], read: SafeTime) -> Contradiction | None:
    """Compare the sum of single lights with what all of them together were read to do.

    None where the two ranges meet. Clean at a step at which a light alone has changed is a
    contradiction as well: a change lies at its step or before it, and after a clean one. Nothing
    is averaged: use ``allowed`` for the time to keep.
    """
    predicted = together(times.values())
    slack = 1 + 1e-9
    if read.high_s * slack < predicted.low_s:
        rates = (
            _rate(read.high_s) - _rate(predicted.low_s),
            _rate(read.low_s) - _rate(predicted.high_s),
        )
        least_s, most_s = 1 / rates[1], 1 / rates[0]
        light = f"less than {told(most_s)}"
        if least_s >= 1:
            light = f"{told(least_s)} to {told(most_s)}"
        return Contradiction(
            predicted,
            read,
            (least_s, most_s),
            (
                f"together they fog sooner ({read.line}) than their sum ({predicted.line})",
                f"either a light that is not listed burned as well, with a safe time of {light}: "
                "look for the screen, an indicator, the door, the enlarger's leak",
                "or a column of a single light was read too clean, or was shaded by the card",
                "or a single light was off, or had not warmed up, in its column",
                "or the paper makes more of dim lights together than of each alone, by a few "
                "tenths at most",
                "the shorter time is kept until a new test settles it",
            ),
        )
    if _surely_sooner(predicted, read):
        worse = [name for name, one in times.items() if _surely_sooner(one, read)]
        alone = f" ({', '.join(worse)} alone fogs sooner than all do)" if worse else ""
        return Contradiction(
            predicted,
            read,
            None,
            (
                f"together they fog later ({read.line}) than their sum ({predicted.line}){alone}, "
                "and light cannot take light away",
                "either one of the lights was dark while all should have burned",
                "or a column of a single light caught another light too: one still glowing, the "
                "screen, the door",
                "or the column of all was shaded, or read too clean",
                "the shorter time is kept until a new test settles it",
            ),
        )
    return None


def allowed(tested: SafeTime, predicted: SafeTime) -> SafeTime:
    """Give the time to keep where a set was tested and is predicted as well: the shorter.

    A prediction can shorten what was tested, and never lengthens it. A sum that is only "at
    least" says nothing against a test: its lights were proved for no longer, that is all.
    """
    if predicted.bound is Bound.AT_LEAST or predicted.value_s >= tested.value_s:
        return tested
    return smaller((tested, predicted))


def split_use(before_s: float, safe_before_s: float, after_s: float, safe_after_s: float) -> float:
    """Give the used part of a budget if before and after were counted apart: ``b/Tb + a/Ta``.

    Only to compare: a little light before and after an image does more than the sum
    (Publication K-4), so that the total is held against the smaller of the two instead.
    """
    return before_s / safe_before_s + after_s / safe_after_s


_WEAKEST = (Bound.LESS_THAN, Bound.AT_LEAST)


def _rate(time_s: float) -> float:
    return math.inf if time_s == 0 else 1.0 / time_s  # of infinity it is zero


def _surely_sooner(one: SafeTime, other: SafeTime) -> bool:
    """Is the first changed step of one not behind the last clean step of the other?

    A figure without a range has no steps: the same one twice is no contradiction.
    """
    if math.isclose(one.high_s, other.low_s):
        return one.low_s < one.high_s and other.low_s < other.high_s
    return one.high_s < other.low_s


def _sum(times_s: Iterable[float]) -> float:
    rate = math.fsum(_rate(one) for one in times_s)
    return math.inf if rate == 0 else 1.0 / rate


def _middle_s(one: SafeTime) -> float:
    return one.value_s if one.proved else one.high_s / math.sqrt(2)


def _part(rate: float, others: float) -> float:
    return 0.0 if rate == 0 or math.isinf(others) else rate / (rate + others)
