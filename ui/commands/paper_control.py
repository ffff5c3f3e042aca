"""``dryside paper control`` and ``match``: what drifted, and which filter stands for which."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from controller.boxes.answering import one_measure
from controller.boxes.control import Chart, Figure, Limits, State, StripAt, chart
from controller.boxes.match import apart, nearest
from controller.boxes.model import PaperCurve, Purpose
from controller.errors import BadInput, Refused
from ui import show
from ui.unit import open_book

SIGNS = {State.GOOD: " ", State.WATCH: "?", State.ACT: "!"}


def control(
    name: str,
    filter_: str | None,
    limits: Limits,
    *,
    picture: str | None,
    json_: bool,
) -> None:
    """Chart the control strips of a box, and compare its last two calibrations."""
    if not 0 < limits.watch < limits.act:
        right = "two densities, the first the smaller: --watch 0.05 --act 0.10"
        raise BadInput(f"{limits.watch:g} and {limits.act:g} are no limits", "--watch", right)
    with open_book() as book:
        batch = book.papers.batch(name)
        strips = book.papers.readings(batch, Purpose.CONTROL)
        curves = book.papers.curves(batch)
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
        show.lines(chart_lines(charted))
    if drift:
        print("last calibration against the one before:")
        show.lines(f"  {line}" for line in drift)
    if picture and charted:
        print(f"picture: {picture}")


def match(first: str, second: str, *, json_: bool) -> None:
    """Compare two boxes: for each filter of the first the nearest of the second."""
    with open_book() as book:
        one, other = book.papers.box(first), book.papers.box(second)
    for box in (one, other):
        if not box.curves:
            raise Refused(
                f"{box.batch.handle} has no curve yet",
                (f"a calibration sheet: dryside paper sheet {box.batch.handle} --filter 2",),
            )
    if condition := one_measure(one, other):
        show.note(condition)
    found = [apart(curve, nearest(curve, other.curves)) for curve in one.curves.values()]
    if json_:
        show.as_json(
            [
                {
                    "filter": each.filter,
                    "to_filter": each.to_filter,
                    "speed_stops": round(each.speed_stops, 3),
                    "highlight_stops": round(each.highlight_stops, 3),
                    "range_more": round(each.range_more, 1),
                    "white_more": round(each.white_more, 3),
                    "black_more": round(each.black_more, 3),
                }
                for each in found
            ]
        )
        return
    print(f"{one.batch.handle} to {other.batch.handle}, by the nearest range:")
    show.lines(f"  {each.tell()}" for each in found)
    print("next: dryside paper convert SCORE --from OLD --onto NEW, region by region")


def drifted(curves: Sequence[PaperCurve], filter_: str | None) -> list[str]:
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
                told.append(f"{show.when(before.at)}: {apart(before, newest).tell()}")
                break
    return told


def chart_lines(charted: Chart) -> list[str]:
    """Tell a chart, a line for each strip: by how much each figure is off, ? watch and ! act."""
    names = charted.patches
    head = "  ".join(f"{figure.value:>9}" for figure in Figure)
    lines = [
        f"white is patch {names['white']}, the greys {names['light']} and {names['dark']}, black "
        f"{names['black']}; aim: the mean of the first {charted.references}",
        f"{'':16} {'':4} {head}",
    ]
    for one in charted.strips:
        cells = "  ".join(
            f"{round(one.off[figure], 2) + 0.0:+8.2f}{SIGNS[one.states[figure]]}"
            for figure in Figure
        )
        lines.append(f"{show.when(one.reading.at):16} {one.reading.mark:4} {cells}".rstrip())
    return [*lines, *charted.advice]


def _as_built(one: StripAt) -> dict[str, object]:
    return {
        "mark": one.reading.mark,
        "state": one.state.value,
        **{figure.value: round(one.off[figure], 3) for figure in Figure},
    }
