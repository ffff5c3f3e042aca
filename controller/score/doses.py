"""What a score gives the paper: each exposure in seconds of dose, and each region's sum. Pure.

A burn of n stops over b is b(2^n - 1), a dodge of n stops of b holds b(1 - 2^-n) back: both by
the definition of a stop. Dry-down multiplies everything but the flash, once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from controller.errors import Refused
from controller.plan import SAME_S
from controller.ports import NO_FILTER
from controller.score.amount import Unit
from controller.score.model import (
    ALL_PASSES,
    ELSEWHERE,
    NO_CELL,
    Burn,
    Dodge,
    Pass,
    Score,
    begin_s,
    dry_down_factor,
)
from controller.stops import format_time

TURN_S = 1.5  # between two tools that take turns in one pair of hands (common practice)


class Kind(Enum):
    """What an exposure of a score is."""

    FLASH = "flash"
    PASS = "pass"
    BURN = "burn"


@dataclass(frozen=True)
class Held:
    """Regions kept from light between two doses of an exposure, in seconds."""

    regions: tuple[str, ...]
    begin_s: float
    end_s: float

    @property
    def name(self) -> str:
        """Give what is said of it."""
        return " and ".join(self.regions)


@dataclass(frozen=True)
class Given:
    """One exposure of a print. ``regions`` is empty where the whole sheet is open."""

    kind: Kind
    label: str
    filter: str
    dose_s: float
    undried_s: float  # the same without dry-down
    regions: tuple[str, ...] = ()
    held: tuple[Held, ...] = ()
    yellow: float = 0.0
    magenta: float = 0.0
    aperture: str = ""
    note: str = ""
    follows: bool = True  # does it change with the base?


def print_factor(score: Score) -> float:
    """Give the factor that dry-down makes of every exposure but the flash."""
    return 1.0 if score.judged == "dry" else dry_down_factor(score.paper.dry_down)


def exposures(score: Score) -> list[Given]:
    """Give every exposure of a print in order: flash, passes, burns. Raises Refused.

    A dodge that its pass cannot hold is refused with what would fit.
    """
    factor = print_factor(score)
    given: list[Given] = []
    if score.flash:
        flash = score.flash
        aperture = flash.aperture or score.setup.aperture
        given.append(
            Given(
                Kind.FLASH,
                Kind.FLASH.value,
                flash.filter or NO_FILTER,
                flash.dose_s,
                flash.dose_s,
                aperture=aperture,
                note=flash.note,
                follows=False,
            )
        )
    for one in score.passes:
        undried_s = one.dose.from_base_s(score.base_s)
        given.append(
            Given(
                Kind.PASS,
                one.label,
                filter_of(one),
                undried_s * factor,
                undried_s,
                held=tuple(_held(score, one, undried_s, factor)),
                yellow=one.yellow,
                magenta=one.magenta,
                aperture=one.aperture or score.setup.aperture,
                note=one.note,
                follows=one.dose.follows,
            )
        )
    for burn in score.burns:
        given += _burned(score, burn, factor)
    return _own_labels(given)


def filter_of(one: Pass) -> str:
    """Name what is in the light during a pass: a filter, or the settings of a head."""
    if one.filter:
        return one.filter
    settings = (("Y", one.yellow), ("M", one.magenta))
    head = [f"{value:g}{letter}" for letter, value in settings if value]
    return " ".join(head) or NO_FILTER


def region_names(score: Score) -> tuple[str, ...]:
    """Name the regions of a score; without a sketch, and beside regions, there is elsewhere."""
    names = tuple(score.regions.values())
    beside = not score.sketch or any(NO_CELL in row for row in score.sketch)
    return (*names, ELSEWHERE) if beside else names


def region_doses(score: Score) -> dict[str, dict[str, float]]:
    """Give what each region is to get, in seconds of dose under each filter.

    The flash comes under ``flash``: it is light of another kind.
    """
    sums: dict[str, dict[str, float]] = {name: {} for name in region_names(score)}
    for one in exposures(score):
        key = Kind.FLASH.value if one.kind is Kind.FLASH else one.filter
        for name, doses in sums.items():
            if one.regions and name not in one.regions:
                continue
            dose_s = one.dose_s - sum(h.end_s - h.begin_s for h in one.held if name in h.regions)
            doses[key] = doses.get(key, 0.0) + dose_s
    return sums


# --- inside -----------------------------------------------------------------------------------


def _burned(score: Score, burn: Burn, factor: float) -> Iterator[Given]:
    if burn.over == ALL_PASSES and burn.amount.unit is Unit.STOPS:
        over: list[Pass] = list(score.passes)
    elif burn.over == ALL_PASSES:
        over = [score.passes[-1]]  # seconds are given once, under one filter
    else:
        over = [score.pass_called(burn.over)]
    for one in over:
        undried_s = burn.amount.over_s(one.dose.from_base_s(score.base_s))
        label = f"burn {' and '.join(burn.regions)}"
        if len(over) > 1:
            label += f", {one.label}"
        own = bool(burn.filter)
        yield Given(
            Kind.BURN,
            label,
            burn.filter if own else filter_of(one),
            undried_s * factor,
            undried_s,
            regions=burn.regions,
            yellow=0.0 if own else one.yellow,
            magenta=0.0 if own else one.magenta,
            aperture=one.aperture or score.setup.aperture,
            note=burn.note,
            follows=burn.amount.follows and one.dose.follows,
        )


def _held(score: Score, one: Pass, undried_s: float, factor: float) -> Iterator[Held]:
    dose_s = undried_s * factor
    placed: list[Held] = []
    for dodge in score.dodges:
        if dodge.within != one.label:
            continue
        held_s = dodge.amount.held_s(undried_s) * factor
        _require_fits(dodge, one, held_s, dose_s, undried_s)
        begin = _begin(dodge, held_s, dose_s, factor, placed)
        held = Held(dodge.regions, begin, begin + held_s)
        _require_apart(held, placed, one)
        placed.append(held)
        yield held


def _begin(dodge: Dodge, held_s: float, dose_s: float, factor: float, before: list[Held]) -> float:
    latest_s = max(0.0, dose_s - held_s)
    match dodge.begin:
        case "start":
            return 0.0
        case "middle":
            return latest_s / 2
        case "end":
            return latest_s
        case "":
            free_s = max((held.end_s for held in before), default=-TURN_S) + TURN_S
            return min(free_s, latest_s)
    begin = begin_s(dodge.begin) * factor
    if begin > latest_s + SAME_S:
        raise Refused(
            f"a dodge of {' and '.join(dodge.regions)} that begins at {format_time(begin)} and "
            f"lasts {format_time(held_s)} outlasts {dodge.within}, {format_time(dose_s)}",
            (f"a beginning at {_at_most(latest_s / factor)} or sooner",),
        )
    return min(begin, latest_s)


def _at_most(time_s: float) -> str:
    """Write the most that will do, as a score has it: without dry-down, and rounded down."""
    tenths = math.floor(time_s * 10)
    return f"{tenths / 10:g}s" if tenths else f"{math.floor(time_s * 1000) / 1000:g}s"


def _require_fits(dodge: Dodge, one: Pass, held_s: float, dose_s: float, undried_s: float) -> None:
    if held_s <= dose_s + SAME_S:
        return
    raise Refused(
        f"a dodge of {' and '.join(dodge.regions)} for {format_time(held_s)} is longer than its "
        f"pass {one.label}, {format_time(dose_s)}",
        (
            f"{_at_most(undried_s)} at most",
            "the lens closed by a stop, which makes the pass twice as long",
        ),
    )


def _require_apart(held: Held, before: list[Held], one: Pass) -> None:
    """Light cannot be held back twice from the same place at once."""
    for other in before:
        both = set(held.regions) & set(other.regions)
        if both and held.begin_s < other.end_s - SAME_S and other.begin_s < held.end_s - SAME_S:
            raise Refused(
                f"two dodges of {' and '.join(sorted(both))} in {one.label} overlap in time",
                ("one dodge of both amounts", "a beginning of its own for each"),
            )


def _own_labels(given: list[Given]) -> list[Given]:
    """Number labels that come twice: each exposure of a plan has one of its own."""
    taken = {one.label for one in given}
    seen: set[str] = set()
    named = []
    for one in given:
        label, count = one.label, 1
        while label in seen or (count > 1 and label in taken):
            count += 1
            label = f"{one.label} ({count})"
        seen.add(label)
        named.append(replace(one, label=label))
    return named
