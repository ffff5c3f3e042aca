"""A calibration sheet read from a scan, beside a reflection step tablet."""

from __future__ import annotations

from controller.boxes.measured import points_of
from controller.boxes.model import Point
from controller.boxes.sheets_made import MadeSheet
from controller.boxes.tablet import numbers_asked
from controller.errors import BadInput

RIGHT_TABLET = "its densities from white on: 0.05,0.15,0.25"


def scan_points(
    made: MadeSheet, file: str, tablet: str, *, below: bool
) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """Read a scan file: points of the sheet, and what is to be said of the scan. Raises BadInput.

    ``tablet`` holds its densities as text; ``below``: it lies below the strip, or right of it.
    """
    from controller.pictures.wedge import read_wedge  # loads what reads pictures

    if made.sheet.kind == "mixed":
        right = "dryside paper read --densities"
        raise BadInput("a mixed sheet is no wedge, and cannot be scanned as one", made.mark, right)
    found = read_wedge(
        file,
        patches=len(made.patches),
        tablet=numbers_asked(tablet, "--tablet", RIGHT_TABLET),
        strip_ratio=made.sheet.width_mm / made.sheet.height_mm,
        tablet_first=not below,
    )
    points = points_of(
        made.sheet,
        made.patches,
        [one.density for one in found.patches],
        [one.uncertain for one in found.patches],
        [one.beyond for one in found.patches],
    )
    return points, found.warnings
