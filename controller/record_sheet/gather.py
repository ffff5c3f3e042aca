"""From the book's pages to what a print's record says on paper. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from itertools import islice
from types import MappingProxyType

from controller.book.entries import Judged, Page, SheetEntry
from controller.book.print_entries import Negative, PrintEntry
from controller.errors import BadInput
from controller.pick import pick_from
from controller.plan import SAME_S
from controller.record_sheet.model import (
    Curve,
    EditionLine,
    Facts,
    HeldBack,
    PrintSheet,
    Step,
    StepKind,
    StripFigure,
    StripPatch,
)
from controller.score.again import OF_A_SCORE, score_of_record
from controller.score.amount import Unit
from controller.score.doses import Given, Kind, exposures, print_factor
from controller.score.model import ALL_PASSES, Score
from controller.score.report import PassResult, good_mark, score_result
from controller.stops import factor_to_stops, format_stops, format_time
from controller.strip import Strip, patches_of

Find = Callable[[str], Page | None]  # a record by its mark, None where there is none
When = Callable[[datetime], str]  # a wall time in words
_FROM_STRIP = re.compile(r"([A-Z]\d{1,3}) ([A-Z](?:-[A-Z])?)")
MOST_STRIPS = 3


def print_sheet(
    page: Page,
    *,
    day: When,
    find: Find = lambda mark: None,  # noqa: ARG005
    mark: str = "",
    curve: Curve | None = None,
    picture: bytes = b"",
    prints: Mapping[str, PrintEntry] = MappingProxyType({}),
    negative: Negative | None = None,
    trays: tuple[str, ...] = (),
) -> PrintSheet:
    """Gather a print's record; of several sheets the one marked, else the last good one.

    ``find`` looks for the strips that it came from; ``prints`` has, by mark, what else the book
    keeps of its sheets; ``trays`` is what was really done there.
    Raises BadInput for what is no print.
    """
    record = page.record
    if record.kind not in OF_A_SCORE:
        right = "the mark of a print; `dryside book list` shows what there is"
        raise BadInput(f"{mark or good_mark(page)} is a {record.kind}", "book sheet", right)
    score = score_of_record(record)
    mark = mark or good_mark(page)
    result = score_result(page, score, mark=mark)
    paper = score.paper
    size = f"{paper.width_mm:g} \u00d7 {paper.height_mm:g} mm"
    named = f"negative {score.negative}" if score.negative else ""
    number = ", ".join(one.written for one in prints[mark].editions) if mark in prints else ""
    return PrintSheet(
        record_id=record.record_id,
        mark=mark,
        title=score.title or record.title or "A print without a title",
        under_title=tuple(filter(None, (number, named, day(record.begun_at), size))),
        made=day(record.begun_at),
        rig=record.rig,
        score=score,
        steps=tuple(_steps(score, result.passes)),
        facts=tuple(_facts(score, negative, trays)),
        strips=tuple(_strips(score, record.begun_at, find)),
        curve=curve,
        edition=tuple(_edition(page, sheet, day, prints.get(sheet.mark)) for sheet in page.sheets),
        remarks=tuple(_remarks(page, score, mark, prints.get(mark))),
        picture=picture,
        number=number,
    )


# --- inside -----------------------------------------------------------------------------------


def _steps(score: Score, made: tuple[PassResult, ...]) -> list[Step]:
    """Tell each exposure that was planned or fell; what the score does not know is an extra."""
    by_label = {one.label: one for one in exposures(score)}
    over = _burn_stops(score, list(by_label.values()))
    steps = []
    for one in made:
        label = re.sub(r", sheet \d+$", "", one.label)
        given = by_label.get(label)
        if given is None:
            note = one.note
            steps.append(
                Step(
                    StepKind.EXTRA,
                    re.sub(r" \(\d+\)$", "", one.label),  # its number within the record
                    one.filter,
                    one.planned_dose_s,
                    one.counted_dose_s,
                    note=note,
                )
            )
            continue
        steps.append(
            Step(
                StepKind(given.kind.value),
                label,
                given.filter,
                one.planned_dose_s,
                one.counted_dose_s,
                over.get(label, "") or _stops_of(score, given),
                tuple(HeldBack(h.name, h.begin_s, h.end_s) for h in given.held),
                given.note,
            )
        )
    return steps


def _stops_of(score: Score, given: Given) -> str:
    """Write a pass in stops from the base, to a twelfth; nothing else follows it so plainly."""
    if given.kind is Kind.PASS:
        return format_stops(round(12 * factor_to_stops(given.undried_s / score.base_s)) / 12)
    return ""


def _burn_stops(score: Score, given: list[Given]) -> dict[str, str]:
    """Write the amounts of burns in stops, by label: exposures keep the order of the burns."""
    lit = iter([one for one in given if one.kind is Kind.BURN])
    found: dict[str, str] = {}
    for burn in score.burns:
        in_stops = burn.amount.unit is Unit.STOPS
        each = len(score.passes) if burn.over == ALL_PASSES and in_stops else 1
        for one in islice(lit, each):
            if in_stops:
                found[one.label] = format_stops(burn.amount.value)
    return found


def _facts(score: Score, negative: Negative | None, trays: tuple[str, ...]) -> list[Facts]:
    paper, setup, process = score.paper, score.setup, score.process
    dried = print_factor(score)
    judged = f"judged {score.judged}"
    if dried < 1 - SAME_S:
        judged += f", dry-down {paper.dry_down} taken off"
    head = setup.head_height_mm
    every = [
        Facts(
            "Paper",
            (
                paper.name,
                ", ".join(filter(None, (paper.base, paper.batch and f"batch {paper.batch}"))),
            ),
        ),
        Facts("Exposure", (f"base {format_time(score.base_s)}", judged)),
        Facts(
            "Enlarger",
            (
                " at ".join(filter(None, (setup.lens, setup.aperture and f"f/{setup.aperture}"))),
                f"{setup.magnification:.3g} times" if setup.magnification else "",
                f"head at {head:g} mm" if head else "",
                f"column {setup.column}" if setup.column else "",
                setup.lamp,
                setup.focus_note,
            ),
        ),
        Facts(
            "Process",
            (
                ", ".join(filter(None, (process.developer, process.time, process.temperature))),
                process.toning and f"toning: {process.toning}",
                process.note,
            ),
        ),
        Facts("In the trays", trays),
        Facts("Negative", _negative(negative) if negative else ()),
        Facts("Came from", score.came_from[-4:]),
    ]
    kept = (Facts(one.heading, tuple(filter(None, one.lines))) for one in every)
    return [one for one in kept if one.lines]


def _strips(score: Score, before: datetime, find: Find) -> list[StripFigure]:
    """Find the strips that the score names; a mark that is a later strip's is another's."""
    figures: list[StripFigure] = []
    for line in score.came_from:
        named = _FROM_STRIP.fullmatch(line.strip())
        page = find(named[1]) if named else None
        if named is None or page is None or page.record.kind != "strip":
            continue
        if page.record.begun_at > before:
            continue
        strip = Strip.model_validate_json(page.record.spec)
        try:
            picked = pick_from(
                strip, named[2], judged=page.picks[-1].judged if page.picks else Judged.WET
            )
        except BadInput:
            continue
        patches = tuple(
            StripPatch(patch.letter, patch.dose_s, patch.letter in picked.letters)
            for patch in patches_of(strip)
        )
        figures.append(StripFigure(named[1], strip.filter, picked.choice, patches))
    return figures[-MOST_STRIPS:]


def _negative(negative: Negative) -> tuple[str, ...]:
    return (
        ", ".join(filter(None, (negative.film, negative.format))),
        negative.exposed_on and f"exposed {negative.exposed_on}",
        negative.sleeve and f"sleeve {negative.sleeve}",
    )


def _edition(page: Page, sheet: SheetEntry, day: When, kept: PrintEntry | None) -> EditionLine:
    words = [r.text for r in page.remarks if r.mark == sheet.mark]
    if kept is not None:
        numbers = [f"{one.written} of {one.edition}" for one in kept.editions]
        words = [*numbers, kept.went, *words]
    fate = sheet.fate.value if sheet.fate else "open"
    signed = kept is not None and bool(kept.editions)
    told = "; ".join(filter(None, words))
    return EditionLine(sheet.mark, day(sheet.begun_at), fate, told, signed)


def _remarks(page: Page, score: Score, mark: str, kept: PrintEntry | None) -> list[str]:
    """Give the score's remarks, and those of this sheet."""
    words = [score.remarks] if score.remarks.strip() else []
    if kept is not None:
        words += [kept.remark] if kept.remark else []
        words += [f"when it was dry: {kept.dry_note}"] if kept.dry_note else []
    for one in page.remarks:
        if one.mark in ("", mark):
            words.append(f"{one.label}: {one.text}" if one.label else one.text)
    return words
