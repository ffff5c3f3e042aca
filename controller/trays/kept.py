"""What came through the trays, as the book keeps it: its steps, and its part in the baths."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from controller.chemistry.bath import Base
from controller.chemistry.shelf import count_through, standing
from controller.trays.clock import Through

if TYPE_CHECKING:
    from controller.book.book import Book


def keep_through(book: Book, sheet: Through, at: datetime, celsius: float) -> list[str]:
    """Keep a sheet that came through by ``at``, and count it through the baths that are kept.

    Gives what is to be said of it. Raises BookFault.
    """
    from controller.book import wet

    wet.keep(book, sheet, at, celsius=celsius)
    if not standing(book, at):
        return []
    trays = [lay.tray for lay in sheet.lay]
    return count_through(book, trays, mark=sheet.mark, base=Base(sheet.base), at=at)
