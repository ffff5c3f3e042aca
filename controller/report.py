"""What came of a strip: the book's record, told patch by patch."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from controller.book.entries import Page
from controller.events import Fate
from controller.stops import format_stops
from controller.strip import Strip, fell_on, patches_of, stops_fraction


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
