"""The book as JSON for other programs, and its schema: whole records, scores as written."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import msgspec

from controller.book.book import Book
from controller.book.entries import ExposureEntry, Page, Pick, RemarkEntry, SheetEntry

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


class BookOut(msgspec.Struct, frozen=True):
    """A whole book, the oldest record first."""

    version: int
    records: tuple[RecordOut, ...]


def book_out(book: Book) -> BookOut:
    """Read the whole book. Raises BookFault."""
    records = reversed(book.records(limit=2**31 - 1))
    pages = [book.record(record.record_id) for record in records]
    return BookOut(VERSION, tuple(_record(page) for page in pages if page is not None))


def to_json(out: BookOut) -> bytes:
    """Write it as JSON that a person can still read."""
    return msgspec.json.format(msgspec.json.encode(out)) + b"\n"


def schema() -> dict[str, Any]:
    """Give the JSON Schema of a book that was written out."""
    found = msgspec.json.schema(BookOut)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | found


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
