"""The book from a screen: opened and read in a thread, so that nothing stands still."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from controller.book.faults import BookFault
from controller.ports import PortFault

if TYPE_CHECKING:
    from controller.book.book import Book

T = TypeVar("T")


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
