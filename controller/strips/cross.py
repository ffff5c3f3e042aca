"""The cross: soft exposures across and hard ones down, on one sheet, by moving a card.

First, through the soft filter, the card comes in from one side and covers more and more
columns; then, through the hard filter, from another side over more and more rows. Every cell
has one soft and one hard exposure, and is named by its row and column: B3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import msgspec
from pydantic import BaseModel, ConfigDict, Field

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused, quoted
from controller.exposing.around import BARE, Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Expose, Go, Plan, Sheet
from controller.ports import Move
from controller.stops import differences, format_time, parse_step, series
from controller.strips.strip import LEAST_PATCH_MM, LETTERS, LONGEST_S, StepField

SOFT_SIDE: Literal["left"] = "left"
HARD_SIDE: Literal["top"] = "top"
MOST_STEPS = 12
RIGHT_CELL = "a cell such as B3, or between two neighbours such as B3-B4"


class Steps(BaseModel):
    """The exposures of one filter, from the shortest up."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    filter: str = Field(min_length=1)
    base_s: float = Field(gt=0, le=LONGEST_S)
    step: StepField = Field(default_factory=lambda: parse_step("1/3"))
    steps: int = Field(4, ge=2, le=MOST_STEPS)

    def totals_s(self) -> list[float]:
        """Give the exposure of each step, in seconds."""
        return series(self.base_s, self.step, self.steps)


class Cross(BaseModel):
    """A cross as it is wanted; version 1. Columns are soft steps, rows hard ones."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    soft: Steps
    hard: Steps
    aperture: str = ""
    place: str = ""
    width_mm: float = Field(254.0, gt=0)
    height_mm: float = Field(203.2, gt=0)


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its row (a hard step, lettered) and column (a soft step, numbered from 1)."""

    row: str
    column: int
    soft_s: float
    hard_s: float
    beside: str = ""  # the neighbour, where the place between the two is meant

    @property
    def name(self) -> str:
        """Give its name, such as B3, or B3-B4 between two."""
        return f"{self.row}{self.column}" + (f"-{self.beside}" if self.beside else "")


class CellResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """One cell as it was made. What was delivered, and the density: from simulated paper only."""

    row: str
    column: int
    soft_dose_s: float
    hard_dose_s: float
    delivered_soft_dose_s: float | None = None
    delivered_hard_dose_s: float | None = None
    density: float | None = None


def cells_of(cross: Cross) -> list[Cell]:
    """Give every cell, row by row from the top."""
    return [
        Cell(LETTERS[row], column, soft_s, hard_s)
        for row, hard_s in enumerate(cross.hard.totals_s())
        for column, soft_s in enumerate(cross.soft.totals_s(), start=1)
    ]


def pick_cell(cross: Cross, text: str) -> Cell:
    """Read a choice: a cell, or the place between two neighbours (half-way in stops).

    Raises BadInput.
    """
    plain = " ".join(text.upper().replace("–", "-").split())  # noqa: RUF001
    between = plain.startswith("BETWEEN ")
    plain = plain.removeprefix("BETWEEN ").replace(" AND ", "-").replace(" ", "")
    cells = {cell.name: cell for cell in cells_of(cross)}
    names = plain.split("-")
    if not 1 <= len(names) <= 2:
        raise BadInput(f"{quoted(text)} is not a choice", "pick", RIGHT_CELL)
    if between and len(names) == 1:
        raise BadInput("only one cell is named", "pick", RIGHT_CELL)
    for name in names:
        if name not in cells:
            last = f"{LETTERS[cross.hard.steps - 1]}{cross.soft.steps}"
            raise BadInput(
                f"there is no cell {quoted(name)} on this cross", "pick", f"A1 to {last}"
            )
    one, other = cells[names[0]], cells[names[-1]]
    apart = abs(LETTERS.index(one.row) - LETTERS.index(other.row)), abs(one.column - other.column)
    if max(apart) > 1:
        raise BadInput(f"{one.name} and {other.name} are not neighbours", "pick", RIGHT_CELL)
    if one == other:
        return one
    soft_s = (one.soft_s * other.soft_s) ** 0.5
    hard_s = (one.hard_s * other.hard_s) ** 0.5
    return Cell(one.row, one.column, soft_s, hard_s, other.name)


def plan_cross(cross: Cross, lamp: Calibration, limits: LampLimits, around: Around = BARE) -> Plan:
    """Make the plan of a cross. Raises Refused for what lamp or hand cannot do."""
    _require(cross, lamp, limits)
    sheet = Sheet(cross.width_mm, cross.height_mm, "new sheet for a cross", cross.place)
    actions: list[Action] = []
    before: Needs | None = None
    for steps, side, what in ((cross.soft, SOFT_SIDE, "column"), (cross.hard, HARD_SIDE, "row")):
        needs = Needs(steps.filter, cross.aperture)
        actions += ask_for(needs, before)
        before = needs
        if what == "column":
            actions.append(sheet)
        for index, dose_s in enumerate(differences(steps.totals_s())):
            move = Move("card", index, steps.steps, side)
            name = str(index) if what == "column" else LETTERS[index - 1]
            said = f"card over {what} {name}" if index else "card away"
            if index == 0 and what == "row":
                said = "card away, rows from the top"
            actions.append(Go(f"{said}, {format_time(dose_s)}", move, around.lead_in_s))
            if index == 0 and what == "column":
                actions += around.darken()
            label = f"column {index + 1}" if what == "column" else f"row {LETTERS[index]}"
            late = f"{what} {name}" if index else label
            actions.append(Expose(label, dose_s, doubtful=(late,), filter=steps.filter))
    return Plan("cross", title_of(cross), tuple(actions), around.after())


def cell_table(cells: Sequence[CellResult]) -> list[str]:
    """Tell cells as lines of a table."""
    on_paper = any(cell.density is not None for cell in cells)
    lines = [f"{'cell':5}  {'soft':>8}  {'hard':>8}" + (f"  {'density':>7}" if on_paper else "")]
    for cell in cells:
        soft, hard = format_time(cell.soft_dose_s), format_time(cell.hard_dose_s)
        line = f"{cell.row}{cell.column:<4}  {soft:>8}  {hard:>8}"
        lines.append(line if cell.density is None else f"{line}  {cell.density:7.2f}")
    return lines


def title_of(cross: Cross) -> str:
    """Give the title of a cross's record."""
    soft, hard = cross.soft, cross.hard
    return (
        f"cross, {soft.steps} of filter {soft.filter} from {format_time(soft.base_s)} by "
        f"{soft.step}, {hard.steps} of filter {hard.filter} from {format_time(hard.base_s)} by "
        f"{hard.step}"
    )


def _require(cross: Cross, lamp: Calibration, limits: LampLimits) -> None:
    for steps, along_mm in ((cross.soft, cross.width_mm), (cross.hard, cross.height_mm)):
        each_mm = along_mm / steps.steps
        if each_mm < LEAST_PATCH_MM:
            raise Refused(
                f"{steps.steps} steps along {along_mm:.0f} mm are {each_mm:.1f} mm each, and a "
                f"hand needs {LEAST_PATCH_MM:g} mm",
                ("fewer steps", "a larger sheet"),
            )
        for dose_s in differences(steps.totals_s()):
            require_dose(f"filter {steps.filter}", dose_s, lamp, limits)
