"""What papers darken by in drying.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table of dry-downs."""
    op.create_table(
        "dry_down",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("paper", sa.Text, nullable=False),
        sa.Column("batch", sa.Text, nullable=False),
        sa.Column("paper_key", sa.Text, nullable=False),
        sa.Column("batch_key", sa.Text, nullable=False),
        sa.Column("percent", sa.Double, nullable=False),
        sa.Column("record_id", sa.Text),
        sa.Column("how", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_dry_down"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_dry_down_record_id"),
    )
    op.create_index("ix_dry_down_paper_key_id", "dry_down", ["paper_key", "id"])
