"""``dryside paper sheet``: calibration sheets, from what was asked to the picture of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from controller.boxes.asked import AskedSheet, sheets_asked
from controller.boxes.measured import Given, given
from controller.boxes.model import Batch, How
from controller.boxes.sheet import PaperSheet, plan_paper_sheet
from controller.boxes.sheets_made import MadeSheet, imagined_points, keep_sheet
from controller.boxes.tablet import NOMINAL, NOMINAL_WARNING
from controller.errors import BadInput
from controller.events import Fate
from controller.rig.lights import around
from controller.stops import format_time
from ui import show
from ui.commands.paper_keep import told, typed_or_file
from ui.developed import require_writable
from ui.exposing import Exposed, Ways, expose, leave_picture
from ui.read_sheet import on_paper
from ui.unit import open_book

if TYPE_CHECKING:
    from sim.sheet import DevelopedSheet


def make(
    name: str,
    asked: AskedSheet,
    ways: Ways,
    *,
    keep: bool,
    control: bool,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Make the sheets that are asked for, one after the other, and tell what came of each."""
    with open_book() as book:
        batch = book.papers.batch(name)
    if asked.tablet:
        asked = replace(asked, tablet=typed_or_file(asked.tablet, "--tablet"))
    sheets = sheets_asked(batch, asked)
    unit = ways.unit()
    if keep and not unit.imagined:
        right = "dryside paper read MARK --densities, once the sheet is dry"
        raise BadInput("only the simulator's paper tells its densities", "--keep", right)
    plans = [
        plan_paper_sheet(sheet, unit.rig.calibration(), unit.rig.limits(), around(unit.rig))
        for sheet in sheets
    ]
    if asked.tablet.strip() in NOMINAL:
        show.note(NOMINAL_WARNING)
    if show_plan:
        if json_:
            show.as_json([show.plan_json(plan) for plan in plans])
            return
        for plan in plans:
            show.plan(plan)
        return
    if picture:
        require_writable(Path(picture))
    made = []
    for sheet, plan in zip(sheets, plans, strict=True):
        exposed = expose(unit, plan, sheet.model_dump_json(), ways)
        fate = exposed.page.record.fate
        if fate is not Fate.DONE:
            said = fate.value if fate else Fate.INTERRUPTED.value
            show.note(f"{sheet.title()}: {said}; the others were not begun")
            break
        several = _numbered(picture, sheet, sheets)
        made.append(_after(batch, sheet, exposed, keep, control, several, json_=json_))
    if json_:
        show.as_json(made)


def _after(
    batch: Batch,
    sheet: PaperSheet,
    exposed: Exposed,
    keep: bool,
    control: bool,
    picture: str | None,
    *,
    json_: bool,
) -> dict[str, object]:
    mark, record = exposed.mark, exposed.page.record
    patches = given(sheet, exposed.page, mark)
    developed = exposed.outcome.sheets[-1] if exposed.outcome.sheets else None
    densities = None if developed is None else on_paper(developed, len(patches))
    if not json_:
        print(f"{mark}: {record.title}, {record.fate.value if record.fate else 'interrupted'}")
        for line in table(patches, densities):
            print(f"  {line}")
    if keep and densities:
        was = MadeSheet(batch, sheet, mark, record.record_id, patches)
        points = imagined_points(was, densities)
        with open_book() as book:
            kept = keep_sheet(book, was, points, How.IMAGINED, control=control)
        if not json_:
            print(f"kept: {len(points)} patches of {batch.handle}")
            show.lines(told(kept))

    def draw(target: Path) -> None:
        _draw(sheet, patches, developed, densities, mark, target)

    leave_picture(draw, picture, mark, record.record_id, tell=not json_)
    if not json_ and not keep:
        print(f"next, when it is dry: dryside paper read {mark} --densities ..., or paper scan")
    return {
        "mark": mark,
        "record_id": record.record_id,
        "title": record.title,
        "patches": [
            {"label": one.label, "doses_s": one.doses_s}
            | ({"density": densities[index]} if densities else {})
            for index, one in enumerate(patches)
        ],
    }


def table(patches: Sequence[Given], densities: Sequence[float] | None) -> list[str]:
    """Tell patches as lines of a table, each filter in a column of its own."""
    filters = list(patches[0].doses_s)
    head = f"{'patch':5}" + "".join(f"  {name:>9}" for name in filters)
    lines = [head + (f"  {'density':>7}" if densities else "")]
    for index, one in enumerate(patches):
        doses = "".join(f"  {one.doses_s[name]:8.2f}s" for name in filters)
        end = f"  {densities[index]:7.2f}" if densities else ""
        lines.append(f"{one.label:5}{doses}{end}")
    return lines


def _numbered(picture: str | None, sheet: PaperSheet, sheets: Sequence[PaperSheet]) -> str | None:
    """Give each of several pictures a name of its own, by its filter."""
    if picture is None or len(sheets) == 1:
        return picture
    path = Path(picture)
    return str(path.with_name(f"{path.stem}-{sheet.filters or 'none'}{path.suffix}"))


def _draw(
    sheet: PaperSheet,
    patches: Sequence[Given],
    developed: DevelopedSheet | None,
    densities: Sequence[float] | None,
    mark: str,
    target: Path,
) -> None:
    from controller.pictures.strips import Axis, Caption, PatchLabel, strip_map
    from controller.pictures.strips import developed as picture_of

    each = sheet.width_mm / len(patches)
    totals = [sum(one.doses_s.values()) for one in patches]
    labels = [
        PatchLabel(
            one.label,
            total,
            0.0,
            index * each,
            (index + 1) * each,
            None if densities is None else densities[index],
            instead=format_time(total),
        )
        for index, (one, total) in enumerate(zip(patches, totals, strict=True))
    ]
    note = f"filter {sheet.filters}" if sheet.filters else "no filter"
    caption = Caption(f"calibration of {sheet.paper}", mark, sheet.kind, note)
    if developed is None:
        strip_map(
            labels,
            target,
            width_mm=sheet.width_mm,
            height_mm=sheet.height_mm,
            axis=Axis.HORIZONTAL,
            caption=caption,
        )
        return
    picture_of(
        developed.density,
        labels,
        target,
        mm_per_cell=(developed.cell_width_mm, developed.cell_height_mm),
        axis=Axis.HORIZONTAL,
        caption=caption,
    )
