"""From the book's pages to what a print's record says on paper. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from itertools import islice
from types import MappingProxyType

from controller.book.entries import Page, SheetEntry
from controller.book.print_entries import Edition, Negative, PrintEntry, RoomThen
from controller.errors import BadInput
from controller.events import Fate
from controller.fields import INCH_MM
from controller.plan import SAME_S
from controller.record_sheet.evidence import Find, figures_of
from controller.record_sheet.model import (
    NEGATIVE,
    Curve,
    EditionLine,
    Facts,
    HeldBack,
    PrintSheet,
    Step,
    StepKind,
)
from controller.room.overview import NOT_PROVED
from controller.score.again import OF_A_SCORE, score_of_record
from controller.score.amount import Unit
from controller.score.doses import Given, Kind, exposures, print_factor
from controller.score.model import ALL_PASSES, Score
from controller.score.report import PassResult, good_mark, score_result
from controller.stops import factor_to_stops, format_stops, format_time

When = Callable[[datetime], str]  # a wall time in words
QUARTER_MM = INCH_MM / 4  # paper that is sold in inches is whole in quarters of them
BY_THE_CLOCK = "trays, "  # so begins what the trays' clock remarks, which its steps tell better


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
    baths: tuple[str, ...] = (),
    beside: Iterable[Page] = (),
    strip_pictures: Mapping[str, bytes] = MappingProxyType({}),
    edition: Edition | None = None,
    room: RoomThen | None = None,
) -> PrintSheet:
    """Gather a print's record; of several sheets the one marked, else the last good one.

    ``room`` is the room as it stood. ``find`` looks for the strips that it came from, ``beside``
    are those that were laid there by hand, and ``strip_pictures`` has pictures of them by
    record. ``prints`` has, by mark, what else the book keeps of its sheets; ``trays`` and
    ``baths`` are what was really done there. Raises BadInput for what is no print.
    """
    record = page.record
    if record.kind not in OF_A_SCORE:
        right = "the mark of a print; `dryside book list` shows what there is"
        raise BadInput(f"{mark or good_mark(page)} is a {record.kind}", "book sheet", right)
    score = score_of_record(record)
    mark = mark or good_mark(page)
    result = score_result(page, score, mark=mark)
    kept = prints.get(mark)
    paper = score.paper
    negative_name = (kept.negative if kept else "") or score.negative
    named = f"negative {negative_name}" if negative_name else ""
    rated = f"rated {kept.rating} of 5" if kept is not None and kept.rating else ""
    strips, came_from = figures_of(score, record.begun_at, find, beside, strip_pictures)
    fate = next((one.fate for one in page.sheets if one.mark == mark), None)
    return PrintSheet(
        record_id=record.record_id,
        mark=mark,
        negative=negative_name,
        title=headline(score.title, negative_name),
        under_title=tuple(
            filter(
                None,
                (
                    named if score.title else "",
                    day(record.begun_at),
                    size_words(paper.width_mm, paper.height_mm),
                    rated,
                    "" if fate in (None, Fate.DONE) else fate.value,
                ),
            )
        ),
        made=day(record.begun_at),
        rig=record.rig,
        score=score,
        steps=tuple(_steps(score, result.passes)),
        facts=tuple(_facts(page, score, kept, negative, trays, baths, room, came_from)),
        strips=tuple(strips),
        curve=curve,
        edition=tuple(_edition_lines(page, mark, day, prints, edition)),
        edition_name=edition.name if edition else "",
        remarks=tuple(_remarks(page, score, mark, kept, trays)),
        picture=picture,
        number=", ".join(_place(one.written, one.edition) for one in kept.editions) if kept else "",
        fate=fate.value if fate else "open",
    )


def headline(title: str, negative: str) -> str:
    """Name a print: by its title, else by its negative."""
    return title or (f"Negative {negative}" if negative else "Untitled")


def size_words(width_mm: float, height_mm: float) -> str:
    """Tell a sheet's size as it is sold: in inches where they come out, else in mm."""
    sides = (width_mm, height_mm)
    if all(abs(side / QUARTER_MM - round(side / QUARTER_MM)) < 0.02 for side in sides):
        return " \u00d7 ".join(f"{round(side / QUARTER_MM) / 4:g}" for side in sides) + " in"
    return " \u00d7 ".join(f"{side:g}" for side in sides) + " mm"


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


def _facts(
    page: Page,
    score: Score,
    entry: PrintEntry | None,
    negative: Negative | None,
    trays: tuple[str, ...],
    baths: tuple[str, ...],
    room: RoomThen | None,
    came_from: list[str],
) -> list[Facts]:
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
                _lag(page),
                setup.focus_note,
            ),
        ),
        Facts(
            "Process",
            (
                process.developer,
                " at ".join(filter(None, (process.time, process.temperature))),
                _measured(entry),
                process.toning and f"toning: {process.toning}",
                process.note,
            ),
        ),
        Facts("In the trays", trays),
        Facts("Baths, and sheets before", baths),
        Facts("Safe light, as proved", _room(room) if room else ()),
        Facts(NEGATIVE, _negative(negative) if negative else ()),
        Facts("Came from", tuple(came_from)),
    ]
    kept = (Facts(one.heading, tuple(filter(None, one.lines))) for one in every)
    return [one for one in kept if one.lines]


def _lag(page: Page) -> str:
    """Tell the lamp's lag that the doses were counted with."""
    lag_s = page.record.lamp.get("cold_lag_s", 0.0)
    return f"lamp's lag {1000 * lag_s:.0f} ms" if lag_s else ""


def _measured(entry: PrintEntry | None) -> str:
    measured_c = entry.temperature_c if entry else None
    return "" if measured_c is None else f"developer measured at {measured_c:g} \u00b0C"


def _room(room: RoomThen) -> tuple[str, ...]:
    """Tell the lights that were proved; what was not is in no page for the wall."""
    proved = [f"{name}\t{safe}" for name, safe in room.safe.items() if safe != NOT_PROVED]
    return (*proved, *room.old) if proved else ()


def _negative(negative: Negative) -> tuple[str, ...]:
    return (
        ", ".join(filter(None, (negative.film, negative.format))),
        negative.exposed_on and f"exposed {negative.exposed_on}",
        negative.sleeve and f"sleeve {negative.sleeve}",
    )


def _place(written: str, edition: str) -> str:
    return f"{written}  \u00b7  {edition}"


def _edition_lines(
    page: Page,
    mark: str,
    day: When,
    prints: Mapping[str, PrintEntry],
    edition: Edition | None,
) -> list[EditionLine]:
    """Give the signed prints of the edition, over the years, then the sheets without a number."""
    lines = []
    signed = {}
    for one in edition.signed if edition else ():
        here = (one.record_id, one.mark) == (page.record.record_id, mark)
        lines.append(EditionLine(one.mark, day(one.signed_at), "", one.went, one.written, here))
        signed[one.record_id, one.mark] = True
    for sheet in page.sheets:
        if (page.record.record_id, sheet.mark) in signed:
            continue
        lines.append(_sheet_line(page, sheet, day, prints.get(sheet.mark), here=sheet.mark == mark))
    alone = len(lines) == 1 and lines[0].here and not signed
    return [] if alone else lines  # of one sheet the head has told everything


def _sheet_line(
    page: Page, sheet: SheetEntry, day: When, kept: PrintEntry | None, *, here: bool
) -> EditionLine:
    words = [r.text for r in page.remarks if r.mark == sheet.mark and not here]
    words = [text for text in words if not text.startswith(BY_THE_CLOCK)]
    numbers = [one.written for one in kept.editions] if kept else []
    told = "; ".join(filter(None, [kept.went if kept else "", *words]))
    fate = sheet.fate.value if sheet.fate else "open"
    return EditionLine(sheet.mark, day(sheet.begun_at), fate, told, ", ".join(numbers), here)


def _remarks(
    page: Page, score: Score, mark: str, kept: PrintEntry | None, trays: tuple[str, ...]
) -> list[str]:
    """Give the score's remarks, and those of this sheet; not again what stands in the trays."""
    words = [score.remarks] if score.remarks.strip() else []
    if kept is not None:
        words += [kept.remark] if kept.remark else []
        words += [f"when it was dry: {kept.dry_note}"] if kept.dry_note else []
        words += [f"went to {kept.went}"] if kept.went else []
    for one in page.remarks:
        if one.mark not in ("", mark) or (trays and one.text.startswith(BY_THE_CLOCK)):
            continue
        words.append(f"{one.label}: {one.text}" if one.label else one.text)
    return words
