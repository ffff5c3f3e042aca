"""``dryside strip``: a test strip, from what was typed to the picture of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from controller.asked import Asked, strip_asked
from controller.desk import Desk, Order
from controller.errors import BadInput, DrysideError
from controller.report import OnPaper, strip_result, strip_table
from drivers.places import data_folder, run_folder
from ui import show
from ui.attach import running_record
from ui.carry_out import carry_out
from ui.developed import draw_strip, require_writable
from ui.unit import configured, new_run, open_book, unit_for

if TYPE_CHECKING:
    from controller.book.book import Book


def demonstrate() -> None:
    """Make the demonstration strip, where nothing else was asked for."""
    if configured():
        show.note("a rig is configured; `dryside strip --help` tells how to make a strip on it")
        return
    show.note("no rig file yet: this runs on the simulator and makes a demonstration strip")
    make(Asked(), picture="strip.png")


def make(
    asked: Asked,
    *,
    rig: str | None = None,
    settings: Sequence[str] = (),
    picture: str | None = None,
    json_: bool = False,
    real_time: bool = False,
    by_hand: bool = False,
    screen: bool | None = None,
    show_plan: bool = False,
) -> None:
    """Make a strip as asked for, tell what came of it, and leave its pictures."""
    unit = unit_for(rig, settings)
    strip = strip_asked(asked, unit.rig)
    plan, spec = Desk(strip=strip).plan(Order.STRIP, unit.rig)
    if show_plan:
        show.lines([plan.title, *(f"  {line}" for line in plan.lines())])
        return
    target = Path(picture) if picture else None
    if target:
        require_writable(target)
    with open_book() as book:
        _tell_interrupted(book)
    run = new_run(unit, plan, spec)
    outcome = carry_out(unit, run, real_time=real_time, by_hand=by_hand, screen=screen)
    with open_book() as book:
        page = book.record(outcome.record_id)
        if page is None:
            raise BadInput("the book has no record of this strip", "book", "a book that works")
        # strips are counted only by those who have counted them in
        counted = page.sheets and book.strips_left() > 0
        left = book.use_strip(outcome.record_id) if counted else None
    sheet = outcome.sheets[-1] if outcome.sheets else None
    paper = {p.letter: OnPaper(p.delivered_s, p.density) for p in sheet.patches} if sheet else None
    result = strip_result(page, paper)
    target = (
        target or data_folder() / "pictures" / f"{result.mark or 'strip'}-{run.record_id[:8]}.png"
    )
    # the table first: a picture that fails must not cost what was learnt from a used sheet
    if json_:
        show.as_json(result)
    else:
        show.lines([f"{result.mark}: {result.title}, {result.fate}", *strip_table(result)])
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        draw_strip(strip, result, sheet, target)
    except (DrysideError, OSError) as error:
        show.note(f"there is no picture: {error}")
    if json_:
        return
    print(f"picture: {target}")
    if result.fate == "done":
        print("next: dryside pick C, or dryside pick C-D for half-way")
    _remind(left)


def _tell_interrupted(book: Book) -> None:
    at_work = running_record(run_folder())
    for found in book.interrupted():
        if found.record.record_id == at_work:
            continue
        show.note(
            f"{found.tell()}; `dryside book rest {found.mark or found.record.record_id[:8]}` "
            "gives the rest"
        )


def _remind(left: int | None) -> None:
    from controller.cutting import reminder

    if left is not None:
        show.note(reminder(left))
