"""``dryside strip``: a test strip, from what was typed to the picture of it."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from controller.cutting import Cutting
from controller.errors import BadInput
from controller.report import OnPaper, StripResult, strip_result, strip_table
from controller.rig.lights import back_afterwards, off_while_exposing
from controller.stops import format_time, parse_step, parse_time
from controller.strip import Strip, patches_of, plan_strip
from drivers.places import data_folder
from ui import show
from ui.carry_out import carry_out
from ui.unit import Unit, configured, new_run, open_book, unit_for

if TYPE_CHECKING:
    from controller.pictures import PatchLabel
    from sim.sheet import DevelopedSheet


@dataclass(frozen=True)
class Asked:
    """What was typed, as it was typed."""

    base: str = "8"
    step: str = "1/3"
    patches: str = "5"
    mode: str = "card"
    side: str = "left"
    advance: str | None = None
    place: str = ""
    filter: str = ""
    aperture: str = ""
    size: str = ""
    safelights: str = "as-they-are"


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
    strip = _strip(asked, unit)
    plan = plan_strip(
        strip,
        unit.rig.calibration(),
        unit.rig.limits(),
        lead_in_s=unit.rig.foot.lead_in_s,
        lights_off=off_while_exposing(unit.rig, safelights_off=strip.safelights == "off"),
        lights_back=back_afterwards(unit.rig, safelights_off=strip.safelights == "off"),
    )
    if show_plan:
        show.lines([plan.title, *(f"  {line}" for line in plan.lines())])
        return
    target = Path(picture) if picture else None
    if target:
        _require_writable(target)
    with open_book() as book:
        _tell_interrupted(book)
    run = new_run(unit, plan, strip.model_dump_json())
    live = not unit.imagined or real_time or by_hand
    on_screen = live and sys.stdout.isatty() if screen is None else screen and live
    outcome = carry_out(unit, run, real_time=real_time, by_hand=by_hand, screen=on_screen)
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
    target.parent.mkdir(parents=True, exist_ok=True)
    _draw(strip, result, sheet, target)
    if json_:
        show.as_json(result)
        return
    show.lines([f"{result.mark}: {result.title}, {result.fate}", *strip_table(result)])
    print(f"picture: {target}")
    if result.fate == "done":
        print("next: dryside pick C, or dryside pick C-D for half-way")
    _remind(left)


def _strip(asked: Asked, unit: Unit) -> Strip:
    """Turn what was typed into a strip. Raises BadInput naming the option."""
    patches = _whole(asked.patches, "--patches", 2, 26)
    for value, option, known in (
        (asked.mode, "--mode", ("card", "window", "same-spot")),
        (asked.side, "--side", ("left", "right", "top", "bottom")),
        (asked.safelights, "--safelights", ("as-they-are", "off")),
    ):
        if value not in known:
            raise BadInput(f"{value!r} is not known", option, " or ".join(known))
    cut = unit.rig.paper
    piece = Cutting(cut.sheet_width_mm, cut.sheet_height_mm, cut.strips_per_sheet).strip_mm
    width_mm, height_mm = parse_size(asked.size, "--size") if asked.size else piece
    advance_s = parse_time(asked.advance, "--advance") if asked.advance else None
    if advance_s is not None and advance_s < 2:
        raise BadInput(f"{asked.advance!r} is too soon for a hand", "--advance", "2s or more")
    base_s = parse_time(asked.base, "--base")
    if base_s > 3600:
        raise BadInput(f"{asked.base!r} is more than an hour", "--base", "a time such as 8 or 1m30")
    fields: dict[str, Any] = {
        "base_s": base_s,
        "step": parse_step(asked.step, "--step"),
        "patches": patches,
        "way": asked.mode,
        "side": asked.side,
        "advance_after_s": advance_s,
        "safelights": asked.safelights,
        "aperture": asked.aperture,
        "filter": asked.filter,
        "place": asked.place,
        "width_mm": width_mm,
        "height_mm": height_mm,
    }
    return Strip(**fields)


def _whole(text: str, option: str, least: int, most: int) -> int:
    right = f"a whole number from {least} to {most}"
    if not re.fullmatch(r"[0-9]{1,6}", text.strip()):
        raise BadInput(f"{text!r} is not one", option, right)
    number = int(text)
    if not least <= number <= most:
        raise BadInput(f"{number} is out of range", option, right)
    return number


def parse_size(text: str, option: str) -> tuple[float, float]:
    """Read a size in mm such as ``203x25``. Raises BadInput."""
    found = re.fullmatch(r"\s*([0-9.]{1,7})\s*[x×*]\s*([0-9.]{1,7})\s*(?:mm)?\s*", text)  # noqa: RUF001
    try:
        if not found:
            raise ValueError
        width_mm, height_mm = float(found[1]), float(found[2])
        if not (5 <= width_mm <= 2000 and 5 <= height_mm <= 2000):
            raise ValueError
    except ValueError:
        right = "width x height in mm, such as 203x25"
        raise BadInput(f"{text!r} is not a size", option, right) from None
    return width_mm, height_mm


def _require_writable(path: Path) -> None:
    """Refuse a place for the picture before any paper is used."""
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
    for found in book.interrupted():
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
