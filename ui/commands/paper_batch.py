"""``dryside paper new``, ``list`` and ``show``: boxes of paper in the book."""

from __future__ import annotations

from datetime import date

from controller.boxes.model import Base, Batch, Developing, PaperReading, clean_name
from controller.errors import BadInput, quoted
from controller.stops import parse_time
from ui import show
from ui.commands.paper_keep import curve_line
from ui.unit import open_book


def new(
    name: str,
    *,
    maker: str,
    type_: str,
    surface: str,
    base: str,
    box: str,
    opened: str,
    developer: str,
    time: str,
    json_: bool,
) -> None:
    """Write a box of paper down. Raises BadInput."""
    day = opened.strip()
    if day:
        try:
            day = date.fromisoformat(day).isoformat()
        except ValueError:
            right = "a day such as 2026-11-26"
            raise BadInput(f"{quoted(opened)} is no day", "--opened", right) from None
    developing = developing_asked(developer, time)
    with open_book() as book:
        batch = book.papers.add_batch(
            clean_name(name),
            maker=maker.strip(),
            type=type_.strip(),
            surface=surface.strip(),
            base=_base(base),
            box=box.strip(),
            opened=day,
            developing=developing,
        )
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
        show.cut(f"  {_told_reading(reading)}")
    if not readings:
        print(f"nothing was read of it yet: dryside paper sheet {batch.handle!r} --filter 2")


def developing_asked(developer: str, time: str) -> Developing:
    """Read a developer and a time. Raises BadInput."""
    time_s = parse_time(time, "--time") if time else None
    return Developing(" ".join(developer.split()), time_s)


def _base(text: str) -> Base | None:
    short = {"": None, "rc": Base.RESIN_COATED, "pe": Base.RESIN_COATED, "fiber": Base.FIBRE}
    known = {**short, **{one.value: one for one in Base}}
    if text.strip().lower() not in known:
        raise BadInput(f"{quoted(text)} is not known", "--base", "fibre or resin-coated")
    return known[text.strip().lower()]


def told_batch(batch: Batch) -> str:
    """Tell a box of paper in one line."""
    parts = [
        " ".join(filter(None, [batch.maker, batch.type])),
        batch.surface,
        batch.base.value if batch.base else "",
        f"opened {batch.opened}" if batch.opened else "",
        batch.developing.tell(),
    ]
    return f"{batch.handle}: {', '.join(filter(None, parts))}"


def _told_reading(reading: PaperReading) -> str:
    through = f"filter {reading.filter}" if reading.filter else "no filter"
    densities = [point.density for point in reading.points]
    return (
        f"{show.when(reading.at)}  {reading.mark:4} {through:12} {len(densities)} patches, "
        f"{min(densities):.2f} to {max(densities):.2f}, {reading.how.value}, "
        f"{reading.purpose.value}, {reading.developing.tell()}"
        + (f", {reading.note}" if reading.note else "")
    )
