"""How much a tray takes: floor times depth, and the depth that a sheet needs.

Volume = width x length x depth of a flat floor (arithmetic). A tray is named by the paper that
goes into it and its floor is a little larger, so a little more may be wanted.
"""

from __future__ import annotations

import re
from fractions import Fraction

from controller.chemistry.amounts import MOST_ML, number_of
from controller.errors import BadInput, quoted

DEPTH_CM = Fraction(2)  # common practice, no source: 1.5 to 2 cm
_RIGHT = "width x length in cm such as 30x40, or in inches such as 12x16in"
_INCH_CM = Fraction("2.54")


def tray_cm(text: str, where: str) -> tuple[Fraction, Fraction]:
    """Read the size of a tray, in cm or inches. Raises BadInput."""
    found = re.fullmatch(r"\s*([0-9.]{1,8})\s*[xX*]\s*([0-9.]{1,8})\s*(cm|in|\"|mm)?\s*", text)
    if not found:
        raise BadInput(f"{quoted(text)} is not the size of a tray", where, _RIGHT)
    unit = {"in": _INCH_CM, '"': _INCH_CM, "mm": Fraction(1, 10)}.get(found[3], Fraction(1))
    width, length = (number_of(each, where, _RIGHT) * unit for each in found.groups()[:2])
    if not all(3 <= side <= 300 for side in (width, length)):
        what = f"{quoted(text)} is {float(width):g} by {float(length):g} cm, no tray"
        raise BadInput(what, where, _RIGHT)
    return width, length


def depth_cm(text: str, where: str) -> Fraction:
    """Read how deep a bath is, in cm. Raises BadInput."""
    right = "centimetres such as 2 or 1.5cm"
    depth = number_of(text.strip().lower().removesuffix("cm").strip(), where, right)
    if not 0 < depth <= 30:
        raise BadInput(f"{quoted(text)} is no depth of a bath", where, right)
    return depth


def tray_ml(size_cm: tuple[Fraction, Fraction], depth: Fraction) -> Fraction:
    """Give what a tray with a flat floor holds to a depth, in ml."""
    return min(size_cm[0] * size_cm[1] * depth, MOST_ML)
