"""Values of a score as a printer says them: no more places than anyone reads off. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from controller.stops import format_stops

SAME_STOPS = 0.002  # a twelfth that was turned into seconds and back
_PRINTED_BY = (1, 2, 3, 4, 6, 12)  # parts of a stop that steps are printed by


def said(value: object, name: str = "") -> str:
    """Write a value; ``name`` is its field, whose end has the unit (``head_height_mm``).

    Millimetres are given to a tenth, other numbers with three figures; nothing known is "".
    """
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, float | int):
        if name.endswith("_mm"):
            return f"{round(value, 1):.10g} mm"
        return f"{value:.3g}"
    return str(value)


def called(name: str) -> str:
    """Name a field in words, without its unit."""
    return name.removesuffix("_mm").replace("_", " ")


def said_stops(stops: float) -> str:
    """Write a difference in stops: ``+1/3`` where it is so within 0.002, else ``+0.52``."""
    for parts in _PRINTED_BY:
        count = round(stops * parts)
        if abs(stops - count / parts) <= SAME_STOPS:
            return format_stops(count / parts)
    return f"{stops:+.2f}"


def lamp_lines(
    first: Mapping[str, float], second: Mapping[str, float]
) -> list[tuple[str, str, str]]:
    """Tell what differs in two calibrations of a lamp: of what, what it was, what it is.

    A calibration without a number was counted without it: nought.
    """
    found = []
    for name, what, unit in (
        ("cold_lag_s", "cold lag of the lamp", "s"),
        ("warm_gain_s2", "warm gain of the lamp", "s²"),
    ):
        was, is_ = (f"{one.get(name, 0.0):.3g} {unit}" for one in (first, second))
        if was != is_:
            found.append((what, was, is_))
    return found
