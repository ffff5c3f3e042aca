"""``dryside score run``, ``trial``, ``strip``, ``add`` and ``again``: paper exposed by a score."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from controller.book.entries import Page
from controller.desk.asked import Asked, strip_asked
from controller.errors import BadInput
from controller.events import Fate
from controller.exposing.told import Run
from controller.fields import whole_asked
from controller.plan import Plan
from controller.rig.lights import around
from controller.score.again import OF_A_SCORE, score_of_record, with_extras
from controller.score.extra import Extra, as_edit, place_of, plan_extra
from controller.score.file import to_json
from controller.score.found import local_strip
from controller.score.model import Score
from controller.score.plan import MOST_SHEETS, plan_score, plan_trial
from controller.score.report import ScoreResult, good_mark, result_table, score_result
from controller.stops import parse_step, parse_time
from ui import show
from ui.carry_out import carry_out
from ui.commands.strip import make_strip
from ui.converted import converted_by_book, tones_of
from ui.developed import require_writable
from ui.exposing import Exposed, Ways, expose, leave_picture, piece_of, use_strip
from ui.scores import keep, open_score, path_of, score_called
from ui.since import all_since
from ui.unit import Unit, open_book

if TYPE_CHECKING:
    from controller.score.convert import Wanted
    from sim.sheet import DevelopedSheet


def run(
    name: str,
    ways: Ways,
    *,
    sheets: str,
    alternate: bool,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Make a print, or several, from a score."""
    score = score_called(name)
    run_score(
        score,
        ways,
        sheets=whole_asked(sheets, "--sheets", 1, MOST_SHEETS),
        alternate=alternate,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


def run_score(
    score: Score,
    ways: Ways,
    *,
    sheets: int = 1,
    alternate: bool = False,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Make prints from a score, tell what came of the last, and leave its picture."""
    unit = ways.unit()
    rig = unit.rig
    plan = plan_score(
        score, rig.calibration(), rig.limits(), around(rig), sheets=sheets, alternate=alternate
    )
    _make(score, plan, unit, ways, picture=picture, json_=json_, show_plan=show_plan)


def trial(
    name: str,
    region: str,
    ways: Ways,
    *,
    size: str,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Expose a trial piece, laid on one region of the picture."""
    _, score = open_score(name)
    unit = ways.unit()
    rig = unit.rig
    plan = plan_trial(
        score,
        region,
        rig.calibration(),
        rig.limits(),
        around(rig),
        size_mm=piece_of(unit, size),
    )
    made = _make(
        score, plan, unit, ways, picture=picture, json_=json_, show_plan=show_plan, place=region
    )
    if made:
        use_strip(made.page)


def strip(
    name: str,
    kind: str,
    region: str,
    within: str,
    ways: Ways,
    *,
    step: str,
    patches: str,
    mode: str,
    size: str,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Make a burn strip or a dodge strip: one region, one pass, over all that it else gets."""
    _, score = open_score(name)
    if kind not in ("burn", "dodge"):
        raise BadInput(f"{kind!r} is not known", "score strip", "burn or dodge")
    unit = ways.unit()
    # the way is judged where every strip's is
    way = strip_asked(Asked(mode=mode), unit.rig).way
    wanted = local_strip(
        score,
        "burn" if kind == "burn" else "dodge",
        region,
        within or score.passes[-1].label,
        parse_step(step, "--step"),
        whole_asked(patches, "--patches", 2, 26),
        way=way,
        size_mm=piece_of(unit, size),
    )
    make_strip(wanted, unit, ways, picture=picture, json_=json_, show_plan=show_plan, into=name)


def add(
    dose: str,
    filter_: str,
    region: str,
    mark: str,
    note: str,
    ways: Ways,
    *,
    json_: bool,
    show_plan: bool = False,
) -> None:
    """Give the sheet that still lies there a deliberate extra, and write it to its record."""
    with open_book() as book:
        if not mark:
            newest = [r for r in book.records(20) if r.marks and r.kind in OF_A_SCORE]
            if not newest:
                raise BadInput("the book has no print yet", "score add", "dryside score run first")
            mark = newest[0].record_id
        page = book.record(mark)
    if page is None or page.record.kind not in OF_A_SCORE:
        raise BadInput(f"{mark} is no print of a score", "--mark", "the mark of a print")
    mark = _mark_of(page, mark)
    _require_lies_there(page, mark)
    score = score_of_record(page.record)
    unit = ways.unit()
    rig = unit.rig
    extra = Extra(parse_time(dose, "--dose"), filter_, region, note)
    number = max((exposure.number for exposure in page.exposures), default=0)
    plan = plan_extra(
        score,
        extra,
        number,
        rig.calibration(),
        rig.limits(),
        around(rig),
        place=place_of(Plan.from_json(page.record.plan)),
    )
    if show_plan:
        show.plan(plan, mark, json_=json_)
        return
    record_id, spec = page.record.record_id, page.record.spec
    at_work = Run(record_id, plan, spec, rig.name, mark, number, extra.to_json())
    outcome = carry_out(
        unit, at_work, real_time=ways.real_time, by_hand=ways.by_hand, screen=ways.screen
    )
    with open_book() as book:
        after = book.record(record_id)
    assert after is not None
    if json_:
        sheet = next((s for s in outcome.sheets if s.mark == mark), None)
        show.as_json(_result(score, after, sheet, mark=mark))
        return
    fate = after.runs[-1].fate
    came_out = "" if fate is Fate.DONE else f", {fate.value if fate else 'interrupted'}"
    print(f"{mark}: {plan.title}{came_out}, written to its record")
    print(f"in the score it is not; this puts it there: {as_edit(extra, score)}")


def again(
    key: str,
    ways: Ways,
    wanted: Wanted | None,
    *,
    to: str,
    sheets: str,
    picture: str | None,
    json_: bool,
    show_plan: bool,
    extras: bool = True,
) -> None:
    """Run a print of the book again, as it was or converted; what has changed is said first.

    With ``extras`` what was added to the sheet while it lay there is in it, as it really was.
    """
    unit = ways.unit()
    with open_book() as book:
        page = book.record(key)
        if page is None:
            right = "a mark that book list shows"
            raise BadInput(f"there is no record {key!r}", "score again", right)
        tones = tones_of(book, key) if page.record.kind == "print" else {}
        score = score_of_record(page.record)
        notes = all_since(book, page, score, unit.rig, key)
    was, added = with_extras(score, page, _mark_of(page, key))
    if extras:
        score = was
    left_out = "with its" if extras else "without its"
    notes += [f"{left_out} {line}" for line in added]
    if wanted is not None:
        converted = converted_by_book(score, wanted, tones=tones)
        score = converted.score
        notes += converted.lines
    for line in notes:
        show.note(line)
    if to:
        path = path_of(to)
        if path.exists():
            raise BadInput("there is a score already", str(path), "another name")
        keep(score, path)
        show.note(f"score: {path}")
    run_score(
        score,
        ways,
        sheets=whole_asked(sheets, "--sheets", 1, MOST_SHEETS),
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


def leave_others(score: Score, made: Exposed, *, last: bool = False, tell: bool) -> None:
    """Leave pictures of a run's other good sheets too, where the simulator knows them."""
    good = {one.mark for one in made.page.sheets if one.fate is Fate.DONE}
    sheets = made.outcome.sheets if last else made.outcome.sheets[:-1]
    for sheet in sheets:
        if sheet.mark in good:
            leave_print(score, made.page, sheet, None, tell=tell)


def leave_print(
    score: Score,
    page: Page,
    sheet: DevelopedSheet,
    picture: str | None,
    *,
    tell: bool,
    place: str = "",
) -> None:
    """Leave the picture of one sheet."""
    result = _result(score, page, sheet, place, mark=sheet.mark)

    def draw(target: Path) -> None:
        _draw(score, result, sheet, target)

    leave_picture(draw, picture, result.mark, result.record_id, tell=tell)


# --- inside -----------------------------------------------------------------------------------


def _make(
    score: Score,
    plan: Plan,
    unit: Unit,
    ways: Ways,
    *,
    picture: str | None,
    json_: bool,
    show_plan: bool,
    place: str = "",
) -> Exposed | None:
    if show_plan:
        show.plan(plan, json_=json_)
        return None
    if picture:
        require_writable(Path(picture))
    made = expose(unit, plan, to_json(score), ways)
    sheet = made.outcome.sheets[-1] if made.outcome.sheets else None
    result = _result(score, made.page, sheet, place)
    if json_:
        show.as_json(result)
    else:
        head = f"{', '.join(result.marks) or 'no sheet'}: {result.title}, {result.fate}"
        show.lines([head, *result_table(result)])
    if sheet is not None:
        leave_print(score, made.page, sheet, picture, tell=not json_, place=place)
        leave_others(score, made, tell=not json_)
    elif picture:
        show.note("no picture: only the simulator knows what the paper became")
    return made


def _mark_of(page: Page, key: str) -> str:
    """Give the sheet of a record that is meant: the one marked so, else the last good one."""
    return key.upper() if key.upper() in page.record.marks else good_mark(page)


def _require_lies_there(page: Page, mark: str) -> None:
    """Refuse an extra on a sheet that is spoiled, or that is still owed something."""
    if page.record.fate is None or page.record.extra_open:
        right = f"`dryside book rest {mark}` first"
        raise BadInput(f"{mark} has not got all that it is to get", "score add", right)
    if any(sheet.mark == mark and sheet.fate is Fate.SPOILED for sheet in page.sheets):
        raise BadInput(f"{mark} is spoiled", "--mark", "the mark of a good sheet")


def _result(
    score: Score, page: Page, sheet: DevelopedSheet | None, place: str = "", mark: str = ""
) -> ScoreResult:
    from ui.read_sheet import on_regions

    paper = on_regions(score, sheet) if sheet else None
    return score_result(page, score, paper, place=place, mark=mark)


def _draw(score: Score, result: ScoreResult, sheet: DevelopedSheet, target: Path) -> None:
    from controller.pictures.prints import print_picture
    from controller.pictures.strip_layout import Caption

    passes = tuple(
        f"{one.label}, filter {one.filter or 'none'}: {one.planned_dose_s:.1f} s"
        for one in result.passes[:MOST_NAMED]
    )
    caption = Caption(score.title or score.negative or "print", result.mark, lines=passes)
    size = (sheet.cell_width_mm, sheet.cell_height_mm)
    print_picture(sheet.density, target, mm_per_cell=size, caption=caption)


MOST_NAMED = 8
