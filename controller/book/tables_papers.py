"""The book's tables of paper: boxes, sheets that were read, curves."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Double, ForeignKey, Index, Integer, Table, Text

from controller.book.tables import Utc, metadata

paper_batch = Table(
    "paper_batch",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("maker", Text, nullable=False),
    Column("type", Text, nullable=False),
    Column("surface", Text, nullable=False),
    Column("base", Text),
    Column("box", Text, nullable=False),
    Column("opened", Text, nullable=False),
    Column("developer", Text, nullable=False),
    Column("time_s", Double),
    Column("at", Utc, nullable=False),
)

# ``points`` is JSON: what each patch got and became. ``record_id`` is empty for a sheet that
# was made elsewhere.
paper_reading = Table(
    "paper_reading",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("batch_id", Integer, ForeignKey("paper_batch.id"), nullable=False),
    Column("filter", Text, nullable=False),
    Column("developer", Text, nullable=False),
    Column("time_s", Double),
    Column("record_id", Text, nullable=False),
    Column("mark", Text, nullable=False),
    Column("how", Text, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("lux", Double),
    Column("points", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("at", Utc, nullable=False),
    Index(None, "batch_id", "id"),
)

# ``fitted`` is JSON: the parameters by name.
paper_curve = Table(
    "paper_curve",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("batch_id", Integer, ForeignKey("paper_batch.id"), nullable=False),
    Column("reading_id", Integer, ForeignKey("paper_reading.id"), nullable=False),
    Column("filter", Text, nullable=False),
    Column("developer", Text, nullable=False),
    Column("time_s", Double),
    Column("d_min", Double, nullable=False),
    Column("d_max", Double, nullable=False),
    Column("log_ht", Double, nullable=False),
    Column("log_hm", Double, nullable=False),
    Column("log_hs", Double, nullable=False),
    Column("iso_range", Integer, nullable=False),
    Column("iso_speed", Integer),
    Column("residual_rms", Double, nullable=False),
    Column("white_seen", Boolean, nullable=False),
    Column("black_seen", Boolean, nullable=False),
    Column("fitted", Text, nullable=False),
    Column("at", Utc, nullable=False),
    Index(None, "batch_id", "id"),
)
