"""Curves drawn in a terminal by half blocks, which every console font has. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

UPPER, LOWER, BOTH = "▀", "▄", "█"
LABEL = 5  # columns at the left, for densities


@dataclass(frozen=True)
class Drawn:
    """One curve: its name, points of its line (log exposure, density), and patches beside it."""

    name: str
    line: Sequence[tuple[float, float]]
    patches: Sequence[tuple[float, float]] = ()

    @property
    def mark(self) -> str:
        """Give the sign of its patches: the first letter of its name."""
        return (self.name or "-")[0]


def span(curves: Sequence[Drawn]) -> tuple[float, float, float]:
    """Give the least and the greatest log exposure, and the greatest density, in halves."""
    xs = [x for one in curves for x, _ in (*one.line, *one.patches)]
    ys = [y for one in curves for _, y in (*one.line, *one.patches)]
    low, high = math.floor(2 * min(xs)) / 2, math.ceil(2 * max(xs)) / 2
    return low, max(high, low + 0.5), max(math.ceil(2 * max(ys)) / 2, 0.5)


def plot(curves: Sequence[Drawn], *, columns: int = 72, rows: int = 18) -> list[str]:
    """Draw curves and patches as lines of text, at most so wide, two lines higher than ``rows``.

    Curves are half blocks, patches the first letter of their curve's name.
    """
    wide = columns - LABEL - 1
    low, high, top = span(curves)
    halves = [[False] * wide for _ in range(2 * rows)]
    signs: dict[tuple[int, int], str] = {}

    def place(x: float, y: float) -> tuple[int, int] | None:
        column = round((x - low) / (high - low) * (wide - 1))
        half = round((1.0 - y / top) * (2 * rows - 1))
        inside = 0 <= column < wide and 0 <= half < 2 * rows
        return (column, half) if inside else None

    for one in curves:
        for (x, y), (next_x, next_y) in zip(one.line, one.line[1:], strict=False):
            for part in range(8):
                at = place(x + (next_x - x) * part / 8, y + (next_y - y) * part / 8)
                if at is not None:
                    halves[at[1]][at[0]] = True
        for x, y in one.patches:
            at = place(x, y)
            if at is not None:
                signs[at[0], at[1] // 2] = one.mark
    lines = []
    for row in range(rows):
        cells = [
            signs.get((column, row)) or _block(halves[2 * row][column], halves[2 * row + 1][column])
            for column in range(wide)
        ]
        lines.append(f"{_density_at(row, rows, top):>{LABEL - 1}} │{''.join(cells)}".rstrip())
    lines.append(" " * LABEL + "└" + "─" * wide)
    lines.append(_axis(low, high, wide))
    return lines


def _block(upper: bool, lower: bool) -> str:
    if upper and lower:
        return BOTH
    return UPPER if upper else LOWER if lower else " "


def _density_at(row: int, rows: int, top: float) -> str:
    """Give the density that is written beside a row: the halves, at the row nearest to each."""
    for half in range(round(2 * top) + 1):
        density = half / 2
        if round((1.0 - density / top) * (2 * rows - 1)) // 2 == row:
            return f"{density:.1f}"
    return ""


def _axis(low: float, high: float, wide: int) -> str:
    line = [" "] * (LABEL + 1 + wide + 4)
    step = 0.5 if high - low <= 3.0 else 1.0
    at = math.ceil(low / step) * step
    while at <= high + 1e-9:
        text = f"{at:.1f}"
        column = LABEL + 1 + round((at - low) / (high - low) * (wide - 1))
        start = max(0, column - len(text) // 2)
        line[start : start + len(text)] = text
        at += step
    return "".join(line).rstrip()
