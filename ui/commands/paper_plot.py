"""``dryside paper plot``: a box's curves in the terminal, in red, and as a picture."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from controller.boxes.told import curve_line, in_order
from controller.errors import Refused
from ui import show
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.pictures.paper_plot import Ranges

RED, PLAIN = "\x1b[31m", "\x1b[0m"
TOLD = (-4.0, -2.0, 0.0, 2.0, 4.0)  # stops of hard over soft dose


def plot(name: str, *, picture: str | None, json_: bool) -> None:
    """Draw the newest curve of each filter. Raises Refused where there is none."""
    from controller.boxes.drawn import family
    from controller.boxes.text_plot import plot as text_plot
    from controller.pictures.box_plot import ranges_of

    with open_book() as book:
        batch = book.papers.batch(name)
        curves = book.papers.newest_curves(batch)
        readings = book.papers.readings(batch)
    if not curves:
        raise Refused(
            f"{batch.handle} has no curve yet",
            (f"a calibration sheet: dryside paper sheet {batch.handle} --filter 2",),
        )
    if picture:
        from controller.pictures.box_plot import draw_box

        show.note(draw_box(batch, curves, readings, Path(picture)))
    drawn = family(curves, readings)
    if json_:
        show.as_json(
            {one.name: {"line": list(one.line), "patches": list(one.patches)} for one in drawn}
        )
        return
    absolute = all(one.iso_speed is not None for one in curves.values())
    ranges, why = ranges_of(batch, readings)
    show.note("" if picture else why)
    columns = min(shutil.get_terminal_size((72, 24)).columns, 100)
    red = sys.stdout.isatty()
    for line in text_plot(drawn, columns=columns):
        print(f"{RED}{line}{PLAIN}" if red else line)
    unit = "lux seconds" if absolute else "seconds of dose"
    told = [f"density over log10 of {unit}", *map(curve_line, in_order(curves))]
    for one in [*told, *([range_line(ranges)] if ranges else [])]:
        print(f"{RED}{one}{PLAIN}" if red else one)
    if picture:
        print(f"picture: {picture}")


def range_line(ranges: Ranges) -> str:
    """Tell the log exposure range of some ratios of soft and hard dose in one line."""
    told = ", ".join(f"{at:+.0f} {value / 100:.2f}" for at, value in ranges.points if at in TOLD)
    return (
        f"log exposure range by log2 of the dose of {ranges.hard} over that of {ranges.soft}: "
        f"{ranges.soft} alone {ranges.soft_only / 100:.2f}, {told}, {ranges.hard} alone "
        f"{ranges.hard_only / 100:.2f}"
    )
