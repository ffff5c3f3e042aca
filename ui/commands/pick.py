"""``dryside pick``, ``unsure`` and ``cut``: what follows a strip, when the lights are on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from controller.asked import size_asked, whole_asked
from controller.book.entries import Judged, Page
from controller.cutting import Cutting, guide
from controller.errors import BadInput
from controller.events import Remark
from controller.pick import pick_from
from controller.stops import format_stops, format_time
from controller.strip import Strip, patches_of, stops_fraction
from ui import show
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.book import Book

LEAST_SHEET_MM = 50  # who types 8x10 means inches


def strip_page(book: Book, key: str) -> Page:
    """Find a strip's record: by mark or id, else the newest strip. Raises BadInput."""
    if not key:
        newest = book.records(1, "strip")
        if not newest:
            raise BadInput("the book has no strip yet", "pick", "dryside strip first")
        key = newest[0].record_id
    page = book.record(key)
    if page is None:
        raise BadInput(f"the book has no record {key!r}", "--record", "a mark such as K7")
    if page.record.kind != "strip":
        raise BadInput(f"{key} is a {page.record.kind}", "--record", "the mark of a test strip")
    return page


def pick(choice: str, judged: str, record: str, *, json_: bool) -> None:
    """Pick a patch of a strip and keep the choice."""
    if judged not in ("wet", "dry"):
        raise BadInput(f"{judged!r} is not known", "--judged", "wet or dry")
    with open_book() as book:
        page = strip_page(book, record)
        strip = Strip.model_validate_json(page.record.spec)
        picked = pick_from(strip, choice, Judged(judged))
        kept = book.add_pick(
            picked.choice,
            dose_s=picked.dose_s,
            stops=picked.stops,
            judged=picked.judged,
            record_id=page.record.record_id,
            filter=strip.filter,
        )
    warning = kept.warning()
    if json_:
        show.as_json(
            {
                "choice": kept.choice,
                "dose_s": kept.dose_s,
                "stops": kept.stops,
                "judged": kept.judged.value,
                "record_id": page.record.record_id,
                "warning": warning,
            }
        )
        return
    stops = format_stops(stops_fraction(kept.stops))
    mark = page.record.marks[-1] if page.record.marks else ""
    print(
        f"{mark}: print with {format_time(kept.dose_s)} ({kept.choice}, {stops} stop from A, "
        f"judged {kept.judged.value})"
    )
    if kept.judged is Judged.WET:
        print("judged wet: dry-down is still to be allowed for, once, when the print is made")
    show.note(warning)


def unsure(patch: str, record: str) -> None:
    """Mark a patch of a strip as not to be trusted."""
    with open_book() as book:
        page = strip_page(book, record)
        strip = Strip.model_validate_json(page.record.spec)
        letters = [p.letter for p in patches_of(strip)]
        if patch.upper() not in letters:
            raise BadInput(f"there is no patch {patch!r}", "unsure", f"A to {letters[-1]}")
        text = "unsure: the card moved late"
        book.write(Remark(page.record.record_id, text, patch.upper()))
    print(f"patch {patch.upper()} is marked unsure")


def cut(strips: str, sheet: str, count: str | None) -> None:
    """Tell how to cut a sheet, and count the strips in."""
    if count is not None:
        with open_book() as book:
            left = book.count_strips(whole_asked(count, "--count", 0, 10_000))
        print(f"{left} strips")
        return
    width_mm, height_mm = size_asked(sheet, "--sheet")
    if min(width_mm, height_mm) < LEAST_SHEET_MM:
        right = "a sheet in mm, or with its unit: 8x10in"
        raise BadInput(f"{sheet} mm is too small for a sheet", "--sheet", right)
    cutting = Cutting(width_mm, height_mm, whole_asked(strips, "--strips", 1, 40))
    with open_book() as book:
        left = book.cut_sheet(cutting.strips)
    show.lines([*guide(cutting), f"{left} strips now"])
