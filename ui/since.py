"""All that has changed since a print was made: bench, boxes, baths and room, for whoever asks."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from controller.book.prints_made import PRINT
from controller.book.whole import whole_print
from controller.chemistry.shelf import standing
from controller.chemistry.since import baths_since
from controller.errors import BadInput
from controller.score.again import boxes_since, changed_since, score_of_record
from ui.room_then import room_since

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page
    from controller.rig.model import Rig
    from controller.score.model import Score


def all_since(book: Book, page: Page, score: Score, rig: Rig, key: str) -> list[str]:
    """Tell it line by line; ``key`` is the sheet's. Raises BadInput and BookFault."""
    newest = book.records(1, PRINT)
    last = score_of_record(newest[0]) if newest else score
    lines = changed_since(page.record, score, rig, last)
    lines += boxes_since(page.record, score, book.papers.batches())
    try:
        whole = whole_print(book, key)
    except BadInput:  # a trial piece, or a sheet that came to nothing, has no baths and no room
        return lines + room_since(None, rig, score.paper.name)
    lines += baths_since(whole.baths, standing(book, datetime.now(UTC)))
    return lines + room_since(whole.room, rig, score.paper.name)
