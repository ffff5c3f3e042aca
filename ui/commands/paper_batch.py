"""``dryside paper new``, ``list`` and ``show``: boxes of paper in the book."""

from __future__ import annotations

from dataclasses import asdict

from controller.boxes.asked import AskedBox, box_asked
from controller.boxes.told import curve_line, told_batch, told_reading
from ui import show
from ui.unit import open_book


def new(asked: AskedBox, *, json_: bool) -> None:
    """Write a box of paper down. Raises BadInput."""
    box = box_asked(asked)
    with open_book() as book:
        batch = book.papers.add_batch(**asdict(box))
    if json_:
        show.as_json(batch)
        return
    print(told_batch(batch))
    print(f"next: dryside paper sheet {batch.handle!r} --filter 2")


def list_batches(*, json_: bool) -> None:
    """List the boxes, the newest first."""
    with open_book() as book:
        batches = book.papers.batches()
    if json_:
        show.as_json(batches)
        return
    if not batches:
        print("no paper is written down; `dryside paper new NAME` does")
    for batch in batches:
        show.cut(told_batch(batch))


def show_batch(name: str, *, json_: bool) -> None:
    """Show a box, and what was read of it."""
    with open_book() as book:
        batch = book.papers.batch(name)
        readings = book.papers.readings(batch)
        curves = book.papers.curves(batch)
        newest = book.papers.newest_curves(batch)
    if json_:
        show.as_json({"batch": batch, "readings": readings, "curves": curves})
        return
    print(told_batch(batch))
    for curve in sorted(newest.values(), key=lambda one: -one.iso_range):
        show.cut(f"  {curve_line(curve)}")
    for reading in readings:
        show.cut(f"  {told_reading(reading, show.when)}")
    if not readings:
        print(f"nothing was read of it yet: dryside paper sheet {batch.handle!r} --filter 2")
