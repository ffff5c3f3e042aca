"""Reading a developed sheet of the simulator: what each region, or each cell, got and became."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from controller.score.doses import region_names
from controller.score.model import Score
from controller.score.report import OnRegion

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sim.sheet import DevelopedSheet

# From the edges of a region, where card and wand are soft, in parts of the picture's longer side:
# so that prints of two sizes are read at the same places of the picture.
MARGIN = 0.024


def on_regions(score: Score, sheet: DevelopedSheet) -> dict[str, OnRegion]:
    """Read each region at its middle, by the median of its cells."""
    import numpy as np

    found = {}
    margin_mm = MARGIN * max(sheet.lie.picture_width_mm, sheet.lie.picture_height_mm)
    for name in region_names(score):
        area = score.area((name,))
        inside = (
            sheet.within(area, margin_mm=margin_mm) if area else np.ones_like(sheet.density, bool)
        )
        if not inside.any():
            inside = sheet.within(area, margin_mm=0.0)
        if not inside.any():
            continue  # a small piece, on which this region does not lie
        delivered = {
            filter_: float(np.median(light[inside])) for filter_, light in _by_filter(sheet).items()
        }
        used = {name_: dose for name_, dose in delivered.items() if dose > 1e-6}
        found[name] = OnRegion(used, float(np.median(sheet.density[inside])))
    return found


def inside_box(
    sheet: DevelopedSheet, left: float, top: float, right: float, bottom: float
) -> tuple[dict[str, float], float]:
    """Read the inner half of a box, given in parts of the sheet: dose by filter, and density."""
    rows, columns = sheet.density.shape
    wide, high = (right - left) / 4, (bottom - top) / 4
    cut = (
        slice(
            round((top + high) * rows),
            max(round((bottom - high) * rows), round((top + high) * rows) + 1),
        ),
        slice(
            round((left + wide) * columns),
            max(round((right - wide) * columns), round((left + wide) * columns) + 1),
        ),
    )
    light = {name: float(array[cut].mean()) for name, array in _by_filter(sheet).items()}
    return light, float(sheet.density[cut].mean())


def on_paper(developed: DevelopedSheet, count: int) -> list[float]:
    """Read the middles of so many equal patches from the left of a developed sheet."""
    found = []
    for index in range(count):
        _, density = inside_box(developed, index / count, 0.0, (index + 1) / count, 1.0)
        found.append(density)
    return found


def _by_filter(sheet: DevelopedSheet) -> Mapping[str, NDArray]:  # type: ignore[type-arg]
    return sheet.delivered_s
