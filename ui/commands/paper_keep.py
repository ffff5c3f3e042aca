"""A sheet that was read goes into the book, and its curve with it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from controller.boxes.model import Batch, Developing, How, PaperCurve, PaperReading, Point, Purpose
from controller.boxes.sheet import PaperSheet
from controller.errors import BadInput, Refused
from ui.unit import open_book

POOR_FIT = 0.03  # density: reading noise is 0.02
LONGEST_NAME = 255  # of a file: longer is a list of numbers


@dataclass(frozen=True)
class Kept:
    """A reading, the curve that was fitted to it, and why there is none."""

    reading: PaperReading
    curve: PaperCurve | None
    why: str = ""


def keep(
    batch: Batch,
    sheet: PaperSheet,
    points: tuple[Point, ...],
    how: How,
    *,
    control: bool,
    record_id: str,
    mark: str,
    note: str = "",
) -> Kept:
    """Keep a reading, and fit its curve where it is one; a fit that fails costs no reading."""
    from controller.boxes.fitting import can_be_fitted, fit_reading

    with open_book() as book:
        reading = book.papers.add_reading(
            batch,
            points,
            filter=sheet.filters,
            developing=Developing(sheet.developer, sheet.time_s),
            how=how,
            purpose=Purpose.CONTROL if control else Purpose.CURVE,
            record_id=record_id,
            mark=mark,
            lux=sheet.lux,
            note=note,
        )
        if control or not can_be_fitted(reading):
            return Kept(reading, None)
        try:
            curve = book.papers.add_curve(fit_reading(reading))
        except (Refused, ValueError) as error:
            return Kept(reading, None, f"no curve was fitted: {str(error).rstrip('.')}")
    return Kept(reading, curve)


def typed_or_file(text: str, where: str) -> str:
    """Give what was typed, or what a file of that name holds, its # comments left out.

    Raises BadInput for a file that cannot be read.
    """
    path = Path(text)
    try:
        if len(text) > LONGEST_NAME or not path.is_file():
            return text
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, ValueError) as error:
        what = getattr(error, "strerror", None) or "it is no text"
        raise BadInput(f"{path} cannot be read ({what})", where, "a text of numbers") from None
    return " ".join(line.partition("#")[0] for line in lines)


def told(kept: Kept) -> list[str]:
    """Tell the curve of a sheet, or why there is none."""
    if kept.curve is None:
        return [kept.why] if kept.why else []
    return [curve_line(kept.curve)]


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
