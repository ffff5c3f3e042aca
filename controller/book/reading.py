"""Records, read back. Every function runs inside its caller's transaction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

import msgspec
from sqlalchemy import Connection, Row, Select, func, select

from controller.book import tables as t
from controller.book.entries import (
    ExposureEntry,
    Page,
    PulseEntry,
    Record,
    RemarkEntry,
    RunEntry,
    RunKind,
    SheetEntry,
)
from controller.book.faults import BookFault
from controller.book.interrupted import Interrupted, parts_of
from controller.book.marks import looks_like_mark
from controller.book.shelf import picks_of
from controller.events import Fate
from controller.keeper import Cause


def records(db: Connection, limit: int, kind: str | None) -> list[Record]:
    """Give records, the newest first."""
    query = _with_first().order_by(t.record.c.id.desc()).limit(limit)
    if kind is not None:
        query = query.where(t.record.c.kind == kind)
    return _with_marks(db, db.execute(query).all())


def find(db: Connection, key: str) -> str | None:
    """Find a record's id by it, by a mark (the newest sheet that has it), or by its beginning.

    Raises BookFault where several ids begin so.
    """
    ids = select(t.record.c.record_id)
    if db.execute(ids.where(t.record.c.record_id == key)).scalar() is not None:
        return key
    if not key:
        return None
    if looks_like_mark(key):
        query = select(t.sheet.c.record_id).where(t.sheet.c.mark == key.upper())
        marked = db.execute(query.order_by(t.sheet.c.id.desc()).limit(1)).scalar()
        if marked is not None:
            return str(marked)
    begins = t.record.c.record_id.startswith(key, autoescape=True)
    found = db.execute(ids.where(begins).limit(2)).scalars().all()
    if len(found) > 1:
        raise BookFault(
            f"several records begin with {key!r}, such as {found[0]} and {found[1]}; give more "
            "of the one you mean"
        )
    return found[0] if found else None


def page(db: Connection, record_id: str) -> Page:
    """Give all that the book holds of a record that is there."""
    rows = db.execute(_with_first().where(t.record.c.record_id == record_id)).all()
    remarks = select(t.remark).where(t.remark.c.record_id == record_id).order_by(t.remark.c.id)
    return Page(
        _with_marks(db, rows)[0],
        tuple(sheets(db, record_id)),
        tuple(exposures(db, record_id)),
        tuple(
            RemarkEntry(row.mark or "", row.label, row.text, row.at) for row in db.execute(remarks)
        ),
        tuple(picks_of(db, record_id)),
        tuple(runs(db, record_id)),
    )


def runs(db: Connection, record_id: str) -> list[RunEntry]:
    """Give a record's runs in order."""
    query = select(t.run).where(t.run.c.record_id == record_id).order_by(t.run.c.number)
    return [_run(row) for row in db.execute(query)]


def sheets(db: Connection, record_id: str) -> list[SheetEntry]:
    """Give a record's sheets in the order in which they were laid."""
    query = select(t.sheet).where(t.sheet.c.record_id == record_id).order_by(t.sheet.c.id)
    return [
        SheetEntry(
            row.mark,
            row.width_mm,
            row.height_mm,
            row.begun_at,
            row.ended_at,
            _fate(row.fate),
            row.moved,
        )
        for row in db.execute(query)
    ]


def exposures(
    db: Connection, record_id: str, *, mark: str | None = None, run: int | None = None
) -> list[ExposureEntry]:
    """Give a record's exposures in order, or those of one sheet, or of one run.

    An empty mark means those that fell on no sheet.
    """
    wanted = t.exposure.c.record_id == record_id
    if run is not None:
        wanted &= t.exposure.c.run == run
    if mark is not None:
        wanted &= t.exposure.c.mark == mark if mark else t.exposure.c.mark.is_(None)
    query = select(t.exposure).where(wanted).order_by(t.exposure.c.number)
    pulses: defaultdict[int, list[PulseEntry]] = defaultdict(list)
    joined = select(t.pulse).join(t.exposure, t.exposure.c.id == t.pulse.c.exposure_id)
    for row in db.execute(joined.where(wanted).order_by(t.pulse.c.on_ns, t.pulse.c.pulse_id)):
        pulses[row.exposure_id].append(pulse_of(row))
    return [exposure_of(row, pulses[row.id]) for row in db.execute(query)]


def exposure_of(row: Row[Any], pulses: Iterable[PulseEntry]) -> ExposureEntry:
    """Turn a row into an exposure."""
    return ExposureEntry(
        row.number,
        row.mark or "",
        row.label,
        row.dose_s,
        row.pulses_wanted,
        row.first_pulse,
        row.resumed,
        row.intended_at,
        row.delivered_dose_s,
        row.full,
        row.low_s,
        row.high_s,
        tuple(pulses),
        row.run,
        row.filter,
    )


def pulse_of(row: Row[Any]) -> PulseEntry:
    """Turn a row into a pulse."""
    return PulseEntry(row.pulse_id, row.on_ns, row.off_ns, row.asked_ns, Cause(row.cause))


def interrupted(db: Connection) -> list[Interrupted]:
    """Give the runs that were begun and never ended, the newest first."""
    query = select(t.run).where(t.run.c.fate.is_(None)).order_by(t.run.c.id.desc())
    still_open = db.execute(query).all()
    ids = select(t.run.c.record_id).where(t.run.c.fate.is_(None))
    found = db.execute(_with_first().where(t.record.c.record_id.in_(ids))).all()
    records = {record.record_id: record for record in _with_marks(db, found)}
    return [_cut_off(db, records[row.record_id], _run(row)) for row in still_open]


def _cut_off(db: Connection, record: Record, run: RunEntry) -> Interrupted:
    query = select(t.sheet.c.mark).where(
        t.sheet.c.record_id == record.record_id, t.sheet.c.ended_at.is_(None)
    )
    # an extra knows its sheet, which had ended before it was begun
    newest = query.order_by(t.sheet.c.id.desc()).limit(1)
    mark = run.mark or db.execute(newest).scalar() or ""
    highest = select(func.max(t.exposure.c.number)).where(
        t.exposure.c.record_id == record.record_id
    )
    last_number = db.execute(highest).scalar() or 0
    parts = parts_of(exposures(db, record.record_id, mark=mark, run=run.number))
    return Interrupted(record, mark, parts, last_number, run)


def _with_first() -> Select[Any]:
    """Select records, with plan and spec of their first run."""
    first = (t.run.c.record_id == t.record.c.record_id) & (t.run.c.number == 1)
    return select(t.record, t.run.c.plan, t.run.c.spec).join(t.run, first)


def _run(row: Row[Any]) -> RunEntry:
    return RunEntry(
        row.number,
        RunKind(row.kind),
        row.mark or "",
        row.plan,
        row.spec,
        row.begun_at,
        _fate(row.fate),
    )


def _with_marks(db: Connection, rows: Iterable[Row[Any]]) -> list[Record]:
    rows = list(rows)
    marks: defaultdict[str, list[str]] = defaultdict(list)
    query = select(t.sheet.c.record_id, t.sheet.c.mark).order_by(t.sheet.c.id)
    some = 500  # ids in one query: databases bound it
    ids = [row.record_id for row in rows]
    for start in range(0, len(ids), some):
        wanted = t.sheet.c.record_id.in_(ids[start : start + some])
        for record_id, mark in db.execute(query.where(wanted)):
            marks[record_id].append(mark)
    unended = select(t.run.c.record_id).where(
        t.run.c.fate.is_(None), t.run.c.kind == RunKind.EXTRA.value
    )
    extra_open = set(db.execute(unended).scalars())
    return [
        Record(
            row.record_id,
            row.kind,
            row.title,
            row.spec,
            row.plan,
            msgspec.json.decode(row.lamp, type=dict[str, float]),
            row.rig,
            row.begun_at,
            row.ended_at,
            _fate(row.fate),
            row.reason,
            tuple(marks[row.record_id]),
            row.record_id in extra_open,
        )
        for row in rows
    ]


def _fate(text: str | None) -> Fate | None:
    return None if text is None else Fate(text)
