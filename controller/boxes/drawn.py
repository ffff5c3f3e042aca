"""A box's curves as they are drawn: each line, and the patches that it was fitted to."""

from __future__ import annotations

from collections.abc import Sequence

from controller.boxes.fitting import curve_of
from controller.boxes.model import PaperCurve, PaperReading
from controller.boxes.text_plot import Drawn
from controller.boxes.told import in_order

BEYOND = 0.3  # log units that a line goes on past the patches that were read (our choice)


def family(curves: dict[str, PaperCurve], readings: Sequence[PaperReading]) -> list[Drawn]:
    """Give each curve with the patches that it was fitted to, the softest first."""
    by_number = {one.number: one for one in readings}
    drawn = []
    for one in in_order(curves):
        reading = by_number.get(one.reading)
        patches = [(p.log_h, p.density) for p in reading.points] if reading else []
        line = curve_of(one).points(61)
        if patches:
            low, high = min(patches)[0] - BEYOND, max(patches)[0] + BEYOND
            line = [(x, y) for x, y in line if low <= x <= high] or line
        drawn.append(Drawn(one.filter or "none", line, patches))
    return drawn
