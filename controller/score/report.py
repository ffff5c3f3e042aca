"""What came of a score or a cross: the book's record, told by passes and by regions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

import msgspec

from controller.book.entries import ExposureEntry, Page, RemarkEntry, RunKind
from controller.events import Fate
from controller.numbered import numbered
from controller.plan import SAME_S, Expose, Plan, Sheet
from controller.ports import NO_FILTER
from controller.score.doses import (
    Given,
    Held,
    Kind,
    exposures,
    print_factor,
    region_doses,
    region_names,
)
from controller.score.extra import Extra, added_to
from controller.score.model import Score
from controller.score.said import said
from controller.stops import factor_to_stops, format_stops, format_time

EXACT_STOPS = 0.002  # a twelfth that was turned into seconds and back
NEARLY_S, NEARLY = 0.02, 0.01  # a dose so near to what was planned is that
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
    note: str = ""


class RegionResult(msgspec.Struct, frozen=True, omit_defaults=True):
    """One region, by filter. What was delivered and the density: from simulated paper only.

    ``counted_dose_s`` is what fell by the lamp's calibration and the record; extras are in it,
    and in what was planned.
    """

    name: str
    planned_dose_s: dict[str, float]
    counted_dose_s: dict[str, float]
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
    page: Page,
    score: Score,
    paper: Mapping[str, OnRegion] | None = None,
    *,
    place: str = "",
    mark: str = "",
) -> ScoreResult:
    """Tell a print's record, all its runs; of several sheets the last that is not spoiled.

    Only one region of it with a ``place``, by itself that of a trial piece; another sheet with a
    ``mark``.
    """
    mark = mark or good_mark(page)
    actions = Plan.from_json(page.record.plan).actions
    place = place or next((one.place for one in actions if isinstance(one, Sheet)), "")
    own = [entry for entry in page.exposures if entry.mark == mark]
    added = added_to(page, mark)
    passes = [_pass(expose, own) for expose in _planned(page, own)]
    passes += [_pass(each.expose, own, each.extra) for each in added]
    planned, counted = region_doses(score), _region_counted(score, own)
    for each in added:
        for name in [each.extra.region] if each.extra.region else list(planned):
            for doses, dose_s in ((planned, each.expose.dose_s), (counted, each.given_s)):
                light = doses[name]
                light[each.expose.filter] = light.get(each.expose.filter, 0.0) + dose_s
    regions = tuple(
        RegionResult(
            name,
            doses,
            counted[name],
            paper[name].delivered_dose_s if paper and name in paper else None,
            paper[name].density if paper and name in paper else None,
        )
        for name, doses in planned.items()
        if not place or name == place
    )
    return ScoreResult(
        page.record.record_id,
        mark,
        page.record.title,
        page.record.fate.value if page.record.fate else Fate.INTERRUPTED.value,
        page.record.lamp,
        regions,
        tuple(passes),
        tuple(sheet.mark for sheet in page.sheets),
        tuple(_remark(r, several=len(page.sheets) > 1) for r in page.remarks),
    )


def _remark(remark: RemarkEntry, *, several: bool) -> str:
    """Tell a remark, with its label, or with its sheet's mark where there are several."""
    about = remark.label or (remark.mark if several else "")
    return f"{about}: {remark.text}" if about else remark.text


def good_mark(page: Page) -> str:
    """Give the mark of a record's last sheet that is not spoiled, else of the last."""
    good = [sheet.mark for sheet in page.sheets if sheet.fate is not Fate.SPOILED]
    return (good or [sheet.mark for sheet in page.sheets] or [""])[-1]


def result_table(result: ScoreResult) -> list[str]:
    """Tell a print as lines: what was exposed, then what each region has."""
    width = max([7, *(len(one.label) for one in result.passes)])
    lines = [f"{'':{width}}  {'filter':7}  {'seconds':>8}  {'given':>8}  {'lamp on':>8}"]
    for one in result.passes:
        lines.append(
            f"{one.label:{width}}  {one.filter or NO_FILTER:7}  {one.planned_dose_s:8.2f}  "
            f"{one.counted_dose_s:8.2f}  {sum(one.on_times_s):8.2f}"
        )
    width = max([7, *(len(region.name) for region in result.regions)])
    lines.append("")
    for region in result.regions:
        doses = ", ".join(
            f"{name} {_of(region.counted_dose_s.get(name, 0.0), dose_s)} s"
            for name, dose_s in region.planned_dose_s.items()
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
    works = [numbered(n, word) for n, word in ((burns, "burn"), (dodges, "dodge"))]
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
    lines = [*score_head(score), ""]
    dried = print_factor(score) < 1
    lines += [_given_line(one, score, dried=dried) for one in exposures(score)]
    if score.remarks:
        lines += ["", score.remarks]
    return lines


def score_head(score: Score) -> list[str]:
    """Tell what stands above a score's exposures: base, paper, set-up, dry-down."""
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
    return lines


# --- inside -----------------------------------------------------------------------------------


def _planned(page: Page, own: list[ExposureEntry]) -> list[Expose]:
    """Give what one sheet was to get of its plan, with what of it never fell."""
    labels = {entry.label for entry in own}
    by_sheet: list[list[Expose]] = [[]]
    for action in Plan.from_json(page.record.plan).actions:
        if isinstance(action, Sheet):
            by_sheet.append([])
        elif isinstance(action, Expose):
            by_sheet[-1].append(action)
    sheets = [exposes for exposes in by_sheet if exposes]
    mine = (exposes for exposes in sheets if any(one.label in labels for one in exposes))
    planned = next(mine, sheets[0] if sheets else [])
    # extras of before there were runs are in no plan
    extra = {run.number for run in page.runs if run.kind is RunKind.EXTRA}
    known = {one.label for one in planned}
    odd = {e.label: e for e in own if e.label not in known and e.run not in extra}
    return [*planned, *(Expose(e.label, e.dose_s, filter=e.filter) for e in odd.values())]


def _region_counted(score: Score, own: list[ExposureEntry]) -> dict[str, dict[str, float]]:
    """Give what fell on each region of what the score has, by the record, under each filter."""
    sums: dict[str, dict[str, float]] = {name: {} for name in region_names(score)}
    for one in exposures(score):
        key = Kind.FLASH.value if one.kind is Kind.FLASH else one.filter
        labels = {one.label, *(e.label for e in own if e.label.startswith(f"{one.label}, sheet "))}
        fell_s = sum(e.bounds_s[0] for e in own if e.label in labels)
        for name, doses in sums.items():
            if one.regions and name not in one.regions:
                continue
            held_s = sum(
                min(held.end_s, fell_s) - min(held.begin_s, fell_s)
                for held in one.held
                if name in held.regions
            )
            doses[key] = doses.get(key, 0.0) + fell_s - held_s
    return sums


def _of(counted_s: float, planned_s: float) -> str:
    """Tell a dose, and where less or more fell, how much."""
    if abs(counted_s - planned_s) <= max(NEARLY_S, NEARLY * planned_s):
        return f"{planned_s:.2f}"
    return f"{counted_s:.2f} of {planned_s:.2f}"


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
        setup.magnification and f"magnification {said(setup.magnification)}",
        setup.head_height_mm and f"head at {said(setup.head_height_mm, 'head_height_mm')}",
        setup.column and f"column {setup.column}",
        setup.focus_note,
    ]
    return ", ".join(str(part) for part in parts if part)


def _how(one: Given, score: Score) -> str:
    if one.follows and not one.regions:
        return f"base {_in_twelfths(factor_to_stops(one.undried_s / score.base_s))}"
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


def _pass(expose: Expose, entries: list[ExposureEntry], extra: Extra | None = None) -> PassResult:
    own = [entry for entry in entries if entry.label == expose.label]
    return PassResult(
        expose.label,
        expose.filter,
        expose.dose_s,
        tuple(pulse.on_time_s for entry in own for pulse in entry.pulses),
        sum(entry.bounds_s[0] for entry in own),
        regions=(extra.region,) if extra and extra.region else (),
        note=extra.note if extra else "",
    )


def _in_twelfths(stops: float) -> str:
    """Write stops as printers do; what is no twelfth is the nearest one, with a tilde."""
    twelfths = Fraction(round(stops * 12), 12)
    about = "" if abs(stops - twelfths) < EXACT_STOPS else "~"
    return about + format_stops(twelfths)
