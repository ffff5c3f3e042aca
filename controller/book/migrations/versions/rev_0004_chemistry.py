"""Baths, what happened to them, and when trays were cleaned.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "bath",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("tray", sa.Text, nullable=False),
        sa.Column("product", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("dilution", sa.Text, nullable=False),
        sa.Column("volume_ml", sa.Double, nullable=False),
        sa.Column("fibre_m2_per_l", sa.Double),
        sa.Column("resin_coated_m2_per_l", sa.Double),
        sa.Column("in_tray_h", sa.Double),
        sa.Column("full_bottle_h", sa.Double),
        sa.Column("half_bottle_h", sa.Double),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("promotions", sa.Integer, nullable=False),
        sa.Column("set_since", WALL),
        sa.Column("made_at", WALL, nullable=False),
        sa.Column("discarded_at", WALL),
        sa.PrimaryKeyConstraint("id", name="pk_bath"),
    )
    op.create_index("ix_bath_discarded_at", "bath", ["discarded_at"])
    op.create_table(
        "bath_use",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("bath_id", sa.Integer, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("area_m2", sa.Double, nullable=False),
        sa.Column("base", sa.Text),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("place", sa.Text),
        sa.Column("tray", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_bath_use"),
        sa.ForeignKeyConstraint(["bath_id"], ["bath.id"], name="fk_bath_use_bath_id"),
    )
    op.create_index("ix_bath_use_bath_id_id", "bath_use", ["bath_id", "id"])
    op.create_table(
        "tray_cleaned",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("tray", sa.Text, nullable=False),
        sa.Column("tray_key", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tray_cleaned"),
    )
    op.create_index("ix_tray_cleaned_tray_key", "tray_cleaned", ["tray_key"])
