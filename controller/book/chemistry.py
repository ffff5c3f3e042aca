"""Baths in the book: what was mixed, what went through it, when trays were cleaned.

Every function runs inside its caller's transaction (``Book.looking``, ``Book.changing``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from controller.book import tables_chemistry as t
from controller.book.shelf import name_key
from controller.chemistry.bath import Base, Bath, Entry, Figures, Place, Role, What
from controller.chemistry.cautions import Kind

Kept = tuple[Bath, tuple[Entry, ...]]


def add_bath(db: Connection, bath: Bath) -> Bath:
    """Keep a bath that was mixed; gives it back with its number."""
    done = db.execute(
        insert(t.bath).values(
            tray=bath.tray,
            product=bath.product,
            kind=bath.kind.value,
            dilution=bath.dilution,
            volume_ml=bath.volume_ml,
            fibre_m2_per_l=bath.figures.fibre_m2_per_l,
            resin_coated_m2_per_l=bath.figures.resin_coated_m2_per_l,
            in_tray_h=bath.figures.in_tray_h,
            full_bottle_h=bath.figures.full_bottle_h,
            half_bottle_h=bath.figures.half_bottle_h,
            place=bath.place.value,
            role=bath.role.value,
            promotions=bath.promotions,
            set_since=bath.set_since,
            made_at=bath.made_at,
        )
    )
    (number,) = done.inserted_primary_key or (0,)
    return replace(bath, bath_id=int(number))


def add_entry(db: Connection, bath_id: int, entry: Entry) -> None:
    """Keep what happened to a bath."""
    db.execute(
        insert(t.bath_use).values(
            bath_id=bath_id,
            what=entry.what.value,
            area_m2=entry.area_m2,
            base=entry.base.value if entry.base else None,
            mark=entry.mark,
            place=entry.place.value if entry.place else None,
            tray=entry.tray,
            at=entry.at,
        )
    )
    if entry.what is What.DISCARDED:
        here = t.bath.c.id == bath_id
        db.execute(update(t.bath).where(here).values(discarded_at=entry.at))


def baths(db: Connection, *, discarded: bool = False, limit: int = 100) -> list[Kept]:
    """Give baths with their entries, the oldest first; those that are gone with ``discarded``."""
    query = select(t.bath).order_by(t.bath.c.id.desc()).limit(limit)
    if not discarded:
        query = query.where(t.bath.c.discarded_at.is_(None))
    found = [_bath(row) for row in db.execute(query).all()][::-1]
    entries = _entries(db, (bath.bath_id for bath in found))
    return [(bath, tuple(entries[bath.bath_id])) for bath in found]


def _entries(db: Connection, numbers: Iterable[int]) -> defaultdict[int, list[Entry]]:
    query = select(t.bath_use).where(t.bath_use.c.bath_id.in_(list(numbers)))
    found: defaultdict[int, list[Entry]] = defaultdict(list)
    for row in db.execute(query.order_by(t.bath_use.c.id)):
        found[row.bath_id].append(
            Entry(
                What(row.what),
                row.at,
                row.area_m2,
                Base(row.base) if row.base else None,
                row.mark,
                Place(row.place) if row.place else None,
                row.tray,
            )
        )
    return found


def _bath(row: Row[Any]) -> Bath:
    figures = Figures(
        row.fibre_m2_per_l,
        row.resin_coated_m2_per_l,
        row.in_tray_h,
        row.full_bottle_h,
        row.half_bottle_h,
    )
    return Bath(
        row.id,
        row.tray,
        row.product,
        Kind(row.kind),
        row.dilution,
        row.volume_ml,
        figures,
        Place(row.place),
        row.made_at,
        Role(row.role),
        row.promotions,
        row.set_since,
    )


# --- trays ----------------------------------------------------------------------------------


def add_cleaning(db: Connection, tray: str, at: datetime) -> None:
    """Keep that a tray was cleaned."""
    db.execute(insert(t.tray_cleaned).values(tray=tray, tray_key=name_key(tray), at=at))


def cleaned_at(db: Connection, tray: str) -> datetime | None:
    """Give when a tray was cleaned last; None where it never was."""
    query = select(t.tray_cleaned.c.at).where(t.tray_cleaned.c.tray_key == name_key(tray))
    found: datetime | None = db.execute(
        query.order_by(t.tray_cleaned.c.id.desc()).limit(1)
    ).scalar()
    return found


def area_through(db: Connection, tray: str) -> float:
    """Give the square metres that went through a tray since it was cleaned, or ever."""
    since = cleaned_at(db, tray)
    query = select(t.bath_use.c.area_m2, t.bath_use.c.tray).where(
        t.bath_use.c.what == What.SHEET.value
    )
    if since is not None:
        query = query.where(t.bath_use.c.at >= since)
    key = name_key(tray)
    return float(sum(row.area_m2 for row in db.execute(query) if name_key(row.tray) == key))
