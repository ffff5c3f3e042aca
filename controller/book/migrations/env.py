"""Run by Alembic: migrates the connection it is handed, inside that one's transaction."""

from __future__ import annotations

from alembic import context

from controller.book import (  # noqa: F401  (in the metadata by import)
    tables_chemistry,
    tables_papers,
    tables_prints,
    tables_wet,
)
from controller.book.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite alters a table by making a new one
)
with context.begin_transaction():
    context.run_migrations()
