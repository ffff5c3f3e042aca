"""What each sheet got in the trays, and batches of prints that are cleared, toned and washed.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "wet_batch",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("way", sa.Text, nullable=False),
        sa.Column("begun_at", WALL, nullable=False),
        sa.Column("merged_into", sa.Integer),
        sa.PrimaryKeyConstraint("id", name="pk_wet_batch"),
        sa.ForeignKeyConstraint(["merged_into"], ["wet_batch.id"], name="fk_wet_batch_merged_into"),
    )
    op.create_table(
        "wet_batch_sheet",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer, nullable=False),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("out_at", WALL),
        sa.PrimaryKeyConstraint("id", name="pk_wet_batch_sheet"),
        sa.ForeignKeyConstraint(["batch_id"], ["wet_batch.id"], name="fk_wet_batch_sheet_batch_id"),
    )
    op.create_index("ix_wet_batch_sheet_batch_id", "wet_batch_sheet", ["batch_id"])
    op.create_table(
        "wet_step",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("process", sa.Text, nullable=False),
        sa.Column("batch_id", sa.Integer),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("tray", sa.Text, nullable=False),
        sa.Column("planned_s", sa.Double, nullable=False),
        sa.Column("actual_s", sa.Double, nullable=False),
        sa.Column("late_s", sa.Double, nullable=False),
        sa.Column("temperature_c", sa.Double),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("under_fixed", sa.Boolean),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_wet_step"),
        sa.ForeignKeyConstraint(["batch_id"], ["wet_batch.id"], name="fk_wet_step_batch_id"),
    )
    op.create_index("ix_wet_step_mark_record_id", "wet_step", ["mark", "record_id"])
    op.create_index("ix_wet_step_batch_id", "wet_step", ["batch_id"])
