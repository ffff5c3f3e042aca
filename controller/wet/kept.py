"""What came through the trays, as the book keeps it: its steps, and its part in the baths."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from controller.chemistry.bath import Base
from controller.chemistry.shelf import count_through, standing
from controller.trays.happened import SheetWet, StepWet, sheet_wet
from controller.wet.clock import Through

if TYPE_CHECKING:
    from controller.book.book import Book


def keep_through(book: Book, sheet: Through, at: datetime, celsius: float) -> list[str]:
    """Keep a sheet that came through by ``at``, and count it through the baths that are kept.

    Gives what is to be said of it. Raises BookFault.
    """
    from controller.book.wet import put_down

    put_down(book, sheet_wet_of(sheet, at, celsius))
    if not standing(book, at):
        return []
    trays = [lay.tray for lay in sheet.lay]
    return count_through(book, trays, mark=sheet.mark, base=Base(sheet.base), at=at)


def sheet_wet_of(sheet: Through, at: datetime, celsius: float) -> SheetWet:
    """Give a sheet's way as the book has it; each step at the time when it was over."""
    steps: list[StepWet] = []
    left_s = sum(lay.actual_s for lay in sheet.lay)
    for lay in (*sheet.lay, *sheet.missed):
        left_s = max(0.0, left_s - lay.actual_s)
        over_at = at - timedelta(seconds=left_s)
        steps.append(
            StepWet(
                lay.tray,
                lay.planned_s,
                lay.actual_s,
                over_at,
                tray=lay.tray,
                late_s=lay.late_s,
                temperature_c=celsius,
            )
        )
    return sheet_wet(sheet.mark, sheet.record_id, sheet.process, steps)
