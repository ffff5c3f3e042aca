"""``dryside cross``: soft by hard on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from controller.desk.asked import AskedCross, cross_asked
from controller.rig.lights import around
from controller.strips.cross import Cell, CellResult, Cross, cell_table, cells_of, plan_cross
from controller.strips.strip import LETTERS
from ui import show
from ui.developed import require_writable
from ui.exposing import Ways, expose, leave_picture

if TYPE_CHECKING:
    from sim.sheet import DevelopedSheet


def make(
    asked: AskedCross, ways: Ways, *, picture: str | None, json_: bool, show_plan: bool
) -> None:
    """Make a cross as asked for, tell its cells, and leave its picture."""
    unit, cross = ways.unit(), cross_asked(asked)
    plan = plan_cross(cross, unit.rig.calibration(), unit.rig.limits(), around(unit.rig))
    if show_plan:
        show.plan(plan, json_=json_)
        return
    if picture:
        require_writable(Path(picture))
    made = expose(unit, plan, cross.model_dump_json(), ways)
    record = made.page.record
    sheet = made.outcome.sheets[-1] if made.outcome.sheets else None
    cells = [_told(cell, cross, sheet) for cell in cells_of(cross)]
    fate = record.fate.value if record.fate else "interrupted"
    if json_:
        whole = {"record_id": record.record_id, "mark": made.mark, "fate": fate, "cells": cells}
        show.as_json(whole)
    else:
        show.lines([f"{made.mark}: {record.title}, {fate}", *cell_table(cells)])

    def draw(target: Path) -> None:
        _draw(cross, sheet, made.mark, target)

    leave_picture(draw, picture, made.mark, record.record_id, tell=not json_)
    if not json_ and fate == "done":
        print("next: dryside pick B3 --into my-score, or dryside pick B3-B4 for half-way")


def _told(cell: Cell, cross: Cross, sheet: DevelopedSheet | None) -> CellResult:
    from ui.read_sheet import inside_box

    if sheet is None:
        return CellResult(cell.row, cell.column, cell.soft_s, cell.hard_s)
    wide, high = 1 / cross.soft.steps, 1 / cross.hard.steps
    left, top = (cell.column - 1) * wide, LETTERS.index(cell.row) * high
    light, density = inside_box(sheet, left, top, left + wide, top + high)
    return CellResult(
        cell.row,
        cell.column,
        cell.soft_s,
        cell.hard_s,
        light.get(cross.soft.filter, 0.0),
        light.get(cross.hard.filter, 0.0),
        density,
    )


def _draw(cross: Cross, sheet: DevelopedSheet | None, mark: str, target: Path) -> None:
    from controller.pictures.cross import cross_picture
    from controller.pictures.strip_layout import Caption

    caption = Caption("cross", mark, f"{cross.soft.filter} by {cross.hard.filter}", cross.place)
    if sheet is None:
        cross_picture(None, cross, target, mm_per_cell=None, caption=caption)
    else:
        size = (sheet.cell_width_mm, sheet.cell_height_mm)
        cross_picture(sheet.density, cross, target, mm_per_cell=size, caption=caption)
