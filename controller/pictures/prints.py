"""Pictures of prints: the finished one on its mount, and the pieces of a dry-down test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from os import PathLike
from typing import TYPE_CHECKING

from controller.errors import BadInput
from controller.pictures.ink import (
    BENCH,
    MOUNT,
    PX_PER_MM,
    CellSize,
    canvas,
    lay_paper,
    measure_at,
    paper_size,
    plain,
    printable,
    require_drawable,
    require_sizes,
    save,
    write_words,
)
from controller.pictures.page import (
    LEADING,
    MARGIN,
    SMALL,
    Caption,
    Layout,
    Measure,
    Point,
    Text,
    framed,
    heading,
    inner_width,
    paragraph,
)
from controller.pictures.strip_layout import REACH, SECONDS

if TYPE_CHECKING:
    from controller.pictures.ink import Grey

BORDER_MM = 25.0
ABOVE_WORDS_MM = 7.0  # from print to words
MOST_IN_A_ROW = 8  # pieces: more are hardly compared at a glance
APART_MM = 4.0  # pieces lie close, to be compared
LEAST_PLACE = 24.0  # the width of a piece's label, at least


def print_picture(
    density: Grey,
    path: str | PathLike[str],
    *,
    mm_per_cell: CellSize,
    caption: Caption,
    border_mm: float = BORDER_MM,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw a finished print on white card, with ``border_mm`` around it and its words beneath.

    ``density`` has a row for each line of cells from the top of the print, counted from paper
    white; ``mm_per_cell`` is the size of a cell, or its width and height. Tones are right on
    an sRGB screen. Raises BadInput for densities that are none, for a border that is none and
    for a path that cannot be written.
    """
    size = paper_size(density, mm_per_cell)
    require_sizes(*size, px_per_mm)
    if not (math.isfinite(border_mm) and border_mm >= 0):
        raise BadInput(f"{border_mm:g} mm is no border", "picture", f"such as {BORDER_MM:g} mm")
    layout = lay_out_print(
        width_mm=size[0],
        height_mm=size[1],
        border_mm=border_mm,
        caption=plain(caption),
        measure=measure_at(px_per_mm),
    )
    require_drawable(layout, px_per_mm)
    image = canvas(layout, px_per_mm, MOUNT)
    lay_paper(image, density, layout.paper[:2], size, px_per_mm, MOUNT)
    write_words(image, layout, px_per_mm, MOUNT)
    save(image, path, px_per_mm, layout.paper)


def dry_down_picture(
    pieces: Sequence[tuple[str, Grey]],
    path: str | PathLike[str],
    *,
    mm_per_cell: CellSize,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw the pieces of a dry-down test side by side on the bench, each with its label beneath.

    Each piece is its label, such as "4 % less", and its densities, as ``print_picture`` takes
    them; ``mm_per_cell`` holds for all. More than eight lie in rows. Raises BadInput for no
    pieces, for densities that are none and for a path that cannot be written.
    """
    if not pieces:
        raise BadInput("there are no pieces", "picture", "one piece or more")
    sizes = [paper_size(density, mm_per_cell) for _, density in pieces]
    for size in sizes:
        require_sizes(*size, px_per_mm)
    layout, places = lay_out_pieces(
        [printable(label) for label, _ in pieces],
        sizes,
        caption=plain(caption),
        measure=measure_at(px_per_mm),
    )
    require_drawable(layout, px_per_mm)
    image = canvas(layout, px_per_mm, BENCH)
    for (_, density), size, at_mm in zip(pieces, sizes, places, strict=True):
        lay_paper(image, density, at_mm, size, px_per_mm, BENCH)
    write_words(image, layout, px_per_mm, BENCH)
    save(image, path, px_per_mm)


def lay_out_print(
    *, width_mm: float, height_mm: float, border_mm: float, caption: Caption, measure: Measure
) -> Layout:
    """Lay out a mounted print: card around it, beneath it title and mark, then line by line."""
    side = max(border_mm, MARGIN)  # words need room, however narrow the border
    inner = inner_width(width_mm - 2 * (side - border_mm), caption.mark, measure)
    whole = inner + 2 * side
    left = (whole - width_mm) / 2
    paper = (left, border_mm, left + width_mm, border_mm + height_mm)
    facts = [caption.way, f"{width_mm:g} x {height_mm:g} mm"]
    texts, y = heading(caption, facts, (side, paper[3] + ABOVE_WORDS_MM), inner, measure)
    y += SMALL * LEADING / 2
    for words in (caption.note, *caption.lines):
        more, y = paragraph(words, SMALL, (side, y), inner, measure)
        texts += more
    return Layout(whole, y + side, paper, tuple(texts), ())


def lay_out_pieces(
    labels: Sequence[str],
    sizes: Sequence[tuple[float, float]],
    *,
    caption: Caption,
    measure: Measure,
) -> tuple[Layout, list[Point]]:
    """Lay out pieces in rows with labels beneath, and tell where each piece's corner lies.

    ``sizes`` are the pieces' widths and heights; the layout's paper is the space of them all.
    """
    rows = math.ceil(len(sizes) / MOST_IN_A_ROW)
    in_a_row = math.ceil(len(sizes) / rows)
    place = max(LEAST_PLACE, *(width for width, _ in sizes))
    corners: list[Point] = []
    texts: list[Text] = []
    top = 0.0
    for first in range(0, len(sizes), in_a_row):
        row = sizes[first : first + in_a_row]
        foot = top + max(height for _, height in row)
        below = foot
        for k, (width, height) in enumerate(row):
            left = k * (place + APART_MM)
            corners.append((left + (place - width) / 2, foot - height))
            at = (left, foot + REACH)
            words, end = paragraph(labels[first + k], SECONDS, at, place, measure)
            texts += [
                Text(t.text, t.size, left + (place - t.width) / 2, t.y, t.width) for t in words
            ]
            below = max(below, end)
        top = below + 2 * APART_MM
    wide, high = in_a_row * (place + APART_MM) - APART_MM, top - 2 * APART_MM
    body = Layout(wide, high, (0.0, 0.0, wide, high), tuple(texts), ())
    different = sorted(set(sizes))
    each = f"each {sizes[0][0]:g} x {sizes[0][1]:g} mm" if len(different) == 1 else ""
    layout = framed(body, [caption.way, each], caption, measure)
    x, y = layout.paper[:2]
    return layout, [(left + x, top + y) for left, top in corners]
