"""Runs under a record, so that an extra has a plan and a fate of its own; filters of exposures.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table of runs, move each record's plan and spec to its first, and add filters."""
    op.create_table(
        "run",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("mark", sa.Text),
        sa.Column("plan", sa.Text, nullable=False),
        sa.Column("spec", sa.Text, nullable=False),
        sa.Column("begun_at", WALL, nullable=False),
        sa.Column("fate", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_run"),
        sa.UniqueConstraint("record_id", "number", name="uq_run_record_id_number"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_run_record_id"),
    )
    op.create_index("ix_run_fate", "run", ["fate"])
    # Added, and not made anew with the table: pulses hang on the exposures.
    op.add_column("exposure", sa.Column("run", sa.Integer, nullable=False, server_default="1"))
    op.add_column("exposure", sa.Column("filter", sa.Text, nullable=False, server_default=""))
    db = op.get_bind()
    db.execute(
        sa.text(
            "INSERT INTO run (record_id, number, kind, plan, spec, begun_at, fate) "
            "SELECT record_id, 1, 'first', plan, spec, begun_at, fate FROM record ORDER BY id"
        )
    )
    for record_id, plan in db.execute(sa.text("SELECT record_id, plan FROM record")).all():
        for label, name in _filters(plan).items():
            db.execute(
                sa.text("UPDATE exposure SET filter = :name WHERE record_id = :id AND label = :on"),
                {"name": name, "id": record_id, "on": label},
            )
    op.drop_column("record", "plan")
    op.drop_column("record", "spec")


def _filters(plan: str) -> dict[str, str]:
    """Give the filter of each exposure that a plan names one for."""
    try:
        actions = json.loads(plan).get("actions", [])
        return {one["label"]: one["filter"] for one in actions if one.get("filter")}
    except (ValueError, AttributeError, KeyError):
        return {}
