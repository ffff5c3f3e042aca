"""The schema: as it was at the first, as it is now, and the way between."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

from controller.book import (  # noqa: F401  (in the metadata by import)
    tables_chemistry,
    tables_papers,
    tables_prints,
    tables_wet,
)
from controller.book.book import Book
from controller.book.editions import edition
from controller.book.entries import RunKind
from controller.book.faults import BookFault
from controller.book.migrate import HEAD, SCRIPTS, bring_to_head
from controller.book.tables import metadata
from controller.book.whole import whole_print
from controller.events import Fate
from controller.keeper import Cause
from controller.plan import Expose, Go, Plan, Say
from tests.controller.book.histories import begun, now

FIRST = Path(__file__).with_name("book_0001.sql")


def first_book(path: Path) -> Path:
    """Lay the first book that there was, with what was written in it."""
    with closing(sqlite3.connect(path)) as db:
        db.executescript(FIRST.read_text())
    return path


def schema(path: Path) -> list[str]:
    """Give the tables and indexes, with spaces evened out."""
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name")
        return [re.sub(r"\s+", " ", sql).replace("( ", "(").replace(" )", ")") for (sql,) in rows]


def test_the_head_is_the_last_migration():
    """The revision that is compared by plain SQL is the one Alembic leads to."""
    config = Config()
    config.set_main_option("script_location", str(SCRIPTS))
    assert ScriptDirectory.from_config(config).get_current_head() == HEAD


def test_the_migrations_make_the_tables_that_the_program_uses(path: Path):
    """Nothing is missing from the schema, and nothing is in it that the tables do not say."""
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as db:
        assert compare_metadata(MigrationContext.configure(db), metadata) == []
    engine.dispose()


def test_a_book_of_the_first_revision_is_brought_to_the_present_with_all_it_holds(
    tmp_path: Path, path: Path
):
    """The oldest book there can be is opened, read and written."""
    old = first_book(tmp_path / "old.sqlite")
    with Book.open(old, now=now) as book:
        assert book.notices == []
        page = book.record("K7")
        assert page is not None
        assert page.record.record_id == "0190-first"
        assert page.record.fate is None
        assert page.sheets[0].width_mm == 50.8
        assert [e.delivered_dose_s for e in page.exposures] == [8.0, None]
        assert page.exposures[0].pulses[0].cause is Cause.DEADLINE
        assert page.remarks[0].label == "A"
        assert page.picks[0].warning() == "patch A was marked unsure"
        assert book.strips_left() == 9
        lamp = book.calibration("lamp")
        assert lamp is not None
        assert lamp.cold_lag_s == 0.11
        (cut_off,) = book.interrupted()
        assert cut_off.tell() == "K7: patch A done, B between 0 and 10.1 s"
        assert book.next_mark() == "U8"
        assert book.dry_down("warm fibre") is None
        assert book.add_dry_down("warm fibre", 8).percent == 8
        book.close_interrupted("0190-first", Fate.SPOILED)
        book.write(begun("next"))
    assert schema(old) == schema(path)


FORMER = [f"{number:04}" for number in range(1, int(HEAD) + 1)]

MOVED = {
    "record": {"plan", "spec"}
}  # columns of a table that a later version has elsewhere: in its runs


def rows(path: Path) -> dict[str, list[dict[str, object]]]:
    """Give every row of every table that the program writes."""
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        found = db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        names = [row["name"] for row in found if row["name"] != "alembic_version"]
        return {n: [dict(row) for row in db.execute(f'SELECT * FROM "{n}"')] for n in names}


@pytest.mark.parametrize("version", FORMER)
def test_a_book_of_every_former_version_is_brought_to_the_present(
    version: str, tmp_path: Path, path: Path
) -> None:
    """As that version wrote it: no row and no value is lost, and prints and numbers are read.

    A new migration asks for one more file here, ``book_NNNN.sql``, of a book that it has written.
    """
    old = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(old)) as db:
        db.executescript(FIRST.with_name(f"book_{version}.sql").read_text())
        assert db.execute("SELECT version_num FROM alembic_version").fetchone() == (version,)
    before = rows(old)
    with Book.open(old, now=now) as book:
        assert book.notices == []
        after = rows(old)
        for name, held in before.items():
            for row in held:
                own = row.keys() - MOVED.get(name, set())
                kept = [{key: one[key] for key in own} for one in after[name]]
                assert {key: row[key] for key in own} in kept, name
        for row in before["record"]:
            page = book.record(str(row["record_id"]))
            assert page is not None
            lit = [e for e in before["exposure"] if e["record_id"] == row["record_id"]]
            doses = [e["delivered_dose_s"] for e in lit]
            assert [one.delivered_dose_s for one in page.exposures] == doses
        if int(version) >= 5:
            whole = whole_print(book, "K1")
            assert [one.written for one in whole.editions] == ["2/3"]
            assert (whole.print.rating, whole.print.remark) == (4, "the cloud holds")
            assert edition(book, "Low tide").left == (1, 3)
            assert bool(whole.tones) == (int(version) >= 8)
    assert schema(old) == schema(path)


def test_the_plan_of_an_older_record_becomes_its_first_run(tmp_path: Path):
    """With its fate, its spec, and the filters that its exposures had in the plan."""
    old = first_book(tmp_path / "old.sqlite")
    plan = Plan("print", "p", (Go("soft"), Expose("soft", 8.0, filter="00"), Say("done")))
    at = "2024-03-01 20:15:00.000000"
    with closing(sqlite3.connect(old)) as db:
        row = ("print", "print", "p", '{"base_s":8}', plan.to_json(), "{}", "", at, at, "done", "")
        db.execute(f"INSERT INTO record VALUES (2{', ?' * len(row)})", row)
        for number, label in enumerate(("soft", "extra (2)"), start=1):
            lit = ("print", number, None, label, 8.0, 1, 10 + number, 0, at, 8.0, 1, None, None)
            db.execute(f"INSERT INTO exposure VALUES ({2 + number}{', ?' * len(lit)})", lit)
        db.commit()
    with Book.open(old, now=now) as book:
        page = book.record("print")
        assert page is not None
        (run,) = page.runs
        assert (run.number, run.kind, run.fate) == (1, RunKind.FIRST, Fate.DONE)
        assert (run.plan, run.spec) == (plan.to_json(), '{"base_s":8}')
        assert (page.record.plan, page.record.spec) == (run.plan, run.spec)
        assert [(e.run, e.filter) for e in page.exposures] == [(1, "00"), (1, "")]
        assert [found.record.record_id for found in book.interrupted()] == ["0190-first"]


def test_a_book_of_a_newer_program_is_left_alone(path: Path):
    """A revision that is not known is one sentence, and nothing is changed."""
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE alembic_version SET version_num = '9999'")
        db.commit()
    with pytest.raises(BookFault, match="another version of Dryside"):
        Book.open(path, now=now)
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT version_num FROM alembic_version").fetchone() == ("9999",)


LATER = f"{int(HEAD) + 1:04}"
NEXT = """
import sqlalchemy as sa
from alembic import op
revision = "{later}"
down_revision = "{head}"
def upgrade():
    op.add_column("record", sa.Column("rating", sa.Integer))
    {then}
"""


def write_later(scripts: Path, then: str) -> None:
    """Add the one migration of a later Dryside."""
    text = NEXT.format(later=LATER, head=HEAD, then=then)
    (scripts / "versions" / f"rev_{LATER}.py").write_text(text)


@pytest.fixture
def scripts(tmp_path: Path) -> Path:
    """The migrations of a later Dryside, which has one more."""
    scripts = tmp_path / "migrations"
    (scripts / "versions").mkdir(parents=True)
    for source in SCRIPTS.rglob("*.*"):
        if source.suffix in (".py", ".mako"):
            (scripts / source.relative_to(SCRIPTS)).write_text(source.read_text())
    return scripts


def test_a_migration_runs_once_and_keeps_the_rows(tmp_path: Path, scripts: Path):
    """A later revision is reached from the first, and then there is nothing to do."""
    write_later(scripts, then="pass")
    old = first_book(tmp_path / "old.sqlite")
    with Book.open(old, now=now, check=False) as book:
        engines = (book._reader, book._writer, "the book")
        assert bring_to_head(*engines, head=LATER, scripts=scripts)
        assert not bring_to_head(*engines, head=LATER, scripts=scripts)
        assert len(book.records()) == 1
    assert any("rating" in sql for sql in schema(old))


def test_a_migration_that_fails_changes_nothing(tmp_path: Path, scripts: Path):
    """All of it happens, or none: a power cut half-way leaves the old book."""
    write_later(scripts, then="raise RuntimeError")
    old = first_book(tmp_path / "old.sqlite")
    with Book.open(old, now=now, check=False) as book:
        before = schema(old)
        with pytest.raises(RuntimeError):
            bring_to_head(book._reader, book._writer, "the book", head=LATER, scripts=scripts)
        assert schema(old) == before
        assert len(book.records()) == 1


def test_the_tables_can_be_made_on_a_server():
    """Every table and index has a form in PostgreSQL's language."""
    dialect = postgresql.dialect()
    text = "".join(
        str(CreateTable(table).compile(dialect=dialect))
        + "".join(str(CreateIndex(index).compile(dialect=dialect)) for index in table.indexes)
        for table in metadata.sorted_tables
    )
    assert text.count("CREATE TABLE") == len(metadata.tables)
    assert "TIMESTAMP WITH TIME ZONE" in text
    assert "DOUBLE PRECISION" in text
