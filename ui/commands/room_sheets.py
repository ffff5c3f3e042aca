"""``dryside room test`` and ``read``: sheets that prove a room, and what they say."""

from __future__ import annotations

from collections.abc import Sequence

from controller.book.entries import Page
from controller.errors import BadInput
from controller.room.asking import CAUTION, AskedTest, plan_sheet, sheet_asked, test_called
from controller.room.by_ear import SheetRead
from controller.room.change import with_flash, with_test
from controller.room.fog_sheets import (
    COIN_PROVES,
    REFERENCE,
    CoinCheck,
    FlashStrip,
    FogTest,
    WhichLight,
)
from controller.room.limits import Reading
from controller.room.model import Result, Room
from controller.room.reading import (
    SHEETS,
    another_time_s,
    columns_against,
    fog_by_density,
    fog_by_eye,
    fog_result,
    guilty_column,
    sheet_of,
    single_result,
    step_asked,
    which_results,
)
from controller.room.results import predict
from controller.room.steps import GREY_LEAST, GREY_MOST, JUST_SEEN
from controller.room.trials import KINDS as TRIALS
from controller.stops import format_time
from controller.strips.strip import LETTERS
from ui import show
from ui.commands.room import local_now
from ui.commands.room_pictures import leave_layout, leave_sheet, require_picture
from ui.exposing import Exposed, Ways, expose
from ui.rooms import keep_room, open_room
from ui.unit import open_book

KINDS = ("flash", "fog", "which", "coin", "cycle")


def make(
    kind: str,
    ways: Ways,
    *,
    at: str,
    lights: str,
    steps: str,
    time: str,
    flash: str,
    filter_: str,
    paper: str,
    keep: bool,
    json_: bool,
    show_plan: bool,
    picture: str | None = None,
) -> None:
    """Make a sheet that proves the room, or one light of it."""
    require_picture(picture)
    if kind not in KINDS:
        raise BadInput(f"{kind!r} is not known", "room test", " or ".join((*KINDS, *TRIALS)))
    unit = ways.unit()
    room = open_room(unit.rig)
    asked = AskedTest(at, lights, steps, time, flash, filter_, "", paper)
    sheet = sheet_asked(test_called(kind), asked, room)
    plan, spec = plan_sheet(sheet, unit.rig, room), sheet.model_dump_json()
    if show_plan:
        show.plan(plan, json_=json_)
        leave_layout(plan.kind, spec, picture, tell=not json_)
        return
    show.note(CAUTION)
    made = expose(unit, plan, spec, ways)
    leave_sheet(made, picture, tell=not json_)
    if isinstance(sheet, FlashStrip):
        _tell_flash(made, sheet, room, keep=keep, json_=json_)
        return
    densities = _densities(made)
    if densities and keep:
        results = _by_density(made, densities)
        room = keep_results(room, results)
    if json_:
        show.as_json(
            {
                "record_id": made.page.record.record_id,
                "mark": made.mark,
                "fate": made.page.record.fate.value if made.page.record.fate else "interrupted",
                "densities": densities,
                "kept": keep and bool(densities),
            }
        )
        return
    show.lines(_told(made, densities))
    if keep and densities:
        tell_known(room, results)
    else:
        print(_next(kind, made.mark))


def read(
    key: str,
    ways: Ways,
    *,
    before: str,
    after: str,
    changed: str,
    densities: str,
    patch: str,
    json_: bool,
) -> None:
    """Say what a sheet showed; the room keeps it."""
    page = sheet_page(key)
    test = sheet_of(page.record.kind, page.record.spec)
    room = open_room(ways.unit().rig)
    match test:
        case FogTest() if densities:
            values = dict(zip(test.names(), _figures(densities), strict=False))
            readings = fog_by_density(test, values)
            results = [fog_result(test, test.lights, *readings, local_now(), read="densities")]
        case FogTest():
            steps = step_asked(before, "--before"), step_asked(after, "--after")
            results = [fog_result(test, test.lights, *fog_by_eye(test, *steps), local_now())]
        case WhichLight():
            told = {name.strip() for name in changed.split(",") if name.strip()}
            columns = [name for name in test.names() if name != REFERENCE]
            for name in told - set(columns) - {"none"}:
                raise BadInput(f"there is no column {name!r}", "--changed", ", ".join(columns))
            seen = {name: name in told for name in columns}
            results = which_results(test, seen, {one: one for one in test.lights}, local_now())
        case FlashStrip():
            keep_flash(room, test, patch, json_=json_)
            return
        case _:
            if changed not in ("yes", "no"):
                raise BadInput(f"{changed!r} is no answer", "--changed", "yes or no")
            results = [single_result(test, test.lights, local_now(), changed=changed == "yes")]
    room = keep_results(room, results)
    if json_:
        show.as_json([result.model_dump(mode="json") for result in results])
        return
    tell_known(room, results)


def keep_flash(room: Room, strip: FlashStrip, patch: str, *, json_: bool) -> None:
    """Keep the exposure of a patch of a flash strip as the flash of the room's paper."""
    letters = LETTERS[: strip.patches]
    if patch.upper() not in letters or not patch:
        right = f"one of {letters[0]} to {letters[-1]}, the first that is a light grey"
        raise BadInput(f"{patch or 'nothing'!r} is no patch of it", "--patch", right)
    flash = SheetRead("", strip, (patch.upper(),)).flash()
    assert flash is not None
    keep_room(with_flash(room, flash))
    if json_:
        show.as_json(flash.model_dump(mode="json"))
        return
    print(f"the flash is {format_time(flash.exposure_s)}, kept; the tests take it from now on")


def sheet_page(key: str) -> Page:
    """Give the book's page of a sheet that proves the room, the newest without a key.

    Raises BadInput where there is none.
    """
    with open_book() as book:
        newest = [r for r in book.records(50) if r.kind in SHEETS]
        page = book.record(key) if key else (book.record(newest[0].record_id) if newest else None)
    if page is None or page.record.kind not in SHEETS:
        right = "the mark of a sheet that dryside room test made"
        raise BadInput(f"{key or 'nothing'} is no test of the room", "room read", right)
    return page


def keep_results(room: Room, results: Sequence[Result]) -> Room:
    """Add results to the room, and write it."""
    for result in results:
        room = with_test(room, result)
    keep_room(room)
    return room


def tell_known(room: Room, results: Sequence[Result]) -> None:
    """Tell what is known now of the lights of some results."""
    today = local_now().date()
    for result in results:
        show.lines(predict(room, result.lights, at=result.at, today=today).lines)


# --- inside -----------------------------------------------------------------------------------


def _tell_flash(made: Exposed, strip: FlashStrip, room: Room, *, keep: bool, json_: bool) -> None:
    """Tell the patches of a flash strip: which of them is a light grey?"""
    patches = made.outcome.sheets[-1].patches if made.outcome.sheets else ()
    densities = [patch.density for patch in patches]
    told = [
        {"letter": LETTERS[n], "dose_s": dose_s}
        | ({"density": densities[n]} if n < len(densities) else {})
        for n, dose_s in enumerate(strip.doses_s())
    ]
    if json_:
        show.as_json({"mark": made.mark, "patches": told})
        return
    print(f"{made.mark}: {made.page.record.title}")
    for one in told:
        density = f"  density {one['density']:.2f}" if "density" in one else ""
        print(f"  {one['letter']}  {format_time(float(str(one['dose_s'])))}{density}")
    print(
        f"take the one that is a light grey, {GREY_LEAST:g} to {GREY_MOST:g} above the bare paper"
    )
    grey = next((n for n, d in enumerate(densities) if d - PAPER_WHITE >= GREY_LEAST), None)
    if keep and grey is not None:
        keep_flash(room, strip, LETTERS[grey], json_=False)
    else:
        print(f"next: dryside room read {made.mark} --patch C")


def _figures(text: str) -> list[float]:
    try:
        return [float(part) for part in text.split(",")]
    except ValueError:
        right = "densities from the left, with commas"
        raise BadInput(f"{text!r} are no densities", "--densities", right) from None


def _densities(made: Exposed) -> dict[str, float]:
    """Give the density of each patch by its name: known of simulated paper only."""
    if not made.outcome.sheets:
        return {}
    test = sheet_of(made.page.record.kind, made.page.record.spec)
    patches = made.outcome.sheets[-1].patches
    names = test.names() if isinstance(test, FogTest | WhichLight) else ["covered", "open"]
    return {name: p.density for name, p in zip(names, patches, strict=False)}


def _by_density(made: Exposed, densities: dict[str, float]) -> list[Result]:
    test = sheet_of(made.page.record.kind, made.page.record.spec)
    match test:
        case FogTest():
            readings: tuple[Reading, Reading] = fog_by_density(test, densities)
            return [fog_result(test, test.lights, *readings, local_now(), read="densities")]
        case WhichLight():
            reference = densities[REFERENCE]
            changed = {
                name: abs(density - reference) >= JUST_SEEN - 1e-9
                for name, density in densities.items()
                if name != REFERENCE
            }
            names = {one: one for one in test.lights}
            return which_results(test, changed, names, local_now(), read="densities")
    raise BadInput("this sheet is read by eye", "--keep", "dryside room read --changed yes or no")


def _told(made: Exposed, densities: dict[str, float]) -> list[str]:
    record = made.page.record
    fate = record.fate.value if record.fate else "interrupted"
    lines = [f"{made.mark}: {record.title}, {fate}"]
    lines += [f"  {name:16} density {density:.2f}" for name, density in densities.items()]
    test = sheet_of(record.kind, record.spec)
    if isinstance(test, CoinCheck):
        lines.append(COIN_PROVES)
    if REFERENCE in densities:
        above = densities[REFERENCE] - PAPER_WHITE
        if not GREY_LEAST <= above <= GREY_MOST:
            lines.append(
                f"the flash gave {above:.2f} above paper; {GREY_LEAST:g} to {GREY_MOST:g} shows "
                "fog best: another --flash"
            )
    if isinstance(test, WhichLight) and REFERENCE in densities:
        lines += guilty_lines(test, {n: d - densities[REFERENCE] for n, d in densities.items()})
    return lines


def guilty_lines(test: WhichLight, differences: dict[str, float]) -> list[str]:
    """Tell which column is the darkest, or what sheet would tell it."""
    found = guilty_column(differences)
    lines = ["no column differs from the reference"]
    if found is not None and found.certain:
        lines = [f"the darkest column is that of {found.name}"]
    elif found is not None:
        alike = " and ".join((found.name, *found.rivals))
        lines = [f"the darkest columns cannot be told apart: {alike}"]
    lines += columns_against(differences)
    again_s = another_time_s(test, differences)
    if again_s is not None:
        lines.append(f"another sheet may tell more: --time {format_time(again_s)}")
    return lines


PAPER_WHITE = 0.06  # of the simulated paper


def _next(kind: str, mark: str) -> str:
    match kind:
        case "fog":
            return f"next: dryside room read {mark} --before 3 --after 2 (first step seen, or none)"
        case "which":
            return f"next: dryside room read {mark} --changed NAME,NAME (columns that differ)"
    return f"next: dryside room read {mark} --changed yes (or no)"
