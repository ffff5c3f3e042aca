"""Bring a book to the present schema; Alembic is loaded only when there is something to do."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from controller.book.faults import BookFault

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

HEAD = "0008"
SCRIPTS = Path(__file__).parent / "migrations"


def revision(connection: Connection) -> str | None:
    """Give the schema's revision by plain SQL; None where there is none yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def bring_to_head(
    reader: Engine, writer: Engine, where: str, *, head: str = HEAD, scripts: Path = SCRIPTS
) -> bool:
    """Migrate where that is needed, all or nothing; tells whether it was.

    Raises BookFault when the book was made by a newer Dryside, or is no book at all.
    """
    with reader.connect() as connection:
        if revision(connection) == head:
            return False
    # In the writer's transaction, so that of two programs that start together one waits.
    with writer.begin() as connection:
        found = revision(connection)
        if found == head:
            return False
        if found is None and inspect(connection).get_table_names():
            raise BookFault(
                f"{where} is a database of something else; right would be a Dryside book or "
                "a file that does not exist yet"
            )
        _upgrade(connection, found, where, head, scripts)
    return True


def _upgrade(
    connection: Connection, found: str | None, where: str, head: str, scripts: Path
) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.attributes["connection"] = connection
    if found is not None:
        try:
            ScriptDirectory.from_config(config).get_revision(found)
        except CommandError:
            raise BookFault(
                f"{where} was written by another version of Dryside (its revision is {found}, "
                f"this one knows up to {head}); update Dryside, or name another book"
            ) from None
    command.upgrade(config, head)
