"""Events, put down as rows. Every function runs inside its caller's transaction."""

from __future__ import annotations

from datetime import datetime

import msgspec
from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.sql import ColumnElement

from controller.book import tables as t
from controller.book.entries import PulseEntry
from controller.book.faults import BookFault
from controller.book.interrupted import Settled
from controller.events import (
    Event,
    Fate,
    Intended,
    Made,
    Remark,
    RunBegun,
    RunEnded,
    SheetBegun,
    SheetEnded,
)


def store(db: Connection, event: Event, at: datetime) -> None:
    """Put one event down."""
    match event:
        case RunBegun():
            _run_begun(db, event, at)
        case SheetBegun():
            _sheet_begun(db, event, at)
        case Intended():
            _intended(db, event, at)
        case Made():
            _made(db, event)
        case SheetEnded(record_id=record_id, mark=mark, fate=fate):
            # A sheet that was asked for and never laid ends too; there is nothing to say of it.
            end_sheets(db, record_id, fate, at, mark=mark)
        case RunEnded(record_id=record_id, fate=fate, reason=reason):
            end_record(db, record_id, fate, reason, at)
        case Remark():
            _remark(db, event, at)


def end_sheets(
    db: Connection, record_id: str, fate: Fate, at: datetime, *, mark: str | None = None
) -> int:
    """End a sheet, or all that are still open; gives how many.

    An exposure that was left open there stays unknown, and from now on has its bounds.
    """
    of_sheet: list[ColumnElement[bool]] = [t.sheet.c.record_id == record_id]
    of_light: list[ColumnElement[bool]] = [t.exposure.c.record_id == record_id]
    if mark is None:
        of_sheet.append(t.sheet.c.ended_at.is_(None))
    else:
        of_sheet.append(t.sheet.c.mark == mark)
        of_light.append(t.exposure.c.mark == mark)
    ended = db.execute(update(t.sheet).where(*of_sheet).values(fate=fate.value, ended_at=at))
    db.execute(
        update(t.exposure)
        .where(*of_light, t.exposure.c.delivered_dose_s.is_(None), t.exposure.c.high_s.is_(None))
        .values(low_s=0.0, high_s=t.exposure.c.dose_s)
    )
    return ended.rowcount


def end_record(db: Connection, record_id: str, fate: Fate, reason: str, at: datetime) -> None:
    """End a record and whatever of it is still open; raises BookFault where there is none."""
    ended = db.execute(
        update(t.record)
        .where(t.record.c.record_id == record_id)
        .values(fate=fate.value, reason=reason, ended_at=at)
    )
    if not ended.rowcount:
        raise BookFault(f"the book has no record {record_id}")
    end_sheets(db, record_id, fate, at)


def settle_exposure(db: Connection, exposure_id: int, settled: Settled) -> None:
    """Put down what an exposure really was, in place of what was known of it before."""
    db.execute(
        update(t.exposure)
        .where(t.exposure.c.id == exposure_id)
        .values(
            delivered_dose_s=settled.delivered_dose_s,
            full=settled.full,
            low_s=settled.low_s,
            high_s=settled.high_s,
        )
    )
    db.execute(delete(t.pulse).where(t.pulse.c.exposure_id == exposure_id))
    rows = [
        {
            "exposure_id": exposure_id,
            "pulse_id": pulse.pulse_id,
            "on_ns": pulse.on_ns,
            "off_ns": pulse.off_ns,
            "asked_ns": pulse.asked_ns,
            "cause": pulse.cause.value,
        }
        for pulse in settled.pulses
    ]
    if rows:
        db.execute(insert(t.pulse), rows)


def _run_begun(db: Connection, event: RunBegun, at: datetime) -> None:
    lamp = msgspec.json.encode(event.lamp, order="deterministic").decode()
    if event.continues:
        known = db.execute(
            select(t.record.c.lamp).where(t.record.c.record_id == event.record_id)
        ).scalar()
        if known is not None:
            _continued(db, event.record_id, known, lamp, at)
            return
        # Begun in a book that was lost since: what follows has its place in this one.
    db.execute(
        insert(t.record).values(
            record_id=event.record_id,
            kind=event.kind,
            title=event.title,
            spec=event.spec,
            plan=event.plan,
            lamp=lamp,
            rig=event.rig,
            begun_at=at,
            reason="",
        )
    )


def _continued(db: Connection, record_id: str, lamp_before: str, lamp: str, at: datetime) -> None:
    """Open a record again. Its plan stays the first one: a rest is always made of the whole."""
    if lamp != lamp_before:
        text = f"until here the lamp was counted with {lamp_before}"
        _remark(db, Remark(record_id, text), at)
    db.execute(
        update(t.record)
        .where(t.record.c.record_id == record_id)
        .values(lamp=lamp, fate=None, reason="", ended_at=None)
    )
    db.execute(
        update(t.sheet)
        .where(
            t.sheet.c.record_id == record_id,
            t.sheet.c.fate == Fate.INTERRUPTED.value,
            t.sheet.c.moved.is_not(True),
        )
        .values(fate=None, ended_at=None)
    )


def _sheet_begun(db: Connection, event: SheetBegun, at: datetime) -> None:
    size = {"width_mm": event.width_mm, "height_mm": event.height_mm}
    again = db.execute(
        update(t.sheet)
        .where(t.sheet.c.record_id == event.record_id, t.sheet.c.mark == event.mark)
        .values(**size, fate=None, ended_at=None)
    )
    if not again.rowcount:
        db.execute(
            insert(t.sheet).values(record_id=event.record_id, mark=event.mark, begun_at=at, **size)
        )


def _intended(db: Connection, event: Intended, at: datetime) -> None:
    if event.mark:
        lies = select(t.sheet.c.id).where(
            t.sheet.c.record_id == event.record_id, t.sheet.c.mark == event.mark
        )
        if db.execute(lies).scalar() is None:  # laid in a book that was lost since
            db.execute(
                insert(t.sheet).values(record_id=event.record_id, mark=event.mark, begun_at=at)
            )
    db.execute(
        insert(t.exposure).values(
            record_id=event.record_id,
            number=event.number,
            mark=event.mark or None,
            label=event.label,
            dose_s=event.dose_s,
            pulses_wanted=event.pulses,
            first_pulse=event.first_pulse,
            resumed=event.resumed,
            intended_at=at,
        )
    )


def _made(db: Connection, event: Made) -> None:
    exposure_id = db.execute(
        select(t.exposure.c.id).where(
            t.exposure.c.record_id == event.record_id, t.exposure.c.number == event.number
        )
    ).scalar()
    if exposure_id is None:
        raise BookFault(
            f"the book has no exposure {event.number} of record {event.record_id} that was intended"
        )
    pulses = tuple(
        PulseEntry(pulse.pulse_id, pulse.on_ns, pulse.off_ns, pulse.asked_ns, pulse.cause)
        for pulse in event.pulses
    )
    settled = Settled(event.delivered_dose_s, event.full, pulses=pulses)
    settle_exposure(db, exposure_id, settled)


def _remark(db: Connection, event: Remark, at: datetime) -> None:
    """A remark belongs to the sheet it was made about: a spoiled one takes it along."""
    newest = select(t.sheet.c.mark).where(t.sheet.c.record_id == event.record_id)
    mark = db.execute(newest.order_by(t.sheet.c.id.desc()).limit(1)).scalar()
    if event.label:
        lit = select(t.exposure.c.mark).where(
            t.exposure.c.record_id == event.record_id, t.exposure.c.label == event.label
        )
        row = db.execute(lit.order_by(t.exposure.c.number.desc()).limit(1)).first()
        mark = row.mark if row else mark
    mark = event.mark or mark
    db.execute(
        insert(t.remark).values(
            record_id=event.record_id, mark=mark, label=event.label, text=event.text, at=at
        )
    )
