"""``dryside pick``, ``unsure`` and ``cut``: what follows a strip, when the lights are on."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from controller.book.entries import Judged, Page
from controller.desk.pick import contact_lines, pick_from
from controller.errors import BadInput, Refused
from controller.events import Remark
from controller.fields import size_asked, whole_asked
from controller.numbered import numbered
from controller.score.file import load_score
from controller.score.found import from_cross, from_strip, goes_on, replaced
from controller.score.model import Score
from controller.score.report import score_lines
from controller.stops import factor_to_stops, format_stops, format_time
from controller.strips.cross import Cross, pick_cell
from controller.strips.cutting import Cutting, guide
from controller.strips.strip import Strip, patches_of, stops_fraction
from ui import show
from ui.commands.score import remembered_dry_down
from ui.scores import keep, path_of
from ui.unit import judged_under, open_book

if TYPE_CHECKING:
    from controller.book.book import Book

LEAST_SHEET_MM = 50  # who types 8x10 means inches


PICKABLE = ("strip", "cross")


def strip_page(book: Book, key: str, kinds: tuple[str, ...] = ("strip",)) -> Page:
    """Find a strip's record: by mark or id, else the newest strip. Raises BadInput."""
    if not key:
        newest = [record for kind in kinds for record in book.records(1, kind)]
        if not newest:
            raise BadInput("the book has no strip yet", "pick", "dryside strip first")
        key = max(newest, key=lambda record: record.begun_at).record_id
    page = book.record(key)
    if page is None:
        raise BadInput(f"the book has no record {key!r}", "--record", "a mark such as K7")
    if page.record.kind not in kinds:
        right = f"the mark of a test {' or a '.join(kinds)}"
        raise BadInput(f"{key} is a {page.record.kind}", "--record", right)
    return page


def pick(
    choice: str, judged: str, record: str, *, into: str, replace: bool = False, json_: bool
) -> None:
    """Pick a patch of a strip, or a cell of a cross, and keep the choice.

    Passes of the score that the strip has no light for go only with ``replace``.
    """
    if judged not in ("wet", "dry"):
        raise BadInput(f"{judged!r} is not known", "--judged", "wet or dry")
    path, before = _score_to_write(into)
    with open_book() as book:
        page = strip_page(book, record, PICKABLE)
        mark = page.record.marks[-1] if page.record.marks else ""
        if page.record.kind == "cross":
            cross = Cross.model_validate_json(page.record.spec)
            require_kept(before, cross, mark, into, replace=replace)
            found = _pick_cell(cross, choice, Judged(judged), mark, before if into else None)
        else:
            strip = Strip.model_validate_json(page.record.spec)
            require_kept(before, strip, mark, into, replace=replace)
            found = _pick_patch(strip, choice, Judged(judged), mark, before, into=into)
        kept = book.add_pick(
            found.choice,
            dose_s=found.dose_s,
            stops=found.stops,
            judged=Judged(judged),
            record_id=page.record.record_id,
            filter=found.filter,
        )
        if under := judged_under(found.choice, Judged(judged)):
            book.write(Remark(page.record.record_id, under, mark=mark))
    went: list[str] = []
    if path is not None and found.score is not None:
        went = replaced(before, found.score) if before else []
        keep(remembered_dry_down(found.score), path)
    if json_:
        show.as_json(
            {
                "choice": kept.choice,
                "dose_s": kept.dose_s,
                "stops": kept.stops,
                "judged": kept.judged.value,
                "record_id": page.record.record_id,
                "warning": kept.warning(),
                **found.more,
                **({"replaced": went} if before else {}),
            }
        )
        return
    show.lines(found.lines)
    if kept.judged is Judged.WET and not found.settles_paper:
        print("judged wet: dry-down is still to be allowed for, once, when the print is made")
    if path is not None and found.score is not None:
        show.lines(["", str(path), *went, *score_lines(found.score)])
        print(f"next: dryside score run {into}")
    show.note(kept.warning())


def require_kept(
    before: Score | None, made: Strip | Cross, mark: str, into: str, *, replace: bool
) -> None:
    """Refuse to take passes out of a score that the strip says nothing of. Raises Refused."""
    if before is None or replace or goes_on(before, made):
        return
    has = " and ".join(f"{one.label} (filter {one.filter or 'none'})" for one in before.passes)
    raise Refused(
        f"{into} has the passes {has}, and {mark} was not made with all of those: "
        "what it has no light for would go",
        ("another name after --into", f"dryside pick ... --into {into} --replace"),
    )


@dataclass(frozen=True)
class _Found:
    """What a choice comes to, and the score that it was written into."""

    choice: str
    dose_s: float
    stops: float
    filter: str
    lines: list[str]
    score: Score | None = None
    settles_paper: bool = False  # a contact strip: no print follows from it
    more: dict[str, float] = field(default_factory=dict)


def _pick_patch(
    strip: Strip, choice: str, judged: Judged, mark: str, before: Score | None, *, into: str
) -> _Found:
    picked = pick_from(strip, choice, judged)
    score = from_strip(strip, picked, mark, before) if into else None
    stops = format_stops(stops_fraction(picked.stops))
    contact = strip.purpose is not None and strip.purpose.kind == "contact"
    if contact:
        lines = contact_lines(picked, mark)
    elif strip.purpose is not None:
        lines = [
            f"{mark}: {strip.purpose.kind} of {strip.purpose.region}, "
            f"{format_time(picked.dose_s)} in {strip.purpose.within} ({picked.choice})"
        ]
    else:
        lines = [
            f"{mark}: print with {format_time(picked.dose_s)} ({picked.choice}, {stops} stop "
            f"from A, judged {judged.value})"
        ]
    return _Found(
        picked.choice,
        picked.dose_s,
        picked.stops,
        strip.filter,
        lines,
        score,
        settles_paper=contact,
    )


def _pick_cell(
    cross: Cross, choice: str, judged: Judged, mark: str, before: Score | None
) -> _Found:
    cell = pick_cell(cross, choice)
    name = " ".join(choice.upper().split())
    line = (
        f"{mark}: print with {format_time(cell.soft_s)} through {cross.soft.filter} and "
        f"{format_time(cell.hard_s)} through {cross.hard.filter} ({name}, judged {judged.value})"
    )
    return _Found(
        name,
        cell.soft_s,
        factor_to_stops(cell.soft_s / cross.soft.base_s),
        cross.soft.filter,
        [line],
        from_cross(cross, cell, mark, judged, before),
        more={"soft_dose_s": cell.soft_s, "hard_dose_s": cell.hard_s},
    )


def _score_to_write(into: str) -> tuple[Path | None, Score | None]:
    """Find the score that a choice is written into; None before one is begun."""
    if not into:
        return None, None
    path = path_of(into)
    return path, (load_score(path) if path.exists() else None)


def unsure(patch: str, record: str) -> None:
    """Mark a patch of a strip as not to be trusted."""
    with open_book() as book:
        page = strip_page(book, record)
        strip = Strip.model_validate_json(page.record.spec)
        letters = [p.letter for p in patches_of(strip)]
        if patch.upper() not in letters:
            raise BadInput(f"there is no patch {patch!r}", "unsure", f"A to {letters[-1]}")
        text = "unsure: the card moved late"
        book.write(Remark(page.record.record_id, text, patch.upper()))
    print(f"patch {patch.upper()} is marked unsure")


def cut(strips: str, sheet: str, count: str | None, *, count_in: bool = False) -> None:
    """Tell how to cut a sheet; the strips are counted in where they are said to be cut."""
    if count is not None:
        with open_book() as book:
            left = book.count_strips(whole_asked(count, "--count", 0, 10_000))
        print(numbered(left, "strip"))
        return
    width_mm, height_mm = size_asked(sheet, "--sheet")
    if min(width_mm, height_mm) < LEAST_SHEET_MM:
        right = "a sheet in mm, or with its unit: 8x10in"
        raise BadInput(f"{sheet} mm is too small for a sheet", "--sheet", right)
    cutting = Cutting(width_mm, height_mm, whole_asked(strips, "--strips", 1, 40))
    with open_book() as book:
        left = book.cut_sheet(cutting.strips) if count_in else book.strips_left()
    show.lines(guide(cutting))
    if count_in:
        print(f"{cutting.strips} counted in; {numbered(left, 'strip')} now")
    else:
        print(f"strips that are counted: {left}; once these are cut: dryside cut --count-in")
