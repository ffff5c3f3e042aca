"""Exposure arithmetic: stops, factors, log exposure, percentages, times, f-numbers.

One stop doubles the exposure: ``t2 = t1 * 2**s`` (definition). Stops are ``Fraction`` wherever
they come from text or from engraved numbers, so that three thirds are one stop; floats are
taken too. Every function either gives a finite number or raises ``BadInput``.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

from controller.errors import BadInput, quoted

Stops: TypeAlias = Fraction | float

LOG10_2 = math.log10(2)  # log exposure of one stop
MOST_STOPS = 20  # a millionfold: more than this in a text is a slip of the pen
LONGEST_S = 24 * 3600.0  # a day, likewise

RIGHT_STOPS = "stops such as 1/3, +2/3, -1 1/6 or 0.5"
RIGHT_TIME = "a time such as 8, 8.5 s, 1m30 or 1:30"
RIGHT_STEP = "a step such as 1/3 (stops), 2s (seconds) or 25% (percent)"

# --- stops and their other names --------------------------------------------------------------


def stops_to_factor(stops: Stops) -> float:
    """Give the factor of exposure, ``2**s``."""
    number = _finite(stops, "stops")
    if abs(number) > 1000:
        raise BadInput(f"{number:g} is beyond all reckoning", "stops", "-1000 to 1000")
    return math.exp2(number)


def written_s(value_s: float) -> float:
    """Round a time that arithmetic has found to the figures that it is written with.

    Seven figures: at most 5 parts in 10 million, or a millionth of a stop, so that nothing is lost
    by going there and back; a time that somebody typed has fewer and stays as it is.
    """
    return float(f"{value_s:.7g}")


def factor_to_stops(factor: float) -> float:
    """Give the stops of a factor of exposure, ``log2 f``; the factor is more than nothing."""
    number = _finite(factor, "factor")
    if number <= 0:
        raise BadInput(f"{number:g} is no factor of exposure", "factor", "more than 0")
    return math.log2(number)


def stops_to_log_exposure(stops: Stops) -> float:
    """Give the difference of log10 exposure, ``s * log10 2``."""
    return _finite(stops, "stops") * LOG10_2


def log_exposure_to_stops(log_exposure: float) -> float:
    """Give the stops of a difference of log10 exposure (or of density: the same scale)."""
    return _finite(_finite(log_exposure, "log exposure") / LOG10_2, "log exposure")


def stops_to_percent(stops: Stops) -> float:
    """Give the change in percent, ``100 * (2**s - 1)``: +1 stop is +100 %, -1 stop is -50 %."""
    stops_to_factor(stops)  # refuses what has no finite factor
    return 100 * math.expm1(float(stops) * math.log(2))


def percent_to_stops(percent: float) -> float:
    """Give the stops of a change in percent, ``log2(1 + p/100)``.

    Equal percentages up and down are not equal stops: -10 % and then +10 % leaves 0.99.
    Raises BadInput at -100 % and below, where no exposure is left.
    """
    number = _finite(percent, "percent")
    if number <= -100:
        raise BadInput(f"{number:g} % leaves no exposure", "percent", "more than -100 %")
    return math.log1p(number / 100) / math.log(2)


# --- stops in writing -------------------------------------------------------------------------

_FRACTION = re.compile(r"([+-]?) ?(?:([0-9]{1,6}) )?([0-9]{1,10})/([0-9]{1,10})(?: ?stops?)?")
_DECIMAL = re.compile(r"([+-]?) ?([0-9]{0,6}(?:\.[0-9]{1,9})?)(?: ?stops?)?")
_WRITTEN = (1, 2, 3, 4, 6, 8, 12)  # the denominators that printers use


def parse_stops(text: str, where: str = "stops") -> Fraction:
    """Read stops as printers write them: ``1/3``, ``+2/3``, ``-1 1/6``, ``0.5``, ``½``.

    Exact: ``1/3`` is a third, ``0.33`` is 33 hundredths. Raises BadInput.
    """
    line = _plain(text, where, RIGHT_STOPS)
    if (found := _FRACTION.fullmatch(line)) and int(found[4]):
        part = Fraction(int(found[3]), int(found[4]))
        stops = part + int(found[2] or 0)
        good = found[2] is None or part < 1  # "1 4/3" is more likely a slip than 2 1/3
    elif (found := _DECIMAL.fullmatch(line)) and found[2]:
        stops, good = Fraction(found[2]), True
    else:
        raise BadInput(f"{quoted(text)} is not stops of exposure", where, RIGHT_STOPS)
    if not good or stops > MOST_STOPS:
        right = RIGHT_STOPS if not good else f"at most {MOST_STOPS} stops"
        raise BadInput(f"{quoted(text)} is not stops of exposure", where, right)
    return -stops if found[1] == "-" else stops


def format_stops(stops: Stops, *, signed: bool = True) -> str:
    """Write stops as printers do: ``+1/3``, ``-1 1/6``, ``0``; else with two decimals.

    Not ``signed``: without a plus, as a step is written.
    """
    number = _finite(stops, "stops")
    sign = "-" if number < 0 else "+" if signed else ""
    size = abs(number)
    for denominator in _WRITTEN:
        count = round(size * denominator)
        if abs(size - count / denominator) < 1e-6:
            whole, rest = divmod(count, denominator)
            words = [str(whole)] if whole else []
            words += [f"{rest}/{denominator}"] if rest else []
            return sign + " ".join(words) if words else "0"
    written = f"{size:.2f}".rstrip("0").rstrip(".")
    return sign + written if written != "0" else "0"


# --- times in writing -------------------------------------------------------------------------

_SECONDS = re.compile(r"([0-9]{0,6}(?:\.[0-9]{1,9})?) ?(?:s|sec|secs|seconds?)?")
_MINUTES = re.compile(
    r"([0-9]{1,4}) ?(?:m|min) ?(?:([0-9]{1,2}(?:\.[0-9]{1,9})?) ?(?:s|sec)?)?"
    r"|([0-9]{1,4}):([0-9]{2}(?:\.[0-9]{1,9})?)"
)


def parse_time(text: str, where: str = "time") -> float:
    """Read a time: ``8``, ``8s``, ``8.5 s``, ``1m30``, ``1m30s``, ``1:30``. Gives seconds > 0.

    Raises BadInput, also for 60 or more seconds after minutes.
    """
    line = _plain(text, where, RIGHT_TIME)
    if (found := _SECONDS.fullmatch(line)) and found[1]:
        seconds = float(found[1])
    elif found := _MINUTES.fullmatch(line):
        rest_s = float(found[2] or found[4] or 0)
        if rest_s >= 60:
            right = "seconds below 60 after the minutes, such as 1:30"
            raise BadInput(f"{quoted(text)} has {rest_s:g} seconds", where, right)
        seconds = 60 * int(found[1] or found[3]) + rest_s
    else:
        raise BadInput(f"{quoted(text)} is not a time", where, RIGHT_TIME)
    if seconds <= 0:
        raise BadInput(f"{quoted(text)} is no time at all", where, "more than 0 s, such as 8")
    if seconds > LONGEST_S:
        raise BadInput(f"{quoted(text)} is more than a day", where, RIGHT_TIME)
    return seconds


def format_time(time_s: float) -> str:
    """Write seconds: ``0.33 s``, ``8.0 s``, ``1:30``, ``1:30.4``; never off by more than 0.05 s."""
    number = _finite(time_s, "time")
    if number < 0:
        raise BadInput(f"{number:g} s is before it began", "time", "0 s or more")
    if number < 0.995:
        return f"{number:.2f} s"
    tenths = round(number * 10)
    if tenths < 600:
        return f"{tenths / 10:.1f} s"
    minutes, tenths = divmod(tenths, 600)
    tail = f".{tenths % 10}" if tenths % 10 else ""
    return f"{minutes}:{tenths // 10:02d}{tail}"


# --- a step, and the series it makes ----------------------------------------------------------


class StepUnit(Enum):
    """In what a step is counted."""

    STOPS = "stops"
    SECONDS = "seconds"
    PERCENT = "percent"


@dataclass(frozen=True)
class Step:
    """By how much the exposure grows from patch to patch; more than nothing.

    A step in percent is of the patch before, so that it too is a geometric series.
    ``str()`` writes it as ``parse_step`` reads it.
    """

    unit: StepUnit
    value: Fraction

    def __post_init__(self) -> None:
        if self.value <= 0:
            raise BadInput(f"{self.value} is not more than nothing", "step", RIGHT_STEP)
        if self.unit is StepUnit.STOPS and self.value > MOST_STOPS:
            raise BadInput(f"{self.value} stops are too many", "step", RIGHT_STEP)

    def __str__(self) -> str:
        match self.unit:
            case StepUnit.STOPS:
                return _exact(self.value)
            case StepUnit.SECONDS:
                return f"{_decimal(self.value)}s"
            case StepUnit.PERCENT:
                return f"{_decimal(self.value)}%"

    def total_s(self, base_s: float, index: int) -> float:
        """Give the exposure of the patch with this index (0 is the base), in seconds.

        ``t0 * 2**(s*k)``, ``t0 + d*k`` or ``t0 * (1 + p/100)**k``.
        """
        match self.unit:
            case StepUnit.STOPS:
                return base_s * math.exp2(float(self.value * index))
            case StepUnit.SECONDS:
                return base_s + float(self.value * index)
            case StepUnit.PERCENT:
                return base_s * float(1 + self.value / 100) ** index


def parse_step(text: str, where: str = "step") -> Step:
    """Read a step: in stops (``1/3``), in seconds (``2s``) or in percent (``25%``).

    Raises BadInput, also for a step of nothing or less.
    """
    line = _plain(text, where, RIGHT_STEP)
    try:
        if line.endswith("%"):
            step = Step(StepUnit.PERCENT, _positive(line[:-1].rstrip()))
        elif line.endswith("stop") or (line.endswith("s") and not line.endswith("stops")):
            unit = StepUnit.STOPS if line.endswith("stop") else StepUnit.SECONDS
            number = line.removesuffix("stop").removesuffix("s").rstrip()
            step = Step(unit, parse_stops(number) if unit is StepUnit.STOPS else _positive(number))
        else:
            step = Step(StepUnit.STOPS, parse_stops(line))
    except (BadInput, ValueError):
        raise BadInput(f"{quoted(text)} is not a step", where, RIGHT_STEP) from None
    return step


def series(base_s: float, step: Step | Stops, n: int) -> list[float]:
    """Give the totals of ``n`` patches in seconds, the base first, each a step above the last.

    A bare number is a step in stops. No total is rounded: who rounds, rounds totals and then
    takes their differences. Raises BadInput for a base or a count that is nothing.
    """
    base = _finite(base_s, "base")
    if base <= 0:
        raise BadInput(f"{base:g} s is no exposure", "base", "more than 0 s, such as 8")
    if n < 1:
        raise BadInput(f"{n} is no number of patches", "patches", "1 or more")
    if not isinstance(step, Step):
        step = Step(StepUnit.STOPS, Fraction(step))
    try:
        return [_finite(step.total_s(base, index), "step") for index in range(n)]
    except OverflowError:
        raise BadInput(
            f"{n} steps of {step} are beyond all reckoning", "step", RIGHT_STEP
        ) from None


def differences(totals: Sequence[float]) -> list[float]:
    """Give the pulses that add up to growing totals: the first, then each difference.

    Raises BadInput where a total does not grow: a pulse cannot take light away.
    """
    pulses = [b - a for a, b in pairwise([0.0, *totals])]
    if not all(pulse > 0 for pulse in pulses):
        raise BadInput("they do not grow from each to the next", "totals", "such as 8, 10, 13")
    return pulses


# --- f-numbers --------------------------------------------------------------------------------

# Engraved numbers are rounded: f/N stands for sqrt(2)**k exactly. Full stops by arithmetic;
# which half and third stop numbers are engraved is common practice, no source.
_FULL = "1 1.4 2 2.8 4 5.6 8 11 16 22 32 45 64 90"
_HALF = "1.2 1.7 2.4 3.3 4.8 6.7 9.5 13 19 27 38 54 76"
_THIRD = "1.1 1.6 2.2 3.2 4.5 6.3 9 13 18 25 36 51 72"
_TWO_THIRDS = "1.2 1.8 2.5 3.5 5 7.1 10 14 20 29 40 57 80"


def _engraved(*columns: tuple[str, Fraction]) -> dict[Fraction, Fraction]:
    return {
        Fraction(number): stop + part
        for numbers, part in columns
        for stop, number in enumerate(numbers.split())
    }


_FULLS = _engraved((_FULL, Fraction(0)))
_HALVES = _engraved((_HALF, Fraction(1, 2)))
_THIRDS = _engraved((_THIRD, Fraction(1, 3)), (_TWO_THIRDS, Fraction(2, 3)))


def aperture_value(
    engraved: str | float, *, thirds: bool = False, where: str = "aperture"
) -> Fraction:
    """Give the stops from f/1 that an engraved number stands for: 5.6 is 5, 8 is 6, 11 is 7.

    Two engravings are used for a half and for a third stop alike, 1.2 and 13: they are read
    as halves, to which the rings of enlarging lenses click (common practice, no source), or
    with ``thirds`` as thirds. Raises BadInput for a number that no ring bears.
    """
    text = engraved if isinstance(engraved, str) else f"{engraved:g}"
    number_text = re.sub(r"^[fF]? ?/? ?", "", _plain(text, where, "an f-number such as 8"))
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", number_text):
        raise BadInput(f"{quoted(text)} is not an f-number", where, "one such as 5.6, 8 or 11")
    number = Fraction(number_text)
    known = _FULLS | (_HALVES | _THIRDS if thirds else _THIRDS | _HALVES)
    if number not in known:
        near = sorted(sorted(known, key=lambda one: abs(one - number))[:2])
        right = " or ".join(f"{float(one):g}" for one in near)
        raise BadInput(f"no ring is engraved {number_text}", where, right)
    return known[number]


def aperture_stops(from_n: str | float, to_n: str | float, *, thirds: bool = False) -> Fraction:
    """Give the stops by which a lens is closed from one engraved number to another.

    8 to 11 is exactly 1, and so much more exposure is needed; opening is negative.
    """
    return aperture_value(to_n, thirds=thirds) - aperture_value(from_n, thirds=thirds)


# --- inside -----------------------------------------------------------------------------------

_ALIKE = str.maketrans(dict.fromkeys("−–‐‑﹣－", "-") | dict.fromkeys("⁄∕／", "/"))  # noqa: RUF001


def _plain(text: str, where: str, right: str) -> str:
    """Bring minus signs, spaces and fractions of one letter to their plain forms."""
    spelled: Iterable[str] = (
        f" {unicodedata.normalize('NFKC', char)}"
        if unicodedata.decomposition(char).startswith("<fraction>")
        else char
        for char in text
    )
    line = " ".join("".join(spelled).translate(_ALIKE).split())
    if re.search(r"[0-9],[0-9]", line):
        with_point = quoted(line.replace(",", "."))
        raise BadInput(f"{quoted(text)} has a comma", where, f"a decimal point, as in {with_point}")
    if not line:
        raise BadInput("nothing is written there", where, right)
    return line


def _positive(text: str) -> Fraction:
    if not re.fullmatch(r"\+?[0-9]{0,6}(\.[0-9]{1,9})?", text):
        raise ValueError(text)
    return Fraction(text)


def _exact(value: Fraction) -> str:
    whole, rest = divmod(value.numerator, value.denominator)
    if not rest:
        return str(whole)
    part = f"{rest}/{value.denominator}"
    return f"{whole} {part}" if whole else part


def _decimal(value: Fraction) -> str:
    return f"{float(value):.9f}".rstrip("0").rstrip(".")


def _finite(value: Stops, where: str) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise BadInput(f"{number} is no number to reckon with", where, "a finite number")
    return number
