"""The book's tables of baths. Newest means the highest ``id``, as in the others."""

from __future__ import annotations

from sqlalchemy import Column, Double, ForeignKey, Index, Integer, Table, Text

from controller.book.tables import Utc, metadata

# Figures are those at mixing: a product's file may change later. Null: not known.
bath = Table(
    "bath",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("tray", Text, nullable=False),
    Column("product", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("dilution", Text, nullable=False),
    Column("volume_ml", Double, nullable=False),
    Column("fibre_m2_per_l", Double),
    Column("resin_coated_m2_per_l", Double),
    Column("in_tray_h", Double),
    Column("full_bottle_h", Double),
    Column("half_bottle_h", Double),
    Column("place", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("promotions", Integer, nullable=False),
    Column("set_since", Utc),
    Column("made_at", Utc, nullable=False),
    Column("discarded_at", Utc),
    Index(None, "discarded_at"),
)

# What happened to a bath, in order; what it comes to is worked out from it each time.
bath_use = Table(
    "bath_use",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("bath_id", Integer, ForeignKey("bath.id"), nullable=False),
    Column("what", Text, nullable=False),
    Column("area_m2", Double, nullable=False),
    Column("base", Text),
    Column("mark", Text, nullable=False),
    Column("place", Text),
    Column("tray", Text, nullable=False),
    Column("at", Utc, nullable=False),
    Index(None, "bath_id", "id"),
)

# A tray was scrubbed; the key is the name as it is compared (``shelf.name_key``).
tray_cleaned = Table(
    "tray_cleaned",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("tray", Text, nullable=False),
    Column("tray_key", Text, nullable=False, index=True),
    Column("at", Utc, nullable=False),
)
