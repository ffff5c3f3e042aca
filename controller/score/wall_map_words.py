"""What a wall map says: its head, and every exposure in the order in which it is made. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from controller.score.amount import Amount
from controller.score.doses import Given, Kind, exposures, print_factor
from controller.score.model import ALL_PASSES, Burn, Dodge, Pass, Score
from controller.score.outline import amount_text
from controller.score.said import said
from controller.score.wall_map_parts import MINUS
from controller.stops import format_stops, format_time

HEADINGS = {Kind.FLASH: "FLASH", Kind.PASS: "PASSES", Kind.BURN: "BURNS"}
FIXED = "fixed"


@dataclass(frozen=True)
class HeldWords:
    """A dodge of a pass: what, how much, when; and whether its seconds follow nothing."""

    name: str
    amount: str
    when: str
    fixed: bool


@dataclass(frozen=True)
class Entry:
    """One exposure as it is written down."""

    number: int
    kind: Kind
    name: str
    seconds: str
    undried: str  # empty where nothing is taken off
    about: tuple[str, ...]  # filter, aperture, and where the seconds come from
    fixed: bool
    held: tuple[HeldWords, ...] = ()


@dataclass(frozen=True)
class Head:
    """What stands above: a title, the base, and lines of facts."""

    title: str
    base: str
    lines: tuple[tuple[str, ...], ...]


def head_of(score: Score) -> Head:
    """Give what stands above the exposures; facts that nobody wrote down are left out."""
    paper, setup = score.paper, score.setup
    of_negative = [
        score.title and score.negative and f"negative {score.negative}",
        paper.name and f"paper {paper.name}",
        paper.batch and f"batch {paper.batch}",
        paper.base,
        f"{paper.width_mm:g} \u00d7 {paper.height_mm:g} mm",
    ]
    of_setup: list[str | float | None] = [
        setup.lens and f"lens {setup.lens}",
        setup.aperture and f"f/{setup.aperture}",
        setup.magnification and f"magnification {said(setup.magnification)}",
        setup.head_height_mm and f"head at {said(setup.head_height_mm, 'head_height_mm')}",
        setup.column and f"column {setup.column}",
    ]
    lines = (of_negative, of_setup, [dry_down_words(score)])
    kept = [tuple(str(one) for one in line if one) for line in lines]
    title = score.title or (f"negative {score.negative}" if score.negative else "print")
    return Head(title, f"base {format_time(score.base_s)}", tuple(line for line in kept if line))


def dry_down_words(score: Score) -> str:
    """Say what is taken off for dry-down, and from what."""
    if score.judged == "dry":
        return "judged dry: nothing taken off for dry-down"
    if print_factor(score) == 1.0:
        return "judged wet: no dry-down is known"
    but = ", but not from the flash" if score.flash else ""
    return f"dry-down {score.paper.dry_down}, taken off the large figures{but}"


def entries_of(score: Score) -> list[Entry]:
    """Give every exposure of a print in words, numbered in order. Raises Refused."""
    factor = print_factor(score)
    sources = list(_sources(score))
    entries = []
    given = zip(exposures(score), sources, strict=True)
    for number, (one, (source, over)) in enumerate(given, start=1):
        about = [f"filter {one.filter}"]
        if one.aperture and one.aperture != score.setup.aperture:
            about.append(f"f/{one.aperture}")
        held: tuple[HeldWords, ...] = ()
        match source:
            case Pass():
                if source.dose.follows:
                    about.append(f"base {signed(source.dose)}")
                held = tuple(_held(score, one, source, factor))
            case Burn():
                if source.amount.follows:
                    about.append(f"{signed(source.amount)} over {over}")
            case None:
                about.insert(0, "negative out")
        entries.append(
            Entry(
                number,
                one.kind,
                " and ".join(one.regions) if one.kind is Kind.BURN else one.label,
                format_time(one.dose_s),
                format_time(one.undried_s) if one.undried_s != one.dose_s else "",
                tuple(about),
                not one.follows,
                held,
            )
        )
    return entries


def signed(amount: Amount) -> str:
    """Write stops with their sign; nothing is "+0"."""
    return format_stops(amount.value).replace("-", MINUS) if amount.value else "+0"


# --- inside -----------------------------------------------------------------------------------


def _sources(score: Score) -> Iterator[tuple[Pass | Burn | None, str]]:
    """Give what each exposure of ``exposures`` is made of, in the same order; of burns over what.

    A burn in stops over all passes is one exposure for each of them.
    """
    if score.flash:
        yield None, ""
    yield from ((one, "") for one in score.passes)
    for burn in score.burns:
        shared = burn.over == ALL_PASSES and burn.amount.follows
        overs = [one.label for one in score.passes] if shared else [burn.over]
        yield from ((burn, over) for over in overs)


def _held(score: Score, given: Given, one: Pass, factor: float) -> Iterator[HeldWords]:
    dodges: list[Dodge] = [dodge for dodge in score.dodges if dodge.within == one.label]
    for held, dodge in zip(given.held, dodges, strict=True):
        amount = amount_text(dodge.amount, factor)
        if dodge.amount.follows:
            amount += " stops" if dodge.amount.value > 1 else " stop"
        begin, end = format_time(held.begin_s), format_time(held.end_s)
        if begin.endswith(" s") and end.endswith(" s"):
            begin = "0" if held.begin_s == 0 else begin.removesuffix(" s")
        fixed = not (dodge.amount.follows and one.dose.follows)
        yield HeldWords(held.name, amount, f"{begin} to {end}", fixed)
