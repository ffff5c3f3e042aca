"""What becomes of a sheet that was cut off: it gets its rest, or it is closed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from controller.events import Fate
from controller.exposing.rest import rest_of
from controller.exposing.told import Run
from controller.plan import Plan

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.interrupted import Interrupted

UNCERTAIN = "what fell is only known within bounds; the least is counted"


def go_on_with(book: Book, found: Interrupted, *, moved: bool, spoiled: bool = False) -> Run | str:
    """Give the run that a sheet is still owed; else close it in the book, and say how.

    A sheet that was ``moved``, or that light has reached, is spoiled. Raises BookFault.
    """
    record_id, mark = found.record.record_id, found.mark
    if not mark:
        book.close_interrupted(record_id, Fate.ABANDONED)
        return "the record is closed: nothing lay there"
    if moved:
        book.mark_moved(record_id, mark)
    if moved or spoiled:
        book.mark_spoiled(record_id, mark)
        book.close_interrupted(record_id, Fate.SPOILED)
        return f"{mark} is closed: spoiled"
    book.mark_moved(record_id, mark, moved=False)
    page = book.record(record_id)
    finished = {
        exposure.label
        for exposure in (page.exposures if page else ())
        if exposure.full
        and any(
            s.mark == exposure.mark and s.fate is Fate.DONE for s in (page.sheets if page else ())
        )
    }
    # the run that was cut off may be an extra, which has a plan of its own
    plan = rest_of(Plan.from_json(found.run.plan), found.delivered_s, finished)
    if plan is None:
        book.close_interrupted(record_id, Fate.DONE)
        return "nothing is owed; the record is closed"
    return Run(record_id, plan, found.record.spec, found.record.rig, mark, found.last_number)
