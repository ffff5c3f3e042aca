"""How a developer drifts, from the control strips that each box of paper keeps."""

from __future__ import annotations

from collections.abc import Iterable

from controller.book.papers import PaperShelf
from controller.book_out.figures import Drift, DriftPoint
from controller.boxes.control import Figure, Limits, StripAt, chart
from controller.boxes.model import PaperReading, Purpose
from controller.errors import DrysideError


def drifts_of(papers: PaperShelf) -> list[Drift]:
    """Give the drift of every box that has control strips, filter by filter.

    Strips that cannot be charted together (other patches, too few greys) are left out: `paper
    control` says why. Raises BookFault.
    """
    found = []
    for box in papers.batches():
        by_filter: dict[str, list[PaperReading]] = {}
        for one in reversed(papers.readings(box, Purpose.CONTROL)):
            by_filter.setdefault(one.filter, []).append(one)
        for filter_, readings in by_filter.items():
            points = _points(readings)
            if points:
                name = f"{box.handle}, filter {filter_}" if filter_ else box.handle
                found.append(Drift(name, readings[-1].developing.developer, tuple(points)))
    return found


def _points(readings: Iterable[PaperReading]) -> list[DriftPoint]:
    try:
        charted = chart(list(readings), Limits())
    except DrysideError:
        return []
    return [_point(one) for one in charted.strips]


def _point(one: StripAt) -> DriftPoint:
    off = one.off
    return DriftPoint(
        one.reading.at.astimezone().date(),
        round(off[Figure.WHITE], 3),
        round(off[Figure.SPEED], 3),
        round(off[Figure.CONTRAST], 3),
        round(off[Figure.BLACK], 3),
    )
