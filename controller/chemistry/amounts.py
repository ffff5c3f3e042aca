"""Amounts of liquid, exactly: what is typed becomes a fraction of millilitres.

Binary fractions would make 1+9 of a litre 99.99... ml; here every amount is a ``Fraction``, and
is rounded only where a person or a program reads it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from controller.errors import BadInput, quoted

MOST_ML = Fraction(1_000_000)  # a cubic metre: more is a slip of the finger

# US customary, by definition: 1 gal = 231 in3, 1 fl oz = 1/128 gal, 1 in = 25.4 mm exactly.
US_GAL_ML = 231 * Fraction("2.54") ** 3
US_FL_OZ_ML = US_GAL_ML / 128

_UNITS_ML = {
    "ml": Fraction(1),
    "cl": Fraction(10),
    "l": Fraction(1000),
    "litre": Fraction(1000),
    "litres": Fraction(1000),
    "liter": Fraction(1000),
    "liters": Fraction(1000),
    "floz": US_FL_OZ_ML,
    "usfloz": US_FL_OZ_ML,
    "gal": US_GAL_ML,
    "usgal": US_GAL_ML,
}
_RIGHT = "millilitres such as 1000, or 1.5l, 32floz (US) or 1gal (US)"
_NUMBER = re.compile(r"[0-9]{1,7}(?:\.[0-9]{1,6})?|\.[0-9]{1,6}")


def number_of(text: str, where: str, right: str) -> Fraction:
    """Read a decimal number exactly. Raises BadInput, also for a comma, which reads two ways."""
    if not _NUMBER.fullmatch(text):
        what = f"{quoted(text)} is not a number" + (
            " here: a comma is a decimal point to some, and parts thousands for others"
            if "," in text
            else ""
        )
        raise BadInput(what, where, right)
    return Fraction(text)


def volume_ml(text: str, where: str, *, zero: bool = False) -> Fraction:
    """Read an amount of liquid, in ml where no unit is given.

    ``zero`` allows an empty bottle. Raises BadInput.
    """
    words = text.strip().lower().replace(" ", "").replace("fl.oz.", "floz")
    number = words.rstrip("abcdefghijklmnopqrstuvwxyz")
    unit = words[len(number) :] or "ml"
    if unit not in _UNITS_ML:
        raise BadInput(f"{quoted(text)} has no unit that is known here", where, _RIGHT)
    amount = number_of(number, where, _RIGHT) * _UNITS_ML[unit]
    if amount > MOST_ML or (amount == 0 and not zero):
        raise BadInput(
            f"{quoted(text)} is {'more than 1000 litres' if amount else 'nothing'}", where, _RIGHT
        )
    return amount


def exactly(number: Fraction) -> str:
    """Write a number without rounding where it has an end, else to six places."""
    text = f"{Decimal(number.numerator) / Decimal(number.denominator):.6f}"
    return text.rstrip("0").rstrip(".")


def plain(amount: Fraction) -> int | float:
    """Give a whole number where it is one, else the nearest float, for JSON."""
    return int(amount) if amount.denominator == 1 else float(amount)


def ml(amount: Fraction) -> str:
    """Write an amount as a graduate is read: below 100 ml to a tenth, above to one ml."""
    places = 1 if amount < 100 else 0
    text = f"{float(round(amount, places)):.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    if text == "0" and amount:
        return "less than 0.1 ml"
    return f"{text} ml"


def litres(amount: Fraction) -> str:
    """Write an amount of a tray or a bottle: litres from one up, else ml."""
    if amount < 1000:
        return ml(amount)
    return f"{float(round(amount / 1000, 2)):.2f}".rstrip("0").rstrip(".") + " l"
