"""Two prints of one negative beside each other: every difference, in stops and in words. Pure.

A difference of exposure is ``log2(second / first)``: a stop is a doubling, so plus means that the
second got more. What one print has and the other has not is said in words, as no number of stops
leads there from nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import msgspec

from controller.score.amount import Amount, Unit
from controller.score.doses import exposures, region_doses
from controller.score.model import Score
from controller.score.said import SAME_STOPS, called, said, said_stops
from controller.stops import format_stops, format_time

SHOULD, GOT = "should get", "got"
SEEN_STOPS = 0.01  # less than an eighth of the smallest step that anyone prints by


class Difference(msgspec.Struct, frozen=True):
    """One difference: in what, what it was and is, and in stops where that has a meaning."""

    what: str
    first: str
    second: str
    stops: float | None = None
    region: str = ""  # of a difference in what a region gets

    @property
    def line(self) -> str:
        """Tell it in one line."""
        told = f"{self.what}: {self.first or 'none'} -> {self.second or 'none'}"
        return told if self.stops is None else f"{told} ({said_stops(self.stops)} stop)"


def differences(first: Score, second: Score) -> list[Difference]:
    """Give every difference of two scores: exposures, handwork, regions, paper, set-up, trays.

    Raises Refused where a score's own dodges do not fit its passes.
    """
    found = _exposures(first, second)
    found += _handwork(first, second)
    found += _regions(region_doses(first), region_doses(second), SHOULD)
    for name in ("paper", "setup", "process"):
        one, other = (getattr(score, name).model_dump() for score in (first, second))
        if name == "paper":
            one, other = _sized(one), _sized(other)
        found += _fields("" if name == "setup" else name, one, other)
    for name in ("negative", "judged", "title", "remarks"):
        found += _fields("", {name: getattr(first, name)}, {name: getattr(second, name)})
    return found


def in_few_lines(found: Sequence[Difference], regions: Sequence[str]) -> list[str]:
    """Tell differences, those of regions that have the same one together.

    ``regions`` names all there are: what most of them have is told as everywhere, or everywhere
    but the others.
    """
    lines = [one.line for one in found if not one.region]
    alike: dict[tuple[str, str], list[str]] = {}
    for one in found:
        if one.region:
            rest = one.what.removeprefix(one.region)
            told = (
                one.line.partition(": ")[2]
                if one.stops is None
                else f"{said_stops(one.stops)} stop"
            )
            alike.setdefault((rest, told), []).append(one.region)
    for (rest, told), names in alike.items():
        where, others = ", ".join(names), [name for name in regions if name not in names]
        if len(names) > 1 and len(others) < len(names):
            where = f"everywhere but {', '.join(others)}" if others else "everywhere"
        lines.append(f"{where}{rest}: {told}")
    return lines


def not_as_wanted(wanted: Sequence[Difference], given: Sequence[Difference]) -> list[Difference]:
    """Give the differences in what was got that the scores do not have already.

    What should differ and was got alike, since an extra made up for it, is a difference of 0.
    """
    known = {(one.region, one.what.rpartition(",")[2]): one.stops for one in wanted if one.region}

    def new(one: Difference) -> bool:
        stops = known.get((one.region, one.what.rpartition(",")[2]))
        if stops is None or one.stops is None:
            return True
        return abs(stops - one.stops) > SEEN_STOPS

    got = {one.what for one in given}
    alike = []
    for one in wanted:
        what = one.what.replace(SHOULD, GOT, 1)
        if one.region and one.stops and abs(one.stops) > SEEN_STOPS and what not in got:
            alike.append(Difference(what, one.first, one.first, 0.0, region=one.region))
    return [*(one for one in given if new(one)), *alike]


def given_differences(
    first: Mapping[str, Mapping[str, float]], second: Mapping[str, Mapping[str, float]]
) -> list[Difference]:
    """Compare what two prints really got, in seconds of dose by region and filter."""
    return _regions(first, second, GOT)


def spread_stops(doses_s: Iterable[float]) -> float | None:
    """Give the spread of what several sheets got: log2 of the most over the least.

    None where there are fewer than two, or one got nothing.
    """
    doses = list(doses_s)
    if len(doses) < 2 or min(doses) <= 0:
        return None
    return math.log2(max(doses) / min(doses))


# --- inside -----------------------------------------------------------------------------------


def _exposures(first: Score, second: Score) -> list[Difference]:
    """Compare the exposures of the whole sheet by their names, with filter and aperture."""
    one, other = (
        {given.label: given for given in exposures(score) if not given.regions}
        for score in (first, second)
    )
    found = []
    for label in dict.fromkeys([*one, *other]):
        a, b = one.get(label), other.get(label)
        if a is None or b is None:
            was, is_ = (f"{format_time(x.dose_s)}, {x.filter}" if x else "" for x in (a, b))
            found.append(Difference(label, was, is_))
            continue
        stops = math.log2(b.dose_s / a.dose_s)
        if abs(stops) > SAME_STOPS:
            times = format_time(a.dose_s), format_time(b.dose_s)
            found.append(Difference(label, *times, round(stops, 4)))
        if a.filter != b.filter:
            found.append(Difference(f"{label}, filter", a.filter, b.filter))
        if a.aperture != b.aperture:
            found.append(Difference(f"{label}, aperture", a.aperture, b.aperture))
    return found


def _handwork(first: Score, second: Score) -> list[Difference]:
    """Compare burns and dodges by region and pass."""
    one, other = (_by_place(score) for score in (first, second))
    found = []
    for what in dict.fromkeys([*one, *other]):
        a, b = one.get(what, []), other.get(what, [])
        if [str(x) for x in a] == [str(x) for x in b]:
            continue
        stops = None
        alone = len(a) == len(b) == 1
        if alone and a[0].unit is b[0].unit:
            before, after = float(a[0].value), float(b[0].value)
            if a[0].unit is Unit.STOPS:
                stops = round(after - before, 4)
            elif before > 0 and after > 0:
                stops = round(math.log2(after / before), 4)
            if stops is not None and abs(stops) <= SAME_STOPS:
                continue
        was, is_ = (" and ".join(_told(x) for x in amounts) for amounts in (a, b))
        found.append(Difference(what, was, is_, stops))
    return found


def _told(amount: Amount) -> str:
    """Tell an amount as one would say it: what was found by arithmetic has many places."""
    if amount.unit is Unit.STOPS:
        return format_stops(amount.value)
    return format_time(float(amount.value))


def _by_place(score: Score) -> dict[str, list[Amount]]:
    found: dict[str, list[Amount]] = {}
    for burn in score.burns:
        through = f", filter {burn.filter}" if burn.filter else ""
        for region in burn.regions:
            found.setdefault(f"burn {region} over {burn.over}{through}", []).append(burn.amount)
    for dodge in score.dodges:
        begin = f", from {dodge.begin}" if dodge.begin else ""
        for region in dodge.regions:
            found.setdefault(f"dodge {region} in {dodge.within}{begin}", []).append(dodge.amount)
    return found


def _regions(
    first: Mapping[str, Mapping[str, float]], second: Mapping[str, Mapping[str, float]], verb: str
) -> list[Difference]:
    found = []
    for name in first:
        if name not in second:
            continue
        for light in dict.fromkeys([*first[name], *second[name]]):
            a, b = first[name].get(light, 0.0), second[name].get(light, 0.0)
            what = f"{name} {verb}, filter {light}"
            if a > 0 and b > 0:
                stops = math.log2(b / a)
                if abs(stops) > SAME_STOPS:
                    times = format_time(a), format_time(b)
                    found.append(Difference(what, *times, round(stops, 4), region=name))
            elif (a > 0) != (b > 0):
                was, is_ = (format_time(x) if x > 0 else "" for x in (a, b))
                found.append(Difference(what, was, is_, region=name))
    return found


def _fields(table: str, one: Mapping[str, object], other: Mapping[str, object]) -> list[Difference]:
    found = []
    for name, was in one.items():
        is_ = other[name]
        if was != is_:
            before, after = (said(value, name) for value in (was, is_))
            if before != after:
                what = " ".join(filter(None, [table, called(name)]))
                found.append(Difference(what, before, after))
    return found


def _sized(paper: Mapping[str, object]) -> dict[str, object]:
    """Give a paper's fields with its two sides as one size."""
    rest = {name: value for name, value in paper.items() if not name.endswith("_mm")}
    width, height = (said(paper[name], name) for name in ("width_mm", "height_mm"))
    return rest | {"size": f"{width.removesuffix(' mm')} x {height}"}
