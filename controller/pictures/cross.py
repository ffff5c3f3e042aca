"""The picture of a cross: the sheet with its rows lettered and its columns numbered.

With densities it is the developed sheet on the bench, and nothing is drawn on its tones; without
them a map, to print, with the two exposures of each cell written in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from os import PathLike
from typing import TYPE_CHECKING, TypeAlias

from controller.pictures.ink import (
    BENCH,
    FRAME,
    OUTLINE,
    PRINT,
    PX_PER_MM,
    CellSize,
    canvas,
    lay_paper,
    measure_at,
    paper_size,
    pen,
    plain,
    printable,
    require_drawable,
    require_sizes,
    save,
    write_words,
)
from controller.pictures.page import (
    LEADING,
    Caption,
    Layout,
    Measure,
    Point,
    Text,
    framed,
    paragraph,
)
from controller.pictures.strip_layout import REACH, SECONDS, Axis, PatchLabel, labels_along
from controller.stops import factor_to_stops, format_time
from controller.strips.cross import Cross, Steps, cells_of
from controller.strips.strip import LETTERS

if TYPE_CHECKING:
    from controller.pictures.ink import Grey

Line: TypeAlias = tuple[Point, ...]

CLEAR = -REACH / 2  # where labels begin at the earliest: those of rows and columns never meet
TICK_FROM, TICK_TO = 0.9, 2.4  # outside the paper, between rows and columns
LEAST_HEADING = 34.0  # the width that a filter's name may take at least
LARGEST, SMALL_CELL, LEAST = 5.0, 2.0, 0.8  # sizes of what stands in the cells of a map
CELL_NAME = 1.3  # its name, by the size of its exposures


def cross_picture(
    density: Grey | None,
    cross: Cross,
    path: str | PathLike[str],
    *,
    mm_per_cell: CellSize | None,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw the developed sheet of a cross, or its map where there are no densities.

    ``density`` has a row for each line of cells from the top of the sheet, counted from paper
    white; ``mm_per_cell`` is the size of such a cell, or its width and height, and without it
    the sheet has the size that the cross asked for. Raises BadInput for densities that are
    none, for a picture too large and for a path that cannot be written.
    """
    size = (cross.width_mm, cross.height_mm)
    if density is not None:
        # what is no table of densities is refused with or without a size of its cells
        measured = paper_size(density, mm_per_cell or 1.0)
        size = measured if mm_per_cell else size
    require_sizes(*size, px_per_mm)
    layout = lay_out_cross(
        cross,
        width_mm=size[0],
        height_mm=size[1],
        caption=plain(caption),
        measure=measure_at(px_per_mm),
        doses_inside=density is None,
    )
    require_drawable(layout, px_per_mm)
    ink = PRINT if density is None else BENCH
    image = canvas(layout, px_per_mm, ink)
    if density is None:
        draw = pen(image)
        fine = max(1, round(0.3 * px_per_mm))
        for line in _between(cross, layout):
            draw.line([(x * px_per_mm, y * px_per_mm) for x, y in line], FRAME, fine)
        outline = [edge * px_per_mm for edge in layout.paper]
        draw.rectangle(outline, outline=OUTLINE, width=max(1, round(0.4 * px_per_mm)))
    else:
        lay_paper(image, density, layout.paper[:2], size, px_per_mm, ink)
    write_words(image, layout, px_per_mm, ink)
    save(image, path, px_per_mm, layout.paper)


def lay_out_cross(
    cross: Cross,
    *,
    width_mm: float,
    height_mm: float,
    caption: Caption,
    measure: Measure,
    doses_inside: bool,
) -> Layout:
    """Lay out the picture: soft exposures above the columns, hard ones left of the rows.

    No two texts touch and none is cut off. With ``doses_inside`` the cells say what they get.
    """
    numbers = [str(column) for column in range(1, cross.soft.steps + 1)]
    above, up = _above(_labels(cross.soft, numbers, width_mm), measure)
    left, out = _left(_labels(cross.hard, LETTERS[: cross.hard.steps], height_mm), measure)

    # each filter is named over its exposures: the hard one in the corner, which is free
    top = min(text.y for text in above)
    soft, below = _named("soft", cross.soft, max(width_mm, LEAST_HEADING), measure)
    named = [replace(text, y=text.y + top - 1.0 - below) for text in soft]
    furthest = max(-REACH - min(text.x for text in left), LEAST_HEADING)
    hard, below = _named("hard", cross.hard, furthest, measure)
    named += [replace(text, x=-REACH - text.width, y=text.y - REACH - 1.0 - below) for text in hard]

    inside = _doses(cross, width_mm, height_mm, measure) if doses_inside else []
    texts = [*above, *left, *named, *inside]
    lines = [*up, *out, *_ticks(cross, width_mm, height_mm)]
    x0, y0 = min(text.x for text in texts), min(text.y for text in texts)
    x1 = max([width_mm + TICK_TO, *(text.x + text.width for text in texts)])
    y1 = max([height_mm + TICK_TO, *(text.y + text.height for text in texts)])
    paper = (0.0, 0.0, width_mm, height_mm)
    body = Layout(x1 - x0, y1 - y0, paper, tuple(texts), tuple(lines)).moved(-x0, -y0)
    facts = [caption.way, f"{width_mm:g} x {height_mm:g} mm"]
    return framed(body, facts, caption, measure)


# --- inside -----------------------------------------------------------------------------------


def _labels(steps: Steps, names: Sequence[str], along_mm: float) -> list[PatchLabel]:
    totals, each = steps.totals_s(), along_mm / steps.steps
    return [
        PatchLabel(
            name,
            total_s,
            factor_to_stops(total_s / totals[0]),
            index * each,
            (index + 1) * each,
        )
        for index, (name, total_s) in enumerate(zip(names, totals, strict=True))
    ]


def _above(labels: Sequence[PatchLabel], measure: Measure) -> tuple[list[Text], list[Line]]:
    """Label columns: what would stand beneath an edge, turned up, the number next to its column."""
    rows = [label.rows() for label in labels]
    wanted = [label.centre_mm for label in labels]
    brief = [[(text.removesuffix(" stop"), size) for text, size in row] for row in rows]
    for written in (rows, brief):  # narrow columns have no room for the word
        placed = labels_along(written, wanted, Axis.HORIZONTAL, measure, least=CLEAR)
        if not placed.fanned:
            break
    texts = [replace(text, y=-text.y - text.height) for text in placed.texts(0.0, measure)]
    return texts, [tuple((x, -y) for x, y in line) for line in placed.leaders(0.0)]


def _left(labels: Sequence[PatchLabel], measure: Measure) -> tuple[list[Text], list[Line]]:
    """Label rows: what would stand right of an edge, turned over, the letter next to its row."""
    placed = labels_along(
        [label.rows() for label in labels],
        [label.centre_mm for label in labels],
        Axis.VERTICAL,
        measure,
        least=CLEAR,
    )
    texts = [replace(text, x=-text.x - text.width) for text in placed.texts(0.0, measure)]
    return texts, [tuple((-x, y) for x, y in line) for line in placed.leaders(0.0)]


def _named(what: str, steps: Steps, width: float, measure: Measure) -> tuple[list[Text], float]:
    words = f"{what}, filter {printable(steps.filter)}"
    return paragraph(words, SECONDS, (0.0, 0.0), width, measure)


def _ticks(cross: Cross, width_mm: float, height_mm: float) -> list[Line]:
    """Draw what parts rows and columns, outside the paper on all four sides."""
    lines: list[Line] = []
    for k in range(cross.soft.steps + 1):
        x = width_mm * k / cross.soft.steps
        lines += [((x, -TICK_TO), (x, -TICK_FROM))]
        lines += [((x, height_mm + TICK_FROM), (x, height_mm + TICK_TO))]
    for k in range(cross.hard.steps + 1):
        y = height_mm * k / cross.hard.steps
        lines += [((-TICK_TO, y), (-TICK_FROM, y))]
        lines += [((width_mm + TICK_FROM, y), (width_mm + TICK_TO, y))]
    return lines


def _between(cross: Cross, layout: Layout) -> list[Line]:
    """Give the lines between the cells of a map."""
    left, top, right, bottom = layout.paper
    columns, rows = cross.soft.steps, cross.hard.steps
    xs = [left + (right - left) * k / columns for k in range(1, columns)]
    ys = [top + (bottom - top) * k / rows for k in range(1, rows)]
    return [*(((x, top), (x, bottom)) for x in xs), *(((left, y), (right, y)) for y in ys)]


def _doses(cross: Cross, width_mm: float, height_mm: float, measure: Measure) -> list[Text]:
    """Write each cell's name and exposures into it, as large as all fit.

    Small cells go without "soft" and "hard": the soft one stands above. Where even this would
    not be legible, nothing is written.
    """
    wide, high = width_mm / cross.soft.steps, height_mm / cross.hard.steps
    cells = cells_of(cross)
    for words in (("soft ", "hard "), ("", "")):
        written = [
            (
                (cell.name, CELL_NAME),
                (words[0] + format_time(cell.soft_s), 1.0),
                (words[1] + format_time(cell.hard_s), 1.0),
            )
            for cell in cells
        ]
        widest = max(measure(text, LARGEST * k) / LARGEST for rows in written for text, k in rows)
        size = min(LARGEST, 0.86 * wide / widest, 0.86 * high / (LEADING * (2 + CELL_NAME)))
        if size >= SMALL_CELL:
            break
    if size < LEAST:
        return []
    texts = []
    places = product(range(cross.hard.steps), range(cross.soft.steps))
    for (row, column), rows in zip(places, written, strict=True):
        y = (row + 0.5) * high - size * LEADING * (2 + CELL_NAME) / 2
        for text, k in rows:
            width = measure(text, size * k)
            x = (column + 0.5) * wide - width / 2
            texts.append(Text(text, size * k, x, y, width, faint=k == 1.0))
            y += size * k * LEADING
    return texts
