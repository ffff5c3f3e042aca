"""Marks that a batch had before the book knew their sheets: joined to their record when it comes.

Prints may be put in a batch beforehand, and records come in from another book years after.
"""

from __future__ import annotations

from sqlalchemy import Connection, select, update

from controller.book import tables as t
from controller.book.tables_wet import wet_batch_sheet, wet_step


def adopt(db: Connection, mark: str = "") -> None:
    """Join marks without a record (this one, else all) to the newest sheet of their name.

    Not where a batch was in a step before that sheet had its light: it had another one then.
    """
    alone = (wet_batch_sheet.c.record_id == "", wet_batch_sheet.c.out_at.is_(None))
    named = (wet_batch_sheet.c.mark == mark,) if mark else ()
    for row in db.execute(select(wet_batch_sheet).where(*alone, *named)).all():
        newest = select(t.sheet).where(t.sheet.c.mark == row.mark).order_by(t.sheet.c.id.desc())
        sheet = db.execute(newest.limit(1)).one_or_none()
        if sheet is None or _was_before(db, row.batch_id, row.mark, sheet.begun_at):
            continue
        db.execute(
            update(wet_batch_sheet)
            .where(wet_batch_sheet.c.id == row.id)
            .values(record_id=sheet.record_id)
        )
        steps = wet_step.c
        db.execute(
            update(wet_step)
            .where(steps.mark == row.mark, steps.record_id == "", steps.at >= sheet.begun_at)
            .values(record_id=sheet.record_id)
        )


def _was_before(db: Connection, batch_id: int, mark: str, begun_at: object) -> bool:
    steps = wet_step.c
    before = select(steps.id).where(
        steps.batch_id == batch_id, steps.mark == mark, steps.at < begun_at
    )
    return db.execute(before.limit(1)).scalar() is not None
