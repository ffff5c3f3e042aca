"""Calibration sheets that were made: found in the book, and kept there as they were read.

Functions here work with an open book and may raise BookFault.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import ValidationError

from controller.boxes.by_eye import Seen, SeenRange, points_seen
from controller.boxes.measured import Given, given, mean_of, points_of, sheet_of
from controller.boxes.model import (
    Batch,
    Developing,
    How,
    PaperCurve,
    PaperReading,
    Point,
    Purpose,
    named,
)
from controller.boxes.sheet import KIND, PaperSheet
from controller.errors import BadInput, Refused
from controller.events import Fate

if TYPE_CHECKING:
    from datetime import datetime

    from controller.book.book import Book

IMAGINED_UNCERTAIN = 0.005  # of a density that the simulator tells
MOST = 500  # records that are looked through for sheets


@dataclass(frozen=True)
class MadeSheet:
    """A sheet that was made, and what its patches got."""

    batch: Batch
    sheet: PaperSheet
    mark: str
    record_id: str
    patches: Sequence[Given]


@dataclass(frozen=True)
class Listed:
    """A sheet of a box in a list; ``is_read``: its densities are in the book."""

    mark: str
    title: str
    at: datetime
    is_read: bool


@dataclass(frozen=True)
class Kept:
    """A reading, the curve that was fitted to it, and why there is none."""

    reading: PaperReading
    curve: PaperCurve | None
    why: str = ""


def sheet_made(book: Book, mark: str) -> MadeSheet:
    """Give the sheet with this mark, and what it got. Raises BadInput."""
    page = book.record(mark)
    sheet, found = sheet_of(page, mark)
    assert page is not None  # or it would have been refused
    batch = book.papers.batch(sheet.paper)
    return MadeSheet(batch, sheet, found, page.record.record_id, given(sheet, page, found))


def sheets_made(book: Book, batch: Batch) -> list[Listed]:
    """List the finished sheets of a box: those that are not read yet first, the newest of each."""
    batches = book.papers.batches()
    read = {one.record_id for one in book.papers.readings(batch)}
    found = []
    for record in book.records(MOST):
        if record.kind != KIND or record.fate is not Fate.DONE or not record.marks:
            continue
        try:
            sheet = PaperSheet.model_validate_json(record.spec)
            if named(batches, sheet.paper).number != batch.number:
                continue
        except (ValidationError, BadInput):
            continue  # of a version or a box that is not known here
        done = record.record_id in read
        title = sheet.title().partition(", ")[2]
        found.append(Listed(record.marks[-1], title, record.begun_at, done))
    return sorted(found, key=lambda one: one.is_read)


def lens_of(book: Book, readings: Sequence[PaperReading]) -> str:
    """Give the aperture of the newest sheet that was read; empty where it is not known."""
    for one in readings:
        page = book.record(one.record_id) if one.record_id else None
        if page is not None:
            return PaperSheet.model_validate_json(page.record.spec).aperture
    return ""


def typed_points(made: MadeSheet, times: Sequence[Sequence[float | None]]) -> tuple[Point, ...]:
    """Turn densities into points, each patch's readings averaged. Raises BadInput for none."""
    if not times or not any(value is not None for row in times for value in row):
        raise BadInput("no patch was read", "paper read", "a density for five patches or more")
    return points_of(made.sheet, made.patches, *mean_of(times, made.sheet))


def imagined_points(made: MadeSheet, densities: Sequence[float]) -> tuple[Point, ...]:
    """Turn densities that the simulator tells into points."""
    return points_of(made.sheet, made.patches, densities, IMAGINED_UNCERTAIN)


def eye_points(made: MadeSheet, seen: Seen) -> tuple[tuple[Point, ...], SeenRange]:
    """Turn what an eye saw into points, and a range. Raises BadInput."""
    return points_seen(made.sheet, made.patches, seen)


def keep_sheet(
    book: Book,
    made: MadeSheet,
    points: tuple[Point, ...],
    how: How,
    *,
    control: bool,
    note: str = "",
) -> Kept:
    """Keep a reading, and fit its curve where it is one; a fit that fails costs no reading."""
    # fitting loads numpy and scipy
    from controller.boxes.fitting import can_be_fitted, fit_reading

    sheet = made.sheet
    reading = book.papers.add_reading(
        made.batch,
        points,
        filter=sheet.filters,
        developing=Developing(sheet.developer, sheet.time_s),
        how=how,
        purpose=Purpose.CONTROL if control else Purpose.CURVE,
        record_id=made.record_id,
        mark=made.mark,
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
