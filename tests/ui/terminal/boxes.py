"""Two boxes of paper in a book: one measured, with a sheet to be read and control strips."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from controller.book.book import Book
from controller.boxes.fitting import fit_reading
from controller.boxes.model import Batch, Developing, How, Point, Purpose
from controller.boxes.sheet import PaperSheet, plan_paper_sheet
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
from controller.paper.curve import Curve
from controller.rig.lights import around
from tests.ui.terminal.an_evening import LAMP, RIG

DEVELOPING = Developing("ours 1+9", 90.0)
SHEET = PaperSheet(
    paper="pearl/13", filter="2", base_s=1.2, patches=9, step="1", lux=1.0, aperture="16"
)
CURVES = {  # of the imagined paper, by box and filter: where it bends
    ("pearl/12", "2"): Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2),
    ("pearl/12", "3"): Curve(0.06, 2.1, 0.7, 3.0, 0.2, 0.2),
    ("pearl/13", "2"): Curve(0.07, 2.05, 0.7, 2.4, 0.2, 0.2),
}


def write_boxes(home: Path, *, sheets: tuple[PaperSheet, ...] = (SHEET,)) -> None:
    """Write them; pearl/13 is the newest, has a curve of filter 2, and sheets from R1 on."""
    with Book.open(home / "book.sqlite", now=lambda: datetime.now(UTC), check=False) as book:
        for box in ("12", "13"):
            batch = book.papers.add_batch(
                "pearl", type="variable contrast", box=box, developing=DEVELOPING
            )
            for (handle, filter_), curve in CURVES.items():
                if handle == batch.handle:
                    _measure(book, batch, filter_, curve)
        for strip in range(5):
            _control(book, batch, strip)
        for number, sheet in enumerate(sheets, start=1):
            write_sheet(book, sheet, f"R{number}")


def write_sheet(book: Book, sheet: PaperSheet, mark: str) -> None:
    """Write a sheet as if it had been made."""
    plan = plan_paper_sheet(sheet, RIG.calibration(), RIG.limits(), around(RIG))
    record_id, spec = f"sheet-{mark}", sheet.model_dump_json()
    book.write(RunBegun(record_id, plan.kind, plan.title, spec, plan.to_json(), LAMP, RIG.name))
    book.write(SheetBegun(record_id, mark, sheet.width_mm, sheet.height_mm))
    for number, (_, expose) in enumerate(plan.exposures(), start=1):
        pulse = 1000 * ord(mark[-1]) + number
        book.write(Intended(record_id, number, mark, expose.label, expose.dose_s, 1, pulse))
        on_ns, lit_ns = pulse * 10**11, round((expose.dose_s + 0.061) * 1e9)
        made = PulseMade(pulse, on_ns, on_ns + lit_ns, lit_ns, Cause.DEADLINE)
        book.write(Made(record_id, number, (made,), expose.dose_s, True))
    book.write(SheetEnded(record_id, mark, Fate.DONE))
    book.write(RunEnded(record_id, Fate.DONE))


def _measure(book: Book, batch: Batch, filter_: str, curve: Curve) -> None:
    points = _points(curve, filter_)
    reading = book.papers.add_reading(
        batch, points, filter=filter_, developing=DEVELOPING, how=How.DENSITOMETER, lux=1.0
    )
    book.papers.add_curve(fit_reading(reading))


def _control(book: Book, batch: Batch, number: int) -> None:
    """The last of five had a developer that is tired."""
    curve = CURVES["pearl/13", "2"]
    tired = (0.0, 0.0, 0.0, -0.02, -0.07)[number]
    points = tuple(
        Point(p.label, p.log_h, curve.density(p.log_h + tired), 0.02, p.doses_s)
        for p in _points(curve, "2")
    )
    book.papers.add_reading(
        batch,
        points,
        filter="2",
        developing=DEVELOPING,
        how=How.DENSITOMETER,
        purpose=Purpose.CONTROL,
        mark=f"C{number + 1}",
        lux=1.0,
    )


def _points(curve: Curve, filter_: str) -> tuple[Point, ...]:
    logs = [0.12 * n for n in range(21)]
    letters = "ABCDEFGHIJKLMNOPQRSTU"
    return tuple(
        Point(letter, at, curve.density(at), 0.02, {filter_: 10.0**at})
        for letter, at in zip(letters, logs, strict=True)
    )
