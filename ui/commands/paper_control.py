"""``dryside paper control`` and ``match``: what drifted, and which filter stands for which."""

from __future__ import annotations

from pathlib import Path

from controller.boxes.control import Figure, Limits, StripAt, require_limits
from controller.boxes.match import matched
from controller.boxes.model import Purpose
from controller.boxes.told import chart_lines, drift_lines
from controller.boxes.watched import watched
from ui import show
from ui.unit import open_book


def control(
    name: str,
    filter_: str | None,
    limits: Limits,
    *,
    picture: str | None,
    json_: bool,
) -> None:
    """Chart the control strips of a box, and compare its last two calibrations."""
    require_limits(limits)
    with open_book() as book:
        batch = book.papers.batch(name)
        strips = book.papers.readings(batch, Purpose.CONTROL)
        curves = book.papers.curves(batch)
    found = watched(batch, strips, curves, filter_, limits)
    charted, drift = found.chart, drift_lines(found.drift, show.when)
    if picture and charted:
        from controller.pictures.control_plot import control_plot
        from controller.pictures.paper_plot import require_ending

        require_ending(Path(picture), "--picture")
        control_plot(charted, Path(picture), title=batch.handle, limits=limits)
    if json_:
        show.as_json(
            {
                "drift": drift,
                "strips": [_as_built(one) for one in charted.strips] if charted else [],
                "advice": list(charted.advice) if charted else [],
            }
        )
        return
    if charted:
        show.lines(chart_lines(charted, show.when))
    if drift:
        print("last calibration against the one before:")
        show.lines(f"  {line}" for line in drift)
    if picture and charted:
        print(f"picture: {picture}")


def match(first: str, second: str, *, json_: bool) -> None:
    """Compare two boxes: for each filter of the first the nearest of the second."""
    with open_book() as book:
        one, other = book.papers.box(first), book.papers.box(second)
    condition, found = matched(one, other)
    show.note(condition)
    if json_:
        show.as_json(
            [
                {
                    "filter": each.filter,
                    "to_filter": each.to_filter,
                    "speed_stops": round(each.speed_stops, 3) + 0.0,
                    "highlight_stops": round(each.highlight_stops, 3) + 0.0,
                    "range_more": round(each.range_more, 1) + 0.0,
                    "white_more": round(each.white_more, 3) + 0.0,
                    "black_more": round(each.black_more, 3) + 0.0,
                }
                for each in found
            ]
        )
        return
    print(f"{one.batch.handle} to {other.batch.handle}, by the nearest range:")
    show.lines(f"  {each.tell()}" for each in found)
    print("next: dryside paper convert SCORE --from OLD --onto NEW, region by region")


def _as_built(one: StripAt) -> dict[str, object]:
    return {
        "mark": one.reading.mark,
        "state": one.state.value,
        # a rounded nothing has no minus
        **{figure.value: round(one.off[figure], 3) + 0.0 for figure in Figure},
    }
