"""Labels: one for the back of a print, one for the sleeve of its negative.

They are laid out on a grid over the whole page, as sheets of labels are cut; on plain paper the
ticks say where to cut.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from controller.errors import BadInput, quoted
from controller.numbered import numbered
from controller.record_sheet.blocks import SOFT
from controller.record_sheet.canvas import measure, pdf
from controller.record_sheet.gather import size_words
from controller.record_sheet.ink import (
    CAP,
    LEADING,
    At,
    Block,
    Face,
    Line,
    Mark,
    Qr,
    Words,
    moved,
    shortened,
    wrapped,
)
from controller.record_sheet.model import NEGATIVE, PrintSheet, StepKind
from controller.record_sheet.page import page_size
from controller.score.wall_map_parts import Area
from controller.stops import format_time

AIR = 4.0  # from a label's edge: sheets of labels are never laid in quite straight
QR_MM = 24.0
SIZE = 2.5
MOST = 12  # columns and rows of a grid


@dataclass(frozen=True)
class Grid:
    """How a page is divided into labels."""

    columns: int = 2
    rows: int = 7


def grid_of(text: str) -> Grid:
    """Read a grid such as ``2x7``: columns and rows of a page. Raises BadInput."""
    found = re.fullmatch(r"\s*(\d{1,2})\s*[xX\u00d7]\s*(\d{1,2})\s*", text)
    if found:
        grid = Grid(int(found[1]), int(found[2]))
        if 1 <= grid.columns <= 3 and 1 <= grid.rows <= MOST - 3:
            return grid
    right = "columns and rows of a page such as 2x7, up to 3x9"
    raise BadInput(f"{quoted(text)} is no grid of labels", "--grid", right)


def labels_pdf(
    sheets: Sequence[PrintSheet],
    *,
    back: bool = True,
    sleeve: bool = True,
    grid: Grid = Grid(),
    paper: str = "A4",
    skip: int = 0,
) -> bytes:
    """Give labels as a PDF, those of one print beside each other, after ``skip`` used ones.

    A print that names no negative has no sleeve, and so no label for one.
    Raises BadInput for pages, and for places, that there are not.
    """
    size = page_size(paper)
    each = grid.columns * grid.rows
    if not 0 <= skip < each:
        raise BadInput(f"{skip} labels are not on a page", "--skip", f"0 to {each - 1}")
    wide, high = size[0] / grid.columns, size[1] / grid.rows
    made: list[Block] = []
    for sheet in sheets:
        made += [back_label(sheet, wide, high)] if back else []
        made += [sleeve_label(sheet, wide, high)] if sleeve and sheet.negative else []
    pages: list[list[Mark]] = []
    for place, label in enumerate(made, start=skip):
        page, at = divmod(place, each)
        if page >= len(pages):
            pages.append(_ticks(size, grid))
        row, column = divmod(at, grid.columns)
        pages[page] += [moved(mark, column * wide, row * high) for mark in label.marks]
    return pdf(pages, size, "Labels")


def back_label(sheet: PrintSheet, wide: float, high: float) -> Block:
    """Give the label for the back of a print: what it is, and how it was made."""
    paper = sheet.score.paper
    named = ", ".join(filter(None, (paper.name, paper.batch and f"batch {paper.batch}")))
    process = sheet.score.process
    trays = ", ".join(filter(None, (process.developer, process.toning)))
    number = sheet.number or _number(sheet)
    lines = [
        _negative(sheet) if sheet.score.title else "",
        ", ".join(filter(None, (number, sheet.made))),
        named,
        short_exposures(sheet),
        trays,
    ]
    return _label(sheet, sheet.title, lines, wide, high)


def sleeve_label(sheet: PrintSheet, wide: float, high: float) -> Block:
    """Give the label for a negative's sleeve: what it is, and how it was printed last."""
    setup = sheet.score.setup
    times = f"{setup.magnification:.3g} times" if setup.magnification else ""
    stood = ", ".join(filter(None, (setup.lens, setup.aperture and f"f/{setup.aperture}", times)))
    paper = sheet.score.paper
    lines = [
        sheet.score.title,
        ", ".join(line for one in sheet.facts if one.heading == NEGATIVE for line in one.lines),
        f"printed {sheet.made}, {size_words(paper.width_mm, paper.height_mm)}",
        short_exposures(sheet),
        stood,
        ", ".join(filter(None, (paper.name, paper.batch and f"batch {paper.batch}"))),
    ]
    negative = _negative(sheet)
    return _label(sheet, negative[:1].upper() + negative[1:], lines, wide, high)


def short_exposures(sheet: PrintSheet) -> str:
    """Tell in a line what a print really got: passes in seconds, and how much handwork."""
    given = [one for one in sheet.steps if one.given_s > 0]
    parts = [
        " ".join(filter(None, (one.label, one.filter and f"({one.filter})")))
        + f" {format_time(one.given_s)}"
        for one in given
        if one.kind in (StepKind.FLASH, StepKind.PASS)
    ]
    burns = sum(1 for one in given if one.kind is StepKind.BURN)
    dodges = sum(len(one.held) for one in given)
    extras = sum(1 for one in given if one.kind is StepKind.EXTRA)
    for count, word in ((burns, "burn"), (dodges, "dodge"), (extras, "extra")):
        if count:
            parts.append(numbered(count, word))
    return ", ".join(parts) or "nothing given"


# --- inside -----------------------------------------------------------------------------------


def _negative(sheet: PrintSheet) -> str:
    return f"negative {sheet.negative}" if sheet.negative else ""


def _number(sheet: PrintSheet) -> str:
    """Tell which of the good sheets this is, where there are several."""
    good = [one.mark for one in sheet.edition if one.fate == "done"]
    if len(good) < 2 or sheet.mark not in good:
        return ""
    return f"sheet {good.index(sheet.mark) + 1} of {len(good)}"


def _label(sheet: PrintSheet, title: str, lines: Sequence[str], wide: float, high: float) -> Block:
    block = Block(height=high)
    factor = min(1.0, high / 38.0, wide / 90.0)
    code = QR_MM * min(1.0, (high - 2) / (QR_MM + 9), wide / 80.0)
    right = wide - AIR + 1.5
    block.marks.append(Qr(Area(right - code, AIR - 2.0, code, code), sheet.record_id))
    size = SIZE * factor
    big = 5.2 * factor
    if sheet.mark:
        base = min(AIR - 2.0 + code + big * CAP, high - AIR)
        middle = right - code / 2
        block.marks.append(Words(middle, base, sheet.mark, big, Face.BOLD, At.MIDDLE))
    room = wide - 2 * AIR - code + 1.0
    head = 4.0 * factor
    y = AIR
    for line in wrapped(title, head, room, measure, Face.BOLD, most=2):
        y += head * (CAP if y == AIR else 1.2)
        block.marks.append(Words(AIR, y, line, head, Face.BOLD))
    y += 0.9 * factor
    for number, text in enumerate(filter(None, lines)):
        for line in wrapped(text, size, room, measure, most=2):
            y += size * LEADING
            if y > high - AIR + 0.5:
                return block
            soft = SOFT if number == 0 else 0.0
            block.marks.append(Words(AIR, y, shortened(line, size, room, measure), size, grey=soft))
    return block


def _ticks(size: tuple[float, float], grid: Grid) -> list[Mark]:
    """Give short lines at the page's edges, where labels meet."""
    marks: list[Mark] = []
    for column in range(1, grid.columns):
        x = column * size[0] / grid.columns
        marks += [Line(((x, 0), (x, 2.5)), 0.1, 0.5), Line(((x, size[1] - 2.5), (x, size[1])), 0.1)]
    for row in range(1, grid.rows):
        y = row * size[1] / grid.rows
        marks += [Line(((0, y), (2.5, y)), 0.1, 0.5), Line(((size[0] - 2.5, y), (size[0], y)), 0.1)]
    return marks
