"""The wet side in the book: what sheets got in the trays, and batches of prints.

Every function is a transaction of its own and raises BookFault where the book cannot do it now.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import msgspec
from sqlalchemy import Connection, Row, Update, delete, func, insert, select, update

from controller.book import tables as t
from controller.book.book import Book
from controller.book.tables_wet import wet_batch, wet_batch_sheet, wet_step
from controller.errors import BadInput, Refused
from controller.trays.batch import Batch, Sheet, do, may_do, merged
from controller.trays.clock import Through
from controller.trays.happened import ENOUGH_SHORT_S, SheetWet, StepWet, sheet_wet
from controller.trays.process import PRINTS
from controller.trays.residual import Outcome, Residual, Seen, name_of, outcome_of
from controller.trays.way import Step, Way, Work


class NoPrint(Refused):
    """A sheet of a strip or a test would be toned; whoever wants that says so."""


def put_down(book: Book, wet: SheetWet) -> None:
    """Keep what a sheet got in the trays."""
    with book.changing() as db:
        _put_down(db, wet)


def keep(book: Book, through: Through, at: datetime, *, celsius: float | None = None) -> None:
    """Keep what the clock of the trays saw of a sheet that came through just now, ``at``."""
    lays = (*through.lay, *through.missed)  # a fixer that it never saw has a row of no seconds
    left_s = sum(lay.actual_s for lay in lays)
    steps = []
    for lay in lays:
        came = at - timedelta(seconds=left_s)
        left_s -= lay.actual_s
        steps.append(
            StepWet(lay.tray, lay.planned_s, lay.actual_s, came, lay.tray, lay.late_s, celsius)
        )
    under = through.is_under_fixed
    put_down(
        book,
        sheet_wet(through.mark, through.record_id, through.process, steps, under_fixed=under),
    )


def sheets_wet(book: Book, mark: str, record_id: str | None = None) -> list[SheetWet]:
    """Give what a sheet got in the trays, a process after the other, the oldest first."""
    query = select(wet_step).where(wet_step.c.mark == mark).order_by(wet_step.c.id)
    if record_id is not None:
        query = query.where(wet_step.c.record_id == record_id)
    found: list[tuple[tuple[str, str], list[StepWet], list[bool]]] = []
    with book.looking() as db:
        for row in db.execute(query):
            key = (row.record_id, row.process)
            if not found or found[-1][0] != key:
                found.append((key, [], []))
            found[-1][1].append(_step(row))
            found[-1][2].append(bool(row.under_fixed))
    return [
        sheet_wet(mark, record, process, steps, under_fixed=any(under))
        for (record, process), steps, under in found
    ]


def begin(
    book: Book, way: Way, marks: Sequence[str], at: datetime, *, anyway: bool = False
) -> Batch:
    """Begin a batch.

    Raises BadInput for a mark given twice, Refused for one in another batch, NoPrint for a strip
    that would be toned, unless it is to be so ``anyway``.
    """
    with book.changing() as db:
        batch_id = db.execute(
            insert(wet_batch).values(way=way.model_dump_json(), begun_at=at)
        ).inserted_primary_key
        assert batch_id is not None
        number = int(batch_id[0])
        for mark in marks:
            _add(db, number, mark, way, anyway=anyway)
        return _batch(db, number)


def add(book: Book, number: int, marks: Sequence[str], *, anyway: bool = False) -> Batch:
    """Add prints to a batch that has not begun its first step. Raises as ``begin``."""
    with book.changing() as db:
        batch = _batch(db, number)
        if batch.done:
            raise Refused(
                f"batch {number} is past its {batch.done[-1].name}",
                ("a batch of their own", "merging it when they are equally far"),
            )
        for mark in marks:
            _add(db, number, mark, batch.way, anyway=anyway)
        return _batch(db, number)


def take_out(book: Book, number: int, mark: str, at: datetime) -> Batch:
    """Take a print out of a batch; what it got stays written."""
    with book.changing() as db:
        batch = _batch(db, number)
        if mark not in {sheet.mark for sheet in batch.sheets}:
            marks = ", ".join(sheet.mark for sheet in batch.sheets) or "none: it is empty"
            raise BadInput(f"batch {number} has no {mark}", "mark", marks)
        db.execute(_of_batch(number, mark).values(out_at=at))
        return _batch(db, number)


def merge(book: Book, into: int, other: int, at: datetime) -> Batch:
    """Let the prints of another batch go on with this one. Raises Refused, BadInput."""
    with book.changing() as db:
        first, second = _batch(db, into), _batch(db, other)
        known = {sheet.mark for sheet in first.sheets}
        for sheet in merged(first, second):
            if sheet.mark not in known:
                db.execute(_of_batch(other, sheet.mark).values(out_at=at))
                _insert(db, into, sheet.mark, sheet.record_id)
        db.execute(update(wet_batch).where(wet_batch.c.id == other).values(merged_into=into))
        return _batch(db, into)


def step_done(book: Book, batch: Batch, step: StepWet, *, under_fixed: bool | None = None) -> Batch:
    """Write a step that a batch went through, for each of its prints."""
    with book.changing() as db:
        for sheet in batch.sheets:
            _insert_step(
                db, sheet.mark, sheet.record_id, batch.way.name, step, under_fixed, batch.number
            )
        return _batch(db, batch.number)


def went_through(
    book: Book,
    batch: Batch,
    step: Step,
    at: datetime,
    *,
    took_s: float | None,
    celsius: float,
    anyway: bool = False,
) -> tuple[Batch, list[str]]:
    """Write that a batch was in a step; gives what is to be warned of.

    Without a time it had its usual one, or what that lacked. Raises Refused and BadInput as
    ``batch.do``.
    """
    may_do(batch, step, anyway=anyway)
    actual_s = batch.rest_s(step, celsius) if took_s is None else took_s
    if not actual_s:
        raise BadInput(f"{step.name} had its usual time", "--time", "how long it had more")
    done, warnings = do(batch, step, at, actual_s=actual_s, celsius=celsius, anyway=anyway)
    under = actual_s < done.planned_s - ENOUGH_SHORT_S if step.work is Work.FIX else None
    return step_done(book, batch, done, under_fixed=under), warnings


def take_back(book: Book, number: int) -> tuple[Batch, StepWet]:
    """Take back what was written last of a batch: it was not so. Gives it with the batch.

    Raises Refused where there is nothing, or where prints joined the batch since.
    """
    with book.changing() as db:
        batch = _batch(db, number)
        if not batch.done:
            raise Refused(f"nothing is written of batch {number}", ("a step that was done",))
        last = max(batch.done, key=lambda each: each.at)
        rows = wet_step.c
        which = (rows.batch_id == number, rows.name == last.name, rows.at == last.at)
        had = set(db.execute(select(rows.mark).where(*which)).scalars())
        if came := [sheet.mark for sheet in batch.sheets if sheet.mark not in had]:
            raise Refused(
                f"{', '.join(came)} came into batch {number} after {last.name}",
                ("what was written since they joined",),
            )
        (row,) = db.execute(select(wet_step).where(*which).limit(1)).all()
        db.execute(delete(wet_step).where(*which))
        return _batch(db, number), _step(row)


def tested(book: Book, batch: Batch, test: Residual, seen: Seen, at: datetime) -> Outcome:
    """Write what a residual test showed; gives what that asks for."""
    outcome = outcome_of(test, seen)
    row = StepWet(name_of(test), 0.0, 0.0, at, note=f"{seen.value}: {outcome.says}")
    under = None if test is Residual.HYPO else not outcome.passed
    step_done(book, batch, row, under_fixed=under)
    return outcome


def fixed(book: Book, marks: Sequence[str], step: StepWet) -> list[SheetWet]:
    """Write that prints were fixed (again); gives each as it now stands."""
    out = []
    with book.changing() as db:
        for mark in marks:
            wet = sheet_wet(mark, _record_of(db, mark), "fixed by hand", (step,))
            _put_down(db, wet)
            out.append(wet)
    return out


def batch(book: Book, number: int) -> Batch:
    """Give a batch. Raises BadInput where there is none."""
    with book.looking() as db:
        return _batch(db, number)


def batches(book: Book, limit: int = 20) -> list[Batch]:
    """Give batches, the newest first, without those that went on in another."""
    query = select(wet_batch.c.id).where(wet_batch.c.merged_into.is_(None))
    with book.looking() as db:
        numbers = db.execute(query.order_by(wet_batch.c.id.desc()).limit(limit)).scalars().all()
        return [_batch(db, number) for number in numbers]


# -- inside a transaction ----------------------------------------------------------------------


def _put_down(db: Connection, wet: SheetWet) -> None:
    last = len(wet.steps) - 1
    for number, step in enumerate(wet.steps):
        # one that never came to its fixer is under-fixed in the last tray that it saw
        says = step.is_fix or (wet.under_fixed and number == last)
        under = wet.under_fixed if says else None
        _insert_step(db, wet.mark, wet.record_id, wet.process, step, under, None)


def _insert_step(
    db: Connection,
    mark: str,
    record_id: str,
    process: str,
    step: StepWet,
    under_fixed: bool | None,
    batch_id: int | None,
) -> None:
    db.execute(
        insert(wet_step).values(
            mark=mark,
            record_id=record_id,
            process=process,
            batch_id=batch_id,
            name=step.name,
            tray=step.tray,
            planned_s=step.planned_s,
            actual_s=step.actual_s,
            late_s=step.late_s,
            temperature_c=step.temperature_c,
            note=step.note,
            under_fixed=under_fixed,
            at=step.at,
        )
    )


def _step(row: Row[tuple[object, ...]]) -> StepWet:
    return StepWet(
        row.name,
        row.planned_s,
        row.actual_s,
        row.at,
        row.tray,
        row.late_s,
        row.temperature_c,
        row.note,
    )


def _record_of(db: Connection, mark: str) -> str:
    """Give the record of the newest sheet with a mark; empty where the book has none."""
    query = select(t.sheet.c.record_id).where(t.sheet.c.mark == mark)
    return db.execute(query.order_by(t.sheet.c.id.desc()).limit(1)).scalar() or ""


def _under_fixed(db: Connection, mark: str, record_id: str) -> bool:
    query = select(wet_step.c.under_fixed).where(
        wet_step.c.mark == mark,
        wet_step.c.record_id == record_id,
        wet_step.c.under_fixed.is_not(None),
    )
    return bool(db.execute(query.order_by(wet_step.c.id.desc()).limit(1)).scalar())


def _add(db: Connection, number: int, mark: str, way: Way, *, anyway: bool) -> None:
    record_id = _record_of(db, mark)
    kind = db.execute(select(t.record.c.kind).where(t.record.c.record_id == record_id)).scalar()
    is_toned = any(step.work is Work.TONE for step in way.step)
    if kind is not None and kind not in PRINTS and is_toned and not anyway:
        raise NoPrint(
            f"{mark} is a sheet of a {kind}, no print, and {way.name} would tone it",
            ("the marks of prints", "--anyway, where it is to be toned"),
        )
    query = select(wet_batch_sheet.c.batch_id).where(
        wet_batch_sheet.c.mark == mark,
        wet_batch_sheet.c.record_id == record_id,
        wet_batch_sheet.c.out_at.is_(None),
    )
    for other in db.execute(query).scalars().all():
        if other == number:
            raise BadInput(f"{mark} is given twice", "marks", "each print once")
        if _batch(db, other).next is not None:
            raise Refused(
                f"{mark} is in batch {other}, which is not through",
                (f"dryside trays batch out {other} {mark}",),
            )
    _insert(db, number, mark, record_id)


def _insert(db: Connection, number: int, mark: str, record_id: str) -> None:
    db.execute(insert(wet_batch_sheet).values(batch_id=number, mark=mark, record_id=record_id))


def _of_batch(number: int, mark: str) -> Update:
    return update(wet_batch_sheet).where(
        wet_batch_sheet.c.batch_id == number,
        wet_batch_sheet.c.mark == mark,
        wet_batch_sheet.c.out_at.is_(None),
    )


def _batch(db: Connection, number: int) -> Batch:
    row = db.execute(select(wet_batch).where(wet_batch.c.id == number)).one_or_none()
    if row is None:
        newest = db.execute(select(func.max(wet_batch.c.id))).scalar()
        right = f"a number up to {newest}" if newest else "dryside trays batch new MARKS first"
        raise BadInput(f"there is no batch {number}", "batch", right)
    if row.merged_into is not None:
        raise BadInput(
            f"batch {number} went on in batch {row.merged_into}", "batch", str(row.merged_into)
        )
    inside = wet_batch_sheet.c
    query = select(inside.mark, inside.record_id).where(
        inside.batch_id == number, inside.out_at.is_(None)
    )
    sheets = tuple(
        Sheet(mark, record_id, _under_fixed(db, mark, record_id))
        for mark, record_id in db.execute(query.order_by(inside.id))
    )
    way = Way.model_validate_json(row.way)
    return Batch(number, way, sheets, row.begun_at, _done(db, number, way, sheets))


def _done(db: Connection, number: int, way: Way, sheets: tuple[Sheet, ...]) -> tuple[StepWet, ...]:
    """Give what still counts as done.

    A fix since then asks for rinse, clearing and wash again, a test that found fixer for the wash.
    """
    steps = wet_step.c
    fix = select(func.max(steps.id)).where(steps.actual_s > 0, steps.under_fixed.is_not(None))
    last_fix = max(
        (
            db.execute(fix.where(steps.mark == e.mark, steps.record_id == e.record_id)).scalar()
            or 0
            for e in sheets
        ),
        default=0,
    )
    again = {step.name for step in way.step if step.work in (Work.RINSE, Work.CLEAR, Work.WASH)}
    done: dict[str, StepWet] = {}
    heard: set[tuple[str, datetime]] = set()
    rows = db.execute(select(wet_step).where(steps.batch_id == number).order_by(steps.id))
    for row in rows:
        if (row.id <= last_fix and row.name in again) or (row.name, row.at) in heard:
            continue  # there is a row for each print
        heard.add((row.name, row.at))
        step = _step(row)
        if before := done.pop(step.name, None):  # this was the rest of it
            whole_s = before.actual_s + step.actual_s
            step = msgspec.structs.replace(step, planned_s=before.planned_s, actual_s=whole_s)
        done[step.name] = step
        if step.name == name_of(Residual.HYPO) and step.note.startswith(Seen.CLEAR.value):
            washes = [w.name for w in way.step if w.work is Work.WASH and w.name in done]
            done.pop(washes[-1] if washes else "", None)
    return tuple(done.values())
