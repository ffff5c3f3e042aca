"""``dryside room test leak|evenness|dark|blades|...``: what is wrong with my print?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from controller.errors import BadInput
from controller.rig.lights import around
from controller.room.asking import CAUTION, lights_asked, switched_of
from controller.room.change import flash_of, with_test, with_verdict
from controller.room.evenness import SPOTS, uneven, uneven_lines
from controller.room.model import Room
from controller.room.pale_line import SIDES, PaleLine, pale_lines
from controller.room.results import predict
from controller.room.ruled_out import WORDS, require_in_order
from controller.room.steps import JUST_SEEN
from controller.room.trial_sheets import BladesSheet, DarkStrips, EvennessSheet, LeakSheet
from controller.room.trials import (
    BLADES,
    KINDS,
    LIGHT_GREY,
    SPECS,
    TrialSheet,
    leak_result,
    plan_trial,
    read_trial,
    trial_of,
    verdict_lines,
)
from controller.room.wrong import TESTS
from controller.stops import parse_time
from ui import show
from ui.commands.room import _today, local_now
from ui.commands.room_pictures import draw_sheet, require_picture
from ui.exposing import Exposed, Ways, expose, leave_picture
from ui.rooms import keep_room, open_room
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.entries import Page
    from sim.sheet import DevelopedSheet

IN_THE_DARK = ("leak", "dark", BLADES, "evenness", "agitation")
__all__ = ["KINDS", "make", "read_if_trial"]


def make(
    word: str,
    ways: Ways,
    *,
    lights: str,
    time: str,
    flash: str,
    filter_: str,
    paper: str,
    keep: bool,
    anyway: bool,
    json_: bool,
    show_plan: bool,
    picture: str | None,
) -> None:
    """Make the sheet of a trial, or guide it; refused where a likelier cause comes first."""
    require_picture(picture)
    unit = ways.unit()
    room = open_room(unit.rig)
    if word in WORDS and not anyway:
        require_in_order(WORDS[word], room, today=_today())
    fields: dict[str, Any] = {"paper": paper or room.paper, "flash_filter": filter_}
    known = flash_of(room, paper) if word in LIGHT_GREY else None
    if flash:
        fields["flash_s"] = parse_time(flash, "--flash")
    elif known is not None:
        fields |= {"flash_s": known.exposure_s, "flash_filter": known.filter}
    if word == BLADES:
        fields["lights"] = lights_asked(room, lights)
    test = trial_of(word, fields, parse_time(time, "--time") if time else None)
    dark = around(unit.rig, safelights_off=True)
    rig = unit.rig
    own = switched_of(rig, room)
    plan = plan_trial(test, rig.calibration(), rig.limits(), dark, own)
    if show_plan:
        show.plan(plan, json_=json_)
        return
    _caution(word)
    made = expose(unit, plan, test.model_dump_json(), ways)
    _picture(test, made, picture, tell=not json_)
    measured = _measured(test, made)
    found = _found(test, measured)
    if keep and found is not None and word in WORDS:
        _keep(room, word, test, made.mark, found=found, read="densities")
    record = made.page.record
    if json_:
        show.as_json(
            {
                "record_id": record.record_id,
                "mark": made.mark,
                "fate": record.fate.value if record.fate else "interrupted",
                "measured": measured,
                "found": found,
                "kept": bool(keep and found is not None and word in WORDS),
            }
        )
        return
    key = made.mark or record.record_id[:8]
    print(f"{key}: {plan.title}, {record.fate.value if record.fate else 'interrupted'}")
    show.lines(_told(test, measured))
    if keep and found is not None and word in WORDS:
        show.lines(verdict_lines(word, found=found))
    else:
        print(_next(word, key))


def read_if_trial(
    key: str,
    ways: Ways,
    *,
    changed: str,
    densities: str,
    scan: str,
    just_seen: float,
    iso_range: float | None,
    json_: bool,
) -> bool:
    """Say what a trial showed; False where the sheet is no trial. Raises BadInput."""
    page = _page(key)
    if page is None:
        return False
    word, test = read_trial(page.record.kind, page.record.spec)
    lines: list[str] = []
    if scan:
        found, lines = _by_scan(test, scan, just_seen)
    elif isinstance(test, EvennessSheet) and densities:
        figures = [float(one) for one in _figures(densities)]
        kinds = uneven(figures[: len(SPOTS)], figures[len(SPOTS) :])
        found, lines = bool(kinds), uneven_lines(kinds, iso_range)
    elif isinstance(test, BladesSheet | EvennessSheet):
        found, lines = _by_eye(word, changed)
    elif changed in ("yes", "no"):
        found = changed == "yes"
    else:
        raise BadInput(f"{changed!r} is no answer", "--changed", "yes or no")
    if word in WORDS:
        room = open_room(ways.unit().rig)
        lines += _keep(room, word, test, key, found=found, read="scan" if scan else "eye")
        lines += verdict_lines(word, found=found)
    if json_:
        show.as_json({"test": word, "found": found, "lines": lines})
    else:
        show.lines(lines)
    return True


# --- inside -----------------------------------------------------------------------------------


def _page(key: str) -> Page | None:
    with open_book() as book:
        newest = book.records(1)
        page = book.record(key) if key else (book.record(newest[0].record_id) if newest else None)
    return page if page is not None and page.record.kind in SPECS else None


def _keep(
    room: Room, word: str, test: TrialSheet, mark: str, *, found: bool, read: str
) -> list[str]:
    """Write a verdict into the room, and of a leak what it is to paper; gives what to say."""
    room = with_verdict(room, word, local_now(), found=found, note=mark)
    lines = []
    if isinstance(test, LeakSheet):
        result = leak_result(test, room, local_now(), changed=found, read=read)
        if result is not None:
            room = with_test(room, result)
            lines = list(predict(room, result.lights, at=result.at, today=_today()).lines)
        elif found:
            lines = ["so that it is counted: dryside room light add leak --kind enlarger-leak"]
    keep_room(room)
    return lines


def _caution(word: str) -> None:
    if word in IN_THE_DARK:
        show.note(CAUTION)
    if word in WORDS:
        for one in TESTS[WORDS[word]].cautions:
            show.note(f"caution: {one}")


def _measured(test: TrialSheet, made: Exposed) -> dict[str, Any]:
    """Measure simulated paper; nothing of real paper is known."""
    sheets = made.outcome.sheets
    if not sheets:
        return {}
    match test:
        case LeakSheet():
            covered, open_ = (patch.density for patch in sheets[-1].patches[:2])
            return {"covered": covered, "open": open_}
        case EvennessSheet() if len(sheets) > 1:
            return {"first": _spots(sheets[-2]), "second": _spots(sheets[-1])}
        case DarkStrips():
            return {"developed": float(sheets[-1].density.mean())}
        case BladesSheet():
            return {"lines": [_line_table(one) for one in _pale(sheets[-1])]}
    return {}


def _found(test: TrialSheet, measured: dict[str, Any]) -> bool | None:
    match test:
        case LeakSheet() if measured:
            return bool(abs(measured["open"] - measured["covered"]) >= JUST_SEEN)
        case EvennessSheet() if measured:
            return bool(uneven(measured["first"], measured["second"]))
        case BladesSheet() if measured:
            return bool(measured["lines"])
    return None


def _told(test: TrialSheet, measured: dict[str, Any]) -> list[str]:
    if isinstance(test, EvennessSheet) and measured:
        return uneven_lines(uneven(measured["first"], measured["second"]))
    if isinstance(test, BladesSheet) and measured:
        lines = [one["line"] for one in measured["lines"]]
        return lines or ["no pale line along any side"]
    return [f"  {name:16} density {value:.2f}" for name, value in measured.items()]


def _pale(sheet: DevelopedSheet) -> list[PaleLine]:
    rows, columns = sheet.density.shape
    middle = slice(rows * 2 // 5, rows * 3 // 5), slice(columns * 2 // 5, columns * 3 // 5)
    return pale_lines(
        [float(one) for one in sheet.density[middle[0]].mean(axis=0)],
        [float(one) for one in sheet.density[:, middle[1]].mean(axis=1)],
        border_mm=_border_mm(sheet),
        cell_mm=(sheet.cell_width_mm, sheet.cell_height_mm),
    )


def _border_mm(sheet: DevelopedSheet) -> float:
    """Tell from the lamp's light how far the blades covered the sheet."""
    light = sum(one for one in sheet.delivered_s.values())
    row = light[light.shape[0] // 2]  # type: ignore[index, union-attr]
    open_ = [n for n, one in enumerate(row) if one > 0.5 * row.max()]
    return open_[0] * sheet.cell_width_mm if open_ else 0.0


def _line_table(one: PaleLine) -> dict[str, object]:
    return {
        "side": one.side,
        "width_mm": one.width_mm,
        "paler_by": one.paler_by,
        "line": one.line,
    }


def _spots(sheet: DevelopedSheet) -> list[float]:
    """Give the densities at the corners and in the centre, a tenth of the sheet from its edges."""
    rows, columns = sheet.density.shape
    half = max(1, round(5.0 / sheet.cell_width_mm))
    places = [(0.15, 0.15), (0.15, 0.85), (0.85, 0.15), (0.85, 0.85), (0.5, 0.5)]
    found = []
    for down, across in places:
        y, x = round(rows * down), round(columns * across)
        found.append(float(sheet.density[y - half : y + half, x - half : x + half].mean()))
    return found


def _picture(test: TrialSheet, made: Exposed, picture: str | None, *, tell: bool) -> None:
    sheets = made.outcome.sheets
    record = made.page.record

    def draw(path: Path) -> None:
        from controller.pictures.prints import dry_down_picture, print_picture
        from controller.pictures.strip_layout import Caption

        lines = tuple(_told(test, _measured(test, made)))
        caption = Caption(record.title, made.mark, lines=lines)
        match test:
            case LeakSheet():
                draw_sheet(test, path, mark=made.mark, sheet=sheets[-1] if sheets else None)
            case EvennessSheet():
                cell = (sheets[-1].cell_width_mm, sheets[-1].cell_height_mm)
                pieces = list(zip(("first", "turned"), (s.density for s in sheets), strict=False))
                dry_down_picture(pieces, path, mm_per_cell=cell, caption=caption, px_per_mm=4.0)
            case _:
                sheet = sheets[-1]
                cell = (sheet.cell_width_mm, sheet.cell_height_mm)
                print_picture(sheet.density, path, mm_per_cell=cell, caption=caption)

    if isinstance(test, LeakSheet) or (sheets and isinstance(test, BladesSheet | EvennessSheet)):
        leave_picture(draw, picture, made.mark, record.record_id, tell=tell)


def _by_scan(test: TrialSheet, scan: str, just_seen: float) -> tuple[bool, list[str]]:
    if not isinstance(test, LeakSheet):
        right = "a look at it, and --changed; or --densities of an evenness sheet"
        raise BadInput("this sheet is not read from a scan", "--scan", right)
    from controller.room.scanned import scan_lines
    from ui.commands.room_scan import differences_of

    found = differences_of(test, scan, just_seen=just_seen)
    return any(one.changed for one in found), scan_lines(found)


def _by_eye(word: str, changed: str) -> tuple[bool, list[str]]:
    places = SIDES if word == BLADES else SPOTS
    told = [name.strip() for name in changed.split(",") if name.strip() not in ("", "none", "no")]
    for name in told:
        if name not in places and name != "yes":
            right = f"none, or some of {', '.join(places)}"
            raise BadInput(f"there is no {name!r}", "--changed", right)
    if word == BLADES:
        return bool(told), [_of_side(side) for side in told if side != "yes"] or [
            "no pale line: these lights do not reach in beneath the blades' height"
            if not told
            else "a pale line: dryside room test which finds the light"
        ]
    return bool(told), [f"{name} differs" for name in told if name != "yes"]


def _of_side(side: str) -> str:
    return (
        f"light of the room comes in from the {side}: from 45 degrees where the line is as wide as "
        "the blade is high, lower where it is wider; dryside room test which names it"
    )


def _figures(text: str) -> list[str]:
    parts = [part.strip() for part in text.split(",")]
    for part in parts:
        try:
            float(part)
        except ValueError:
            right = f"five or ten figures with commas: {', '.join(SPOTS)}"
            raise BadInput(f"{part!r} is no density", "--densities", right) from None
    return parts


def _next(word: str, mark: str) -> str:
    if word == BLADES:
        return "next: dryside room test which, which names the light; then the same with it out"
    if word == "evenness":
        return (
            f"next: dryside room read {mark} --densities {','.join(['0.60'] * 5)} "
            f"({', '.join(SPOTS)} as it lay on the easel; then five of the second), or "
            "--changed none"
        )
    return f"next: dryside room read {mark} --changed yes (or no)"
