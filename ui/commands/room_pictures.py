"""Pictures that the commands of the room leave: sheets, layouts and maps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from controller.room.reading import sheet_of
from controller.room.room_map import RoomMap
from controller.room.sheet_parts import AnySheet
from ui.developed import require_writable
from ui.exposing import Exposed, leave_picture

if TYPE_CHECKING:
    from sim.sheet import DevelopedSheet


def require_picture(picture: str | None) -> None:
    """Refuse a place for a picture before any paper is used. Raises BadInput."""
    if picture:
        require_writable(Path(picture))


def draw_sheet(
    test: AnySheet, path: Path, *, mark: str = "", sheet: DevelopedSheet | None = None
) -> None:
    """Draw a sheet as it was developed, or its layout where only the paper itself knows."""
    from controller.pictures.room_sheets import room_sheet

    if sheet is None:
        room_sheet(test, path, mark=mark)
        return
    cell = (sheet.cell_width_mm, sheet.cell_height_mm)
    room_sheet(test, path, mark=mark, density=sheet.density, mm_per_cell=cell)


def leave_sheet(made: Exposed, picture: str | None, *, tell: bool) -> None:
    """Leave the picture of a sheet that was made, as strips do."""
    record = made.page.record
    test = sheet_of(record.kind, record.spec)
    sheet = made.outcome.sheets[-1] if made.outcome.sheets else None

    def draw(path: Path) -> None:
        draw_sheet(test, path, mark=made.mark, sheet=sheet)

    leave_picture(draw, picture, made.mark, record.record_id, tell=tell)


def leave_map(told: RoomMap, picture: str, *, tell: bool) -> None:
    """Draw the map of a room. Raises BadInput."""
    from controller.pictures.room_map import room_map

    require_picture(picture)
    room_map(told, picture)
    if tell:
        print(f"picture: {picture}")


def leave_layout(kind: str, spec: str, picture: str | None, *, tell: bool) -> None:
    """Draw what is to lie where, before any paper is used; only where it was asked for."""
    if picture:
        draw_sheet(sheet_of(kind, spec), Path(picture))
        if tell:
            print(f"layout: {picture}")
