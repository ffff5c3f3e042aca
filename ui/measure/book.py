"""How fast a large book is, beside plain SQL on the same file: one run, printed as a table.

The book is filled by SQL with prints as a printer would have after a life of printing; then
what a printer asks for is timed through Dryside, and its heart beside it as plain ``sqlite3``.
"""

from __future__ import annotations

import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from controller.book.book import Book
from controller.book.finding import Looked, find
from controller.book.whole import whole_print

GOAL_MS = 100.0
ROUNDS = 7
WORDS = ("harbour", "pier", "quay", "boat", "cloud", "door", "wall", "stair", "tree", "field")
PAPERS = ("warm fibre", "cold fibre", "pearl", "matt", "glossy")


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: the median and the slowest of several times, and plain SQL's median."""

    what: str
    median_ms: float
    slowest_ms: float
    plain_ms: float | None

    @property
    def line(self) -> str:
        """Tell it in a row of the table."""
        plain = "" if self.plain_ms is None else f"{self.plain_ms:9.2f}"
        return f"{self.what:38} {self.median_ms:9.2f} {self.slowest_ms:9.2f} {plain:>9}"


@dataclass(frozen=True, slots=True)
class BookReport:
    """A whole measurement."""

    prints: int
    megabytes: float
    filled_s: float
    asked: tuple[Asked, ...]

    def to_json(self) -> dict[str, object]:
        """Give it for a program."""
        return asdict(self)

    def table(self) -> str:
        """Tell it to a person."""
        rows = "\n".join(one.line for one in self.asked)
        slow = [one.what for one in self.asked if one.median_ms > GOAL_MS]
        verdict = f"over {GOAL_MS:g} ms: {', '.join(slow)}" if slow else f"all below {GOAL_MS:g} ms"
        return (
            f"{self.prints} prints, {self.megabytes:.0f} MB, filled in {self.filled_s:.1f} s\n"
            f"{'':38} {'median ms':>9} {'slowest':>9} {'plain SQL':>9}\n{rows}\n{verdict}"
        )


def measure_book(prints: int) -> BookReport:
    """Fill a book in a folder of its own, and ask it. The printer's own book is not touched."""
    with tempfile.TemporaryDirectory(prefix="dryside-book-") as folder:
        path = Path(folder) / "book.sqlite"
        Book.open(path, now=lambda: datetime.now(UTC)).close()
        before = time.perf_counter()
        fill(path, prints)
        filled_s = time.perf_counter() - before
        asked = tuple(_ask(path, prints))
        return BookReport(prints, path.stat().st_size / 1e6, filled_s, asked)


def fill(path: Path, prints: int, seed: int = 1) -> None:
    """Write many prints of one sheet and three exposures each, by plain SQL."""
    from controller.score.file import from_tables, to_json

    score = {
        "title": "title",
        "base_s": 10,
        "sketch": ["s."],
        "regions": {"s": "sky"},
        "passes": [{"label": "soft", "filter": "00"}],
        "burns": [{"regions": ["sky"], "amount": "+1", "over": "soft"}],
    }
    spec = to_json(from_tables(score, "measure"))
    plan = '{"kind":"print","title":"print","actions":[]}'
    rng, begun = Random(seed), datetime(1990, 1, 1)
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA synchronous = OFF")
        for n in range(1, prints + 1):
            title = " ".join(rng.sample(WORDS, 2))
            negative, paper = f"{1990 + n // 3000}-{n // 12}", rng.choice(PAPERS)
            at = (begun + timedelta(hours=n * 3)).isoformat(sep=" ") + ".000000"
            record_id, mark = f"{n:08x}", f"{'KLMNPRTUVWXY'[n // 9 % 12]}{n % 9 + 1}"
            db.execute(
                "INSERT INTO record (record_id, kind, title, lamp, rig, begun_at, ended_at, fate, "
                "reason) VALUES (?, 'print', ?, '{}', 'rig', ?, ?, 'done', '')",
                (record_id, title, at, at),
            )
            db.execute(
                "INSERT INTO run (record_id, number, kind, plan, spec, begun_at, fate) "
                "VALUES (?, 1, 'first', ?, ?, ?, 'done')",
                (record_id, plan, spec, at),
            )
            db.execute(
                "INSERT INTO sheet (record_id, mark, width_mm, height_mm, begun_at, ended_at, fate)"
                " VALUES (?, ?, 254, 203, ?, ?, 'done')",
                (record_id, mark, at, at),
            )
            db.executemany(
                "INSERT INTO exposure (record_id, number, mark, label, dose_s, pulses_wanted, "
                "first_pulse, resumed, intended_at, delivered_dose_s, full) "
                "VALUES (?, ?, ?, ?, 10, 1, ?, 0, ?, 10, 1)",
                [(record_id, k, mark, f"pass {k}", 3 * n + k, at) for k in (1, 2, 3)],
            )
            words = f"{title} {negative} {paper} a{n % 97}"
            db.execute(
                "INSERT INTO print (id, record_id, mark, made_at, gathered, title, negative, "
                "negative_key, paper, paper_key, batch, rating, remark, went, dry_note, room, "
                "words) VALUES (?, ?, ?, ?, 1, ?, ?, ?, ?, ?, ?, ?, '', '', '', '', ?)",
                (
                    *(n, record_id, mark, at, title, negative, negative, paper, paper),
                    *(f"A{n % 97}", rng.randint(1, 5), words),
                ),
            )
            db.execute(
                "INSERT INTO handwork (print_id, kind, region, stops) VALUES (?, 'burn', ?, ?)",
                (n, rng.choice(("sky", "door", "wall")), rng.uniform(0, 2)),
            )
        db.commit()


def _ask(path: Path, prints: int) -> list[Asked]:
    """Time each question; plain SQL gives what the question comes down to."""
    middle = prints // 2
    negative = f"{1990 + middle // 3000}-{middle // 12}"
    newest = "SELECT * FROM print ORDER BY id DESC LIMIT 50"
    seldom = "SELECT * FROM print WHERE instr(words, 'nowhere') ORDER BY id DESC LIMIT 50"
    of_one = f"SELECT * FROM print WHERE negative_key = '{negative}' ORDER BY id DESC LIMIT 50"
    burned = (
        "SELECT * FROM print WHERE id IN (SELECT print_id FROM handwork WHERE kind = 'burn' "
        "AND region LIKE '%sky%' AND stops > 1) ORDER BY id DESC LIMIT 50"
    )
    middle_id = f"{middle:08x}"
    exposures = f"SELECT * FROM exposure WHERE record_id = '{middle_id}'"
    with Book.open(path, now=lambda: datetime.now(UTC), check=False) as book:
        questions: list[tuple[str, Callable[[], object], str]] = [
            ("the newest records", lambda: book.records(50), ""),
            ("the newest prints", lambda: find(book, Looked()), newest),
            ("a word that many have", lambda: find(book, Looked(words="harbour")), ""),
            ("a word that none has", lambda: find(book, Looked(words="nowhere")), seldom),
            ("prints of one negative", lambda: find(book, Looked(negative=negative)), of_one),
            (
                "the sky burned in over 1 stop",
                lambda: find(book, Looked(burn="sky", over_stops=1)),
                burned,
            ),
            ("all of one print", lambda: whole_print(book, middle_id), exposures),
        ]
        asked = [_timed(what, ask, _plain(path, sql)) for what, ask, sql in questions]
    opened = _timed("the book opened", lambda: _open(path), None)
    checked = _timed("the book opened and looked through", lambda: _open(path, check=True), None)
    return [opened, checked, *asked]


def _open(path: Path, *, check: bool = False) -> None:
    Book.open(path, now=lambda: datetime.now(UTC), check=check).close()


def _plain(path: Path, sql: str) -> float | None:
    if not sql:
        return None
    with closing(sqlite3.connect(path)) as db:
        return statistics.median(_times(lambda: db.execute(sql).fetchall()))


def _timed(what: str, ask: Callable[[], object], plain_ms: float | None) -> Asked:
    times = _times(ask)
    return Asked(what, statistics.median(times), max(times), plain_ms)


def _times(ask: Callable[[], object]) -> list[float]:
    times = []
    for _ in range(ROUNDS):
        before = time.perf_counter()
        ask()
        times.append(1e3 * (time.perf_counter() - before))
    return times
