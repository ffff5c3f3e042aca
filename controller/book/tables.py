"""The book's tables, as they are at the head of the migrations.

Newest always means the highest ``id``, never the latest wall time: a Raspberry Pi without a
battery clock starts in the past.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)


class Utc(TypeDecorator[datetime]):
    """An aware wall time; SQLite, which knows no zones, holds it as UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Turn it into UTC."""
        if value is None:
            return None
        at = value.astimezone(UTC)
        return at.replace(tzinfo=None) if dialect.name == "sqlite" else at

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Give it back with its zone."""
        if value is None or not isinstance(value, datetime):
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


# Named constraints, so that a later migration can take hold of them.
metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

record = Table(
    "record",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("lamp", Text, nullable=False),
    Column("rig", Text, nullable=False),
    Column("begun_at", Utc, nullable=False),
    Column("ended_at", Utc),
    Column("fate", Text),
    Column("reason", Text, nullable=False),
    Index(None, "kind", "id"),
    Index(None, "ended_at"),
)

# What was carried out for a record: its plan as a whole, and every extra on one of its sheets.
# A rest is no run of its own, but goes on with the one that was cut off. ``mark`` is the sheet
# of an extra; ``fate`` is null as long as a run was not ended.
run = Table(
    "run",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("mark", Text),
    Column("plan", Text, nullable=False),
    Column("spec", Text, nullable=False),
    Column("begun_at", Utc, nullable=False),
    Column("fate", Text),
    UniqueConstraint("record_id", "number"),
    Index(None, "fate"),
)

sheet = Table(
    "sheet",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), nullable=False),
    Column("mark", Text, nullable=False),
    Column("width_mm", Double),
    Column("height_mm", Double),
    Column("begun_at", Utc, nullable=False),
    Column("ended_at", Utc),
    Column("fate", Text),
    Column("moved", Boolean),
    UniqueConstraint("record_id", "mark"),
    Index(None, "mark", "id"),
    Index(None, "ended_at"),
)

# ``mark`` is null where light fell on no sheet. What is not known yet is null as well. ``run``
# is the number of the run, without a constraint: SQLite adds none to a table that others need.
exposure = Table(
    "exposure",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("mark", Text),
    Column("label", Text, nullable=False),
    Column("dose_s", Double, nullable=False),
    Column("pulses_wanted", Integer, nullable=False),
    Column("first_pulse", BigInteger, nullable=False, index=True),
    Column("resumed", Boolean, nullable=False),
    Column("intended_at", Utc, nullable=False),
    Column("delivered_dose_s", Double),
    Column("full", Boolean),
    Column("low_s", Double),
    Column("high_s", Double),
    Column("run", Integer, nullable=False, server_default="1"),
    Column("filter", Text, nullable=False, server_default=""),
    UniqueConstraint("record_id", "number"),
    ForeignKeyConstraint(["record_id", "mark"], ["sheet.record_id", "sheet.mark"]),
)

pulse = Table(
    "pulse",
    metadata,
    Column("exposure_id", Integer, ForeignKey("exposure.id"), primary_key=True),
    Column("pulse_id", BigInteger, primary_key=True, autoincrement=False),
    Column("on_ns", BigInteger, nullable=False),
    Column("off_ns", BigInteger, nullable=False),
    Column("asked_ns", BigInteger),
    Column("cause", Text, nullable=False),
)

remark = Table(
    "remark",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), nullable=False, index=True),
    Column("mark", Text),
    Column("label", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("at", Utc, nullable=False),
)

pick = Table(
    "pick",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), index=True),
    Column("subject", Text, nullable=False),
    Column("choice", Text, nullable=False),
    Column("dose_s", Double, nullable=False),
    Column("stops", Double, nullable=False),
    Column("judged", Text, nullable=False),
    Column("filter", Text, nullable=False),
    Column("at", Utc, nullable=False),
)

# Strips come and go; what is left is the sum.
stock = Table(
    "stock",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("strips", Integer, nullable=False),
    Column("reason", Text, nullable=False),
    Column("record_id", Text, ForeignKey("record.record_id")),
    Column("at", Utc, nullable=False),
)

calibration = Table(
    "calibration",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("output", Text, nullable=False),
    Column("cold_lag_s", Double, nullable=False),
    Column("warm_gain_s2", Double, nullable=False),
    Column("uncertainty_s", Double),
    Column("how", Text, nullable=False),
    Column("at", Utc, nullable=False),
    Index(None, "output", "id"),
)

# The keys are the names as they are compared: see ``shelf.name_key``.
dry_down = Table(
    "dry_down",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("paper", Text, nullable=False),
    Column("batch", Text, nullable=False),
    Column("paper_key", Text, nullable=False),
    Column("batch_key", Text, nullable=False),
    Column("percent", Double, nullable=False),
    Column("record_id", Text, ForeignKey("record.record_id")),
    Column("how", Text, nullable=False),
    Column("at", Utc, nullable=False),
    Index(None, "paper_key", "id"),
)

counter = Table(
    "counter",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", BigInteger, nullable=False),
)
