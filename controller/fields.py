"""A field as somebody typed it, read: a whole number, a size, a name with what it stands for. Pure.

Every fault names its option.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from controller.errors import BadInput, quoted

INCH_MM = 25.4
RIGHT_TONES = "a region and its density on the dry print, such as sky=0.30"


def whole_asked(text: str, option: str, least: int, most: int) -> int:
    """Read a whole number within bounds. Raises BadInput."""
    right = f"a whole number from {least} to {most}"
    if not re.fullmatch(r"[0-9]{1,6}", text.strip()):
        raise BadInput(f"{text!r} is not a whole number", option, right)
    number = int(text)
    if not least <= number <= most:
        raise BadInput(f"{number} is out of range", option, right)
    return number


def size_asked(text: str, option: str) -> tuple[float, float]:
    """Read a size in mm such as ``203x25``, or in inches such as ``8x10in``. Raises BadInput."""
    found = re.fullmatch(r"\s*([0-9.]{1,7})\s*[x×*]\s*([0-9.]{1,7})\s*(mm|in|\")?\s*", text)  # noqa: RUF001
    try:
        if not found:
            raise ValueError
        unit_mm = INCH_MM if found[3] in ("in", '"') else 1.0
        width_mm, height_mm = (round(float(side) * unit_mm, 3) for side in found.groups()[:2])
        if not (5 <= width_mm <= 2000 and 5 <= height_mm <= 2000):
            raise ValueError
    except ValueError:
        right = "width x height from 5 mm, such as 203x25, or 8x10in"
        raise BadInput(f"{text!r} is not a size", option, right) from None
    return width_mm, height_mm


def pair_asked(text: str, option: str, right: str) -> tuple[str, str]:
    """Read a name and what it stands for, with = between. Raises BadInput."""
    name, equals, value = (part.strip() for part in text.rpartition("="))
    if not equals or not name or not value:
        raise BadInput(f"{quoted(text)} is not understood", option, right)
    return name, value


def tones_asked(texts: Sequence[str], option: str = "--density") -> dict[str, float]:
    """Read densities of regions such as ``sky=0.30``. Raises BadInput."""
    found = {}
    for text in texts:
        name, value = pair_asked(text, option, RIGHT_TONES)
        try:
            found[name] = float(value)
            if not math.isfinite(found[name]):
                raise ValueError
        except ValueError:
            raise BadInput(f"{quoted(value)} is no density", option, RIGHT_TONES) from None
    return found
