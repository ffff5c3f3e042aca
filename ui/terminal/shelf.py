"""The book from a screen: opened and read in a thread, so that nothing stands still."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeVar

from controller.book.faults import BookFault
from controller.desk.evening import Evening, TonightSheet, read_evening, sheets_tonight, tonight
from controller.ports import PortFault
from drivers.places import data_folder

if TYPE_CHECKING:
    from controller.book.book import Book

T = TypeVar("T")
MOST = 100  # records of one evening


async def with_book(read: Callable[[Book], T]) -> T | None:
    """Do something with the book; None where it cannot be opened."""

    def work() -> T | None:
        from ui.unit import open_book

        try:
            with open_book() as book:
                return read(book)
        except (BookFault, PortFault):
            return None

    return await asyncio.to_thread(work)


def evening_so_far() -> Evening:
    """Read what was kept when the evening was opened."""
    try:
        return read_evening(data_folder())
    except PortFault:
        return Evening()


def sheets_of_tonight(book: Book) -> list[TonightSheet]:
    """Read tonight's sheets in the order in which they left the light."""
    records = tonight(book.records(MOST), evening_so_far(), datetime.now(UTC))
    pages = [book.record(record.record_id) for record in records]
    return sheets_tonight(page for page in pages if page is not None)
