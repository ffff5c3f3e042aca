"""Events, put down as rows. Every function runs inside its caller's transaction."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import Connection, Row, delete, func, insert, select, update
from sqlalchemy.sql import ColumnElement

from controller.book import tables as t
from controller.book.adopting import adopt
from controller.book.entries import PulseEntry, RunKind
from controller.book.faults import BookFault
from controller.book.interrupted import Settled
from controller.book.prints_made import became_prints, pulled_for, remarked
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
            _sheet_ended(db, record_id, mark, fate, at)
        case RunEnded(record_id=record_id, fate=fate, reason=reason):
            end_run(db, record_id, fate, reason, at)
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
    _bound_exposures(db, *of_light)
    if fate is Fate.DONE:
        became_prints(db, record_id, at)
    return ended.rowcount


def end_run(db: Connection, record_id: str, fate: Fate, reason: str, at: datetime) -> None:
    """End a record's run, and whatever of it is still open; raises BookFault without one.

    The first run takes its record along. An extra leaves it as it was, since the sheet had all
    of its plan before, unless it spoiled the last sheet that was good.
    """
    run = _run_at_work(db, record_id)
    if run is None:
        raise BookFault(f"the book has no record {record_id}")
    db.execute(update(t.run).where(t.run.c.id == run.id).values(fate=fate.value))
    record = update(t.record).where(t.record.c.record_id == record_id)
    if run.kind == RunKind.EXTRA.value:
        _bound_exposures(db, t.exposure.c.record_id == record_id)
        if fate is Fate.SPOILED and not _good_sheets(db, record_id):
            db.execute(record.values(fate=fate.value, reason=reason))
        return
    db.execute(record.values(fate=fate.value, reason=reason, ended_at=at))
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
        run = _run_at_work(db, event.record_id)
        if run is not None:
            _lamp_is(db, event.record_id, lamp, at)
            if event.extra:
                number = _next_run(db, event.record_id)
                _insert_run(db, event, number, RunKind.EXTRA, event.extra, at)
            else:
                _continued(db, run)
            return
        # Begun in a book that was lost since: what follows has its place in this one.
    db.execute(
        insert(t.record).values(
            record_id=event.record_id,
            kind=event.kind,
            title=event.title,
            lamp=lamp,
            rig=event.rig,
            begun_at=at,
            reason="",
        )
    )
    _insert_run(db, event, 1, RunKind.FIRST, event.spec, at)
    if event.edition:
        pulled_for(db, event.edition, event.record_id)


def _insert_run(
    db: Connection, event: RunBegun, number: int, kind: RunKind, spec: str, at: datetime
) -> None:
    db.execute(
        insert(t.run).values(
            record_id=event.record_id,
            number=number,
            kind=kind.value,
            mark=event.mark if kind is RunKind.EXTRA else None,
            plan=event.plan,
            spec=spec,
            begun_at=at,
        )
    )


def _run_at_work(db: Connection, record_id: str) -> Row[Any] | None:
    """Give the newest run of a record that was not ended, else the newest."""
    query = select(t.run).where(t.run.c.record_id == record_id)
    open_first = t.run.c.fate.is_(None).desc()
    return db.execute(query.order_by(open_first, t.run.c.number.desc()).limit(1)).first()


def _next_run(db: Connection, record_id: str) -> int:
    query = select(func.max(t.run.c.number)).where(t.run.c.record_id == record_id)
    return int(db.execute(query).scalar_one()) + 1


def _good_sheets(db: Connection, record_id: str) -> int:
    """Count a record's sheets that are not spoiled."""
    query = select(func.count()).where(
        t.sheet.c.record_id == record_id, t.sheet.c.fate.is_distinct_from(Fate.SPOILED.value)
    )
    return int(db.execute(query).scalar_one())


def _bound_exposures(db: Connection, *of_light: ColumnElement[bool]) -> None:
    """Give bounds to what stays unknown."""
    db.execute(
        update(t.exposure)
        .where(*of_light, t.exposure.c.delivered_dose_s.is_(None), t.exposure.c.high_s.is_(None))
        .values(low_s=0.0, high_s=t.exposure.c.dose_s)
    )


def _lamp_is(db: Connection, record_id: str, lamp: str, at: datetime) -> None:
    """Keep the lamp's numbers, and remark the former ones where they were others."""
    here = t.record.c.record_id == record_id
    before = db.execute(select(t.record.c.lamp).where(here)).scalar_one()
    if lamp != before:
        text = f"until here the lamp was counted with {before}"
        _remark(db, Remark(record_id, text), at)
        db.execute(update(t.record).where(here).values(lamp=lamp))


def _continued(db: Connection, run: Row[Any]) -> None:
    """Open a run again. Its plan stays: a rest is always made of the whole."""
    record_id = run.record_id
    db.execute(update(t.run).where(t.run.c.id == run.id).values(fate=None))
    if run.kind == RunKind.EXTRA.value:
        return  # its record and its sheet were finished before it
    db.execute(
        update(t.record)
        .where(t.record.c.record_id == record_id)
        .values(fate=None, reason="", ended_at=None)
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


def _sheet_ended(db: Connection, record_id: str, mark: str, fate: Fate, at: datetime) -> None:
    """End a sheet. One that was asked for and never laid ends too, with nothing to say of it."""
    run = _run_at_work(db, record_id)
    if run is not None and run.kind == RunKind.EXTRA.value and fate is not Fate.SPOILED:
        return  # it had ended before, and is as good as it was
    end_sheets(db, record_id, fate, at, mark=mark)


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
        adopt(db, event.mark, event.record_id, at)


def _intended(db: Connection, event: Intended, at: datetime) -> None:
    if event.mark:
        lies = select(t.sheet.c.id).where(
            t.sheet.c.record_id == event.record_id, t.sheet.c.mark == event.mark
        )
        if db.execute(lies).scalar() is None:  # laid in a book that was lost since
            db.execute(
                insert(t.sheet).values(record_id=event.record_id, mark=event.mark, begun_at=at)
            )
    run = _run_at_work(db, event.record_id)
    db.execute(
        insert(t.exposure).values(
            record_id=event.record_id,
            run=run.number if run is not None else 1,
            filter=event.filter,
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
    remarked(db, event.record_id, event.text)
