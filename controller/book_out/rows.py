"""The book's tables as plain rows that JSON can hold, and back. Every table, whoever made it."""

from __future__ import annotations

import importlib
import pkgutil
from datetime import datetime
from typing import Any, TypeAlias

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    Double,
    Integer,
    Table,
    inspect,
    select,
)

import controller.book
from controller.book.faults import BookFault
from controller.book.tables import Utc, metadata
from controller.errors import BadInput

Row: TypeAlias = dict[str, Any]
VERSIONS = "alembic_version"


def tables() -> list[Table]:
    """Give every table of the book, none before one that it points to."""
    for module in pkgutil.iter_modules(controller.book.__path__, "controller.book."):
        if module.name.startswith("controller.book.tables"):
            importlib.import_module(module.name)
    return list(metadata.sorted_tables)


def read_all(db: Connection) -> dict[str, list[Row]]:
    """Read every table whole. Raises BookFault where the database has one that is not known."""
    known = tables()
    unknown = set(inspect(db).get_table_names()) - {table.name for table in known} - {VERSIONS}
    if unknown:
        names = ", ".join(sorted(unknown))
        raise BookFault(f"the book has tables that this Dryside does not know: {names}")
    return {table.name: [_out(table, row) for row in _rows(db, table)] for table in known}


def read_back(name: str, rows: object, where: str) -> list[Row]:
    """Check rows that were read from a file, and give them in the types of the table.

    Raises BadInput naming what does not fit; a column that is not there must be one that may
    be left out.
    """
    table = next((one for one in tables() if one.name == name), None)
    newer = "an archive of this or an older Dryside"
    if table is None:
        raise BadInput(f"the book has no table {name!r}", where, newer)
    if not isinstance(rows, list):
        raise BadInput(f"the table {name} is no list of rows", where, "a list")
    return [_in(table, row, f"{where}, {name} {number}") for number, row in enumerate(rows, 1)]


# --- inside -----------------------------------------------------------------------------------


def _rows(db: Connection, table: Table) -> list[Row]:
    query = select(table).order_by(*table.primary_key.columns)
    return [dict(row._mapping) for row in db.execute(query)]


def _out(table: Table, row: Row) -> Row:
    out: Row = {}
    for column in table.columns:
        value = row[column.name]
        out[column.name] = value.isoformat() if isinstance(value, datetime) else value
    return out


def _in(table: Table, row: object, where: str) -> Row:
    if not isinstance(row, dict):
        raise BadInput("this is no row", where, "names of columns with their values")
    known = {column.name for column in table.columns}
    for name in row:
        if name not in known:
            right = "an archive of this or an older Dryside"
            raise BadInput(f"there is no column {name!r}", where, right)
    return {column.name: _value(column, row, where) for column in table.columns}


def _value(column: Column[Any], row: Row, where: str) -> Any:
    if column.name not in row and column.server_default is not None:
        default = str(getattr(column.server_default, "arg", ""))
        return int(default) if isinstance(column.type, Integer) else default
    value = row.get(column.name)
    if value is None:
        if not column.nullable:
            raise BadInput(f"{column.name} is missing", where, "a value")
        return None
    kinds: tuple[type, ...]
    match column.type:
        case Utc():
            return _time(value, f"{where}, {column.name}")
        case Boolean():
            kinds, right = (bool,), "true or false"
        case Integer() | BigInteger():
            kinds, right = (int,), "a whole number"
        case Double():
            kinds, right = (int, float), "a number"
        case _:
            kinds, right = (str,), "a text"
    if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
        raise BadInput(f"{value!r:.40} does not fit", f"{where}, {column.name}", right)
    return float(value) if kinds == (int, float) else value


def _time(value: object, where: str) -> datetime:
    try:
        at = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        right = "a time with its zone such as 2026-03-01T20:15:00+00:00"
        raise BadInput(f"{value!r:.40} is no time", where, right)
    return at
