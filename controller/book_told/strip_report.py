"""What came of a strip: the book's record, told patch by patch."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

import msgspec

from controller.book.entries import ExposureEntry, Page, RunEntry, RunKind
from controller.errors import BadInput
from controller.events import Fate
from controller.score.again import OF_A_SCORE, score_of_record
from controller.score.extra import Extra
from controller.score.report import LONGEST_LABEL, score_head
from controller.stops import format_stops, format_time
from controller.strips.strip import Strip, fell_on, patches_of, stops_fraction


class OnPaper(msgspec.Struct, frozen=True):
    """What a patch of (simulated) paper got and became."""

    delivered_dose_s: float
    density: float


class PatchResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """One patch: what was planned, how long the lamp really was on for it, what became of it.

    ``stops`` is counted from patch A. ``counted_dose_s`` is the dose by the lamp's calibration;
    ``delivered_dose_s`` and ``density`` are the simulated paper's own, absent on a real rig.
    """

    letter: str
    stops: float
    planned_dose_s: float
    on_times_s: tuple[float, ...]
    counted_dose_s: float
    delivered_dose_s: float | None = None
    density: float | None = None
    unsure: bool = False


class StripResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """A strip that was made, or begun."""

    record_id: str
    mark: str
    title: str
    fate: str
    way: str
    lamp: dict[str, float]
    patches: tuple[PatchResult, ...]


def strip_result(page: Page, paper: Mapping[str, OnPaper] | None = None) -> StripResult:
    """Tell a strip's record by its patches; of several sheets the last that is not spoiled."""
    strip = Strip.model_validate_json(page.record.spec)
    sheets = [s for s in page.sheets if s.fate is not Fate.SPOILED] or list(page.sheets)
    mark = sheets[-1].mark if sheets else ""
    on_times: dict[str, list[float]] = {}
    counted: dict[str, float] = {}
    for exposure in page.exposures:
        if exposure.mark == mark:
            on_times.setdefault(exposure.label, []).extend(p.on_time_s for p in exposure.pulses)
            counted[exposure.label] = counted.get(exposure.label, 0.0) + exposure.bounds_s[0]
    unsure = {remark.label for remark in page.remarks if remark.mark in ("", mark)}
    results = []
    for patch in patches_of(strip):
        labels = fell_on(strip, patch.letter)
        got = (paper or {}).get(patch.letter)
        results.append(
            PatchResult(
                letter=patch.letter,
                stops=patch.stops,
                planned_dose_s=patch.dose_s,
                on_times_s=tuple(t for label in labels for t in on_times.get(label, ())),
                counted_dose_s=sum(counted.get(label, 0.0) for label in labels),
                delivered_dose_s=got.delivered_dose_s if got else None,
                density=got.density if got else None,
                unsure=patch.letter in unsure,
            )
        )
    fate = page.record.fate.value if page.record.fate else Fate.INTERRUPTED.value
    record = page.record
    return StripResult(
        record.record_id, mark, record.title, fate, strip.way, record.lamp, tuple(results)
    )


def strip_table(result: StripResult) -> list[str]:
    """Tell a strip as lines of a table."""
    on_paper = any(patch.density is not None for patch in result.patches)
    head = f"{'patch':5}  {'stops':>7}  {'seconds':>8}  {'lamp on':>8}"
    lines = [head + (f"  {'density':>7}" if on_paper else "")]
    for patch in result.patches:
        stops = format_stops(stops_fraction(patch.stops))
        line = (
            f"{patch.letter:5}  {stops:>7}  {patch.planned_dose_s:8.2f}  "
            f"{sum(patch.on_times_s):8.2f}"
        )
        if patch.density is not None:
            line += f"  {patch.density:7.2f}"
        if patch.unsure:
            line += "  unsure"
        lines.append(line)
    return lines


def page_lines(page: Page, when: Callable[[datetime], str]) -> list[str]:
    """Tell all that the book holds of one record, line by line; ``when`` writes wall times."""
    record = page.record
    fate = record.fate.value if record.fate else Fate.INTERRUPTED.value
    lines = [
        record.title,
        f"{when(record.begun_at)}, rig {record.rig}, {fate}"
        + (f": {record.reason}" if record.reason else ""),
        "lamp: " + ", ".join(f"{name} {value:g}" for name, value in record.lamp.items()),
    ]
    parts = [
        _score_lines(page),
        strip_table(strip_result(page)) if record.kind == "strip" else [],
        _exposure_lines(page),
        [f"{run.mark}: {line}" for run in page.runs if (line := _extra_line(page, run))],
        [f"sheet {s.mark}: {s.fate.value if s.fate else 'open'}" for s in page.sheets],
        [" ".join(f"remark {r.mark} {r.label}".split()) + f": {r.text}" for r in page.remarks],
        [f"picked {p.choice}: {p.dose_s:.2f} s, judged {p.judged.value}" for p in page.picks],
    ]
    for part in parts:
        lines += ["", *part] if part else []
    return lines


def _score_lines(page: Page) -> list[str]:
    """Tell paper, set-up and dry-down of a print; nothing of what is none."""
    if page.record.kind not in OF_A_SCORE:
        return []
    try:
        return score_head(score_of_record(page.record))
    except BadInput as error:  # a score of a later version: what fell is told all the same
        return [str(error)]


def _extra_line(page: Page, run: RunEntry) -> str:
    """Tell what an extra was to add, and what became of it; nothing for a first run."""
    extra = Extra.from_json(run.spec) if run.kind is RunKind.EXTRA else None
    if extra is None:
        return ""
    filters = {e.filter for e in page.exposures if e.run == run.number and e.filter}
    name = extra.filter or " and ".join(sorted(filters))
    fate = run.fate.value if run.fate else Fate.INTERRUPTED.value
    told = f"{extra.name}, {format_time(extra.dose_s)}"
    told += (f", filter {name}" if name else "") + ("" if run.fate is Fate.DONE else f", {fate}")
    return told + (f": {extra.note}" if extra.note else "")


def _exposure_lines(page: Page) -> list[str]:
    """Tell every exposure in columns as wide as they must be."""
    if not page.exposures:
        return []
    filtered = any(exposure.filter for exposure in page.exposures)
    rows = [("", "", "filter" if filtered else "", "wanted", "given", "")]
    rows += [_exposure_row(exposure) for exposure in page.exposures]
    wide = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [
        "  ".join(
            cell.rjust(width) if 2 < place < 5 else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, wide, strict=True))
            if width
        ).rstrip()
        for row in rows
    ]


def _exposure_row(exposure: ExposureEntry) -> tuple[str, str, str, str, str, str]:
    low_s, high_s = exposure.bounds_s
    given = f"{low_s:.2f} s" if low_s == high_s else f"{low_s:.2f} to {high_s:.2f} s"
    label = exposure.label
    if len(label) > LONGEST_LABEL:
        label = label[: LONGEST_LABEL - 1] + "…"
    short = "" if exposure.full else "not full"
    return exposure.mark, label, exposure.filter, f"{exposure.dose_s:.2f} s", given, short
