"""A whole print in one struct: all that the book holds of it, for whoever tells or writes it."""

from __future__ import annotations

from datetime import datetime

import msgspec
from sqlalchemy import Connection, select

from controller.book import reading
from controller.book import tables as t
from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.entries import ExposureEntry, Page, Pick, Record, RemarkEntry, SheetEntry
from controller.book.print_entries import InEdition, Negative, Picture, PrintEntry, RoomThen
from controller.book.prints import entry_in, filled, negative_in, pictures_of
from controller.book.prints_made import score_in
from controller.book.tones import Tone, tones_in
from controller.book.whole_wet import BathThen, WetStep, baths_then, wet_steps
from controller.score.model import Score, SetUp


class Pause(msgspec.Struct, frozen=True):
    """A gap in an exposure that was cut short and went on: after which one, and until when."""

    label: str
    cut_short_at: datetime
    went_on_at: datetime

    @property
    def length_s(self) -> float:
        """How long it lasted, in seconds of wall time, from intention to intention."""
        return (self.went_on_at - self.cut_short_at).total_seconds()


class Evidence(msgspec.Struct, frozen=True):
    """A strip or trial piece that a print was found with, and what was picked from it."""

    record_id: str
    mark: str
    title: str
    picks: tuple[Pick, ...]


class WholePrint(msgspec.Struct, frozen=True):
    """All of one print.

    ``score`` is None where the record's own cannot be read. ``exposures`` are those of this
    sheet as they really were. ``process`` is what the score says of the trays in words;
    ``wet_steps`` what was really done where the trays were timed, ``baths`` those that it was
    counted in. ``room`` is the room as it
    stood, None where nobody put it down. ``tones`` are densities that were read off the dry print.
    """

    print: PrintEntry
    negative: Negative
    record: Record
    sheet: SheetEntry
    score: Score | None
    exposures: tuple[ExposureEntry, ...]
    pauses: tuple[Pause, ...]
    paper: str
    batch: str
    setup: SetUp
    process: tuple[tuple[str, str], ...]
    wet_steps: tuple[WetStep, ...]
    baths: tuple[BathThen, ...]
    room: RoomThen | None
    remarks: tuple[RemarkEntry, ...]
    editions: tuple[InEdition, ...]
    pictures: tuple[Picture, ...]
    evidence: tuple[Evidence, ...]
    tones: tuple[Tone, ...] = ()

    @property
    def page(self) -> Page:
        """Give its record with this sheet alone, as a page."""
        return Page(self.record, (self.sheet,), self.exposures, self.remarks, ())


def whole_print(book: Book, key: str) -> WholePrint:
    """Read a print by its mark, number or record. Raises BadInput where there is none."""
    filled(book)
    with book.looking() as db:
        return whole_in(db, key)


def whole_in(db: Connection, key: str) -> WholePrint:
    """Read a print, inside the caller's transaction."""
    entry = entry_in(db, key)
    page = reading.page(db, entry.record_id)
    score = score_in(page.record.spec)
    exposures = tuple(one for one in page.exposures if one.mark == entry.mark)
    room = select(p.print_.c.room).where(p.print_.c.id == entry.print_id)
    told = db.execute(room).scalar_one()
    process = score.process.model_dump() if score else {}
    return WholePrint(
        print=entry,
        negative=negative_in(db, entry.negative) or Negative(entry.negative),
        record=page.record,
        sheet=next(sheet for sheet in page.sheets if sheet.mark == entry.mark),
        score=score,
        exposures=exposures,
        pauses=tuple(_pauses(exposures)),
        paper=entry.paper,
        batch=entry.batch,
        setup=score.setup if score else SetUp(),
        process=tuple((name, text) for name, text in process.items() if text),
        wet_steps=tuple(wet_steps(db, entry)),
        baths=tuple(baths_then(db, entry)),
        room=msgspec.json.decode(told, type=RoomThen) if told else None,
        remarks=tuple(one for one in page.remarks if one.mark in ("", entry.mark)),
        editions=entry.editions,
        pictures=tuple(pictures_of(db, entry.print_id)),
        evidence=tuple(_evidence(db, entry.print_id)),
        tones=tones_in(db, entry.print_id),
    )


def _pauses(exposures: tuple[ExposureEntry, ...]) -> list[Pause]:
    """Find where an exposure went on under the same label after it had been cut short."""
    pauses, last = [], dict[str, ExposureEntry]()
    for one in exposures:
        if one.resumed and one.label in last:
            pauses.append(Pause(one.label, last[one.label].intended_at, one.intended_at))
        last[one.label] = one
    return pauses


def _evidence(db: Connection, print_id: int) -> list[Evidence]:
    query = select(t.record.c.record_id, t.record.c.title).join(
        p.evidence, p.evidence.c.record_id == t.record.c.record_id
    )
    query = query.where(p.evidence.c.print_id == print_id).order_by(t.record.c.id)
    found = []
    for row in db.execute(query).all():
        page = reading.page(db, row.record_id)
        mark = page.sheets[-1].mark if page.sheets else ""
        found.append(Evidence(row.record_id, mark, row.title, page.picks))
    return found
