"""``dryside book sheet``, ``labels`` and ``box``: the book on paper."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from controller.book.marks import looks_like_mark
from controller.errors import BadInput
from controller.record_sheet.canvas import write_pdf
from controller.record_sheet.figures import read_picture
from controller.record_sheet.gather import print_sheet
from controller.record_sheet.page import record_pdf
from ui.unit import open_book


def day(at: datetime) -> str:
    """Write a day for a person, in local time: 3 March 2026."""
    here = at.astimezone()
    return f"{here.day} {here:%B %Y}"


def sheet(key: str, pdf: str, *, paper: str, picture: str) -> None:
    """Write a print's record on one page."""
    with open_book() as book:
        page = book.record(key)
        if page is None:
            raise BadInput(f"there is no record {key!r}", "book sheet", "one that book list shows")
        mark = key.upper() if looks_like_mark(key) else ""
        image = _picture(picture) if picture else b""
        found = print_sheet(page, day=day, find=book.record, mark=mark, picture=image)
    path = Path(pdf or f"{found.mark or found.record_id[:8]}-record.pdf")
    write_pdf(path, record_pdf(found, paper=paper))
    print(f"record of {found.mark or found.record_id[:8]}: {path}")


def _picture(name: str) -> bytes:
    try:
        data = Path(name).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read ({reason})", name, "a PNG or a JPEG") from None
    read_picture(data, name)
    return data
