"""The book as tables for a spreadsheet: CSV as RFC 4180 has it, UTF-8, one head line."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from io import StringIO

from controller.book.entries import Page
from controller.book.print_entries import PrintEntry
from controller.errors import BadInput
from controller.score.again import OF_A_SCORE, score_of_record
from controller.score.doses import exposures
from controller.score.model import Score

SHEET_HEADS = (
    "record_id", "mark", "kind", "title", "begun_at", "fate", "width_mm", "height_mm",
    "negative", "paper", "batch", "base_s", "judged", "dry_down", "lens", "aperture",
    "magnification", "passes", "burns", "dodges", "planned_dose_s", "given_dose_s", "remarks",
    "edition", "rating", "remark", "when_dry", "went_to", "developer_c",
)  # fmt: skip
EXPOSURE_HEADS = (
    "record_id", "mark", "kind", "title", "number", "label", "filter", "intended_at",
    "dose_s", "given_dose_s", "full", "on_time_s", "pulses", "resumed",
)  # fmt: skip
Cell = str | int | float | None


def sheets_csv(pages: Iterable[Page], prints: Iterable[PrintEntry] = ()) -> str:
    """Give a line for each sheet: what it was, on which paper, how it was made, what became of it.

    ``prints`` has what was told of those that came out.
    """
    known = {(one.record_id, one.mark): one for one in prints}
    return _csv(SHEET_HEADS, (line for page in pages for line in _sheets(page, known)))


def exposures_csv(pages: Iterable[Page], _prints: Iterable[PrintEntry] = ()) -> str:
    """Give a line for each exposure as it was intended and as it fell."""
    return _csv(EXPOSURE_HEADS, (line for page in pages for line in _exposures(page)))


# --- inside -----------------------------------------------------------------------------------


def _csv(heads: tuple[str, ...], lines: Iterable[tuple[Cell, ...]]) -> str:
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([_plain(cell) for cell in line] for line in lines)
    return out.getvalue()


def _plain(cell: Cell) -> Cell:
    """Disarm what a spreadsheet would take for a formula: with an apostrophe, as they write it."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return cell


def _sheets(page: Page, prints: Mapping[tuple[str, str], PrintEntry]) -> Iterator[tuple[Cell, ...]]:
    record = page.record
    score = _score(page)
    for sheet in page.sheets:
        own = [one for one in page.exposures if one.mark == sheet.mark]
        words = [one.text for one in page.remarks if one.mark in ("", sheet.mark)]
        of_score: tuple[Cell, ...] = ("",) * 13
        if score is not None:
            paper, setup = score.paper, score.setup
            of_score = (
                score.negative, paper.name, paper.batch, score.base_s, score.judged,
                paper.dry_down, setup.lens, setup.aperture, setup.magnification,
                len(score.passes), len(score.burns), len(score.dodges),
                round(sum(one.dose_s for one in exposures(score)), 3),
            )  # fmt: skip
        given_s = sum(one.bounds_s[0] for one in own)
        yield (
            record.record_id, sheet.mark, record.kind, record.title, _time(sheet.begun_at),
            sheet.fate.value if sheet.fate else "", sheet.width_mm, sheet.height_mm, *of_score,
            round(given_s, 3), "; ".join(words), *_told(prints.get((record.record_id, sheet.mark))),
        )  # fmt: skip


def _told(one: PrintEntry | None) -> tuple[Cell, ...]:
    """Give what was told of a print since; as many empty cells where it is none."""
    if one is None:
        return ("",) * 6
    # a number alone, such as 1/25, would be a day in January to a spreadsheet
    return (
        "; ".join(f"{place.written} of {place.edition}" for place in one.editions),
        one.rating, one.remark, one.dry_note, one.went, one.temperature_c,
    )  # fmt: skip


def _dose(dose_s: float | None) -> float | None:
    """Round a dose to a tenth of a millisecond: the book has more figures than any lamp."""
    return None if dose_s is None else round(dose_s, 4)


def _exposures(page: Page) -> Iterator[tuple[Cell, ...]]:
    record = page.record
    for one in page.exposures:
        full = "" if one.full is None else ("yes" if one.full else "no")
        on_s = sum(pulse.on_time_s for pulse in one.pulses)
        yield (
            record.record_id, one.mark, record.kind, record.title, one.number, one.label,
            one.filter, _time(one.intended_at), _dose(one.dose_s), _dose(one.delivered_dose_s),
            full, round(on_s, 6), len(one.pulses), "yes" if one.resumed else "no",
        )  # fmt: skip


def _score(page: Page) -> Score | None:
    if page.record.kind not in OF_A_SCORE:
        return None
    try:
        return score_of_record(page.record)
    except BadInput:  # of a later version: what fell is told all the same
        return None


def _time(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
