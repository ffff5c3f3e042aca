"""``dryside drydown``: the test, and what the paper remembers of it."""

from __future__ import annotations

from pathlib import Path

from controller.errors import BadInput
from controller.rig.lights import around
from controller.score.dry_down import USUAL_PERCENT, DryDownTest, matched, plan_dry_down
from ui import show
from ui.exposing import Ways, expose, leave_picture, piece_of
from ui.scores import open_score
from ui.unit import open_book


def test(
    name: str,
    percents: str,
    place: str,
    size: str,
    ways: Ways,
    *,
    picture: str | None,
    json_: bool,
    show_plan: bool,
) -> None:
    """Expose the pieces of a dry-down test."""
    _, score = open_score(name)
    unit = ways.unit()
    rig = unit.rig
    width_mm, height_mm = piece_of(unit, size)
    wanted = DryDownTest(
        score=score,
        percents=percents_asked(percents),
        place=place,
        width_mm=width_mm,
        height_mm=height_mm,
    )
    plan = plan_dry_down(wanted, rig.calibration(), rig.limits(), around(rig))
    if show_plan:
        show.plan(plan, json_=json_)
        return
    made = expose(unit, plan, wanted.model_dump_json(), ways)
    sheets = made.outcome.sheets
    marks = [sheet.mark for sheet in made.page.sheets]
    pieces = [
        {"mark": mark, "percent": percent}
        | ({"density": float(sheets[index].patches[0].density)} if index < len(sheets) else {})
        for index, (mark, percent) in enumerate(zip(marks, wanted.taken_off(), strict=False))
    ]
    record = made.page.record
    if json_:
        show.as_json({"record_id": record.record_id, "pieces": pieces})
    else:
        print(f"{record.title}, {record.fate.value if record.fate else 'interrupted'}")
        for piece in pieces:
            kept = "keep it wet" if not piece["percent"] else "dry it"
            print(f"  {piece['mark']}: {piece['percent']:g} % less, {kept}")
        print("dry all but the first as you dry your prints, and lay them beside the wet one")
        print(f"next: dryside drydown set PERCENT --paper {score.paper.name or 'NAME'!r}")
    if sheets:
        from controller.pictures.prints import dry_down_picture
        from controller.pictures.strip_layout import Caption

        labels = [f"{percent:g} % less" for percent in wanted.taken_off()]
        cells = (sheets[0].cell_width_mm, sheets[0].cell_height_mm)

        def draw(target: Path) -> None:
            drawn = [(la, sh.density) for la, sh in zip(labels, sheets, strict=False)]
            caption = Caption(
                record.title, made.mark, "", "the first stays wet, the others are dried"
            )
            dry_down_picture(drawn, target, mm_per_cell=cells, caption=caption)

        leave_picture(draw, picture, made.mark, record.record_id, tell=not json_)


def remember(percent: str, paper: str, batch: str, mark: str, *, json_: bool) -> None:
    """Let the paper remember what it is to get less. Raises BadInput."""
    value = percent_asked(percent, "drydown set", least=0.0)
    if not paper.strip():
        raise BadInput("no paper is named", "--paper", "the paper's name, as in your scores")
    with open_book() as book:
        record_id = None
        if mark:
            page = book.record(mark)
            if page is None or page.record.kind != "dry-down test":
                raise BadInput(f"{mark} is no dry-down test", "--record", "a mark of its pieces")
            matched(DryDownTest.model_validate_json(page.record.spec), value)
            record_id = page.record.record_id
        book.add_dry_down(paper, value, batch=batch, record_id=record_id, how="by eye")
    if json_:
        show.as_json({"paper": paper, "batch": batch, "percent": value})
    else:
        print(f"{paper}: {value:g} % less from now on, once, when a print is made")
        print("scores that say nothing of dry-down take it when they are begun, or get this paper")


def percents_asked(text: str) -> tuple[float, ...]:
    """Read percentages such as ``4,6,8``. Raises BadInput."""
    if not text:
        return USUAL_PERCENT
    return tuple(percent_asked(part, "--percent") for part in text.split(","))


def percent_asked(text: str, where: str, *, least: float = 0.1) -> float:
    """Read one percentage. Raises BadInput."""
    try:
        value = float(text.strip().removesuffix("%"))
        if not least <= value < 50:
            raise ValueError
    except ValueError:
        right = f"a percentage from {least:g} to 49, such as 8"
        raise BadInput(f"{text!r} is no dry-down", where, right) from None
    return value
