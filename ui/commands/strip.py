"""``dryside strip``: a test strip, from what was typed to the picture of it."""

from __future__ import annotations

from pathlib import Path

from controller.book_told.strip_report import OnPaper, strip_result, strip_table
from controller.desk.asked import Asked, strip_asked
from controller.desk.desk import Desk
from controller.desk.orders import Order
from controller.strips.strip import Strip
from ui import show
from ui.developed import draw_strip, require_writable
from ui.exposing import PLAINLY, Ways, expose, leave_picture, use_strip
from ui.unit import Unit, configured


def demonstrate() -> None:
    """Make the demonstration strip, where nothing else was asked for."""
    if configured():
        show.note("a rig is configured; `dryside strip --help` tells how to make a strip on it")
        return
    show.note("no rig file yet: this runs on the simulator and makes a demonstration strip")
    make(Asked(), picture="strip.png")


def make(
    asked: Asked,
    ways: Ways = PLAINLY,
    *,
    picture: str | None = None,
    json_: bool = False,
    show_plan: bool = False,
) -> None:
    """Make a strip as asked for, tell what came of it, and leave its pictures."""
    unit = ways.unit()
    make_strip(
        strip_asked(asked, unit.rig), unit, ways, picture=picture, json_=json_, show_plan=show_plan
    )


def make_strip(
    strip: Strip,
    unit: Unit,
    ways: Ways,
    *,
    picture: str | None = None,
    json_: bool = False,
    show_plan: bool = False,
    into: str = "",
) -> None:
    """Make a strip, tell what came of it, and leave its pictures."""
    plan, spec = Desk(strip=strip).plan(Order.STRIP, unit.rig)
    if show_plan:
        show.plan(plan, json_=json_)
        return
    if picture:
        require_writable(Path(picture))
    made = expose(unit, plan, spec, ways)
    sheet = made.outcome.sheets[-1] if made.outcome.sheets else None
    paper = {p.letter: OnPaper(p.delivered_s, p.density) for p in sheet.patches} if sheet else None
    result = strip_result(made.page, paper)
    # the table first: a picture that fails must not cost what was learnt from a used sheet
    if json_:
        show.as_json(result)
    else:
        show.lines([f"{result.mark}: {result.title}, {result.fate}", *strip_table(result)])

    def draw(target: Path) -> None:
        draw_strip(strip, result, sheet, target)

    leave_picture(draw, picture, result.mark or "strip", result.record_id, tell=not json_)
    use_strip(made.page)
    if result.fate == "done" and not json_:
        where = f" --into {into}" if into else ""
        print(f"next: dryside pick C{where}, or dryside pick C-D{where} for half-way")
