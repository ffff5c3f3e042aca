"""The pale line along an easel's border: how it comes about, and where a sheet has it. Pure.

A blade stands some millimetres above the paper. Light of the room that comes in low from one side
passes over the picture and not beneath the blade on its own side: a strip beside that border keeps
the image alone, while the field got image and fog. So the line lies **on the side from which the
light comes**, and is as wide as the blade is high times the light's distance along the paper over
its height above it: ``width = height_of_blade x across / up``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from controller.room.steps import JUST_SEEN

SIDES = ("left", "right", "top", "bottom")
LEAST_MM = 1.5  # narrower is the soft edge of the blade itself


@dataclass(frozen=True, slots=True)
class PaleLine:
    """A line along one side: how wide, and how much paler than the field beside it."""

    side: str
    width_mm: float
    paler_by: float

    def elevation_deg(self, blade_mm: float) -> float:
        """Give the height of the light over the paper, as an angle, from the line's width."""
        return math.degrees(math.atan2(blade_mm, self.width_mm))

    @property
    def line(self) -> str:
        """Tell it."""
        return (
            f"a pale line along the {self.side}, {self.width_mm:.0f} mm wide and "
            f"{self.paler_by:.2f} paler than the field: light of the room comes in low from the "
            f"{self.side}"
        )


def pale_lines(
    across: Sequence[float],
    down: Sequence[float],
    *,
    border_mm: float,
    cell_mm: tuple[float, float],
    just_seen: float = JUST_SEEN,
) -> list[PaleLine]:
    """Find pale lines in a sheet's densities along its middle row and its middle column.

    ``across`` runs from the left edge, ``down`` from the top; ``cell_mm`` is a cell's width and
    height, ``border_mm`` what the blades covered. Paler is by ``just_seen`` or more, over more
    than the blade's own soft edge.
    """
    found = []
    for profile, sides, each_mm in (
        (across, SIDES[:2], cell_mm[0]),
        (down, SIDES[2:], cell_mm[1]),
    ):
        first = math.ceil(border_mm / each_mm)  # the cell that the blade halves is left out
        inside = list(profile[first : len(profile) - first])
        for side, cells in zip(sides, (inside, inside[::-1]), strict=True):
            line = _along(cells, side, each_mm, just_seen)
            if line is not None:
                found.append(line)
    return found


def _along(cells: Sequence[float], side: str, each_mm: float, just_seen: float) -> PaleLine | None:
    # the field beside the line, not that of the whole sheet: a lamp at one side fogs unevenly
    most = len(cells) // 3
    field = median(cells[most // 2 : most])
    count = 0
    while count < most and field - cells[count] >= just_seen:
        count += 1
    if count * each_mm < LEAST_MM or count == most:
        return None
    return PaleLine(side, count * each_mm, field - median(cells[:count]))
