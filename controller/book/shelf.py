"""What stands beside the records: picks, strips left, numbers of lamps and papers, marks.

Every function runs inside its caller's transaction.
"""

from __future__ import annotations

import unicodedata
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, or_, select, update

from controller.book import tables as t
from controller.book.entries import DryDownEntry, Judged, LampEntry, Pick
from controller.book.faults import BookFault
from controller.book.marks import HOW_MANY, mark_of, next_free

# --- picks ----------------------------------------------------------------------------------


def unsure(db: Connection, record_id: str, mark: str | None = None) -> set[str]:
    """Give the labels that a remark tells not to trust, on one sheet (the newest)."""
    if mark is None:
        newest = select(t.sheet.c.mark).where(t.sheet.c.record_id == record_id)
        mark = db.execute(newest.order_by(t.sheet.c.id.desc()).limit(1)).scalar()
    query = select(t.remark.c.label).where(
        t.remark.c.record_id == record_id,
        t.remark.c.label != "",
        or_(t.remark.c.mark == mark, t.remark.c.mark.is_(None)),
    )
    return set(db.execute(query).scalars())


def add_pick(db: Connection, pick: Pick) -> Pick:
    """Keep a pick; gives it back with its unsure patches."""
    db.execute(
        insert(t.pick).values(
            record_id=pick.record_id,
            subject=pick.subject,
            choice=pick.choice,
            dose_s=pick.dose_s,
            stops=pick.stops,
            judged=pick.judged.value,
            filter=pick.filter,
            at=pick.at,
        )
    )
    newest = select(t.pick).order_by(t.pick.c.id.desc()).limit(1)
    return _pick(db, db.execute(newest).one())


def last_pick(
    db: Connection, record_id: str | None, subject: str | None, filter_name: str | None
) -> Pick | None:
    """Give the newest pick that fits whatever is given."""
    query = select(t.pick).order_by(t.pick.c.id.desc()).limit(1)
    if record_id is not None:
        query = query.where(t.pick.c.record_id == record_id)
    if subject is not None:
        query = query.where(t.pick.c.subject == subject)
    if filter_name is not None:
        query = query.where(t.pick.c.filter == filter_name)
    row = db.execute(query).first()
    return None if row is None else _pick(db, row)


def picks_of(db: Connection, record_id: str) -> list[Pick]:
    """Give a record's picks, the oldest first."""
    query = select(t.pick).where(t.pick.c.record_id == record_id).order_by(t.pick.c.id)
    return [_pick(db, row) for row in db.execute(query).all()]


def _pick(db: Connection, row: Row[Any]) -> Pick:
    doubtful = unsure(db, row.record_id) if row.record_id is not None else set()
    return Pick(
        row.record_id,
        row.subject,
        row.choice,
        row.dose_s,
        row.stops,
        Judged(row.judged),
        row.filter,
        row.at,
        tuple(label for label in row.choice.split("-") if label in doubtful),
    )


# --- strips ---------------------------------------------------------------------------------


def strips_left(db: Connection) -> int:
    """Give how many strips are left of those that were cut; never below zero."""
    return int(db.execute(select(func.coalesce(func.sum(t.stock.c.strips), 0))).scalar_one())


def move_strips(
    db: Connection, strips: int, reason: str, at: datetime, record_id: str | None = None
) -> int:
    """Put strips down as come or gone, and give what is left.

    Strips that nobody counted in are used all the same: the movement stays, but takes nothing.
    """
    taken = max(strips, -strips_left(db))
    db.execute(insert(t.stock).values(strips=taken, reason=reason, record_id=record_id, at=at))
    return strips_left(db)


# --- lamps ----------------------------------------------------------------------------------


def add_calibration(db: Connection, entry: LampEntry) -> None:
    """Keep a lamp's numbers, the former ones with them."""
    db.execute(
        insert(t.calibration).values(
            output=entry.output,
            cold_lag_s=entry.cold_lag_s,
            warm_gain_s2=entry.warm_gain_s2,
            uncertainty_s=entry.uncertainty_s,
            how=entry.how,
            at=entry.at,
        )
    )


def calibrations(db: Connection, output: str, limit: int) -> list[LampEntry]:
    """Give a lamp's numbers through time, the newest first."""
    query = select(t.calibration).where(t.calibration.c.output == output)
    return [
        LampEntry(
            row.output,
            row.cold_lag_s,
            row.warm_gain_s2,
            row.uncertainty_s,
            row.how,
            row.at,
        )
        for row in db.execute(query.order_by(t.calibration.c.id.desc()).limit(limit))
    ]


def outputs(db: Connection) -> list[str]:
    """Name the lamps of which there are numbers."""
    names = select(t.calibration.c.output).distinct().order_by(t.calibration.c.output)
    return list(db.execute(names).scalars())


# --- papers ---------------------------------------------------------------------------------


def name_key(name: str) -> str:
    """Give what a name is compared by: neither case nor stray spaces tell two papers apart.

    Made here and kept with the row, since databases fold the case of ASCII only, or differ.
    """
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def add_dry_down(db: Connection, entry: DryDownEntry) -> None:
    """Keep a paper's dry-down, the former ones with it."""
    db.execute(
        insert(t.dry_down).values(
            paper=entry.paper,
            batch=entry.batch,
            paper_key=name_key(entry.paper),
            batch_key=name_key(entry.batch),
            percent=entry.percent,
            record_id=entry.record_id,
            how=entry.how,
            at=entry.at,
        )
    )


def dry_down(db: Connection, paper: str, batch: str) -> DryDownEntry | None:
    """Give the newest dry-down of a paper and batch, else the newest of the paper."""
    query = select(t.dry_down).where(t.dry_down.c.paper_key == name_key(paper))
    same_batch = (t.dry_down.c.batch_key == name_key(batch)).desc()
    row = db.execute(query.order_by(same_batch, t.dry_down.c.id.desc()).limit(1)).first()
    if row is None:
        return None
    return DryDownEntry(row.paper, row.batch, row.percent, row.record_id, row.how, row.at)


# --- marks ----------------------------------------------------------------------------------


def next_mark(db: Connection) -> str:
    """Take the next mark that is on no open sheet; raises BookFault when there is none."""
    here = t.counter.c.name == "mark"
    count = db.execute(select(t.counter.c.value).where(here).with_for_update()).scalar_one()
    taken = set(db.execute(select(t.sheet.c.mark).where(t.sheet.c.ended_at.is_(None))).scalars())
    free = next_free(count, taken)
    if free is None:
        raise BookFault(f"all {HOW_MANY} marks are on sheets that are still open; end some of them")
    db.execute(update(t.counter).where(here).values(value=free + 1))
    return mark_of(free)
