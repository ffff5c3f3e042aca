"""A book with an evening in it: a strip and its pick, a print, and a strip that was cut off."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from controller.book.book import Book
from controller.book.entries import Judged
from controller.desk.asked import AskedCross, cross_asked
from controller.desk.desk import Desk, Lying
from controller.desk.desk import Made as MadeStrip
from controller.desk.orders import Order
from controller.events import (
    Fate,
    Intended,
    Made,
    PulseMade,
    RunBegun,
    RunEnded,
    SheetBegun,
    SheetEnded,
)
from controller.keeper import Cause
from controller.plan import Plan
from controller.rig.file import load_rig
from controller.score.model import PaperUsed, Pass, Score, SetUp
from controller.score.new import demonstration
from controller.strips.strip import Strip

RIG = load_rig("tungsten", ())
LAMP = {"cold_lag_s": 0.061, "warm_gain_s2": 0.0018}
STRIP = Strip(base_s=8, aperture="8")
SCORE = Score(
    base_s=12.7,
    paper=PaperUsed(dry_down="8%"),
    setup=SetUp(aperture="8"),
    passes=(Pass(label="print"),),
    came_from=("K3 C",),
)
CROSS = cross_asked(AskedCross())
DESK = Desk(strip=STRIP, made=MadeStrip(record_id="strip-1", mark="K3", strip=STRIP), score=SCORE)
# a cross that was made, a print of the demonstration that lies there, and its score on the desk
SPLIT = Desk(
    strip=STRIP,
    cross=CROSS,
    made=MadeStrip(record_id="cross-1", mark="M2", cross=CROSS),
    score=demonstration(),
    lying=Lying(record_id="print-2", mark="N5", number=5, score=demonstration()),
)


class Writer:
    """Writes runs into a book, one minute after the other."""

    def __init__(self, home: Path) -> None:
        self.at = datetime.now(UTC) - timedelta(hours=1)
        self.book = Book.open(home / "book.sqlite", now=self._now)
        self._pulse = 0

    def _now(self) -> datetime:
        self.at += timedelta(seconds=10)
        return self.at

    def run(self, record_id: str, mark: str, order: Order, *, exposures: int | None = None) -> None:
        """Write a run; with a number of ``exposures`` it is cut off after so many."""
        plan, spec = DESK.plan(order, RIG)
        book = self.book
        book.write(RunBegun(record_id, plan.kind, plan.title, spec, plan.to_json(), LAMP, RIG.name))
        book.write(SheetBegun(record_id, mark, 203, 25))
        for number, (_, expose) in enumerate(plan.exposures(), start=1):
            if exposures is not None and number > exposures:
                return
            first = self._pulse = self._pulse + 1
            book.write(Intended(record_id, number, mark, expose.label, expose.dose_s, 1, first))
            on_ns, lit_ns = self._pulse * 10**11, round((expose.dose_s + 0.061) * 1e9)
            pulse = PulseMade(first, on_ns, on_ns + lit_ns, lit_ns, Cause.DEADLINE)
            book.write(Made(record_id, number, (pulse,), expose.dose_s, True))
        book.write(SheetEnded(record_id, mark, Fate.DONE))
        book.write(RunEnded(record_id, Fate.DONE))


def plan_of(order: Order) -> Plan:
    return DESK.plan(order, RIG)[0]


@contextmanager
def book_in(home: Path) -> Iterator[Book]:
    with Book.open(home / "book.sqlite", now=lambda: datetime.now(UTC), check=False) as book:
        yield book


def write_evening(home: Path) -> None:
    """Write it; the strip P1 was cut off after two of its patches."""
    writer = Writer(home)
    with writer.book as book:
        writer.run("strip-1", "K3", Order.STRIP)
        book.add_pick("C", dose_s=12.7, stops=0.667, judged=Judged.WET, record_id="strip-1")
        writer.run("print-1", "L4", Order.PRINT)
        writer.run("strip-2", "P1", Order.STRIP, exposures=2)
        book.count_strips(7)
