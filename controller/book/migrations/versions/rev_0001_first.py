"""The first book: records, sheets, exposures, remarks, picks, strips, lamps, marks.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make every table of the first book."""
    op.create_table(
        "record",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("spec", sa.Text, nullable=False),
        sa.Column("plan", sa.Text, nullable=False),
        sa.Column("lamp", sa.Text, nullable=False),
        sa.Column("rig", sa.Text, nullable=False),
        sa.Column("begun_at", WALL, nullable=False),
        sa.Column("ended_at", WALL),
        sa.Column("fate", sa.Text),
        sa.Column("reason", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_record"),
        sa.UniqueConstraint("record_id", name="uq_record_record_id"),
    )
    op.create_index("ix_record_kind_id", "record", ["kind", "id"])
    op.create_index("ix_record_ended_at", "record", ["ended_at"])
    op.create_table(
        "sheet",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("width_mm", sa.Double),
        sa.Column("height_mm", sa.Double),
        sa.Column("begun_at", WALL, nullable=False),
        sa.Column("ended_at", WALL),
        sa.Column("fate", sa.Text),
        sa.Column("moved", sa.Boolean),
        sa.PrimaryKeyConstraint("id", name="pk_sheet"),
        sa.UniqueConstraint("record_id", "mark", name="uq_sheet_record_id_mark"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_sheet_record_id"),
    )
    op.create_index("ix_sheet_mark_id", "sheet", ["mark", "id"])
    op.create_index("ix_sheet_ended_at", "sheet", ["ended_at"])
    op.create_table(
        "exposure",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("mark", sa.Text),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("dose_s", sa.Double, nullable=False),
        sa.Column("pulses_wanted", sa.Integer, nullable=False),
        sa.Column("first_pulse", sa.BigInteger, nullable=False),
        sa.Column("resumed", sa.Boolean, nullable=False),
        sa.Column("intended_at", WALL, nullable=False),
        sa.Column("delivered_dose_s", sa.Double),
        sa.Column("full", sa.Boolean),
        sa.Column("low_s", sa.Double),
        sa.Column("high_s", sa.Double),
        sa.PrimaryKeyConstraint("id", name="pk_exposure"),
        sa.UniqueConstraint("record_id", "number", name="uq_exposure_record_id_number"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_exposure_record_id"),
        sa.ForeignKeyConstraint(
            ["record_id", "mark"],
            ["sheet.record_id", "sheet.mark"],
            name="fk_exposure_record_id_mark",
        ),
    )
    op.create_index("ix_exposure_first_pulse", "exposure", ["first_pulse"])
    op.create_table(
        "pulse",
        sa.Column("exposure_id", sa.Integer, nullable=False),
        sa.Column("pulse_id", sa.BigInteger, nullable=False, autoincrement=False),
        sa.Column("on_ns", sa.BigInteger, nullable=False),
        sa.Column("off_ns", sa.BigInteger, nullable=False),
        sa.Column("asked_ns", sa.BigInteger),
        sa.Column("cause", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("exposure_id", "pulse_id", name="pk_pulse"),
        sa.ForeignKeyConstraint(["exposure_id"], ["exposure.id"], name="fk_pulse_exposure_id"),
    )
    op.create_table(
        "remark",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("mark", sa.Text),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_remark"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_remark_record_id"),
    )
    op.create_index("ix_remark_record_id", "remark", ["record_id"])
    op.create_table(
        "pick",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("record_id", sa.Text),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("choice", sa.Text, nullable=False),
        sa.Column("dose_s", sa.Double, nullable=False),
        sa.Column("stops", sa.Double, nullable=False),
        sa.Column("judged", sa.Text, nullable=False),
        sa.Column("filter", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_pick"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_pick_record_id"),
    )
    op.create_index("ix_pick_record_id", "pick", ["record_id"])
    op.create_table(
        "stock",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("strips", sa.Integer, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_stock"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_stock_record_id"),
    )
    op.create_table(
        "calibration",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("output", sa.Text, nullable=False),
        sa.Column("cold_lag_s", sa.Double, nullable=False),
        sa.Column("warm_gain_s2", sa.Double, nullable=False),
        sa.Column("uncertainty_s", sa.Double),
        sa.Column("how", sa.Text, nullable=False),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_calibration"),
    )
    op.create_index("ix_calibration_output_id", "calibration", ["output", "id"])
    counter = op.create_table(
        "counter",
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("value", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counter"),
    )
    op.bulk_insert(counter, [{"name": "mark", "value": 0}])
