"""Test strips as block graphics: patches above their letters, the picked one marked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from controller.record_sheet.model import CrossFigure, StripFigure
from ui.terminal.widgets.picture_blocks import TONES, picture_lines

HIGH = 2  # rows of a strip where there is room
AROUND = 3  # rows that a strip has besides: head, letters, and one that is empty


def strips_lines(
    figures: Sequence[StripFigure | CrossFigure],
    pictures: Mapping[str, Path],
    columns: int,
    rows: int,
) -> list[str]:
    """Draw strips one beneath the other, in so many columns and rows at most."""
    high = HIGH if len(figures) * (HIGH + AROUND) - 1 <= rows else 1
    lines: list[str] = []
    for one in figures:
        lines.append(_head(one, columns))
        if isinstance(one, StripFigure):
            lines += _strip(one, pictures.get(one.mark), columns, high)
        lines.append("")
    return lines[: min(rows, len(lines) - 1)]


def _head(one: StripFigure | CrossFigure, columns: int) -> str:
    picked = f": {one.choice}" if one.choice else ""
    return f"{one.mark} {one.what}"[: columns - len(picked)] + picked


def _strip(one: StripFigure, picture: Path | None, columns: int, high: int) -> list[str]:
    """Draw a strip and its letters; without a picture tones only tell the order."""
    wide = max(1, columns // len(one.patches))
    order = sorted(patch.dose_s for patch in one.patches)
    most = len(TONES) - 1
    tones = [
        TONES[max(1, most - order.index(patch.dose_s) * most // len(one.patches))]
        for patch in one.patches
    ]
    drawn = ["".join(tone * wide for tone in tones)] * high
    if picture is not None:
        with suppress(OSError, ValueError):  # without it the order is told all the same
            drawn = picture_lines(picture, wide * len(one.patches), high, stretched=True)
    names = [f"[{p.letter}]" if p.picked else p.letter for p in one.patches]
    return [*drawn, "".join(name.center(wide)[:wide] for name in names).rstrip()]
