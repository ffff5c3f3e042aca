"""Options of a driver, taken from the rig file one by one; each fault is one sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from controller.ports import PortFault


def number(
    options: Mapping[str, object], name: str, otherwise: float, low: float, high: float
) -> float:
    """Give a number from ``low`` to ``high``. Raises PortFault."""
    value = options.get(name, otherwise)
    fits = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not fits or not low <= float(value) <= high:  # type: ignore[arg-type]  # it is a number
        raise PortFault(f"{name} = {value!r} is not right; write a number from {low:g} to {high:g}")
    return float(value)  # type: ignore[arg-type]


def whole(options: Mapping[str, object], name: str, otherwise: int, low: int, high: int) -> int:
    """Give a whole number from ``low`` to ``high``. Raises PortFault."""
    value = number(options, name, otherwise, low, high)
    if not value.is_integer():
        raise PortFault(f"{name} = {value:g} is not right; write a whole number")
    return int(value)


def one_of(options: Mapping[str, object], name: str, otherwise: str, known: Sequence[str]) -> str:
    """Give one of the words that are known. Raises PortFault with the nearest."""
    value = options.get(name, otherwise)
    if isinstance(value, str) and value in known:
        return value
    near = get_close_matches(str(value), known, n=1)
    right = repr(near[0]) if near else " or ".join(repr(each) for each in known)
    raise PortFault(f"{name} = {value!r} is not known; right would be {right}")
