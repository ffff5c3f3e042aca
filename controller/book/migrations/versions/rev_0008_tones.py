"""Densities of a dry print, region by region.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "print_tone",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("print_id", sa.Integer, nullable=False),
        sa.Column("region", sa.Text, nullable=False),
        sa.Column("density", sa.Double, nullable=False),
        sa.Column("how", sa.Text, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_print_tone"),
        sa.ForeignKeyConstraint(["print_id"], ["print.id"], name="fk_print_tone_print_id"),
        sa.UniqueConstraint("print_id", "region", name="uq_print_tone_print_id_region"),
    )
