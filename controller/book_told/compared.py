"""Two prints of the book beside each other: what was wanted, got, and became of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from controller.book.book import Book
from controller.book.entries import Page
from controller.book.whole import WholePrint, whole_print
from controller.book.whole_wet import BathThen
from controller.chemistry.since import OLDER_H
from controller.chemistry.words import span
from controller.errors import BadInput
from controller.score.differences import (
    Difference,
    differences,
    given_differences,
    in_few_lines,
    not_as_wanted,
)
from controller.score.doses import region_names
from controller.score.model import Score
from controller.score.report import score_result
from controller.score.said import lamp_lines
from controller.stops import format_time

SAME_STEP_S = 1.0  # a sheet is lifted no more exactly than that (common practice, no source)
SAME_CELSIUS = 0.1  # a thermometer's reading
SAME_DENSITY = 0.02  # what a densitometer repeats (from memory of data sheets)


@dataclass(frozen=True)
class Compared:
    """``wanted``: differences of scores and of all that was put down; ``given``: of real light."""

    first: WholePrint
    second: WholePrint
    wanted: tuple[Difference, ...]
    given: tuple[Difference, ...]

    @property
    def one_negative(self) -> bool:
        """Are both of the same negative?"""
        return self.first.print.negative == self.second.print.negative

    @property
    def heading(self) -> str:
        """Say which is which, and what plus means."""
        one, other = self.first.print.mark, self.second.print.mark
        return f"{one} -> {other}: plus is more light in {other}"

    @property
    def lines(self) -> list[str]:
        """Tell every difference; those of what was got only where they were not wanted."""
        regions = region_names(score_in(self.second))
        lines = in_few_lines(self.wanted, regions)
        apart = not_as_wanted(self.wanted, self.given)
        if apart:
            lines.append("what they really got beside that:")
            lines += [f"  {line}" for line in in_few_lines(apart, regions)]
        return lines or ["no difference that the book knows of"]


def compared(book: Book, key: str, other: str) -> Compared:
    """Compare two prints, called by mark, number or record.

    Raises BadInput for one and the same, and for one without a score; BookFault; Refused where a
    score's own dodges do not fit its passes.
    """
    first, second = whole_print(book, key), whole_print(book, other)
    if first.print.print_id == second.print.print_id:
        raise BadInput("both are the same print", "book compare", "two prints")
    wanted = differences(score_in(first), score_in(second))
    wanted += [Difference(*line) for line in lamp_lines(first.record.lamp, second.record.lamp)]
    wanted += _told("rig", first.record.rig, second.record.rig)
    wanted += _baths(first.baths, second.baths)
    wanted += _steps(first, second)
    wanted += _room(first, second)
    wanted += _tones(first, second)
    for what in ("dry_note", "rating"):
        was, is_ = (getattr(one.print, what) for one in (first, second))
        named = {"dry_note": "dry", "rating": "rated"}[what]
        wanted += _told(named, str(was or ""), str(is_ or ""))
    doses = [_doses(whole, book.record(whole.print.record_id)) for whole in (first, second)]
    return Compared(first, second, tuple(wanted), tuple(given_differences(doses[0], doses[1])))


def score_in(whole: WholePrint) -> Score:
    """Give a print's score. Raises BadInput where it cannot be read."""
    if whole.score is None:
        right = "one whose score the book can read"
        raise BadInput(f"{whole.print.mark} has no score that can be read", "the book", right)
    return whole.score


# --- inside -----------------------------------------------------------------------------------


def _told(what: str, was: str, is_: str) -> list[Difference]:
    return [Difference(what, was, is_)] if was != is_ else []


def _doses(whole: WholePrint, page: Page | None) -> Mapping[str, Mapping[str, float]]:
    """Give what each region really got by filter, extras and all: only a page tells of those."""
    result = score_result(page or whole.page, score_in(whole), mark=whole.print.mark)
    return {region.name: region.counted_dose_s for region in result.regions}


def _baths(first: Iterable[BathThen], second: Iterable[BathThen]) -> list[Difference]:
    """Compare baths by their trays: another one, or the same a day older."""
    one, other = ({bath.tray: bath for bath in baths} for baths in (first, second))
    found = []
    for tray in dict.fromkeys([*one, *other]):
        a, b = one.get(tray), other.get(tray)
        alike = (
            a is not None
            and b is not None
            and (a.product, a.dilution, a.made_at) == (b.product, b.dilution, b.made_at)
            and abs(a.age_h - b.age_h) <= OLDER_H
        )
        if not alike:
            was, is_ = ("" if x is None else _bath(x) for x in (a, b))
            found.append(Difference(tray, was, is_))
    return found


def _bath(bath: BathThen) -> str:
    return f"{f'{bath.product} {bath.dilution}'.strip()}, {span(bath.age_h)} old"


def _steps(first: WholePrint, second: WholePrint) -> list[Difference]:
    """Compare the times in the trays that were really timed, and the temperature."""
    one, other = (
        {step.bath: step for step in whole.wet_steps if step.time_s is not None}
        for whole in (first, second)
    )
    found = []
    for bath in dict.fromkeys([*one, *other]):
        times = [x[bath].time_s if bath in x else None for x in (one, other)]
        if None in times or abs((times[0] or 0) - (times[1] or 0)) > SAME_STEP_S:
            was, is_ = ("" if t is None else format_time(t) for t in times)
            found.append(Difference(f"time in {bath}", was, is_))
    warm = [whole.print.temperature_c for whole in (first, second)]
    if warm[0] is None or warm[1] is None or abs(warm[0] - warm[1]) > SAME_CELSIUS:
        found += _told("developer at", *("" if t is None else f"{t:.1f} C" for t in warm))
    return found


def _room(first: WholePrint, second: WholePrint) -> list[Difference]:
    """Compare the safe times of the lights that stood in the room with both."""
    one, other = (whole.room.safe if whole.room else {} for whole in (first, second))
    return [
        Difference(f"safe time under {light}", one[light], other[light])
        for light in one
        if light in other and one[light] != other[light]
    ]


def _tones(first: WholePrint, second: WholePrint) -> list[Difference]:
    """Compare densities of regions that were read off both."""
    one, other = ({tone.region: tone.density for tone in w.tones} for w in (first, second))
    return [
        Difference(f"density of {name}", f"{one[name]:.2f}", f"{other[name]:.2f}")
        for name in one
        if name in other and abs(one[name] - other[name]) > SAME_DENSITY
    ]
