"""Pictures of the sheets that prove a room: as developed, or what lies where, to print."""

from __future__ import annotations

from os import PathLike
from typing import TYPE_CHECKING

from controller.pictures.ink import PX_PER_MM, CellSize, printable
from controller.pictures.strips import Axis, Caption, PatchLabel, developed, strip_map
from controller.room.fog_sheets import CoinCheck
from controller.room.sheet_parts import note_of, parts_of, title_of

if TYPE_CHECKING:
    from controller.pictures.ink import Grey
    from controller.room.sheet_parts import AnySheet


def labels_of(test: AnySheet) -> list[PatchLabel]:
    """Give the label of each part of a sheet: step or light, and its time."""
    return [
        PatchLabel(
            part.head,
            0.0,
            0.0,
            part.from_mm,
            part.to_mm,
            instead="\n".join(printable(word) for word in part.words),
        )
        for part in parts_of(test)
    ]


def room_sheet(
    test: AnySheet,
    path: str | PathLike[str],
    *,
    mark: str = "",
    density: Grey | None = None,
    mm_per_cell: CellSize = 1.0,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw a sheet as it was developed, or without densities its layout, black on white.

    ``density`` is as ``strips.developed`` takes it. Raises BadInput for densities that are
    none and for a path that cannot be written.
    """
    note = note_of(test)
    if density is not None and isinstance(test, CoinCheck):
        note = f"the imagined paper, without its coin; {note}"
    caption = Caption(title_of(test), mark, _way(test), note)
    if density is None:
        strip_map(
            labels_of(test),
            path,
            width_mm=test.width_mm,
            height_mm=test.height_mm,
            axis=Axis.HORIZONTAL,
            caption=caption,
            px_per_mm=px_per_mm,
        )
        return
    developed(
        density,
        labels_of(test),
        path,
        mm_per_cell=mm_per_cell,
        axis=Axis.HORIZONTAL,
        caption=caption,
        px_per_mm=px_per_mm,
    )


def _way(test: AnySheet) -> str:
    paper = getattr(test, "paper", "")
    return f"paper: {paper}" if paper else ""
