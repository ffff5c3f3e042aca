"""What is watched of a box: its control strips as a chart, and its last two calibrations. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from controller.boxes.control import Chart, Limits, chart, require_limits
from controller.boxes.match import apart
from controller.boxes.model import Batch, PaperCurve, PaperReading
from controller.errors import Refused


@dataclass(frozen=True)
class Watched:
    """The chart of a box's control strips, and what drifted: when, and in words.

    ``filter`` is the one that is charted, None where there is no control strip.
    """

    filter: str | None
    chart: Chart | None
    drift: tuple[tuple[datetime, str], ...]


def watched(
    batch: Batch,
    strips: Sequence[PaperReading],
    curves: Sequence[PaperCurve],
    filter_: str | None,
    limits: Limits,
) -> Watched:
    """Chart a box's control strips of one filter (None: the newest strip's); all newest first.

    Strips that were developed as the newest was are compared, no others. Raises BadInput and
    Refused.
    """
    require_limits(limits)
    drift = drifted(curves, filter_)
    if filter_ is None and strips:
        filter_ = strips[0].filter
    wanted = [one for one in reversed(strips) if one.filter == (filter_ or "")]
    wanted = [one for one in wanted if one.developing == wanted[-1].developing]
    if not wanted and not drift:
        raise Refused(
            f"{batch.handle} has neither control strips nor two calibrations of one filter",
            (f"dryside paper sheet {batch.handle} --control, read when dry",),
        )
    charted = chart(wanted, limits) if wanted else None
    return Watched((filter_ or "") if wanted else None, charted, tuple(drift))


def drifted(curves: Sequence[PaperCurve], filter_: str | None) -> list[tuple[datetime, str]]:
    """Compare the newest curve of each filter with the one before, developed alike."""
    told, seen = [], set()
    for index, newest in enumerate(curves):
        key = (newest.filter, newest.developing.developer, newest.developing.time_s)
        if key in seen or (filter_ is not None and newest.filter != filter_):
            continue
        seen.add(key)
        same = (newest.filter, newest.developing, newest.iso_speed is None)
        for before in curves[index + 1 :]:
            if (before.filter, before.developing, before.iso_speed is None) == same:
                told.append((before.at, apart(before, newest).tell()))
                break
    return told
