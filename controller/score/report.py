"""What came of a score or a cross: the book's record, told by passes and by regions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import msgspec

from controller.book.entries import ExposureEntry, Page
from controller.events import Fate
from controller.plan import SAME_S, Expose, Plan
from controller.ports import NO_FILTER
from controller.score.doses import Given, Held, exposures, print_factor, region_doses
from controller.score.model import Score
from controller.stops import factor_to_stops, format_stops, format_time
from controller.strip import stops_fraction

SHORT = 20  # a pick such as "K3 C-D", and no line of a conversion


class OnRegion(msgspec.Struct, frozen=True):
    """What a region of (simulated) paper got under each filter, and became."""

    delivered_dose_s: dict[str, float]
    density: float


class PassResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """One exposure: planned, and how long the lamp really was on for it."""

    label: str
    filter: str
    planned_dose_s: float
    on_times_s: tuple[float, ...]
    counted_dose_s: float
    regions: tuple[str, ...] = ()


class RegionResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """One region, by filter. What was delivered and the density: from simulated paper only."""

    name: str
    planned_dose_s: dict[str, float]
    delivered_dose_s: dict[str, float] | None = None
    density: float | None = None


class ScoreResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """A print (or a trial piece) that was made, or begun; of several sheets the one marked."""

    record_id: str
    mark: str
    title: str
    fate: str
    lamp: dict[str, float]
    regions: tuple[RegionResult, ...]
    passes: tuple[PassResult, ...]
    marks: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def score_result(
    page: Page, score: Score, paper: Mapping[str, OnRegion] | None = None, *, place: str = ""
) -> ScoreResult:
    """Tell a print's record; of several sheets the last that is not spoiled."""
    mark = page.sheets[-1].mark if page.sheets else ""
    good = [sheet.mark for sheet in page.sheets if sheet.fate is not Fate.SPOILED]
    mark = good[-1] if good else mark
    plan = Plan.from_json(page.record.plan)
    own = [entry for entry in page.exposures if entry.mark == mark]
    labels = list(dict.fromkeys(entry.label for entry in own))
    planned = [e for _, e in plan.exposures() if e.label in labels or not labels]
    regions = tuple(
        RegionResult(
            name,
            doses,
            paper[name].delivered_dose_s if paper and name in paper else None,
            paper[name].density if paper and name in paper else None,
        )
        for name, doses in region_doses(score).items()
        if not place or name == place
    )
    return ScoreResult(
        page.record.record_id,
        mark,
        page.record.title,
        page.record.fate.value if page.record.fate else Fate.INTERRUPTED.value,
        page.record.lamp,
        regions,
        tuple(_pass(expose, own) for expose in planned),
        tuple(sheet.mark for sheet in page.sheets),
        tuple(f"{r.label}: {r.text}" if r.label else r.text for r in page.remarks),
    )


def passes_of(page: Page, mark: str) -> tuple[PassResult, ...]:
    """Tell each exposure of one sheet of a record."""
    own = [entry for entry in page.exposures if entry.mark == mark]
    return tuple(_pass(e, own) for _, e in Plan.from_json(page.record.plan).exposures())


def result_table(result: ScoreResult) -> list[str]:
    """Tell a print as lines: what was exposed, then what each region has."""
    width = max([7, *(len(one.label) for one in result.passes)])
    lines = [f"{'':{width}}  {'filter':7}  {'seconds':>8}  {'lamp on':>8}"]
    for one in result.passes:
        lines.append(
            f"{one.label:{width}}  {one.filter or NO_FILTER:7}  "
            f"{one.planned_dose_s:8.2f}  {sum(one.on_times_s):8.2f}"
        )
    width = max([7, *(len(region.name) for region in result.regions)])
    lines.append("")
    for region in result.regions:
        doses = ", ".join(
            f"{name} {dose_s:.2f} s" for name, dose_s in region.planned_dose_s.items()
        )
        line = f"{region.name:{width}}  {doses}"
        if region.density is not None:
            line += f"  density {region.density:.2f}"
        lines.append(line)
    return [*lines, *result.remarks]


def ready_words(score: Score, sheets: int = 1) -> str:
    """Tell in a few words which print lies ready: its passes, and how much handwork."""
    given = exposures(score)
    passes = [f"{one.label} {format_time(one.dose_s)}" for one in given if not one.regions]
    burns = sum(1 for one in given if one.regions)
    dodges = sum(len(one.held) for one in given)
    works = [
        f"{n} {word}{'s' if n > 1 else ''}" for n, word in ((burns, "burn"), (dodges, "dodge"))
    ]
    parts = [", ".join(passes), *(w for w in works if not w.startswith("0"))]
    if sheets > 1:
        parts.append(f"{sheets} sheets")
    if score.came_from and len(score.came_from[-1]) <= SHORT:
        parts.append(f"from {score.came_from[-1]}")
    return ", ".join(parts)


class Row(NamedTuple):
    """One exposure of a score, or a dodge in it, for a table."""

    label: str
    filter: str
    time: str
    undried: str
    how: str  # in stops from the base, or whether it follows it


ROW_HEADS = Row("", "filter", "seconds", "undried", "")
LONGEST_LABEL = 26  # characters of a row's label


def row_columns(rows: Sequence[Row]) -> list[Row]:
    """Pad the rows of a table, its heads first, so that each column is as wide as it must be."""
    kept = [ROW_HEADS, *(row._replace(label=_cut(row.label)) for row in rows)]
    if not any(row.undried for row in rows):
        kept = [row._replace(undried="") for row in kept]
    wide = [max(len(cell) for cell in column) for column in zip(*kept, strict=True)]
    label, filter_, time, undried, how = wide
    return [
        Row(
            row.label.ljust(label),
            row.filter.rjust(filter_),
            row.time.rjust(time),
            row.undried.rjust(undried),
            row.how.ljust(how),
        )
        for row in kept
    ]


def score_rows(score: Score) -> list[Row]:
    """Tell every exposure of a print, each dodge beneath its pass. Raises Refused."""
    rows = []
    for one in exposures(score):
        undried = format_time(one.undried_s) if one.dose_s != one.undried_s else ""
        how = _how(one, score).removesuffix(" the base")
        rows.append(Row(one.label, one.filter, format_time(one.dose_s), undried, how))
        for held in one.held:
            begin = format_time(held.begin_s) if held.begin_s > SAME_S else "the start"
            for_s = format_time(held.end_s - held.begin_s)
            rows.append(Row(f"  dodge {held.name}", "", for_s, "", f"from {begin}"))
    return rows


def score_lines(score: Score) -> list[str]:
    """Tell a score, and which figures follow the base and which are fixed."""
    factor = print_factor(score)
    head = [
        " ".join(filter(None, [score.title, score.negative and f"(negative {score.negative})"])),
        f"base {format_time(score.base_s)}, judged {score.judged}",
        _paper_line(score),
        _setup_line(score),
    ]
    lines = [line for line in head if line]
    if factor < 1:
        stops = format_stops(round(factor_to_stops(factor), 2))
        lines.append(f"dry-down {score.paper.dry_down}: {stops} stop, taken off once, here")
    elif score.judged == "dry" and score.paper.dry_down:
        lines.append("judged dry: nothing is taken off for dry-down")
    lines.append("")
    lines += [_given_line(one, score, dried=factor < 1) for one in exposures(score)]
    if score.remarks:
        lines += ["", score.remarks]
    return lines


# --- inside -----------------------------------------------------------------------------------


def _cut(label: str) -> str:
    return label if len(label) <= LONGEST_LABEL else label[: LONGEST_LABEL - 1] + "…"


def _paper_line(score: Score) -> str:
    paper = score.paper
    named = ", ".join(
        filter(None, [paper.name, paper.batch and f"batch {paper.batch}", paper.base])
    )
    return f"paper {named or '(not named)'}, {paper.width_mm:g} x {paper.height_mm:g} mm"


def _setup_line(score: Score) -> str:
    setup = score.setup
    parts = [
        setup.lens and f"lens {setup.lens}",
        setup.aperture and f"f/{setup.aperture}",
        setup.magnification and f"magnification {setup.magnification:g}",
        setup.head_height_mm and f"head at {setup.head_height_mm:g} mm",
        setup.column and f"column {setup.column}",
        setup.focus_note,
    ]
    return ", ".join(str(part) for part in parts if part)


def _how(one: Given, score: Score) -> str:
    if one.follows and not one.regions:
        stops = stops_fraction(factor_to_stops(one.undried_s / score.base_s))
        return f"base {format_stops(stops)}"
    return "follows the base" if one.follows else "fixed"


def _given_line(one: Given, score: Score, *, dried: bool) -> str:
    how = _how(one, score)
    times = format_time(one.dose_s)
    if dried and one.dose_s != one.undried_s:
        times += f" (undried {format_time(one.undried_s)})"
    line = f"{one.label:20}  filter {one.filter:5}  {times:24}  {how}"
    for held in one.held:
        line += f"\n  {_held_line(held)}"
    return line + (f"\n  {one.note}" if one.note else "")


def _held_line(held: Held) -> str:
    for_s = held.end_s - held.begin_s
    return (
        f"dodge {held.name}: {format_time(for_s)}, from {format_time(held.begin_s)} to "
        f"{format_time(held.end_s)}"
    )


def _pass(expose: Expose, entries: list[ExposureEntry]) -> PassResult:
    own = [entry for entry in entries if entry.label == expose.label]
    return PassResult(
        expose.label,
        expose.filter,
        expose.dose_s,
        tuple(pulse.on_time_s for entry in own for pulse in entry.pulses),
        sum(entry.bounds_s[0] for entry in own),
    )
