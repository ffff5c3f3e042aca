"""Lines of text that a meter sends, read as the rig file describes them. Pure.

A meter's line is looked at with a regular expression that has a group ``value`` and perhaps a
group ``unit``; ``value * factor + offset`` is the reading.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from controller.ports import PortFault, Quantity
from drivers.options import number, one_of

PATTERN = r"(?P<value>[-+]?\d+(?:[.,]\d+)?)"  # the first number of a line
LONGEST = 256  # a line that has not ended by then is none

# Units a meter may name, in lux; a foot-candle is a lumen per square foot (0.3048 m, exact).
IN_LUX = {"lx": 1.0, "lux": 1.0, "klx": 1000.0, "klux": 1000.0, "fc": 1 / 0.3048**2}
DENSITY = ("d", "")
OPTIONS = ("pattern", "unit", "factor", "offset")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What the lines of a meter mean."""

    pattern: re.Pattern[str]
    quantity: Quantity
    unit: str  # of the numbers, where the line names none
    factor: float = 1.0
    offset: float = 0.0

    @staticmethod
    def of(options: Mapping[str, object]) -> Meaning:
        """Take the options ``pattern``, ``unit``, ``factor``, ``offset``. Raises PortFault."""
        text = options.get("pattern", PATTERN)
        try:
            if not isinstance(text, str):
                raise TypeError("it is no text")
            pattern = re.compile(text)
        except (re.error, TypeError) as error:
            raise PortFault(
                f"pattern = {text!r} is no regular expression ({error}); write one in single "
                f"quotes, such as '{PATTERN}'"
            ) from None
        if "value" not in pattern.groupindex:
            raise PortFault(
                f"pattern = {text!r} does not say where the number is; name its group, such as "
                f"'E=(?P<value>[0-9.]+)'"
            )
        unit = one_of(options, "unit", "lx", (*IN_LUX, "density"))
        quantity = Quantity.DENSITY if unit == "density" else Quantity.ILLUMINANCE
        factor = number(options, "factor", 1.0, -1e6, 1e6)
        if factor == 0:
            raise PortFault("factor = 0 makes every reading the same; write another number")
        offset = number(options, "offset", 0.0, -1e6, 1e6)
        return Meaning(pattern, quantity, unit, factor, offset)

    def value_of(self, line: str) -> float | None:
        """Give what a line tells, in lux or density; None where it tells nothing that is known."""
        found = self.pattern.search(line)
        if found is None:
            return None
        named = found.groupdict().get("unit")
        scale = self._scale(self.unit if named is None else named.strip())
        try:
            value = float(found["value"].replace(",", "."))
        except (AttributeError, ValueError):
            return None
        if scale is None or not math.isfinite(value):
            return None
        return (value * self.factor + self.offset) * scale

    def _scale(self, unit: str) -> float | None:
        if self.quantity is Quantity.DENSITY:
            return 1.0 if unit == "density" or unit.lower() in DENSITY else None
        return IN_LUX.get(unit.lower())


class Lines:
    """Cuts what arrives into lines, whatever pieces it arrives in."""

    def __init__(self) -> None:
        self._rest = b""
        self._lost = True  # what arrives first may be the second half of a line
        self._heard = False

    def silent(self) -> None:
        """Take it that the line was at rest: what arrives first then begins a line.

        A densitometer sends one line for each measurement, of which the first counts too.
        """
        if not self._heard:
            self._lost = False

    def feed(self, data: bytes) -> list[str]:
        """Take what arrived; gives the lines that are whole now, without their ends."""
        self._heard = self._heard or bool(data)
        *whole, self._rest = re.split(rb"[\r\n]", self._rest + data)
        if whole and self._lost:
            self._lost = False
            del whole[0]
        if len(self._rest) > LONGEST:
            self._rest, self._lost = b"", True
        return [
            line.decode("ascii", "replace").strip() for line in whole if 0 < len(line) <= LONGEST
        ]
