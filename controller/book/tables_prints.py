"""The book's tables of negatives, prints and editions. Newest means the highest ``id``."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
)

from controller.book.tables import Utc, metadata

# ``words`` is all that is found by free text, folded; the keys are names as they are compared.
negative = Table(
    "negative",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", Text, nullable=False, unique=True),
    Column("film", Text, nullable=False),
    Column("format", Text, nullable=False),
    Column("exposed_on", Text, nullable=False),
    Column("sleeve", Text, nullable=False),
    Column("remark", Text, nullable=False),
    Column("at", Utc, nullable=False),
)

negative_tag = Table(
    "negative_tag",
    metadata,
    Column("name_key", Text, primary_key=True),
    Column("tag", Text, primary_key=True),
    Index(None, "tag"),
)

# A sheet that became a print. Put down bare when the sheet ends, so that nothing slow happens
# under the lamp; what the score says of it is filled in by whoever looks next (``gathered``).
print_ = Table(
    "print",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("record_id", Text, nullable=False),
    Column("mark", Text, nullable=False),
    Column("made_at", Utc, nullable=False),
    Column("gathered", Boolean, nullable=False),
    Column("title", Text, nullable=False),
    Column("negative", Text, nullable=False),
    Column("negative_key", Text, nullable=False),
    Column("paper", Text, nullable=False),
    Column("paper_key", Text, nullable=False),
    Column("batch", Text, nullable=False),
    Column("rating", Integer),
    Column("remark", Text, nullable=False),
    Column("went", Text, nullable=False),
    Column("dry_note", Text, nullable=False),
    Column("temperature_c", Double),
    Column("room", Text, nullable=False),
    Column("words", Text, nullable=False),
    UniqueConstraint("record_id", "mark"),
    ForeignKeyConstraint(["record_id", "mark"], ["sheet.record_id", "sheet.mark"]),
    Index(None, "gathered"),
    Index(None, "negative_key", "id"),
    Index(None, "paper_key", "id"),
    Index(None, "made_at"),
)

# Burns and dodges of a print in stops, so that "the sky by more than a stop" is found quickly.
handwork = Table(
    "handwork",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("print_id", Integer, ForeignKey("print.id"), nullable=False, index=True),
    Column("kind", Text, nullable=False),
    Column("region", Text, nullable=False),
    Column("stops", Double, nullable=False),
    Index(None, "region", "print_id"),
)

# The strips and trial pieces that a print was found with.
evidence = Table(
    "evidence",
    metadata,
    Column("print_id", Integer, ForeignKey("print.id"), primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), primary_key=True),
)

picture = Table(
    "picture",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("print_id", Integer, ForeignKey("print.id"), nullable=False, index=True),
    Column("file", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("at", Utc, nullable=False),
)

# Densities of a dry print, region by region: what its handwork came to on paper.
tone = Table(
    "print_tone",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("print_id", Integer, ForeignKey("print.id"), nullable=False),
    Column("region", Text, nullable=False),
    Column("density", Double, nullable=False),
    Column("how", Text, nullable=False),
    Column("at", Utc, nullable=False),
    UniqueConstraint("print_id", "region"),
)

edition = Table(
    "edition",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", Text, nullable=False, unique=True),
    Column("negative", Text, nullable=False),
    Column("copies", Integer, nullable=False),
    Column("artist_proofs", Integer, nullable=False),
    Column("remark", Text, nullable=False),
    Column("at", Utc, nullable=False),
)

# Numbers are given by the hand that signs; ``number`` is 0 where the kind is not counted.
signed = Table(
    "signed",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("edition_id", Integer, ForeignKey("edition.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("print_id", Integer, ForeignKey("print.id"), nullable=False, unique=True),
    Column("at", Utc, nullable=False),
    UniqueConstraint("edition_id", "kind", "number"),
)

# What was printed for an edition, signed or not: a record is one run of it.
pulled = Table(
    "pulled",
    metadata,
    Column("edition_id", Integer, ForeignKey("edition.id"), primary_key=True),
    Column("record_id", Text, ForeignKey("record.record_id"), primary_key=True),
)
