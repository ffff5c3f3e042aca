"""Rows of another book, put into this one: nothing twice, and nothing that is here is changed.

Whatever comes in counts as older than what is here: newest means the highest ``id``, so that the
rows get ids below those that there are. Otherwise a lamp's or a paper's former numbers would be
taken for its present ones. What was not known here and is known there is filled in.

A run that was interrupted elsewhere is closed as abandoned. The keeper's journal of this unit
must not be matched with another unit's exposures, and the sheet does not lie here.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Integer, Table, UniqueConstraint, insert, select, update

from controller.book import tables as t
from controller.book.prints_made import became_prints
from controller.book_out.rows import Row, tables
from controller.errors import BadInput
from controller.events import Fate
from controller.numbered import numbered

OPEN_ELSEWHERE = "it was interrupted when it was taken over from another book"
Ids = dict[tuple[str, int], int]  # (table, id in the archive) -> id here
Key = tuple[str, ...]


@dataclass
class Merged:
    """What came of it, by table: rows added, filled in, and kept though they differ."""

    added: Counter[str] = field(default_factory=Counter)
    filled: Counter[str] = field(default_factory=Counter)
    differing: Counter[str] = field(default_factory=Counter)
    closed: int = 0


def merge(db: Connection, rows: Mapping[str, Sequence[Row]], where: str) -> Merged:
    """Put rows into the book, inside the caller's transaction. Raises BadInput for a loose end."""
    merged = Merged()
    ids: Ids = {}
    new_records: list[tuple[str, datetime]] = []
    new_runs: list[tuple[str, int]] = []
    for table in tables():
        incoming = [_pointed(table, row, ids, where) for row in rows.get(table.name, ())]
        added = _merge_table(db, table, incoming, ids, merged)
        if table is t.record:
            new_records = [(row["record_id"], row["begun_at"]) for row in added]
        if table is t.run:
            new_runs = [(row["record_id"], row["number"]) for row in added if row["fate"] is None]
    merged.closed = _close(db, new_runs)
    for record_id, begun_at in new_records:
        became_prints(db, record_id, begun_at)  # an older archive, and notes, tell of none
    return merged


# --- inside -----------------------------------------------------------------------------------


def _pointed(table: Table, row: Row, ids: Ids, where: str) -> Row:
    """Give a row that points to rows here, where it pointed to others of its archive."""
    for column in table.columns:
        for key in column.foreign_keys:
            if key.column.name != "id" or row[column.name] is None:
                continue
            found = ids.get((key.column.table.name, row[column.name]))
            if found is None:
                name = key.column.table.name
                what = f"a row of {table.name} points to a {name} that is not there"
                raise BadInput(what, where, "a whole archive, as `dryside book export` writes it")
            row = row | {column.name: found}
    return row


def _merge_table(
    db: Connection, table: Table, incoming: list[Row], ids: Ids, merged: Merged
) -> list[Row]:
    here = [dict(row._mapping) for row in db.execute(select(table))]
    numbered = _numbered(table)
    matches = _matcher(table, here)
    new: list[Row] = []
    for row in incoming:
        same = matches(row)
        if same is None:
            new.append(row)
            continue
        if numbered:
            ids[table.name, row["id"]] = same["id"]
        _fill(db, table, same, row, merged)
    if numbered and new:
        lowest = min((row["id"] for row in here), default=len(new) + 1)
        first = min(lowest, len(new) + 1) - len(new)
        for number, row in enumerate(sorted(new, key=lambda one: int(one["id"])), start=first):
            ids[table.name, row["id"]] = number
        new = [row | {"id": ids[table.name, row["id"]]} for row in new]
    if new:
        db.execute(insert(table), new)
        merged.added[table.name] += len(new)
    return new


def _numbered(table: Table) -> bool:
    """Does the table number its rows by itself?"""
    names = [column.name for column in table.primary_key.columns]
    return names == ["id"] and isinstance(table.c.id.type, Integer)


def _keys(table: Table) -> list[Key]:
    """Give what a row of a table is known by: each a set of columns that no two rows share."""
    keys = [tuple(column.name for column in table.primary_key.columns)]
    if _numbered(table):
        keys = []
    for constraint in table.constraints:
        if isinstance(constraint, UniqueConstraint):
            keys.append(tuple(column.name for column in constraint.columns))
    keys += [(column.name,) for column in table.columns if column.unique]
    keys += [tuple(c.name for c in index.columns) for index in table.indexes if index.unique]
    return list(dict.fromkeys(keys))


class _Known:
    """Finds the row here that is the same as one that comes in."""

    def __init__(self, table: Table, here: list[Row]) -> None:
        self._keys = _keys(table)
        self._others = [c.name for c in table.columns if c.name != "id" or not _numbered(table)]
        self._by_key: dict[tuple[Key, tuple[Any, ...]], Row] = {}
        # rows that nothing tells apart are counted: what was written twice is there twice
        self._alike: defaultdict[tuple[Any, ...], list[Row]] = defaultdict(list)
        for row in sorted(here, key=lambda one: str(one.get("id", ""))):
            for key in self._keys:
                self._by_key[key, _values(row, key)] = row
            if not self._keys:
                self._alike[_values(row, self._others)].append(row)

    def __call__(self, row: Row) -> Row | None:
        for key in self._keys:
            found = self._by_key.get((key, _values(row, key)))
            if found is not None and None not in _values(row, key):
                return found
        alike = self._alike.get(_values(row, self._others)) if not self._keys else None
        return alike.pop() if alike else None


def _matcher(table: Table, here: list[Row]) -> _Known:
    return _Known(table, here)


def _values(row: Row, names: Sequence[str]) -> tuple[Any, ...]:
    return tuple(row[name] for name in names)


def _fill(db: Connection, table: Table, here: Row, row: Row, merged: Merged) -> None:
    """Fill in what is not known here; what both know otherwise stays as it is here."""
    differ = [n for n in row if n != "id" and row[n] is not None and row[n] != here[n]]
    fills = {name: row[name] for name in differ if here[name] is None}
    if table is t.counter:  # marks go on after the last that anybody wrote on paper
        fills = {"value": max(here["value"], row["value"])} if differ else {}
        differ = []
    if fills:
        same = [column == here[column.name] for column in table.primary_key.columns]
        db.execute(update(table).where(*same).values(fills))
        if table is not t.counter:
            merged.filled[table.name] += 1
    if set(differ) - set(fills):
        merged.differing[table.name] += 1


def _close(db: Connection, runs: Sequence[tuple[str, int]]) -> int:
    """Close runs that came in open, with their sheets and exposures."""
    for record_id, number in runs:
        here = t.run.c.record_id == record_id
        db.execute(
            update(t.run).where(here, t.run.c.number == number).values(fate=Fate.ABANDONED.value)
        )
        db.execute(
            update(t.record)
            .where(t.record.c.record_id == record_id, t.record.c.fate.is_(None))
            .values(fate=Fate.ABANDONED.value, reason=OPEN_ELSEWHERE, ended_at=t.record.c.begun_at)
        )
        db.execute(
            update(t.sheet)
            .where(t.sheet.c.record_id == record_id, t.sheet.c.ended_at.is_(None))
            .values(fate=Fate.ABANDONED.value, ended_at=t.sheet.c.begun_at)
        )
    return len({record_id for record_id, _ in runs})


def told(merged: Merged) -> Iterator[str]:
    """Tell what came of it, a line for each thing worth saying."""
    added = merged.added["record"]
    rows = sum(merged.added.values())
    if not rows:
        yield "everything was there already"
    else:
        yield f"{numbered(added, 'record')} added, {numbered(rows, 'row')} in all"
    if merged.filled:
        yield "filled in: " + _counts(merged.filled)
    if merged.differing:
        yield "kept as they are here, though the archive has them otherwise: " + _counts(
            merged.differing
        )
    if merged.closed:
        yield f"{merged.closed} that were interrupted elsewhere are closed as abandoned"


def _counts(counts: Counter[str]) -> str:
    return ", ".join(f"{count} {name}" for name, count in sorted(counts.items()))
