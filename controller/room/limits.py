"""Readings of a fog test, and the safe handling time that a rule makes of them.

A reading is the last step that cannot be told from the reference, N, and the first that can,
C. The fog that just shows lies between. Published limits disagree about what follows from N
and C, so that no safe time is ever without its rule.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from controller.errors import BadInput, Refused

LONGEST_S = 86_400.0  # a day under a safelight is a slip of the pen

ISO_1986 = "ISO 8374:1986, scope: less than half the largest exposure without detectable change"
ANSI_1998 = (
    "ANSI IT2.26-1998, 3.6 and 3.14: at most half the geometric mean of the largest exposure "
    "without change and the smallest with one"
)
K4 = "Publication K-4, 2006: at most half the time to a detectable change"
TYPED = "typed in by hand"


class Rule(Enum):
    """A published way from a reading to a safe time; the value is its name in a file."""

    HALF_CLEAN = "half-clean"
    HALF_MEAN = "half-mean"
    HALF_CHANGED = "half-changed"

    @property
    def source(self) -> str:
        """Give where the rule is published."""
        return _SOURCES[self]

    @property
    def words(self) -> str:
        """Give the rule in words."""
        return _WORDS[self]


_SOURCES = {Rule.HALF_CLEAN: ISO_1986, Rule.HALF_MEAN: ANSI_1998, Rule.HALF_CHANGED: K4}
_WORDS = {
    Rule.HALF_CLEAN: "half the last clean step",
    Rule.HALF_MEAN: "half the geometric mean of the last clean and the first changed step",
    Rule.HALF_CHANGED: "half the first changed step",
}
CAUTIOUS = Rule.HALF_CLEAN  # never longer than the others


class Hand(Enum):
    """A safe time that no rule made: the printer has typed it."""

    TYPED = "by-hand"

    @property
    def source(self) -> str:
        """Give where it comes from."""
        return TYPED

    @property
    def words(self) -> str:
        """Give it in words."""
        return "as typed in by hand"


Basis = Rule | Hand


class Bound(Enum):
    """What kind of figure a safe time is."""

    ABOUT = "about"
    AT_LEAST = "at least"  # no step changed
    LESS_THAN = "less than"  # the first step changed: nothing is proved safe


@dataclass(frozen=True, slots=True)
class Reading:
    """Last clean and first changed step in seconds of light; one of them may be missing.

    ``changed_s`` None: no step changed. ``clean_s`` None: the first step changed already.
    Raises BadInput for what cannot be.
    """

    clean_s: float | None
    changed_s: float | None

    def __post_init__(self) -> None:
        if self.clean_s is None and self.changed_s is None:
            raise BadInput("it has no step", "reading", "the last clean or the first changed step")
        for value, where in ((self.clean_s, "clean_s"), (self.changed_s, "changed_s")):
            if value is not None:
                _require_time(value, where)
        if not in_order(self.clean_s, self.changed_s):
            what = f"{self.clean_s:g} s is clean and {self.changed_s:g} s is changed"
            raise BadInput(what, "reading", "a last clean step below the first changed one")

    @property
    def bound(self) -> Bound:
        """Tell what kind of figure follows from it."""
        if self.changed_s is None:
            return Bound.AT_LEAST
        return Bound.LESS_THAN if self.clean_s is None else Bound.ABOUT


@dataclass(frozen=True, slots=True)
class SafeTime:
    """A safe handling time in seconds, its range, and the rules that it follows from.

    ``low_s`` to ``high_s`` is where half the true time to a visible change lies, as far as the
    steps tell; ``high_s`` is infinite where no step changed. ``value_s`` is the figure by the
    rule, and zero where nothing is proved safe. ``basis`` is never empty; a sum of several
    lights has the basis of each.
    """

    value_s: float
    low_s: float
    high_s: float
    bound: Bound
    basis: tuple[Basis, ...]

    def __post_init__(self) -> None:
        if not self.basis:
            raise ValueError("a safe time without its rule")
        ranged = 0.0 <= self.low_s <= self.value_s <= self.high_s and self.high_s > 0.0
        if not ranged or not math.isfinite(self.value_s):
            raise ValueError(f"{self.low_s} <= {self.value_s} <= {self.high_s} s does not hold")
        if (self.bound is Bound.LESS_THAN) != (self.value_s == 0.0):
            raise ValueError("only what is less than something is zero")

    @property
    def rule(self) -> str:
        """Name the rules: ``half-clean``, or several parted by commas."""
        return ", ".join(one.value for one in self.basis)

    @property
    def sources(self) -> tuple[str, ...]:
        """Name the sources of the rules."""
        return tuple(one.source for one in self.basis)

    @property
    def proved(self) -> bool:
        """Is any time at all proved safe?"""
        return self.bound is not Bound.LESS_THAN

    @property
    def line(self) -> str:
        """Tell the figure with its rule: ``at least 4 min (half-clean)``."""
        if not self.proved:
            return f"unsafe, less than {told(self.high_s)} ({self.rule})"
        head = f"{self.bound.value} {told(self.value_s)}"
        if self.bound is Bound.ABOUT and self.low_s < self.high_s:
            head += f", {told(self.low_s)} to {told(self.high_s)} by the steps"
        return f"{head} ({self.rule})"


def in_order(clean_s: float | None, changed_s: float | None) -> bool:
    """Tell whether the clean step is the shorter one, as far as both are there."""
    return clean_s is None or changed_s is None or clean_s < changed_s


def limit(reading: Reading, rule: Rule = CAUTIOUS) -> SafeTime:
    """Give the safe time of a reading by a named rule.

    ``N/2``, ``sqrt(N C)/2`` or ``C/2``; always in this order, and N/2 to C/2 is the range. No
    step changed: at least N/2 by whatever rule. The first step changed: unsafe, less than C/2.
    """
    clean_s, changed_s = reading.clean_s, reading.changed_s
    if clean_s is None:
        assert changed_s is not None  # a Reading has one of the two
        return SafeTime(0.0, 0.0, changed_s / 2, Bound.LESS_THAN, (rule,))
    if changed_s is None:
        return SafeTime(clean_s / 2, clean_s / 2, math.inf, Bound.AT_LEAST, (rule,))
    low_s, high_s = clean_s / 2, changed_s / 2
    mean_s = min(max(math.sqrt(low_s * high_s), low_s), high_s)  # against rounding
    value_s = {Rule.HALF_CLEAN: low_s, Rule.HALF_MEAN: mean_s, Rule.HALF_CHANGED: high_s}[rule]
    return SafeTime(value_s, low_s, high_s, Bound.ABOUT, (rule,))


def typed(safe_s: float) -> SafeTime:
    """Take a safe time as it was typed in: how sure it is nobody knows. Raises BadInput."""
    _require_time(safe_s, "safe_s")
    return SafeTime(safe_s, safe_s, safe_s, Bound.ABOUT, (Hand.TYPED,))


def smaller(times: Sequence[SafeTime]) -> SafeTime:
    """Give the smaller of several safe times: of before and after, or of two readings.

    This is the total allowed, before and after the image together (Publication K-4: the worst
    zone limits the total). At least 4 and about 5 min is at least 4, and not above the 5's
    range.
    """
    least = min(times, key=lambda one: (one.value_s, _CERTAIN[one.bound]))
    low_s = min(one.low_s for one in times)
    high_s = min(one.high_s for one in times)
    return SafeTime(least.value_s, low_s, high_s, least.bound, basis_of(times))


def basis_of(times: Sequence[SafeTime]) -> tuple[Basis, ...]:
    """Give every rule that some safe times follow from, once, in the order of the rules."""
    order: list[Basis] = [*Rule, *Hand]
    return tuple(one for one in order if any(one in each.basis for each in times))


def recalculated(tested: SafeTime, factor: float) -> SafeTime:
    """Shorten a tested time by calculation, as for a lamp that came nearer.

    Raises Refused for a factor above 1: what is calculated never lengthens what was tested.
    """
    if not 0.0 < factor < math.inf:
        raise BadInput(f"{factor:g} is no factor", "factor", "above 0, and up to 1")
    if factor > 1.0:
        raise Refused(
            "a tested time is not lengthened by calculation",
            ("the fog test again, which alone can prove a longer one",),
        )
    return SafeTime(
        tested.value_s * factor,
        tested.low_s * factor,
        tested.high_s * factor,
        tested.bound,
        tested.basis,
    )


def told(time_s: float) -> str:
    """Tell a time of this size as a printer reads it: ``45 s``, ``4 min``, ``2 min 33 s``.

    Whole seconds from ten on, tenths below; rounded down, since it is a limit.
    """
    if math.isinf(time_s):
        return "no limit known"
    if time_s < 10:
        return f"{math.floor(time_s * 10 + 1e-6) / 10:g} s"
    minutes, seconds = divmod(math.floor(time_s + 1e-6), 60)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{seconds} s"] if seconds else parts)


_CERTAIN = {Bound.LESS_THAN: 0, Bound.ABOUT: 1, Bound.AT_LEAST: 2}


def _require_time(value: float, where: str) -> None:
    if not 0.0 < value <= LONGEST_S:  # not a number fails as well
        raise BadInput(f"{value:g} is no time", where, f"seconds above 0, up to {LONGEST_S:g}")
