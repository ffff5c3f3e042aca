"""``dryside strip``: a test strip, from what was typed to the picture of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from controller.asked import Asked, strip_asked
from controller.desk import Desk, Order
from controller.errors import BadInput, DrysideError
from controller.report import OnPaper, StripResult, strip_result, strip_table
from controller.stops import format_time
from controller.strip import Strip, patches_of
from drivers.places import data_folder, run_folder
from ui import show
from ui.attach import running_record
from ui.carry_out import carry_out
from ui.unit import configured, new_run, open_book, unit_for

if TYPE_CHECKING:
    from controller.pictures import PatchLabel
    from sim.sheet import DevelopedSheet


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
        _require_writable(target)
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
        _draw(strip, result, sheet, target)
    except (DrysideError, OSError) as error:
        show.note(f"there is no picture: {error}")
    if json_:
        return
    print(f"picture: {target}")
    if result.fate == "done":
        print("next: dryside pick C, or dryside pick C-D for half-way")
    _remind(left)


def _require_writable(path: Path) -> None:
    """Refuse a place for the picture before any paper is used."""
    if path.suffix.lower() != ".png":
        raise BadInput(f"{path} is not the name of a PNG", "--picture", "such as strip.png")
    folder = path.parent if str(path.parent) else Path()
    right = "a PNG file in a folder that can be written to"
    if not folder.is_dir():
        raise BadInput(f"there is no folder {folder}", "--picture", right)
    try:
        existed = path.exists()
        with path.open("ab"):
            pass
        if not existed:
            path.unlink()
    except OSError as error:
        raise BadInput(f"{path} cannot be written ({error.strerror})", "--picture", right) from None


def labels_of(strip: Strip, result: StripResult) -> list[PatchLabel]:
    """Say where each patch lies on the paper, for a picture."""
    from controller.pictures import PatchLabel

    along = strip.width_mm if strip.side in ("left", "right") else strip.height_mm
    each = along / strip.patches
    labels = []
    for index, (patch, made) in enumerate(zip(patches_of(strip), result.patches, strict=True)):
        place = index if strip.side in ("left", "top") else strip.patches - 1 - index
        labels.append(
            PatchLabel(
                patch.letter,
                patch.dose_s,
                patch.stops,
                place * each,
                (place + 1) * each,
                made.density,
            )
        )
    return labels


def _draw(strip: Strip, result: StripResult, sheet: DevelopedSheet | None, path: Path) -> None:
    from controller.pictures import Axis, Caption, developed, strip_map

    axis = Axis.HORIZONTAL if strip.side in ("left", "right") else Axis.VERTICAL
    labels = labels_of(strip, result)
    note = ", ".join(filter(None, [strip.place, strip.filter and f"filter {strip.filter}"]))
    caption = Caption(f"{format_time(strip.base_s)} by {strip.step}", result.mark, strip.way, note)
    if sheet is None:
        strip_map(
            labels,
            path,
            width_mm=strip.width_mm,
            height_mm=strip.height_mm,
            axis=axis,
            caption=caption,
        )
        return
    developed(
        sheet.density,
        labels,
        path,
        mm_per_cell=(sheet.cell_width_mm, sheet.cell_height_mm),
        axis=axis,
        caption=caption,
    )


def _tell_interrupted(book: Any) -> None:
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


def when(at: datetime) -> str:
    """Write a wall-clock time for a person, in local time."""
    return at.astimezone().strftime("%Y-%m-%d %H:%M")
