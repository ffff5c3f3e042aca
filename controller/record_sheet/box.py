"""The list of a box of paper: every print made from it, small, as many pages as it takes."""

from __future__ import annotations

from collections.abc import Sequence

from controller.record_sheet.blocks import BODY, HAIR, HEADING, SMALL, SOFT
from controller.record_sheet.canvas import measure, pdf
from controller.record_sheet.figures import exposure_map, only_picture
from controller.record_sheet.ink import (
    CAP,
    At,
    Block,
    Box,
    Face,
    Line,
    Mark,
    Words,
    moved,
    shortened,
    wrapped,
)
from controller.record_sheet.labels import short_exposures
from controller.record_sheet.model import PrintSheet
from controller.record_sheet.page import BOTTOM, SIDE, TOP, page_size
from controller.score.wall_map_parts import Area

COLUMNS, ROWS = 4, 5
COLUMN_GAP, ROW_GAP = 5.0, 4.0
HEAD = 19.0  # height of what stands above the first row
PICTURE = 0.58  # of a cell's height


def box_pdf(
    name: str, facts: Sequence[str], sheets: Sequence[PrintSheet], *, paper: str = "A4"
) -> bytes:
    """Give the list of a box: what is known of it, then its prints, the oldest first."""
    size = page_size(paper)
    each = COLUMNS * ROWS
    groups = [sheets[at : at + each] for at in range(0, len(sheets), each)] or [[]]
    pages = [
        _page(name, facts, group, number, len(groups), size)
        for number, group in enumerate(groups, start=1)
    ]
    return pdf(pages, size, f"Box {name}")


# --- inside -----------------------------------------------------------------------------------


def _page(
    name: str,
    facts: Sequence[str],
    sheets: Sequence[PrintSheet],
    number: int,
    of: int,
    size: tuple[float, float],
) -> list[Mark]:
    width, height = size[0] - 2 * SIDE, size[1] - TOP - BOTTOM
    marks: list[Mark] = []
    title = shortened(name, 7.0, width - 26.0, measure, Face.BOLD)
    marks.append(Words(SIDE, TOP + 7.0 * CAP, title, 7.0, Face.BOLD))
    if of > 1:
        page = f"{number} of {of}"
        marks.append(Words(size[0] - SIDE, TOP + 5.0, page, BODY, at=At.RIGHT, grey=SOFT))
    lines = wrapped("  \u00b7  ".join(facts), BODY, width, measure, most=2)
    for k, line in enumerate(lines):
        marks.append(Words(SIDE, TOP + 10.2 + 3.7 * k, line, BODY, grey=SOFT))
    rule = TOP + HEAD - 2.5
    marks.append(Line(((SIDE, rule), (size[0] - SIDE, rule)), 0.5))
    wide = (width - (COLUMNS - 1) * COLUMN_GAP) / COLUMNS
    high = (height - HEAD - (ROWS - 1) * ROW_GAP) / ROWS
    for at, sheet in enumerate(sheets):
        row, column = divmod(at, COLUMNS)
        x, y = SIDE + column * (wide + COLUMN_GAP), TOP + HEAD + row * (high + ROW_GAP)
        marks += [moved(mark, x, y) for mark in _cell(sheet, wide, high).marks]
    return marks


def _cell(sheet: PrintSheet, wide: float, high: float) -> Block:
    block = Block(height=high)
    room = Area(0, 0, wide, high * PICTURE + 4.0)  # it keeps some for notes, of which it has none
    paper = sheet.score.paper
    if sheet.picture:
        # as small as this a picture tells more than lines over it
        block.put(only_picture(sheet, Area(0, 0, wide, high * PICTURE)), 0, 0)
    elif sheet.score.sketch:
        block.put(exposure_map(sheet, room, measure, words=False), 0, 0)
    else:
        scale = min(room.width / paper.width_mm, room.height / paper.height_mm)
        frame = Area(0, 0, paper.width_mm * scale, paper.height_mm * scale)
        block.marks.append(Box(frame, line=HAIR, grey=SOFT))
    size = SMALL
    y = high * PICTURE + 4.4
    mark_wide = measure(sheet.mark, 3.3, Face.BOLD) + 1.6
    y += 3.3 * CAP
    block.marks.append(Words(0, y, sheet.mark, 3.3, Face.BOLD))
    day = shortened(sheet.made, HEADING, wide - mark_wide, measure)
    block.marks.append(Words(wide, y, day, HEADING, at=At.RIGHT, grey=SOFT))
    spoiled = sheet.fate if sheet.fate not in ("done", "") else ""
    lines = [
        *wrapped(sheet.title, size, wide, measure, Face.BOLD, most=2),
        *wrapped(
            ", ".join(filter(None, (spoiled, sheet.number, short_exposures(sheet)))),
            HEADING,
            wide,
            measure,
        ),
    ]
    bold = len(wrapped(sheet.title, size, wide, measure, Face.BOLD, most=2))
    for number, line in enumerate(lines):
        own = size if number < bold else HEADING
        y += own * 1.3
        if y > high:
            break
        face = Face.BOLD if number < bold else Face.PLAIN
        block.marks.append(Words(0, y, line, own, face))
    return block
