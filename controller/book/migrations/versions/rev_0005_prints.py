"""Negatives, prints, their pictures and handwork, editions and what was signed.

Written out in full and never edited again: books that were made by it are out there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

WALL = sa.DateTime(timezone=True)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, nullable=False)


def upgrade() -> None:
    """Make the tables, and a print of every sheet that became one."""
    op.create_table(
        "negative",
        _whole("id"),
        _text("name"),
        _text("name_key"),
        _text("film"),
        _text("format"),
        _text("exposed_on"),
        _text("sleeve"),
        _text("remark"),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_negative"),
        sa.UniqueConstraint("name_key", name="uq_negative_name_key"),
    )
    op.create_table(
        "negative_tag",
        _text("name_key"),
        _text("tag"),
        sa.PrimaryKeyConstraint("name_key", "tag", name="pk_negative_tag"),
    )
    op.create_index("ix_negative_tag_tag", "negative_tag", ["tag"])
    op.create_table(
        "print",
        _whole("id"),
        _text("record_id"),
        _text("mark"),
        sa.Column("made_at", WALL, nullable=False),
        sa.Column("gathered", sa.Boolean, nullable=False),
        _text("title"),
        _text("negative"),
        _text("negative_key"),
        _text("paper"),
        _text("paper_key"),
        _text("batch"),
        sa.Column("rating", sa.Integer),
        _text("remark"),
        _text("went"),
        _text("dry_note"),
        sa.Column("temperature_c", sa.Double),
        _text("room"),
        _text("words"),
        sa.PrimaryKeyConstraint("id", name="pk_print"),
        sa.UniqueConstraint("record_id", "mark", name="uq_print_record_id_mark"),
        sa.ForeignKeyConstraint(
            ["record_id", "mark"], ["sheet.record_id", "sheet.mark"], name="fk_print_record_id_mark"
        ),
    )
    op.create_index("ix_print_gathered", "print", ["gathered"])
    op.create_index("ix_print_negative_key_id", "print", ["negative_key", "id"])
    op.create_index("ix_print_paper_key_id", "print", ["paper_key", "id"])
    op.create_index("ix_print_made_at", "print", ["made_at"])
    op.create_table(
        "handwork",
        _whole("id"),
        _whole("print_id"),
        _text("kind"),
        _text("region"),
        sa.Column("stops", sa.Double, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_handwork"),
        sa.ForeignKeyConstraint(["print_id"], ["print.id"], name="fk_handwork_print_id"),
    )
    op.create_index("ix_handwork_print_id", "handwork", ["print_id"])
    op.create_index("ix_handwork_region_print_id", "handwork", ["region", "print_id"])
    op.create_table(
        "evidence",
        _whole("print_id"),
        _text("record_id"),
        sa.PrimaryKeyConstraint("print_id", "record_id", name="pk_evidence"),
        sa.ForeignKeyConstraint(["print_id"], ["print.id"], name="fk_evidence_print_id"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_evidence_record_id"),
    )
    op.create_table(
        "picture",
        _whole("id"),
        _whole("print_id"),
        _text("file"),
        _text("note"),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_picture"),
        sa.ForeignKeyConstraint(["print_id"], ["print.id"], name="fk_picture_print_id"),
    )
    op.create_index("ix_picture_print_id", "picture", ["print_id"])
    op.create_table(
        "edition",
        _whole("id"),
        _text("name"),
        _text("name_key"),
        _text("negative"),
        _whole("copies"),
        _whole("artist_proofs"),
        _text("remark"),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_edition"),
        sa.UniqueConstraint("name_key", name="uq_edition_name_key"),
    )
    op.create_table(
        "signed",
        _whole("id"),
        _whole("edition_id"),
        _text("kind"),
        _whole("number"),
        _whole("print_id"),
        sa.Column("at", WALL, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_signed"),
        sa.UniqueConstraint("print_id", name="uq_signed_print_id"),
        sa.UniqueConstraint(
            "edition_id", "kind", "number", name="uq_signed_edition_id_kind_number"
        ),
        sa.ForeignKeyConstraint(["edition_id"], ["edition.id"], name="fk_signed_edition_id"),
        sa.ForeignKeyConstraint(["print_id"], ["print.id"], name="fk_signed_print_id"),
    )
    op.create_table(
        "pulled",
        _whole("edition_id"),
        _text("record_id"),
        sa.PrimaryKeyConstraint("edition_id", "record_id", name="pk_pulled"),
        sa.ForeignKeyConstraint(["edition_id"], ["edition.id"], name="fk_pulled_edition_id"),
        sa.ForeignKeyConstraint(["record_id"], ["record.record_id"], name="fk_pulled_record_id"),
    )
    op.get_bind().execute(
        sa.text(
            "INSERT INTO print (record_id, mark, made_at, gathered, title, negative, negative_key, "
            "paper, paper_key, batch, remark, went, dry_note, room, words) "
            "SELECT s.record_id, s.mark, s.begun_at, :no, r.title, '', '', '', '', '', '', '', '', "
            "'', '' FROM sheet s JOIN record r ON r.record_id = s.record_id "
            "WHERE r.kind = 'print' AND s.fate = 'done' ORDER BY s.id"
        ),
        {"no": False},
    )
