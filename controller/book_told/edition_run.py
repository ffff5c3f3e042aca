"""What the prints of an edition really got, and how far apart they are, in stops."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from controller.book.book import Book
from controller.book.editions import prints_for
from controller.book.print_entries import Edition, PrintEntry
from controller.book.whole import WholePrint, whole_print
from controller.errors import BadInput
from controller.score.again import score_of_record, with_extras
from controller.score.differences import spread_stops
from controller.score.model import Score


class CopyGot(msgspec.Struct, frozen=True):
    """One print: what is written beneath it, and what it really got in all, in seconds of dose."""

    written: str
    mark: str
    got_s: float
    by_filter_s: dict[str, float]


class Alike(msgspec.Struct, frozen=True):
    """Copies on the same paper at the same size: only these can be compared by what they got.

    ``spread_stops`` is log2 of the most over the least dose; None for one copy.
    """

    paper: str
    batch: str
    width_mm: float | None
    height_mm: float | None
    marks: tuple[str, ...]
    spread_stops: float | None
    by_filter_stops: dict[str, float | None]

    @property
    def name(self) -> str:
        """Name the paper and the size."""
        paper = "/".join(filter(None, (self.paper, self.batch))) or "paper without a name"
        if self.width_mm is None or self.height_mm is None:
            return paper
        return f"{paper}, {self.width_mm:g} x {self.height_mm:g} mm"


class EditionGot(msgspec.Struct, frozen=True):
    """What the copies got, and how far those that are alike are apart."""

    copies: tuple[CopyGot, ...]
    alike: tuple[Alike, ...]


def edition_got(prints: Sequence[WholePrint], edition: str) -> EditionGot:
    """Give what each print of an edition got, and the spread among prints that are alike."""
    copies: list[CopyGot] = []
    groups: dict[tuple[str, str, float | None, float | None], list[CopyGot]] = {}
    for one in prints:
        by_filter: dict[str, float] = {}
        for exposure in one.exposures:
            dose_s = exposure.bounds_s[0]
            by_filter[exposure.filter] = by_filter.get(exposure.filter, 0.0) + dose_s
        written = next((p.written for p in one.editions if p.edition == edition), "")
        copy = CopyGot(written, one.print.mark, sum(by_filter.values()), by_filter)
        copies.append(copy)
        size = (one.sheet.width_mm, one.sheet.height_mm)
        groups.setdefault((one.paper, one.batch, *size), []).append(copy)
    return EditionGot(tuple(copies), tuple(_alike(*of, copies=same) for of, same in groups.items()))


def got_of(book: Book, name: str) -> EditionGot:
    """Give what each print of an edition in the book got. Raises BadInput and BookFault."""
    prints = [whole_print(book, f"#{one.print_id}") for one in prints_for(book, name)]
    return edition_got(prints, name)


class ToCopy(msgspec.Struct, frozen=True):
    """The print that copies are made of, and its score with the extras that it was given."""

    mark: str
    negative: str
    score: Score
    extras: tuple[str, ...]  # a line for each


def last_to_copy(book: Book, edition: Edition) -> ToCopy:
    """Give an edition's last print, to make copies of. Raises BadInput where it has none yet."""
    prints = prints_for(book, edition.name)
    if not prints:
        right = "--score SCORE, or `dryside book edition sign` with a first print"
        raise BadInput(f"{edition.name} has no print yet", "book edition run", right)
    return to_copy(book, prints[-1])


def to_copy(book: Book, one: PrintEntry) -> ToCopy:
    """Give a print to make copies of. Raises BadInput where its score cannot be read."""
    page = book.record(one.record_id)
    assert page is not None  # every print has its record
    score, extras = with_extras(score_of_record(page.record), page, one.mark)
    return ToCopy(one.mark, one.negative, score, tuple(extras))


# --- inside -----------------------------------------------------------------------------------


def _alike(
    paper: str,
    batch: str,
    width_mm: float | None,
    height_mm: float | None,
    *,
    copies: Sequence[CopyGot],
) -> Alike:
    lights = dict.fromkeys(light for copy in copies for light in copy.by_filter_s)
    return Alike(
        paper,
        batch,
        width_mm,
        height_mm,
        tuple(copy.mark for copy in copies),
        spread_stops(copy.got_s for copy in copies),
        {light: spread_stops(c.by_filter_s.get(light, 0.0) for c in copies) for light in lights},
    )
