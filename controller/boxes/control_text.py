"""A control chart drawn in a terminal: a small panel for each figure, strips as half blocks. Pure.

The middle line is the aim, dots are the limits of watching, double lines those of acting.
"""

from __future__ import annotations

from controller.boxes.control import Chart, Figure, Limits
from controller.boxes.text_plot import LOWER, UPPER

LABEL = 6  # columns at the left, for densities
AIM, WATCH, ACT = "─", "·", "═"
ROOM = 1.25  # a panel reaches so many times the limit of acting, or to what lies further off
APART = 4  # columns from strip to strip, where there is room
LEAST_ROWS = 3


def control_blocks(charted: Chart, limits: Limits, *, columns: int, rows: int) -> list[str]:
    """Draw all figures in two rows of two panels, within so many columns and rows."""
    wide = (columns - 2) // 2
    high = max(LEAST_ROWS, rows // 2 - 1)
    panels = [_panel(charted, figure, limits, wide, high) for figure in Figure]
    lines = []
    for left, right in zip(panels[::2], panels[1::2], strict=True):
        lines += [f"{a:{wide}}  {b}".rstrip() for a, b in zip(left, right, strict=True)]
    return lines


def _panel(charted: Chart, figure: Figure, limits: Limits, wide: int, high: int) -> list[str]:
    watch, act = limits.of(figure)
    inner = wide - LABEL
    strips = charted.strips[-inner:]
    apart = max(1, min(APART, inner // len(strips)))
    top = max(ROOM * act, *(abs(one.off[figure]) for one in strips))

    def half(off: float) -> int:
        return round((1.0 - off / top) / 2.0 * (2 * high - 1))

    cells = [[" "] * inner for _ in range(high)]
    names = [""] * high
    for value, sign in ((watch, WATCH), (-watch, WATCH), (act, ACT), (-act, ACT), (0.0, AIM)):
        row = half(value) // 2
        cells[row] = [sign] * inner
        names[row] = "" if sign == WATCH else f"{value + 0.0:+.2f}"
    for index, one in enumerate(strips):
        at = half(one.off[figure])
        cells[at // 2][index * apart + apart // 2] = LOWER if at % 2 else UPPER
    newest = charted.strips[-1]
    off = round(newest.off[figure], 2) + 0.0  # a rounded nothing has no minus
    head = f"{figure.value} {off:+.2f}, {newest.states[figure].value}"
    body = [f"{name:>{LABEL - 1}} {''.join(row)}" for name, row in zip(names, cells, strict=True)]
    return [head[:wide], *body]
