"""Densities of dry prints in the book, region by region. Raises BadInput, BookFault."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec
from sqlalchemy import Connection, delete, insert, select

from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.prints import print_called
from controller.book.prints_made import score_in
from controller.errors import BadInput, quoted
from controller.score.doses import region_names

DENSEST = 3.5  # no paper is blacker: common practice, no source
TYPED = "densitometer"  # what is typed in was read off the dry print
IMAGINED = "imagined paper"  # the simulator tells it


class Tone(msgspec.Struct, frozen=True):
    """The density of a region, base and all, and how it was found."""

    region: str
    density: float
    how: str


def keep_tones(
    book: Book, key: str, densities: Mapping[str, float], how: str = TYPED
) -> tuple[Tone, ...]:
    """Put down what regions of a print have become; what was there of them is replaced.

    Raises BadInput for a region that the print's score does not have, and for no density.
    """
    found = print_called(book, key)
    page = book.record(found.record_id)
    score = score_in(page.record.spec) if page is not None else None
    known = {name.casefold(): name for name in region_names(score)} if score else {}
    named: dict[str, float] = {}
    for name, density in densities.items():
        region = known.get(" ".join(name.split()).casefold())
        if region is None:
            right = f"one of {', '.join(known.values())}" if known else "a print with a score"
            raise BadInput(f"there is no region {quoted(name)}", "print tones", right)
        if not math.isfinite(density) or not 0 <= density <= DENSEST:
            right = f"a density from 0 to {DENSEST:g}, such as 0.35"
            raise BadInput(f"{density:g} for {region}", "print tones", right)
        named[region] = density
    at = book.at()
    rows = [
        {"print_id": found.print_id, "region": name, "density": density, "how": how, "at": at}
        for name, density in named.items()
    ]
    of = p.tone.c
    with book.changing() as db:
        db.execute(delete(p.tone).where(of.print_id == found.print_id, of.region.in_(named)))
        if rows:
            db.execute(insert(p.tone), rows)
        return tones_in(db, found.print_id)


def tones_in(db: Connection, print_id: int) -> tuple[Tone, ...]:
    """Give what is known of a print's densities, inside the caller's transaction."""
    query = select(p.tone).where(p.tone.c.print_id == print_id).order_by(p.tone.c.id)
    return tuple(Tone(row.region, row.density, row.how) for row in db.execute(query))
