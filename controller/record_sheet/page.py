"""A print's record on one page: what is there is given room, and what is not leaves no gap."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import Enum
from functools import partial
from typing import Literal, TypeAlias

from controller.errors import BadInput, Refused, quoted
from controller.record_sheet import blocks, figures
from controller.record_sheet.canvas import measure, pdf
from controller.record_sheet.ink import At, Block, Box, Face, Line, Mark, Picture, Words, moved
from controller.record_sheet.model import CrossFigure, Curve, PrintSheet, StripFigure
from controller.score.wall_map import PAPERS
from controller.score.wall_map_parts import Area

PaperName = Literal["A4", "letter"]
SIDE, TOP, BOTTOM = 18.0, 17.0, 15.0
BETWEEN = 6.5  # between blocks
COLUMN = 7.0  # between columns
FACTS_WIDE = 52.0
LEAST_MAP = 52.0
FULL = 0.9  # of the width: a map that fills less stands beside the facts
MOST_AIR = 5.0  # what a gap grows by on a page with little on it
STEP_DOWN = 22.0  # by which the map with what is under it may reach below the facts
FACTORS = tuple(1.0 - 0.05 * k for k in range(12))  # type is made smaller until all fits


def record_pdf(sheet: PrintSheet, *, paper: str = "A4") -> bytes:
    """Give a print's record as the bytes of a PDF of one page.

    Raises BadInput for a size of page that it does not know, Refused where there is more than
    one page can hold.
    """
    size = page_size(paper)
    return pdf([lay_out(sheet, size)], size, f"{sheet.title} {sheet.mark}".strip())


def page_size(paper: str) -> tuple[float, float]:
    """Give width and height of a page in mm. Raises BadInput."""
    if paper not in PAPERS:
        raise BadInput(f"{quoted(paper)} is no size of page", "--paper", " or ".join(PAPERS))
    return PAPERS[paper]


def lay_out(sheet: PrintSheet, size: tuple[float, float]) -> list[Mark]:
    """Place everything on a page, in the largest type in which it fits. Raises Refused."""
    for factor in FACTORS:
        placed = _placed(sheet, size, factor)
        if placed is not None:
            return placed
    raise Refused(
        f"the record of {sheet.mark or sheet.record_id[:8]} has {len(sheet.steps)} exposures, "
        "more than a page can hold",
        ("dryside book show, which tells them all",),
    )


# --- inside -----------------------------------------------------------------------------------


class _Under(Enum):
    """What lies under the map, where the facts beside it leave room for it."""

    CURVE = "curve"
    EDITION = "edition"
    NOTHING = "nothing"


def _placed(sheet: PrintSheet, size: tuple[float, float], factor: float) -> list[Mark] | None:
    for under in _Under:
        placed = _placed_so(sheet, size, factor, under)
        if placed is not None:
            return placed
    return None


def _placed_so(
    sheet: PrintSheet, size: tuple[float, float], factor: float, under: _Under
) -> list[Mark] | None:
    width = size[0] - 2 * SIDE
    foot = _foot(sheet, width)
    end = size[1] - BOTTOM - foot.height
    table = blocks.exposures(sheet.steps, width, factor, measure)
    rows = _rows(sheet, width, factor, under)
    words = blocks.remarks(sheet.remarks, width, factor, measure) if sheet.remarks else None
    head = blocks.head(sheet, width, measure)
    below = [block for block in (table, *rows, words) if block is not None]
    gap = BETWEEN * max(0.6, factor)
    room = end - TOP - head.height - 2 * gap - sum(block.height + gap for block in below)
    upper = _upper(sheet, width, room, gap, factor, under)
    if upper is None:
        return None
    placed = [head, *(block for block in upper if block.height > 0), *below]
    left = end - TOP - sum(block.height + gap for block in placed)
    gap += min(MOST_AIR, max(0.0, left) / len(placed))
    marks: list[Mark] = []
    y = TOP
    for block in placed:
        marks += [moved(mark, SIDE, y) for mark in block.marks]
        y += block.height + gap
    return marks + [moved(mark, SIDE, end) for mark in foot.marks]


def _upper(
    sheet: PrintSheet, width: float, room: float, gap: float, factor: float, under: _Under
) -> list[Block] | None:
    """Give the map and the facts; None where there is no room for them.

    A map that lies across takes the whole width where that fits, with the facts beneath.
    """
    if under is not _Under.NOTHING:
        return _with_under(sheet, width, room, factor, under)
    across = _facts_across(sheet, width, factor)
    if not (sheet.score.sketch or sheet.picture):
        return [across] if across.height <= room else None
    left = room - across.height - gap
    if factor == 1.0 and figures.proportion(sheet.score) > 1:
        whole = figures.exposure_map(sheet, Area(0, 0, width, max(left, 1.0)), measure)
        widest = max(mark.area.width for mark in whole.marks if isinstance(mark, Box))
        if left > 0 and widest > FULL * width:
            return [whole, across]
    facts = blocks.facts(sheet.facts, FACTS_WIDE, factor, measure)
    wide = width - (FACTS_WIDE + COLUMN if sheet.facts else 0.0)
    if room < max(facts.height, LEAST_MAP * factor):
        return None
    block = Block()
    block.put(figures.exposure_map(sheet, Area(0, 0, wide, room), measure), 0, 0)
    if sheet.facts:
        block.put(facts, width - FACTS_WIDE, 0)
    return [block]


def _with_under(
    sheet: PrintSheet, width: float, room: float, factor: float, under: _Under
) -> list[Block] | None:
    """Give the map with the curve or the edition under it, where the facts are as high as both."""
    drawn = sheet.curve is not None if under is _Under.CURVE else bool(sheet.edition)
    if not drawn or not sheet.facts or not (sheet.score.sketch or sheet.picture):
        return None
    wide = width - FACTS_WIDE - COLUMN
    facts = blocks.facts(sheet.facts, FACTS_WIDE, factor, measure)
    if under is _Under.CURVE and sheet.curve is not None:
        beneath = _curve(sheet.curve, factor, wide)
    else:
        beneath = _edition(sheet, factor, wide)
    between = BETWEEN * factor
    high = min(room, facts.height + STEP_DOWN) - between - beneath.height
    if room < facts.height or high < LEAST_MAP * factor:
        return None
    block = figures.exposure_map(sheet, Area(0, 0, wide, high), measure)
    widest = max(mark.area.width for mark in block.marks if isinstance(mark, Box | Picture))
    if widest < FULL * wide and figures.proportion(sheet.score) > 1:
        return None
    block.put(beneath, 0, block.height + between)
    block.put(facts, width - FACTS_WIDE, 0)
    return [block]


def _facts_across(sheet: PrintSheet, width: float, factor: float) -> Block:
    """Give the facts in three columns, each as high as the others as far as it goes."""
    block = Block()
    across = 3
    wide = (width - (across - 1) * COLUMN) / across
    between = 4.0 * factor
    ends = [0.0] * across
    for group in sheet.facts:
        lowest = ends.index(min(ends))
        part = blocks.facts([group], wide, factor, measure)
        block.put(part, lowest * (wide + COLUMN), ends[lowest])
        ends[lowest] += part.height + between
    return block


def _rows(sheet: PrintSheet, width: float, factor: float, under: _Under) -> list[Block]:
    """Give the strips beside each other, then the curve beside the sheets; not what is under."""
    evidence: list[Maker] = [partial(_figure, figure, factor) for figure in sheet.strips]
    rest: list[Maker] = []
    if sheet.curve is not None and under is not _Under.CURVE:
        rest.append(partial(_curve, sheet.curve, factor))
    if sheet.edition and under is not _Under.EDITION:
        rest.append(partial(_edition, sheet, factor))
    if len(evidence) + len(rest) <= 3:  # all in one row
        evidence, rest = [*evidence, *rest], []
    rows = []
    for makers in (evidence, rest):
        across = 4 if len(makers) == 4 else min(3, len(makers))
        for start in range(0, len(makers), across or 1):
            rows.append(_beside(makers[start : start + across], across, width))
    return rows


Maker: TypeAlias = Callable[[float], Block]


def _beside(makers: Sequence[Maker], across: int, width: float) -> Block:
    block = Block()
    wide = (width - (across - 1) * COLUMN) / across
    for number, make in enumerate(makers):
        block.put(make(wide), number * (wide + COLUMN), 0)
    return block


def _figure(figure: StripFigure | CrossFigure, factor: float, wide: float) -> Block:
    if isinstance(figure, CrossFigure):
        return figures.cross_figure(figure, wide, factor, measure)
    return figures.strip_figure(figure, wide, factor, measure)


def _curve(curve: Curve, factor: float, wide: float) -> Block:
    return figures.curve_figure(curve, wide, factor, measure)


def _edition(sheet: PrintSheet, factor: float, wide: float) -> Block:
    return blocks.edition(sheet.edition, sheet.edition_name, wide, factor, measure)


def _foot(sheet: PrintSheet, width: float) -> Block:
    block = Block(height=5.0)
    block.marks.append(Line(((0, 1.0), (width, 1.0)), blocks.HAIR))
    size = 1.9
    left = f"record {sheet.record_id}"
    block.marks.append(Words(0, 4.2, left, size, Face.PLAIN, grey=blocks.SOFT))
    right = f"made {sheet.made} on {sheet.rig}  \u00b7  Dryside" if sheet.rig else "Dryside"
    block.marks.append(Words(width, 4.2, right, size, Face.PLAIN, At.RIGHT, blocks.SOFT))
    return block
