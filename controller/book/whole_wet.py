"""What a print got in the trays, and the baths that it went through, read for the whole print."""

from __future__ import annotations

from datetime import datetime, timedelta

import msgspec
from sqlalchemy import Connection, func, select

from controller.book.print_entries import PrintEntry
from controller.book.tables_chemistry import bath, bath_use
from controller.book.tables_wet import wet_step
from controller.chemistry.bath import What

# A mark comes again after some evenings; what is counted on it within these days is this print.
SAME_MARK = timedelta(days=3)
CLOCK = timedelta(minutes=5)  # a print is counted after it was exposed; clocks are set by hand


class WetStep(msgspec.Struct, frozen=True):
    """A step in the trays, as it was: what in, for how long, and at what temperature if known."""

    bath: str
    time_s: float | None
    temperature_c: float | None = None
    note: str = ""


class BathThen(msgspec.Struct, frozen=True):
    """A bath that a print went through: how old it was then, and how many sheets were before.

    ``tray`` is where it stood then. Of a second fixer that became the first, only sheets that it
    had as the first count, as wherever a bath is told of.
    """

    tray: str
    product: str
    dilution: str
    made_at: datetime
    age_h: float
    sheets_before: int


def wet_steps(db: Connection, entry: PrintEntry) -> list[WetStep]:
    """Give the steps that a print went through, the first one first."""
    at = wet_step.c
    query = select(wet_step).where(at.mark == entry.mark, at.record_id == entry.record_id)
    return [
        WetStep(row.tray or row.name, row.actual_s, row.temperature_c, row.note)
        for row in db.execute(query.order_by(at.id))
    ]


def baths_then(db: Connection, entry: PrintEntry) -> list[BathThen]:
    """Give the baths that a print was counted in, in the order of the counting."""
    used = bath_use.c
    use = used.id.label("use_id"), used.at, used.tray.label("stood_in")
    query = select(bath, *use).join(bath, bath.c.id == used.bath_id)
    query = query.where(
        used.mark == entry.mark,
        used.what == What.SHEET.value,
        used.at >= entry.made_at - CLOCK,
        used.at <= entry.made_at + SAME_MARK,
    ).order_by(used.id)
    found = []
    for row in db.execute(query).all():
        earlier = used.bath_id == row.id, used.id < row.use_id
        promoted = select(func.max(used.id)).where(*earlier, used.what == What.PROMOTED.value)
        since = func.coalesce(promoted.scalar_subquery(), 0)
        before = select(func.count()).where(
            *earlier, used.what == What.SHEET.value, used.id > since
        )
        age_h = (row.at - row.made_at).total_seconds() / 3600
        sheets = int(db.execute(before).scalar_one())
        tray = row.stood_in or row.tray
        found.append(BathThen(tray, row.product, row.dilution, row.made_at, age_h, sheets))
    return found
