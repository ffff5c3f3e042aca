"""What lies beside a print, for its page on paper and on the screen: strips, and its curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from controller.errors import DrysideError
from controller.record_sheet.model import CrossFigure, Curve, StripFigure
from controller.score.again import score_of_record

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page
    from controller.book.tones import Tone
    from controller.book.whole import WholePrint


@dataclass(frozen=True)
class Beside:
    """The strips that led to a print, files of pictures of them by mark, and its curve."""

    strips: tuple[StripFigure | CrossFigure, ...] = ()
    pictures: dict[str, Path] = field(default_factory=dict)
    curve: Curve | None = None


def beside_print(book: Book, whole: WholePrint, folder: Path) -> Beside:
    """Read it; ``folder`` is that of pictures. Raises BookFault."""
    from controller.record_sheet.evidence import figures_of
    from controller.record_sheet.kept import kept_of

    page = book.record(whole.record.record_id)
    if page is None or whole.score is None:
        return Beside()
    mark = whole.print.mark
    kept = kept_of(book, whole.record.record_id, folder)
    laid = kept.beside.get(mark, ())
    strips, _ = figures_of(whole.score, page.record.begun_at, book.record, laid)
    files = {
        one.record.marks[-1]: kept.strip_pictures[one.record.record_id]
        for one in laid
        if one.record.record_id in kept.strip_pictures and one.record.marks
    }
    return Beside(tuple(strips), files, measured_curve(book, page, whole.tones))


def measured_curve(book: Book, page: Page, tones: Sequence[Tone]) -> Curve | None:
    """Give the print's curve where its box of paper was measured through its filters, else None."""
    from controller.boxes.answering import answers
    from controller.record_sheet.print_curve import print_curve
    from controller.score.doses import filter_of

    try:
        score = score_of_record(page.record)
        used = sorted({filter_of(one) for one in score.passes})
        box = book.papers.box("/".join(filter(None, (score.paper.name, score.paper.batch))))
        paper = answers(box, used)
        densities = [(one.region, one.density) for one in tones]
        return print_curve(
            paper, score, densities, f"{box.batch.handle}, filter {' and '.join(used)}"
        )
    except DrysideError:  # the box is not in the book, or was not measured through these filters
        return None
