"""What came through the trays, as the book keeps it: its steps, and its part in the baths."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from controller.chemistry.bath import Base
from controller.chemistry.shelf import bath_of_tray, count_through, standing
from controller.events import Remark
from controller.trays.clock import Through
from controller.trays.process import FIXER

if TYPE_CHECKING:
    from controller.book.book import Book


def keep_through(
    book: Book, sheet: Through, at: datetime, celsius: float, *, told: set[str] | None = None
) -> list[str]:
    """Keep a sheet that came through by ``at``, and count it through the baths that are kept.

    Gives what is to be said of it. ``told`` holds what was said tonight already and is not to be
    said again: that a fixer is counted through no bath. Raises BookFault.
    """
    from controller.book import wet

    wet.keep(book, sheet, at, celsius=celsius)
    here = standing(book, at)
    if not here:
        return []
    trays = [lay.tray for lay in sheet.lay]
    said = [] if told is None else told
    missing = [
        f"no bath is kept for {tray}: sheets are not counted through it"
        for tray in dict.fromkeys(trays)
        if FIXER in tray and bath_of_tray(here, tray) is None
    ]
    new = [each for each in missing if each not in said]
    if told is not None:
        told.update(new)
    if new and sheet.record_id:
        book.write(Remark(sheet.record_id, "; ".join(new), mark=sheet.mark))
    return new + count_through(book, trays, mark=sheet.mark, base=Base(sheet.base), at=at)
