"""Open exposures, closed with what the keeper's journal knows of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import msgspec
from sqlalchemy import Connection, func, select

from controller.book import tables as t
from controller.book.entries import PulseEntry
from controller.book.interrupted import settle
from controller.book.reading import exposure_of, pulse_of
from controller.book.writing import settle_exposure
from controller.enlarger.lamp import Calibration
from controller.keeper import Ended
from controller.plan import Plan


def reconcile(db: Connection, edges: Iterable[Ended], *, complete: bool) -> list[tuple[str, int]]:
    """Close what can be closed; see ``Book.reconcile``."""
    journaled = {
        edge.id: PulseEntry(edge.id, edge.on_ns, edge.off_ns, None, edge.cause) for edge in edges
    }
    still_open = (
        select(t.exposure, t.record.c.lamp, t.run.c.plan)
        .join(t.record, t.record.c.record_id == t.exposure.c.record_id)
        .join(t.run, t.run.c.record_id == t.exposure.c.record_id)
        .where(
            t.run.c.number == t.exposure.c.run,
            t.run.c.fate.is_(None),
            t.exposure.c.delivered_dose_s.is_(None),
        )
        .order_by(t.exposure.c.id)
    )
    closed: list[tuple[str, int]] = []
    for row in db.execute(still_open).all():
        end = _end_of_pulses(db, row.first_pulse)
        found = {n: p for n, p in journaled.items() if row.first_pulse <= n and n < end}
        known = found | _pulses(db, row.id)  # those of an earlier journal
        if not known and not complete:
            continue
        pulses = [known[number] for number in sorted(known)]
        settled = settle(
            exposure_of(row, ()),
            pulses,
            _lamp(row.lamp, row.plan, row.label),
            off_before_ns=_off_before(db, row.record_id, pulses),
            complete=complete,
        )
        settle_exposure(db, row.id, settled)
        if settled.delivered_dose_s is not None:
            closed.append((row.record_id, row.number))
    return closed


def _end_of_pulses(db: Connection, first_pulse: int) -> float:
    """Give the number from which on pulses belong to a later exposure."""
    later = select(func.min(t.exposure.c.first_pulse)).where(t.exposure.c.first_pulse > first_pulse)
    found = db.execute(later).scalar()
    return math.inf if found is None else int(found)


def _pulses(db: Connection, exposure_id: int) -> dict[int, PulseEntry]:
    rows = db.execute(select(t.pulse).where(t.pulse.c.exposure_id == exposure_id))
    return {row.pulse_id: pulse_of(row) for row in rows}


def _lamp(lamp: str, plan: str, label: str) -> Calibration:
    """Give the calibration an exposure was counted with: a lag strip assumes one of its own."""
    try:
        for _, expose in Plan.from_json(plan).exposures():
            if expose.label == label and expose.assumed_lag_s is not None:
                return Calibration(expose.assumed_lag_s, 0.0)
    except msgspec.MsgspecError:
        pass  # a plan of another version: the lamp's own numbers are near enough
    numbers = msgspec.json.decode(lamp, type=dict[str, float])
    return Calibration(numbers.get("cold_lag_s", 0.0), numbers.get("warm_gain_s2", 0.0))


def _off_before(db: Connection, record_id: str, pulses: Sequence[PulseEntry]) -> int | None:
    """Give when the record's pulse before these ended."""
    if not pulses:
        return None
    query = (
        select(func.max(t.pulse.c.off_ns))
        .join(t.exposure, t.exposure.c.id == t.pulse.c.exposure_id)
        .where(t.exposure.c.record_id == record_id, t.pulse.c.off_ns <= pulses[0].on_ns)
    )
    before = db.execute(query).scalar()
    return None if before is None else int(before)
