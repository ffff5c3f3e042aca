"""Paper in the book: boxes, readings and curves, put down and given back."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import Connection, Row, insert, select

from controller.book import tables_papers as t
from controller.boxes.model import (
    Base,
    Batch,
    Box,
    Developing,
    How,
    PaperCurve,
    PaperReading,
    Point,
    Purpose,
    named,
    same_box,
)
from controller.errors import BadInput

Transaction = Callable[[], AbstractContextManager[Connection]]


class PaperShelf:
    """The book's paper; every call is a transaction of its own and may raise BookFault."""

    def __init__(self, read: Transaction, write: Transaction, at: Callable[[], datetime]) -> None:
        self._read = read
        self._write = write
        self._at = at

    def add_batch(
        self,
        name: str,
        *,
        maker: str = "",
        type: str = "",
        surface: str = "",
        base: Base | None = None,
        box: str = "",
        opened: str = "",
        developing: Developing = Developing(),  # noqa: B008  (frozen)
    ) -> Batch:
        """Write a box of paper down. Raises BadInput where that box is there already."""
        with self._write() as db:
            there = [_batch(row) for row in db.execute(select(t.paper_batch))]
            if any(same_box(one, name, box) for one in there):
                what = f"{name}/{box}" if box else name
                right = "another box number, such as --box 2"
                raise BadInput(f"{what} is in the book already", "paper new", right)
            found = db.execute(
                insert(t.paper_batch)
                .values(
                    name=name,
                    maker=maker,
                    type=type,
                    surface=surface,
                    base=base.value if base else None,
                    box=box,
                    opened=opened,
                    developer=developing.developer,
                    time_s=developing.time_s,
                    at=self._at(),
                )
                .returning(t.paper_batch)
            )
            return _batch(found.one())

    def batches(self) -> list[Batch]:
        """Give every box, the newest first."""
        with self._read() as db:
            query = select(t.paper_batch).order_by(t.paper_batch.c.id.desc())
            return [_batch(row) for row in db.execute(query)]

    def batch(self, name: str) -> Batch:
        """Give the box that ``name`` or ``name/box`` means. Raises BadInput."""
        return named(self.batches(), name)

    def box(self, name: str) -> Box:
        """Give a box with all that was measured of it. Raises BadInput where it is not known."""
        batch = self.batch(name)
        return Box(batch, self.newest_curves(batch), tuple(self.readings(batch)))

    def measured_box(self, name: str) -> Box:
        """Give a box by its name, without one the newest that has a curve. Raises BadInput."""
        if name:
            return self.box(name)
        for batch in self.batches():
            if self.curves(batch):
                return self.box(batch.handle)
        right = "dryside paper sheet NAME, read when it is dry"
        raise BadInput("no box of paper has a curve yet", "paper", right)

    def known_box(self, name: str) -> Box | None:
        """Give a box with all that was measured of it; None where the book has no such box."""
        try:
            return self.box(name)
        except BadInput:
            return None

    def add_reading(
        self,
        batch: Batch,
        points: tuple[Point, ...],
        *,
        filter: str,
        developing: Developing,
        how: How,
        purpose: Purpose = Purpose.CURVE,
        record_id: str = "",
        mark: str = "",
        lux: float | None = None,
        note: str = "",
    ) -> PaperReading:
        """Keep a sheet as it was read."""
        with self._write() as db:
            found = db.execute(
                insert(t.paper_reading)
                .values(
                    batch_id=batch.number,
                    filter=filter,
                    developer=developing.developer,
                    time_s=developing.time_s,
                    record_id=record_id,
                    mark=mark,
                    how=how.value,
                    purpose=purpose.value,
                    lux=lux,
                    points=msgspec.json.encode(points).decode(),
                    note=note,
                    at=self._at(),
                )
                .returning(t.paper_reading)
            )
            return _reading(found.one())

    def readings(self, batch: Batch, purpose: Purpose | None = None) -> list[PaperReading]:
        """Give a box's readings, the newest first."""
        query = select(t.paper_reading).where(t.paper_reading.c.batch_id == batch.number)
        if purpose is not None:
            query = query.where(t.paper_reading.c.purpose == purpose.value)
        with self._read() as db:
            rows = db.execute(query.order_by(t.paper_reading.c.id.desc()))
            return [_reading(row) for row in rows]

    def add_curve(self, curve: PaperCurve) -> PaperCurve:
        """Keep a curve; its number and its time are the book's."""
        with self._write() as db:
            found = db.execute(
                insert(t.paper_curve)
                .values(
                    batch_id=curve.batch,
                    reading_id=curve.reading,
                    filter=curve.filter,
                    developer=curve.developing.developer,
                    time_s=curve.developing.time_s,
                    d_min=curve.d_min,
                    d_max=curve.d_max,
                    log_ht=curve.log_ht,
                    log_hm=curve.log_hm,
                    log_hs=curve.log_hs,
                    iso_range=curve.iso_range,
                    iso_speed=curve.iso_speed,
                    residual_rms=curve.residual_rms,
                    white_seen=curve.white_seen,
                    black_seen=curve.black_seen,
                    fitted=msgspec.json.encode(curve.fitted).decode(),
                    at=self._at(),
                )
                .returning(t.paper_curve)
            )
            return _curve(found.one())

    def curves(self, batch: Batch) -> list[PaperCurve]:
        """Give every curve of a box, the newest first."""
        query = select(t.paper_curve).where(t.paper_curve.c.batch_id == batch.number)
        with self._read() as db:
            rows = db.execute(query.order_by(t.paper_curve.c.id.desc()))
            return [_curve(row) for row in rows]

    def newest_curves(
        self, batch: Batch, developing: Developing | None = None
    ) -> dict[str, PaperCurve]:
        """Give the newest curve of each filter, in one way of developing (the newest's)."""
        curves = self.curves(batch)
        if curves and developing is None:
            developing = curves[0].developing
        found: dict[str, PaperCurve] = {}
        for curve in curves:
            if curve.developing == developing:
                found.setdefault(curve.filter, curve)
        return found


# --- inside -----------------------------------------------------------------------------------


def _batch(row: Row[Any]) -> Batch:
    return Batch(
        row.id,
        row.name,
        row.maker,
        row.type,
        row.surface,
        Base(row.base) if row.base else None,
        row.box,
        row.opened,
        Developing(row.developer, row.time_s),
        row.at,
    )


def _reading(row: Row[Any]) -> PaperReading:
    return PaperReading(
        row.id,
        row.batch_id,
        row.filter,
        Developing(row.developer, row.time_s),
        row.record_id,
        row.mark,
        How(row.how),
        Purpose(row.purpose),
        row.lux,
        msgspec.json.decode(row.points, type=tuple[Point, ...]),
        row.note,
        row.at,
    )


def _curve(row: Row[Any]) -> PaperCurve:
    return PaperCurve(
        row.id,
        row.batch_id,
        row.reading_id,
        row.filter,
        Developing(row.developer, row.time_s),
        row.d_min,
        row.d_max,
        row.log_ht,
        row.log_hm,
        row.log_hs,
        row.iso_range,
        row.iso_speed,
        row.residual_rms,
        row.white_seen,
        row.black_seen,
        msgspec.json.decode(row.fitted, type=dict[str, float]),
        row.at,
    )
