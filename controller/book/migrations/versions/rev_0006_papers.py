"""Boxes of paper, the sheets that were read of them, and their curves.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the three tables of paper."""
    op.create_table(
        "paper_batch",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("maker", sa.Text, nullable=False),
        sa.Column("type", sa.Text, nullable=False),
        sa.Column("surface", sa.Text, nullable=False),
        sa.Column("base", sa.Text),
        sa.Column("box", sa.Text, nullable=False),
        sa.Column("opened", sa.Text, nullable=False),
        sa.Column("developer", sa.Text, nullable=False),
        sa.Column("time_s", sa.Double),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_paper_batch"),
    )
    op.create_table(
        "paper_reading",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer, nullable=False),
        sa.Column("filter", sa.Text, nullable=False),
        sa.Column("developer", sa.Text, nullable=False),
        sa.Column("time_s", sa.Double),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("how", sa.Text, nullable=False),
        sa.Column("purpose", sa.Text, nullable=False),
        sa.Column("lux", sa.Double),
        sa.Column("points", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_paper_reading"),
        sa.ForeignKeyConstraint(["batch_id"], ["paper_batch.id"], name="fk_paper_reading_batch_id"),
    )
    op.create_index("ix_paper_reading_batch_id_id", "paper_reading", ["batch_id", "id"])
    op.create_table(
        "paper_curve",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer, nullable=False),
        sa.Column("reading_id", sa.Integer, nullable=False),
        sa.Column("filter", sa.Text, nullable=False),
        sa.Column("developer", sa.Text, nullable=False),
        sa.Column("time_s", sa.Double),
        sa.Column("d_min", sa.Double, nullable=False),
        sa.Column("d_max", sa.Double, nullable=False),
        sa.Column("log_ht", sa.Double, nullable=False),
        sa.Column("log_hm", sa.Double, nullable=False),
        sa.Column("log_hs", sa.Double, nullable=False),
        sa.Column("iso_range", sa.Integer, nullable=False),
        sa.Column("iso_speed", sa.Integer),
        sa.Column("residual_rms", sa.Double, nullable=False),
        sa.Column("white_seen", sa.Boolean, nullable=False),
        sa.Column("black_seen", sa.Boolean, nullable=False),
        sa.Column("fitted", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_paper_curve"),
        sa.ForeignKeyConstraint(["batch_id"], ["paper_batch.id"], name="fk_paper_curve_batch_id"),
        sa.ForeignKeyConstraint(
            ["reading_id"], ["paper_reading.id"], name="fk_paper_curve_reading_id"
        ),
    )
    op.create_index("ix_paper_curve_batch_id_id", "paper_curve", ["batch_id", "id"])
