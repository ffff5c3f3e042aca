"""Where everything goes on a wall map: words and rules in mm from the top left of the page. Pure.

Everything is as large as the page allows. Sizes are those of the type (from line to line about
1.2 of it); all of them are multiplied by one scale, which is the largest that fits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from controller.errors import Refused
from controller.score.wall_map_parts import (
    CAP,
    LINE,
    Area,
    Block,
    Measure,
    Rule,
    Side,
    Words,
    cut,
    joined,
    wrapped,
)
from controller.score.wall_map_table import LOWEST, blocks, least_width
from controller.score.wall_map_words import Entry, Head

MARGIN = 10.0
TITLE, FACTS = 11.0, 5.2  # sizes at scale 1
LARGEST, LEAST = 2.0, 0.13  # scale; below the least nothing could be read
_SCALES = [LARGEST * 0.96**k for k in range(70)]
SCALES = tuple(scale for scale in _SCALES if scale >= LEAST)


@dataclass(frozen=True)
class Page:
    """All words and rules, and where the sketch goes, if there is one."""

    width: float
    height: float
    block: Block
    sketch: Area | None
    scale: float


def lay_out(
    head: Head,
    entries: Sequence[Entry],
    measure: Measure,
    *,
    size: tuple[float, float],
    sheet: tuple[float, float] | None,
) -> Page:
    """Lay a page out. ``sheet`` is the paper's size where there is a sketch of it, else None.

    Raises Refused where there is more than a page can hold.
    """
    width, height = size
    best: tuple[float, Page] | None = None
    for sketch_share, beside in _ways(sheet is not None):
        for columns in (1, 2, 3, 4, 5):
            page = _largest(
                head, entries, measure, size, sketch_share, columns=columns, beside=beside
            )
            if page is None:
                continue
            worth = min(page.scale, 1.2)
            if page.sketch and sheet:
                fit = min(page.sketch.width / sheet[0], page.sketch.height / sheet[1])
                across = fit * (sheet[0] * sheet[1]) ** 0.5
                worth *= (across / (width * height) ** 0.5) ** 0.6
            if best is None or worth > best[0] * 1.001:
                best = worth, page
    if best is None:
        raise Refused(
            f"{len(entries)} exposures are too many for one page that can be read",
            ("fewer burns, several regions in one",),
        )
    return best[1]


# --- inside -----------------------------------------------------------------------------------


def _ways(sketched: bool) -> Iterator[tuple[float, bool]]:
    """Give how the page may be shared out: the sketch's part, and whether it stands beside."""
    if not sketched:
        yield 0.0, False
        return
    for share in (0.62, 0.56, 0.5, 0.45, 0.4, 0.34):
        yield share, True
        yield share, False


def _largest(
    head: Head,
    entries: Sequence[Entry],
    measure: Measure,
    size: tuple[float, float],
    share: float,
    *,
    columns: int,
    beside: bool,
) -> Page | None:
    """Find the largest scale at which everything fits, by halving."""
    found: Page | None = None
    low, high = 0, len(SCALES)
    while low < high:
        some = (low + high) // 2
        page = _at_scale(
            head, entries, measure, size, share, SCALES[some], columns=columns, beside=beside
        )
        found, low, high = (page, low, some) if page else (found, some + 1, high)
    return found


def _at_scale(
    head: Head,
    entries: Sequence[Entry],
    measure: Measure,
    size: tuple[float, float],
    share: float,
    scale: float,
    *,
    columns: int,
    beside: bool,
) -> Page | None:
    inner_w, inner_h = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN
    page = Block()
    above = _head(head, inner_w, measure, min(1.0, max(scale, 0.5)))
    page.put(above, MARGIN, MARGIN)
    top = MARGIN + above.height
    body = inner_h - above.height
    gap = 6.0
    sketch: Area | None = None
    area = Area(MARGIN, top, inner_w, body)
    if share and beside:
        sketch = Area(MARGIN, top, share * inner_w - gap, body)
        area = Area(MARGIN + share * inner_w, top, (1 - share) * inner_w, body)
    elif share:
        sketch = Area(MARGIN, top, inner_w, share * body - gap / 2)
        area = Area(MARGIN, top + share * body, inner_w, (1 - share) * body)
    width = (area.width - (columns - 1) * gap) / columns
    if len(entries) * LOWEST * scale > columns * area.height:
        return None
    if width < least_width(entries, measure, scale):
        return None
    made = blocks(entries, width, measure, scale)
    placed = _flow([block.height for block in made], area.height, columns)
    if placed is None:
        return None
    for block, (column, down) in zip(made, placed, strict=True):
        page.put(block, area.x + column * (width + gap), area.y + down)
    for before, after in pairwise(sorted({column for column, _ in placed})):
        x = area.x + after * (width + gap) - gap / 2
        if before < after:
            page.rules.append(Rule(x, area.y + 2, x, area.y + area.height, 0.25))
    return Page(size[0], size[1], page, sketch, scale)


def _flow(heights: list[float], room: float, columns: int) -> list[tuple[int, float]] | None:
    """Give column and distance from the top of each block; None where they do not fit."""
    placed = []
    column, down = 0, 0.0
    for height in heights:
        if down + height > room + 1e-6:
            column, down = column + 1, 0.0
        if column >= columns or height > room:
            return None
        placed.append((column, down))
        down += height
    return placed


def _head(head: Head, width: float, measure: Measure, scale: float) -> Block:
    block = Block()
    base_size = TITLE * scale * 0.9
    base_width = measure(head.base, base_size, True)
    room = width - base_width - 8
    size = TITLE * scale
    while size > TITLE * scale * 0.6 and measure(head.title, size, True) > room:
        size *= 0.95
    y = CAP * TITLE * scale
    block.words.append(Words(width, y, head.base, base_size, bold=True, side=Side.RIGHT))
    lines = wrapped(head.title, size, room, measure, bold=True)
    if len(lines) > 2:
        lines[1:] = [cut(" ".join(lines[1:]), size, room, measure, bold=True)]
    for index, line in enumerate(lines):
        y += size * LINE if index else 0
        block.words.append(Words(0, y, line, size, bold=True))
    y += (LINE - CAP) * TITLE * scale
    size = FACTS * scale
    for facts in head.lines:
        for line in joined(facts, size, width, measure)[:3]:
            y += size * CAP
            block.words.append(Words(0, y, line, size))
            y += size * (LINE + 0.08 - CAP)
    block.rules.append(Rule(0, y + 0.8, width, y + 0.8, 0.8))
    block.height = y + 3.5
    return block
