"""``dryside paper sheet``: calibration sheets, from what was asked to the picture of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from controller.boxes.measured import Given, given, points_of
from controller.boxes.model import Batch, Developing, How
from controller.boxes.sheet import SPLIT_PATCHES, PaperSheet, plan_paper_sheet
from controller.boxes.tablet import NOMINAL_WARNING, tablet_asked
from controller.desk.asked import size_asked, whole_asked
from controller.errors import BadInput, quoted
from controller.events import Fate
from controller.rig.lights import around
from controller.stops import aperture_value, format_time, parse_step, parse_time
from controller.written import bad_input
from ui import show
from ui.commands.paper_batch import developing_asked
from ui.commands.paper_keep import keep as keep_reading
from ui.commands.paper_keep import told, typed_or_file
from ui.developed import require_writable
from ui.exposing import Exposed, Ways, expose, leave_picture
from ui.read_sheet import inside_box
from ui.unit import open_book

if TYPE_CHECKING:
    from sim.sheet import DevelopedSheet

MIXED_STEP = "2/3"  # from level to level of a mixed sheet
IMAGINED_UNCERTAIN = 0.005  # of a density that the simulator tells


@dataclass(frozen=True)
class AskedSheet:
    """A calibration sheet as it was typed, field by field."""

    filters: tuple[str, ...] = ()
    split: str = ""
    base: str = "1.2"
    hard: str = ""
    step: str = "2/5"
    patches: str = str(SPLIT_PATCHES)
    mode: str = "card"
    tablet: str = ""
    lux: str = ""
    aperture: str = ""
    size: str = ""
    developer: str = ""
    time: str = ""


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
    sheets = sheets_asked(batch, asked)
    unit = ways.unit()
    if keep and not unit.imagined:
        right = "dryside paper read MARK --densities, once the sheet is dry"
        raise BadInput("only the simulator's paper tells its densities", "--keep", right)
    plans = [
        plan_paper_sheet(sheet, unit.rig.calibration(), unit.rig.limits(), around(unit.rig))
        for sheet in sheets
    ]
    if asked.tablet in ("21", "31", "41"):
        show.note(NOMINAL_WARNING)
    if show_plan:
        for plan in plans:
            show.lines([plan.title, *(f"  {line}" for line in plan.lines())])
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


def sheets_asked(batch: Batch, asked: AskedSheet) -> list[PaperSheet]:
    """Turn what was typed into sheets, one for each filter. Raises BadInput."""
    if asked.mode not in ("card", "window"):
        raise BadInput(f"{quoted(asked.mode)} is not known", "--mode", "card or window")
    developing = batch.developing
    if asked.developer or asked.time:
        typed = developing_asked(asked.developer, asked.time)
        developing = Developing(
            typed.developer or developing.developer, typed.time_s or developing.time_s
        )
    if asked.aperture:
        aperture_value(asked.aperture, where="--aperture")
    width_mm, height_mm = size_asked(asked.size, "--size") if asked.size else (203.0, 25.0)
    common: dict[str, object] = {
        "paper": batch.handle,
        "way": asked.mode,
        "base_s": parse_time(asked.base, "--base"),
        "step": parse_step(asked.step, "--step"),
        "patches": whole_asked(asked.patches, "--patches", 5, 26),
        "lux": _lux(asked.lux),
        "developer": developing.developer,
        "time_s": developing.time_s,
        "aperture": asked.aperture,
        "width_mm": width_mm,
        "height_mm": height_mm,
    }
    if asked.split:
        if asked.filters or asked.tablet:
            right = "--split SOFT,HARD alone"
            raise BadInput("a split set has its own three sheets", "--split", right)
        return _split(asked, common)
    if asked.tablet:
        densities, _ = tablet_asked(typed_or_file(asked.tablet, "--tablet"))
        common |= {"kind": "tablet", "tablet": densities}
    filters = [one.strip() for one in asked.filters] or [""]
    return [_sheet(common | {"filter": "" if one == "none" else one}) for one in filters]


def _split(asked: AskedSheet, common: dict[str, object]) -> list[PaperSheet]:
    """Give the prescribed set: 21 soft, 21 hard, and 15 mixed patches in the middle of both."""
    soft, comma, hard = (part.strip() for part in asked.split.partition(","))
    if not comma or not soft or not hard or soft == hard:
        raise BadInput(f"{quoted(asked.split)} is no pair", "--split", "two filters, such as 00,5")
    base_s = parse_time(asked.base, "--base")
    hard_s = parse_time(asked.hard, "--hard-base") if asked.hard else base_s
    common = common | {"patches": SPLIT_PATCHES}
    wedges = [
        _sheet(common | {"filter": one, "base_s": start})
        for one, start in ((soft, base_s), (hard, hard_s))
    ]
    # together they darken more than each alone, so that they begin lower (our choice)
    begin = wedges[0].doses()[6][soft] / base_s / 3.0
    mixed = _sheet(
        common
        | {
            "kind": "mixed",
            "way": "window",
            "filter": soft,
            "hard_filter": hard,
            "base_s": round(base_s * begin, 3),
            "hard_s": round(hard_s * begin, 3),
            "step": parse_step(MIXED_STEP),
        }
    )
    return [*wedges, mixed]


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
        points = points_of(sheet, patches, densities, IMAGINED_UNCERTAIN)
        kept = keep_reading(
            batch,
            sheet,
            points,
            How.IMAGINED,
            control=control,
            record_id=record.record_id,
            mark=mark,
        )
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


def on_paper(developed: DevelopedSheet, count: int) -> list[float]:
    """Read the middles of so many equal patches from the left of a developed sheet."""
    found = []
    for index in range(count):
        _, density = inside_box(developed, index / count, 0.0, (index + 1) / count, 1.0)
        found.append(density)
    return found


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


def _sheet(fields: dict[str, object]) -> PaperSheet:
    """Make a sheet of what was read. Raises BadInput about the first field that cannot be."""
    try:
        return PaperSheet.model_validate(fields)
    except ValidationError as error:
        raise bad_input(error, "paper sheet", model=PaperSheet) from None


def _lux(text: str) -> float | None:
    if not text:
        return None
    try:
        value = float(text)
        if not 0.001 <= value <= 10_000:
            raise ValueError
    except ValueError:
        right = "the light at the easel in lux, such as 3.9"
        raise BadInput(f"{quoted(text)} is no light", "--lux", right) from None
    return value
