"""The book's tables of the wet side: what each sheet got in the trays, and batches of prints."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Double, ForeignKey, Index, Integer, Table, Text

from controller.book.tables import Utc, metadata

# Prints that go on together; the way is kept as it was when the batch began.
wet_batch = Table(
    "wet_batch",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("way", Text, nullable=False),
    Column("begun_at", Utc, nullable=False),
    Column("merged_into", Integer, ForeignKey("wet_batch.id")),
)

wet_batch_sheet = Table(
    "wet_batch_sheet",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("batch_id", Integer, ForeignKey("wet_batch.id"), nullable=False),
    Column("mark", Text, nullable=False),
    Column("record_id", Text, nullable=False),
    Column("out_at", Utc),
    Index(None, "batch_id"),
)

# A sheet in a tray. The record may be empty: prints that the book has not are toned as well.
wet_step = Table(
    "wet_step",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("mark", Text, nullable=False),
    Column("record_id", Text, nullable=False),
    Column("process", Text, nullable=False),
    Column("batch_id", Integer, ForeignKey("wet_batch.id")),
    Column("name", Text, nullable=False),
    Column("tray", Text, nullable=False),
    Column("planned_s", Double, nullable=False),
    Column("actual_s", Double, nullable=False),
    Column("late_s", Double, nullable=False),
    Column("temperature_c", Double),
    Column("note", Text, nullable=False),
    Column("under_fixed", Boolean),  # null: this says nothing of fixing
    Column("at", Utc, nullable=False),
    Index(None, "mark", "record_id"),
    Index(None, "batch_id"),
)
