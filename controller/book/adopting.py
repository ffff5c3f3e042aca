"""Marks that a batch had before the book knew their sheets: joined to their record when it comes.

Only to a sheet that has its light here: one from another book may be any sheet of that mark.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, select, update

from controller.book.tables_wet import wet_batch_sheet, wet_step


def adopt(db: Connection, mark: str, record_id: str, begun_at: datetime) -> None:
    """Join a mark that has no record to that of its sheet, which was begun just now.

    Not where a batch was in a step before: it had another sheet of that mark then.
    """
    inside, steps = wet_batch_sheet.c, wet_step.c
    alone = (inside.mark == mark, inside.record_id == "", inside.out_at.is_(None))
    was_before = select(steps.batch_id).where(
        steps.mark == mark, steps.batch_id.is_not(None), steps.at < begun_at
    )
    found = select(inside.id).where(*alone, inside.batch_id.not_in(was_before))
    rows = list(db.execute(found).scalars())
    if not rows:
        return
    db.execute(update(wet_batch_sheet).where(inside.id.in_(rows)).values(record_id=record_id))
    db.execute(
        update(wet_step)
        .where(steps.mark == mark, steps.record_id == "", steps.at >= begun_at)
        .values(record_id=record_id)
    )
