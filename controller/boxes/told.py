"""Boxes of paper, their curves and control strips in words. Pure.

``when`` writes a wall-clock time as whoever asks shows it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from controller.boxes.by_eye import SeenRange
from controller.boxes.control import Chart, Figure, State
from controller.boxes.model import Batch, PaperCurve, PaperReading, Point

POOR_FIT = 0.03  # density: reading noise is 0.02
SIGNS = {State.GOOD: " ", State.WATCH: "?", State.ACT: "!"}

When = Callable[[datetime], str]


def told_batch(batch: Batch) -> str:
    """Tell a box of paper in one line."""
    parts = [
        " ".join(filter(None, [batch.maker, batch.type])),
        batch.surface,
        batch.base.value if batch.base else "",
        f"opened {batch.opened}" if batch.opened else "",
        batch.developing.tell(),
    ]
    return f"{batch.handle}: {', '.join(filter(None, parts))}"


def told_reading(reading: PaperReading, when: When) -> str:
    """Tell a sheet that was read in one line."""
    through = f"filter {reading.filter}" if reading.filter else "no filter"
    densities = [point.density for point in reading.points]
    return (
        f"{when(reading.at)}  {reading.mark:4} {through:12} {len(densities)} patches, "
        f"{min(densities):.2f} to {max(densities):.2f}, {reading.how.value}, "
        f"{reading.purpose.value}, {reading.developing.tell()}"
        + (f", {reading.note}" if reading.note else "")
    )


def point_lines(points: Sequence[Point]) -> list[str]:
    """Tell each patch of a sheet that was read."""
    return [f"  {_point(point)}  (to within {point.uncertain:.2f})" for point in points]


def scan_lines(points: Sequence[Point], warnings: Sequence[str]) -> list[str]:
    """Tell what a scan gave: warnings first, then the patches, four in a line."""
    told = [f"{_point(point):20}" for point in points]
    rows = ["".join(told[at : at + 4]).rstrip() for at in range(0, len(told), 4)]
    return [*warnings, *([""] if warnings else []), *rows]


def in_order(curves: dict[str, PaperCurve]) -> list[PaperCurve]:
    """Give curves from the softest to the hardest."""
    return sorted(curves.values(), key=lambda one: one.log_ht - one.log_hs)


def curve_line(curve: PaperCurve) -> str:
    """Tell a curve's figures in one line."""
    speed = "speed not told (no --lux)" if curve.iso_speed is None else f"ISO P{curve.iso_speed}"
    through = f"filter {curve.filter}" if curve.filter else "no filter"
    unseen = [
        f"no patch is {what}, so it is extrapolated ({remedy})"
        for seen, what, remedy in (
            (curve.white_seen, "white", "begin with less"),
            (curve.black_seen, "black", "begin with more, or open the lens"),
        )
        if not seen
    ]
    figures = (
        f"{through}: ISO R{curve.iso_range}, {speed}, white {curve.d_min:.2f}, black "
        f"{curve.d_max:.2f}, fits within {curve.residual_rms:.3f}"
    )
    if curve.residual_rms > POOR_FIT:
        unseen.append("a poor fit: its range may be off by 20 or more")
    return "; ".join([figures, *unseen])


def chart_lines(charted: Chart, when: When) -> list[str]:
    """Tell a chart, a line for each strip: by how much each figure is off, ? watch and ! act."""
    head = "  ".join(f"{figure.value:>9}" for figure in Figure)
    lines = [aims_line(charted), f"{'':16} {'':4} {head}"]
    for one in charted.strips:
        cells = "  ".join(
            f"{off_words(one.off[figure])}{SIGNS[one.states[figure]]}" for figure in Figure
        )
        lines.append(f"{when(one.reading.at):16} {one.reading.mark:4} {cells}".rstrip())
    return [*lines, *charted.advice]


def aims_line(charted: Chart) -> str:
    """Say which patches are charted, and by what they are measured."""
    names = charted.patches
    return (
        f"white is patch {names['white']}, the greys {names['light']} and {names['dark']}, black "
        f"{names['black']}; aim: the mean of the first {charted.references}"
    )


def off_words(off: float) -> str:
    """Write by how much a figure is off; a rounded nothing has no minus."""
    return f"{round(off, 2) + 0.0:+8.2f}"


def drift_lines(drift: Sequence[tuple[datetime, str]], when: When) -> list[str]:
    """Tell what a calibration is off against the one before."""
    return [f"{when(at)}: {words}" for at, words in drift]


def range_note(seen: SeenRange) -> str:
    """Write a range that an eye saw as the remark of its reading."""
    return f"R{seen.least} to R{seen.most}"


# --- inside -----------------------------------------------------------------------------------


def _point(point: Point) -> str:
    bound = {1: " or more", -1: " or less", 0: ""}[point.beyond]
    return f"{point.label:4} {point.density:5.2f}{bound}"
