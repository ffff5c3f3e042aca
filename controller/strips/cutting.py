"""Small strips are cut from a sheet: where to cut, and how many there are."""

from __future__ import annotations

from dataclasses import dataclass

from controller.fields import INCH_MM
from controller.numbered import numbered


@dataclass(frozen=True, slots=True)
class Cutting:
    """How a sheet is cut into strips, across its longer side."""

    sheet_width_mm: float
    sheet_height_mm: float
    strips: int

    @property
    def strip_mm(self) -> tuple[float, float]:
        """Give length and width of one strip."""
        short, long = sorted((self.sheet_width_mm, self.sheet_height_mm))
        return short, long / self.strips

    def cuts_mm(self) -> list[float]:
        """Give where to cut, measured along the longer side from one end."""
        _, width = self.strip_mm
        return [width * i for i in range(1, self.strips)]


# An 8x10 in sheet gives ten strips of 8x1 in: common practice, no source.
TEN_FROM_8X10 = Cutting(8 * INCH_MM, 10 * INCH_MM, 10)


def guide(cutting: Cutting) -> list[str]:
    """Tell how to cut, in words that can be read to someone at a guillotine under safelight."""
    length, width = cutting.strip_mm
    marks = ", ".join(f"{mark:.0f}" for mark in cutting.cuts_mm())
    return [
        f"{numbered(cutting.strips, 'strip')} of {length:.0f} x {width:.0f} mm from a sheet of "
        f"{cutting.sheet_width_mm:.0f} x {cutting.sheet_height_mm:.0f} mm",
        f"cut across the longer side at {marks} mm",
        "emulsion up, under the safelight; what is cut goes back into its box",
    ]


REMIND_AT = 2  # strips


def reminder(left: int) -> str:
    """Say when strips are running out; nothing while there are enough."""
    if left > REMIND_AT:
        return ""
    if left <= 0:
        return "that was the last strip: cut a sheet before the next (dryside cut)"
    return f"{numbered(left, 'strip')} left"
