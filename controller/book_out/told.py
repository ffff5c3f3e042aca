"""The book as JSON for other programs, and its schema: whole records, scores as written."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import Connection, select

from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.editions import editions
from controller.book.entries import ExposureEntry, Page, Pick, RemarkEntry, SheetEntry
from controller.book.print_entries import Edition, InEdition, Negative, PrintEntry
from controller.book.prints import all_prints, negatives, pictures_of
from controller.book.tones import Tone, tones_in
from controller.book.whole_wet import WetStep, wet_steps

VERSION = 1


class RecordOut(msgspec.Struct, frozen=True):
    """A record: what was wanted (``spec``: a score, a strip or another), and what became of it.

    Times are UTC, doses seconds of full light, edges of pulses monotonic nanoseconds of the boot
    that they were made in.
    """

    record_id: str
    kind: str
    title: str
    spec: dict[str, Any]
    lamp: dict[str, float]
    rig: str
    begun_at: datetime
    ended_at: datetime | None
    fate: str | None
    reason: str
    sheets: tuple[SheetEntry, ...]
    exposures: tuple[ExposureEntry, ...]
    remarks: tuple[RemarkEntry, ...]
    picks: tuple[Pick, ...]


class PrintOut(msgspec.Struct, frozen=True):
    """A sheet that became a print: what was told of it since, and what lies beside it.

    ``strips`` are the records of those that led to it, ``pictures`` names of files in an
    archive, ``trays`` what it really got there.
    """

    record_id: str
    mark: str
    negative: str
    rating: int | None
    remark: str
    when_dry: str
    went_to: str
    developer_c: float | None
    editions: tuple[InEdition, ...]
    densities: tuple[Tone, ...]
    strips: tuple[str, ...]
    pictures: tuple[str, ...]
    trays: tuple[WetStep, ...]


class BookOut(msgspec.Struct, frozen=True):
    """A whole book, the oldest record first. Later fields only come in addition."""

    version: int
    records: tuple[RecordOut, ...]
    prints: tuple[PrintOut, ...] = ()
    negatives: tuple[Negative, ...] = ()
    editions: tuple[Edition, ...] = ()


def book_out(book: Book) -> BookOut:
    """Read the whole book. Raises BookFault."""
    records = reversed(book.records(limit=2**31 - 1))
    pages = [book.record(record.record_id) for record in records]
    entries = all_prints(book)
    with book.looking() as db:
        prints = tuple(_print(db, one) for one in entries)
    return BookOut(
        VERSION,
        tuple(_record(page) for page in pages if page is not None),
        prints,
        tuple(reversed(negatives(book, limit=2**31 - 1))),
        tuple(reversed(editions(book))),
    )


def to_json(out: BookOut) -> bytes:
    """Write it as JSON that a person can still read."""
    return msgspec.json.format(msgspec.json.encode(out)) + b"\n"


def schema() -> dict[str, Any]:
    """Give the JSON Schema of a book that was written out."""
    found = msgspec.json.schema(BookOut)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | found


def _print(db: Connection, one: PrintEntry) -> PrintOut:
    strips = select(p.evidence.c.record_id).where(p.evidence.c.print_id == one.print_id)
    return PrintOut(
        one.record_id,
        one.mark,
        one.negative,
        one.rating,
        one.remark,
        one.dry_note,
        one.went,
        one.temperature_c,
        one.editions,
        tones_in(db, one.print_id),
        tuple(db.execute(strips).scalars()),
        tuple(each.file for each in pictures_of(db, one.print_id)),
        tuple(wet_steps(db, one)),
    )


def _record(page: Page) -> RecordOut:
    record = page.record
    return RecordOut(
        record.record_id,
        record.kind,
        record.title,
        msgspec.json.decode(record.spec, type=dict[str, Any]),
        record.lamp,
        record.rig,
        record.begun_at,
        record.ended_at,
        record.fate.value if record.fate else None,
        record.reason,
        page.sheets,
        page.exposures,
        page.remarks,
        page.picks,
    )
