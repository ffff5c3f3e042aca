"""From a path or a URL to a sound database that holds what it was given."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, IntegrityError, SQLAlchemyError

from controller.book.faults import BookFault

BEGIN = "book_begin"  # how a transaction of SQLite begins; empty: it does not

_THEN = "when the unit starts, or something is exposed, it is set aside and a new one begun"
_SENTENCES = {
    sqlite3.SQLITE_FULL: "the disk is full: {where} cannot take anything more",
    sqlite3.SQLITE_BUSY: "{where} is locked by another program",
    sqlite3.SQLITE_LOCKED: "{where} is locked by another program",
    sqlite3.SQLITE_READONLY: "{where} cannot be written to; right would be a folder of your own",
    sqlite3.SQLITE_PERM: "{where} cannot be written to; right would be a folder of your own",
    sqlite3.SQLITE_CANTOPEN: "{where} cannot be opened; right would be a file in a folder "
    "that can be written to",
    sqlite3.SQLITE_IOERR: "{where} cannot be read or written: its disk reports an error",
    sqlite3.SQLITE_CORRUPT: "{where} is damaged; " + _THEN,
    sqlite3.SQLITE_NOTADB: "{where} is damaged, or is no book; " + _THEN,
}
_DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def url_of(where: str | Path) -> URL:
    """Read a path or a database URL; raises BookFault."""
    if isinstance(where, Path) or "://" not in where:
        return URL.create("sqlite", database=str(where))
    try:
        return make_url(where)
    except (ArgumentError, ValueError):
        raise BookFault(
            f"{where!r} is no place for a book; right would be a file, or a URL such as "
            "postgresql+psycopg://unit@server/book"
        ) from None


def path_of(url: URL) -> Path | None:
    """Give the file behind a URL; None where there is none, or SQLite's own URI names it."""
    if url.get_backend_name() != "sqlite" or url.database in (None, "", ":memory:"):
        return None
    if "uri" in url.query:
        return None
    return Path(str(url.database))


@contextmanager
def trouble(where: str) -> Iterator[None]:
    """Turn whatever the database raises into a BookFault with one sentence."""
    try:
        yield
    except IntegrityError as error:
        raise BookFault(f"this does not fit what {where} holds: {error.orig}") from error
    except SQLAlchemyError as error:
        form = _SENTENCES.get(_code(error))
        detail = getattr(error, "orig", None) or error
        sentence = form.format(where=where) if form else f"{where} cannot be used: {detail}"
        raise BookFault(sentence) from error
    except UnicodeError as error:
        raise BookFault(f"{where} cannot hold this text: {error}") from error


def make_engine(url: URL, *, busy_timeout_s: float) -> Engine:
    """Make an engine whose commits are on the disk when they return."""
    try:
        engine = create_engine(url)
    except (ArgumentError, ImportError) as error:
        raise BookFault(
            f"{url.render_as_string()} cannot be opened ({error}); right would be a file, or "
            "a database whose Python driver is installed"
        ) from None
    if engine.dialect.name == "sqlite":
        _prepare_sqlite(engine, busy_timeout_s)
    return engine


def _prepare_sqlite(engine: Engine, busy_timeout_s: float) -> None:
    @event.listens_for(engine, "connect")
    def connected(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # sqlite3's own idea of when to begin: off
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout = {round(busy_timeout_s * 1000)}")
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.execute("PRAGMA synchronous = FULL")  # NORMAL may lose the last commits
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begun(connection: Connection) -> None:
        # A writer begins as one: a reader that turns writer may find that it cannot.
        how = connection.get_execution_options().get(BEGIN, "DEFERRED")
        if how:
            connection.exec_driver_sql(f"BEGIN {how}")


def make_folder(path: Path) -> None:
    """See to it that the file can be made; raises BookFault."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        is_folder = path.is_dir()
    except (OSError, ValueError) as error:  # ValueError: no name that a file can have
        raise BookFault(
            f"the book's folder {str(path.parent)!r} cannot be used "
            f"({getattr(error, 'strerror', None) or error}); right would be a folder of your own"
        ) from None
    if is_folder:
        raise BookFault(f"{path} is a folder; right would be a file in it")


def is_sound(engine: Engine) -> bool:
    """Look for damage; raises whatever has nothing to do with it."""
    try:
        with engine.connect() as connection:
            return connection.exec_driver_sql("PRAGMA quick_check(1)").scalar() == "ok"
    except SQLAlchemyError as error:
        if _code(error) in _DAMAGE:
            return False
        raise


def set_aside(path: Path, now: Callable[[], datetime]) -> Path:
    """Keep a damaged book, with what belongs to it, under another name, and give that name."""
    stem = f"{path.stem}.damaged-{now():%Y-%m-%d}"
    kept = path.with_name(stem + path.suffix)
    count = 1
    while kept.exists():
        count += 1
        kept = path.with_name(f"{stem}-{count}{path.suffix}")
    try:
        # The log goes first: left behind, it would be taken for that of the new book.
        for tail in ("-wal", "-shm", ""):
            part = path.with_name(path.name + tail)
            if part.exists():
                part.rename(kept.with_name(kept.name + tail))
    except OSError as error:
        raise BookFault(
            f"{path} is damaged and cannot be set aside ({error.strerror}); move it away by hand"
        ) from None
    return kept


def _code(error: SQLAlchemyError) -> int:
    """Give SQLite's primary result code; 0 where there is none."""
    code = getattr(getattr(error, "orig", None), "sqlite_errorcode", None)
    return code & 0xFF if isinstance(code, int) else 0
