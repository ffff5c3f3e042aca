"""Pages of the book that a print and its extras would leave, for the tests beside this."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from controller.book.entries import ExposureEntry, Page, Record, RunEntry, RunKind, SheetEntry
from controller.enlarger.lamp import Calibration, LampLimits
from controller.events import Fate
from controller.exposing.around import BARE
from controller.plan import Plan
from controller.score.extra import Extra, plan_extra
from controller.score.file import to_json
from controller.score.model import Score
from controller.score.plan import plan_score, plan_trial

AT = datetime(2026, 1, 1, tzinfo=UTC)


def page_of(
    score: Score,
    *extras: Extra,
    fell: Mapping[str, float] | None = None,
    fate: Fate = Fate.DONE,
    sheets: int = 1,
    place: str = "",
) -> Page:
    """Give the page of a print on K1, or of several from K1 on, with extras on K1.

    With a ``place`` it is a trial piece.

    ``fell`` has what an exposure got, by label, where that was not all (0: it never began).
    """
    unit = (Calibration(), LampLimits(), BARE)
    plan = plan_score(score, *unit, sheets=sheets)
    if place:
        plan = plan_trial(score, place, *unit, size_mm=(50, 100))
    spec = to_json(score)
    runs = [RunEntry(1, RunKind.FIRST, "", plan.to_json(), spec, AT, fate)]
    exposures = _lit(plan, 1, 0, fell or {})
    for extra in extras:
        more = plan_extra(score, extra, len(exposures), *unit)
        number = len(runs) + 1
        plan_json = more.to_json()
        runs.append(
            RunEntry(number, RunKind.EXTRA, "K1", plan_json, extra.to_json(), AT, Fate.DONE)
        )
        exposures += _lit(more, number, len(exposures), fell or {})
    marks = tuple(f"K{n}" for n in range(1, sheets + 1))
    record = Record(
        "r1", plan.kind, plan.title, spec, plan.to_json(), {}, "rig", AT, AT, fate, "", marks
    )
    laid = tuple(SheetEntry(mark, 254, 203, AT, AT, fate, None) for mark in marks)
    return Page(record, laid, tuple(exposures), (), (), tuple(runs))


def _lit(plan: Plan, run: int, before: int, fell: Mapping[str, float]) -> list[ExposureEntry]:
    lit = []
    for number, (_, asked) in enumerate(plan.exposures(), start=before + 1):
        got_s = fell.get(asked.label, asked.dose_s)
        if not got_s:
            continue
        sheet = asked.label.partition(", sheet ")[2] or "1"
        full = got_s == asked.dose_s
        entry = ExposureEntry(
            number, f"K{sheet}", asked.label, asked.dose_s, 1, number, False, AT, got_s, full,
            None, None, (), run, asked.filter,
        )  # fmt: skip
        lit.append(entry)
    return lit
