"""An amount of exposure as a printer writes it: in stops or in seconds.

Both are first-class. What is given in stops follows the exposure it is counted from; what is
given in seconds stays as it is.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from controller.errors import BadInput, quoted
from controller.stops import format_stops, parse_stops, parse_time, stops_to_factor, written_s
from controller.written import RIGHT_IS

RIGHT = "stops such as +1/3 or -1/2, or seconds such as 4.5s"

_TIMED = re.compile(r"\+?([0-9.: ]*m[0-9. ]*s?|[0-9.]+ ?(s|sec|secs|seconds?)|[0-9]+:[0-9.]+)")
_NOTHING = re.compile(r"\+?0{1,6}(?:\.0{0,9})? ?(?:s|sec|secs|seconds?)")
_PRINTERS = 24  # halves, thirds, quarters, sixths, twelfths, and half of each: all are 24ths
_DECIMALS = 10**5  # of stops that are found by arithmetic: 3 parts in a million of exposure
_MICRO = 10**6  # of seconds


class Unit(Enum):
    """In what an amount is given."""

    STOPS = "stops"
    SECONDS = "seconds"


@dataclass(frozen=True)
class Amount:
    """Stops (signed) or seconds (0 or more); ``str()`` writes it as ``parse_amount`` reads it."""

    unit: Unit
    value: Fraction

    def __str__(self) -> str:
        if self.unit is Unit.STOPS:
            return _exact(self.value)
        return f"{float(self.value):.6f}".rstrip("0").rstrip(".") + "s"

    @property
    def follows(self) -> bool:
        """Does it change with the exposure that it is counted from?"""
        return self.unit is Unit.STOPS

    def from_base_s(self, base_s: float) -> float:
        """Give an exposure: this many stops from a base, or these seconds."""
        if self.unit is Unit.STOPS:
            return base_s * stops_to_factor(self.value)
        return float(self.value)

    def over_s(self, dose_s: float) -> float:
        """Give what is to be added for a burn: b(2^n - 1) for n stops over b, by definition."""
        if self.unit is Unit.STOPS:
            return dose_s * math.expm1(float(self.value) * math.log(2))
        return float(self.value)

    def held_s(self, dose_s: float) -> float:
        """Give how much is to be held back for a dodge: b(1 - 2^-n) for n stops of b."""
        if self.unit is Unit.STOPS:
            return -dose_s * math.expm1(-float(self.value) * math.log(2))
        return float(self.value)

    def times(self, factor: float) -> Amount:
        """Give the amount after all exposure was multiplied: seconds change, stops do not."""
        if self.unit is Unit.STOPS:
            return self
        return seconds(written_s(float(self.value) * factor))


def seconds(value_s: float) -> Amount:
    """Give an amount in seconds, to the microsecond."""
    return Amount(Unit.SECONDS, Fraction(round(value_s * _MICRO), _MICRO))


def stops(value: Fraction | float) -> Amount:
    """Give an amount in stops: a fraction as it is, a float as the fraction that it stands for.

    A float that is none of those that printers use is kept to the fifth decimal.
    """
    if isinstance(value, Fraction):
        return Amount(Unit.STOPS, value)
    near = Fraction(round(value * _PRINTERS), _PRINTERS)
    if abs(float(near) - value) < 1 / _DECIMALS:
        return Amount(Unit.STOPS, near)
    return Amount(Unit.STOPS, Fraction(round(value * _DECIMALS), _DECIMALS))


def parse_amount(text: str, where: str = "amount") -> Amount:
    """Read ``+1/3``, ``-1/2 stop``, ``+0.25`` (stops) or ``4.5s``, ``1m10s`` (seconds).

    Raises BadInput naming ``where``.
    """
    plain = text.strip().lower()
    if re.fullmatch(r"[0-9]+\.?[0-9]*|\.[0-9]+", plain):
        right = f"+{plain} for stops, or {plain}s for seconds"
        raise BadInput(f"{quoted(text)} does not say of what", where, right)
    timed = _TIMED.fullmatch(plain)
    try:
        if _NOTHING.fullmatch(plain):
            return seconds(0)
        if timed:
            return seconds(parse_time(plain.removeprefix("+"), where))
        return Amount(Unit.STOPS, parse_stops(plain, where))
    except BadInput:
        raise BadInput(f"{quoted(text)} is no amount of exposure", where, RIGHT) from None


def _exact(value: Fraction) -> str:
    """Write stops as they are told where that says all of it, else as a fraction or decimals."""
    told = format_stops(value)
    if parse_stops(told) == value:
        return told if value else "+0"
    sign, size = "-" if value < 0 else "+", abs(value)
    if 10**9 % size.denominator == 0:
        return f"{sign}{float(size):.9f}".rstrip("0")
    whole, rest = divmod(size.numerator, size.denominator)
    return f"{sign}{f'{whole} ' if whole else ''}{rest}/{size.denominator}"


def _read(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return parse_amount(value)
    except BadInput as error:
        raise ValueError(error.what + RIGHT_IS + error.right) from None


AmountField = Annotated[
    Amount,
    BeforeValidator(_read),
    PlainSerializer(str),
    WithJsonSchema({"type": "string", "description": RIGHT, "examples": ["+1/3", "4.5s"]}),
]
