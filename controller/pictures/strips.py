"""Pictures of a strip: a map of its patches to print, and the developed paper on the bench.

Both are grey PNGs to scale, with their resolution stored in them, so that a print at 100 % has
the strip's own size. Pillow and numpy are loaded only when a picture is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike
from typing import TYPE_CHECKING

from controller.errors import BadInput
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
    reflectance,
    require_drawable,
    require_sizes,
    save,
    srgb,
    write_words,
)
from controller.pictures.strip_layout import Axis, Caption, Layout, PatchLabel, lay_out

if TYPE_CHECKING:
    from controller.pictures.ink import Grey

__all__ = ["Axis", "Caption", "PatchLabel", "developed", "reflectance", "srgb", "strip_map"]


def strip_map(
    patches: Sequence[PatchLabel],
    path: str | PathLike[str],
    *,
    width_mm: float,
    height_mm: float,
    axis: Axis,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw which patch is which on the paper: black on white, to scale, no tones invented.

    ``patches`` in the order in which they were made, the first letter first. Raises BadInput
    for a path that cannot be written and for patches that do not lie on the paper.
    """
    layout = _layout(patches, width_mm, height_mm, axis, caption, px_per_mm, letters_inside=True)
    image = canvas(layout, px_per_mm, PRINT)
    left, top, right, bottom = layout.paper
    draw = pen(image)
    fine = max(1, round(0.3 * px_per_mm))
    for patch in patches:
        for at in (patch.from_mm, patch.to_mm):
            if axis is Axis.HORIZONTAL:
                line = [(left + at, top), (left + at, bottom)]
            else:
                line = [(left, top + at), (right, top + at)]
            draw.line([(x * px_per_mm, y * px_per_mm) for x, y in line], FRAME, fine)
    outline = [edge * px_per_mm for edge in layout.paper]
    draw.rectangle(outline, outline=OUTLINE, width=max(1, round(0.4 * px_per_mm)))
    write_words(image, layout, px_per_mm, PRINT)
    save(image, path, px_per_mm)


def developed(
    density: Grey,
    patches: Sequence[PatchLabel],
    path: str | PathLike[str],
    *,
    mm_per_cell: CellSize,
    axis: Axis,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw the developed paper as it lies on a grey bench, labels beside it.

    ``density`` has a row for each line of cells from the top of the paper, counted from paper
    white; ``mm_per_cell`` is the size of a cell, or its width and height. Tones are right on
    an sRGB screen. Raises BadInput for densities that are none, for patches that do not lie
    on the paper and for a path that cannot be written.
    """
    width_mm, height_mm = paper_size(density, mm_per_cell)
    layout = _layout(patches, width_mm, height_mm, axis, caption, px_per_mm, letters_inside=False)
    image = canvas(layout, px_per_mm, BENCH)
    lay_paper(image, density, layout.paper[:2], (width_mm, height_mm), px_per_mm, BENCH)
    write_words(image, layout, px_per_mm, BENCH)
    save(image, path, px_per_mm, layout.paper)


# --- inside -----------------------------------------------------------------------------------


def _layout(
    patches: Sequence[PatchLabel],
    width_mm: float,
    height_mm: float,
    axis: Axis,
    caption: Caption,
    px_per_mm: float,
    *,
    letters_inside: bool,
) -> Layout:
    require_sizes(width_mm, height_mm, px_per_mm)
    if not patches:
        raise BadInput("there are no patches", "picture", "one patch or more")
    along = width_mm if axis is Axis.HORIZONTAL else height_mm
    for patch in patches:
        if not -0.01 <= patch.from_mm < patch.to_mm <= along + 0.01:
            what = f"patch {patch.letter} lies from {patch.from_mm:g} to {patch.to_mm:g} mm"
            raise BadInput(what, "picture", f"a place from 0 to {along:g} mm")
    layout = lay_out(
        [replace(patch, letter=printable(patch.letter) or "?") for patch in patches],
        width_mm=width_mm,
        height_mm=height_mm,
        axis=axis,
        caption=plain(caption),
        measure=measure_at(px_per_mm),
        letters_inside=letters_inside,
    )
    require_drawable(layout, px_per_mm)
    return layout
