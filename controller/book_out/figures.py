"""The book in figures: paper used and wasted, tests and time for each print, a lamp's lag. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from statistics import fmean, median

import msgspec

from controller.book.entries import LampEntry, Page, SheetEntry
from controller.book_told.timeline import evening_of
from controller.errors import BadInput
from controller.events import Fate
from controller.score.again import OF_A_SCORE, score_of_record

PRINT = "print"
TESTS = ("strip", "cross", "trial piece")
# A longer pause ends an evening: what came before it is no time for a print (no source).
PAUSE = timedelta(hours=3)
UNNAMED = "(not named)"


class Spread(msgspec.Struct, frozen=True):
    """How a figure lies: its mean and median, the least, the most, and of how many prints."""

    mean: float
    median: float
    least: float
    most: float
    prints: int


class PaperUse(msgspec.Struct, frozen=True):
    """Paper of a name: sheets (test pieces as well), area in m2, and what of it was wasted."""

    name: str
    sheets: int
    used_m2: float
    wasted_m2: float


class Month(msgspec.Struct, frozen=True):
    """What was made in a month (``2026-03``): good prints, test pieces, wasted sheets."""

    month: str
    prints: int
    tests: int
    wasted: int


class Evening(msgspec.Struct, frozen=True):
    """What was made on a day that began in the evening: good prints, test pieces, waste."""

    day: date
    prints: int
    tests: int
    wasted: int


class EachPrint(msgspec.Struct, frozen=True):
    """A record with good prints: test pieces before it, and minutes for each of its prints."""

    day: date
    tests: int
    minutes: float | None


class DriftPoint(msgspec.Struct, frozen=True):
    """By how much a control strip lies off the first ones, in density."""

    day: date
    white: float
    speed: float
    contrast: float
    black: float


class Drift(msgspec.Struct, frozen=True):
    """What control strips on one box tell of the developer, the oldest first."""

    box: str
    developer: str
    points: tuple[DriftPoint, ...]


class Lag(msgspec.Struct, frozen=True):
    """A lamp's lag as it was measured, in seconds."""

    output: str
    day: date
    cold_lag_s: float


class Figures(msgspec.Struct, frozen=True):
    """All figures. A sheet is wasted that was spoiled, abandoned or cut off.

    ``sheets`` counts by kind of record and by fate (``open``: not ended). ``unsized`` are
    sheets of which no size is known: they are in no area. Strips and minutes for a print count
    from the print before it; minutes only as far back as no pause was longer than three hours, and
    not for what took less time than its light: that was on the simulator.
    """

    begin: date | None
    end: date | None
    sheets: dict[str, dict[str, int]]
    used_m2: float
    wasted_m2: float
    unsized: int
    papers: tuple[PaperUse, ...]
    months: tuple[Month, ...]
    tests_per_print: Spread | None
    minutes_per_print: Spread | None
    light_s_per_print: Spread | None
    lamp_on_s: float
    lags: tuple[Lag, ...]
    evenings: tuple[Evening, ...] = ()
    each_print: tuple[EachPrint, ...] = ()
    drifts: tuple[Drift, ...] = ()


def figures(
    pages: Iterable[Page],
    lags: Iterable[LampEntry] = (),
    drifts: Iterable[Drift] = (),
    *,
    since: date | None = None,
) -> Figures:
    """Count what the pages have, given in any order; with ``since`` only from that day on."""
    kept = sorted(
        (page for page in pages if since is None or _day(page) >= since),
        key=lambda page: page.record.begun_at,
    )
    counted: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for page in kept:
        for sheet in page.sheets:
            counted[page.record.kind][sheet.fate.value if sheet.fate else "open"] += 1
    sheets = [(page, sheet) for page in kept for sheet in page.sheets]
    each, light = _for_each_print(kept)
    measured = [
        Lag(one.output, one.at.date(), one.cold_lag_s)
        for one in lags
        if since is None or one.at.date() >= since
    ]
    return Figures(
        _day(kept[0]) if kept else None,
        _day(kept[-1]) if kept else None,
        {kind: dict(sorted(fates.items())) for kind, fates in sorted(counted.items())},
        sum(_m2(sheet) for _, sheet in sheets),
        sum(_m2(sheet) for _, sheet in sheets if _wasted(sheet)),
        sum(1 for _, sheet in sheets if not (sheet.width_mm and sheet.height_mm)),
        tuple(_papers(sheets)),
        tuple(_months(sheets)),
        _spread([one.tests for one in each]),
        _spread([one.minutes for one in each if one.minutes is not None]),
        _spread(light),
        sum(pulse.on_time_s for page in kept for one in page.exposures for pulse in one.pulses),
        tuple(sorted(measured, key=lambda one: (one.output, one.day))),
        tuple(_evenings(sheets)),
        tuple(each),
        tuple(_since(one, since) for one in drifts),
    )


def since_asked(text: str) -> date | None:
    """Read a day such as ``2026-03-01``; empty is none. Raises BadInput."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"{text!r:.40} is no day", "--since", "a day such as 2026-03-01") from None


# --- inside -----------------------------------------------------------------------------------


def _day(page: Page) -> date:
    return page.record.begun_at.date()


def _m2(sheet: SheetEntry) -> float:
    return (sheet.width_mm or 0.0) * (sheet.height_mm or 0.0) / 1e6


def _wasted(sheet: SheetEntry) -> bool:
    return sheet.fate not in (None, Fate.DONE)


def _papers(sheets: Sequence[tuple[Page, SheetEntry]]) -> list[PaperUse]:
    """Sum by the name of the paper; a test piece is of the print's paper that came after it."""
    names: dict[str, str] = {}
    following = UNNAMED
    for page in reversed(list({page.record.record_id: page for page, _ in sheets}.values())):
        if page.record.kind in OF_A_SCORE:
            following = _paper(page)
        names[page.record.record_id] = following
    by_name: defaultdict[str, list[SheetEntry]] = defaultdict(list)
    for page, sheet in sheets:
        by_name[names[page.record.record_id]].append(sheet)
    used = [
        PaperUse(
            name, len(own), sum(map(_m2, own)), sum(_m2(sheet) for sheet in own if _wasted(sheet))
        )
        for name, own in by_name.items()
    ]
    return sorted(used, key=lambda one: (-one.used_m2, one.name))


def _paper(page: Page) -> str:
    try:
        return score_of_record(page.record).paper.name or UNNAMED
    except BadInput:  # a score of a later version
        return UNNAMED


def _months(sheets: Sequence[tuple[Page, SheetEntry]]) -> list[Month]:
    """Count by month, those between with nothing in them too."""
    by_month: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for page, sheet in sheets:
        month = by_month[f"{page.record.begun_at:%Y-%m}"]
        month[_what(page, sheet)] += 1
    if not by_month:
        return []
    first, last = min(by_month), max(by_month)
    year, number = int(first[:4]), int(first[5:])
    months = []
    while (name := f"{year:04}-{number:02}") <= last:
        one = by_month.get(name, Counter())
        months.append(Month(name, one["prints"], one["tests"], one["wasted"]))
        year, number = (year, number + 1) if number < 12 else (year + 1, 1)
    return months


def _evenings(sheets: Sequence[tuple[Page, SheetEntry]]) -> list[Evening]:
    """Count by evening, which ends in the morning; only those on which something was made."""
    by_day: defaultdict[date, Counter[str]] = defaultdict(Counter)
    for page, sheet in sheets:
        what = _what(page, sheet)
        if what:
            by_day[evening_of(page.record.begun_at)][what] += 1
    return [
        Evening(day, one["prints"], one["tests"], one["wasted"])
        for day, one in sorted(by_day.items())
    ]


def _what(page: Page, sheet: SheetEntry) -> str:
    """Say what a sheet counts as; nothing for what is neither print nor test."""
    if _wasted(sheet):
        return "wasted"
    return "prints" if page.record.kind == PRINT else "tests" if page.record.kind in TESTS else ""


def _since(drift: Drift, since: date | None) -> Drift:
    kept = tuple(one for one in drift.points if since is None or one.day >= since)
    return msgspec.structs.replace(drift, points=kept)


def _for_each_print(pages: Sequence[Page]) -> tuple[list[EachPrint], list[float]]:
    """Give test pieces and minutes for each record with a good print, and light for each print.

    A record of several prints shares its time among them, and counts its tests once.
    """
    each: list[EachPrint] = []
    light: list[float] = []
    before = 0
    start: datetime | None = None
    last: datetime | None = None
    for page in pages:
        record = page.record
        if last is not None and record.begun_at - last > PAUSE:
            start = None
        last = max(filter(None, (record.ended_at, record.begun_at)))
        if record.kind in TESTS:
            before += len(page.sheets)
            start = start or record.begun_at
            continue
        good = [sheet.mark for sheet in page.sheets if sheet.fate is Fate.DONE]
        if record.kind != PRINT:
            continue
        start = start or record.begun_at
        if not good:
            continue
        took = None
        if record.ended_at is not None and not _imagined(page):
            took = (record.ended_at - start).total_seconds() / 60 / len(good)
        each.append(EachPrint(_day(page), before, took))
        light += [
            sum(one.bounds_s[0] for one in page.exposures if one.mark == mark) for mark in good
        ]
        before, start = 0, None
    return each, light


def _imagined(page: Page) -> bool:
    """Was it not longer than its own light, as on the simulator, and in notes without a clock?"""
    record = page.record
    lit_s = sum(pulse.on_time_s for one in page.exposures for pulse in one.pulses)
    lasted = (record.ended_at or record.begun_at) - record.begun_at
    return lasted <= timedelta(seconds=lit_s)


def _spread(values: Sequence[float]) -> Spread | None:
    if not values:
        return None
    return Spread(fmean(values), median(values), min(values), max(values), len(values))
