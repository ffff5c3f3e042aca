"""``dryside book sheet``, ``labels`` and ``box``: the book on paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from controller.book.marks import looks_like_mark
from controller.book.prints import print_called
from controller.errors import BadInput
from controller.numbered import numbered
from controller.record_sheet.box import box_pdf
from controller.record_sheet.canvas import write_pdf
from controller.record_sheet.figures import read_picture
from controller.record_sheet.gather import print_sheet
from controller.record_sheet.kept import kept_of
from controller.record_sheet.labels import grid_of, labels_pdf, short_exposures
from controller.record_sheet.model import PrintSheet
from controller.record_sheet.page import record_pdf
from controller.score.again import OF_A_SCORE, score_of_record
from controller.score.report import good_mark
from drivers.places import data_folder
from ui import show
from ui.print_evidence import measured_curve
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page

RIGHT_KEY = "one that `dryside book list` shows"


def day(at: datetime) -> str:
    """Write a day for a person, in local time: 3 March 2026."""
    here = at.astimezone()
    return f"{here.day} {here:%B %Y}"


def sheet(key: str, pdf: str, *, paper: str, picture: str) -> None:
    """Write a print's record on one page."""
    with open_book() as book:
        page, mark = _page_of(book, key, "book sheet")
        found = _gathered(book, page, mark, picture)
    path = Path(pdf or f"{found.mark or found.record_id[:8]}-record.pdf")
    write_pdf(path, record_pdf(found, paper=paper))
    print(f"record of {found.mark or found.record_id[:8]}: {path}")


def labels(keys: Sequence[str], pdf: str, *, paper: str, only: str, grid: str, skip: int) -> None:
    """Write labels for prints, by their marks."""
    if only not in ("", "back", "sleeve"):
        raise BadInput(f"{only!r} is no label", "--only", "back or sleeve")
    cells = grid_of(grid)
    found = []
    with open_book() as book:
        for key in keys:
            page, mark = _page_of(book, key, "book labels")
            found.append(_gathered(book, page, mark, curve=False))
    if only == "sleeve" and not any(one.negative for one in found):
        marks = " ".join(one.mark for one in found)
        right = "prints that name one: dryside book print remark MARK --negative NAME"
        raise BadInput(f"{marks}: no negative is named", "book labels", right)
    data = labels_pdf(
        found, back=only != "sleeve", sleeve=only != "back", grid=cells, paper=paper, skip=skip
    )
    write_pdf(Path(pdf), data)
    print(f"labels of {', '.join(one.mark for one in found)}: {pdf}")
    bare = " ".join(one.mark for one in found if not one.negative)
    if bare and not only:
        show.note(f"no negative is named for {bare}: no label for a sleeve")


def box(batch: str, pdf: str, *, paper: str) -> None:
    """List what a box of paper became."""
    with open_book() as book:
        found = made_of(batch, book)
        names = dict.fromkeys(one.score.paper.name for one in found if one.score.paper.name)
        dried = next(filter(None, (book.dry_down(name, batch) for name in names)), None)
    if not found:
        right = "a batch as scores have it; `dryside score show` tells it"
        raise BadInput(f"no print was made on {batch!r}", "book box", right)
    fates = Counter(one.fate for one in found)
    told = ", ".join(f"{count} {fate}" for fate, count in sorted(fates.items()))
    facts = [*names, f"{numbered(len(found), 'sheet')}: {told}"]
    if dried is not None:
        facts.append(f"dry-down {dried.percent:g} %")
    for one in found:
        show.cut(f"{one.mark:4}  {one.made:18}  {one.title}: {short_exposures(one)}")
    print("; ".join(facts))
    if pdf:
        write_pdf(Path(pdf), box_pdf(f"Box {batch}", facts, found, paper=paper))
        print(f"list of the box: {pdf}")


def made_of(batch: str, book: Book) -> list[PrintSheet]:
    """Give every sheet that was made on a batch of paper, the oldest first."""
    wanted = " ".join(batch.split()).casefold()
    found = []
    for kind in OF_A_SCORE:
        for record in book.records(limit=10**6, kind=kind):
            try:
                paper = score_of_record(record).paper
            except BadInput:  # a score of a later version: nothing is known of its paper
                continue
            if " ".join(paper.batch.split()).casefold() != wanted:
                continue
            page = book.record(record.record_id)
            if page is not None:
                found += [
                    (record.begun_at, _gathered(book, page, each.mark, curve=False))
                    for each in page.sheets
                ]
    return [one for _, one in sorted(found, key=lambda pair: pair[0])]


def _page_of(book: Book, key: str, where: str) -> tuple[Page, str]:
    """Give the record of a sheet by its mark, its print's number or the record's, and its mark."""
    mark = key.upper() if looks_like_mark(key) else ""
    if key.startswith("#"):
        one = print_called(book, key)
        key, mark = one.record_id, one.mark
    page = book.record(key)
    if page is None:
        raise BadInput(f"there is no record {key!r}", where, RIGHT_KEY)
    return page, mark


def _gathered(
    book: Book, page: Page, mark: str, picture: str = "", *, curve: bool = True
) -> PrintSheet:
    """Gather a print, with a picture that was named, or else the newest that the book has."""
    kept = kept_of(book, page.record.record_id, data_folder() / "pictures")
    own_mark = mark or good_mark(page)
    own = kept.pictures.get(own_mark)
    image = b""
    if picture:
        image = _picture(picture)
    elif own is not None and own.is_file():
        image = _picture(str(own))
    return print_sheet(
        page,
        day=day,
        find=book.record,
        mark=mark,
        curve=measured_curve(book, page, kept.tones.get(own_mark, ())) if curve else None,
        picture=image,
        prints=kept.prints,
        negative=kept.negative,
        trays=kept.trays.get(own_mark, ()),
        baths=kept.baths.get(own_mark, ()),
        beside=kept.beside.get(own_mark, ()),
        strip_pictures={one: _picture(str(file)) for one, file in kept.strip_pictures.items()},
        edition=kept.editions.get(own_mark),
        room=kept.rooms.get(own_mark),
    )


def _picture(name: str) -> bytes:
    try:
        data = Path(name).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read ({reason})", name, "a PNG or a JPEG") from None
    read_picture(data, name)
    return data
