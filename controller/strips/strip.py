"""The test strip: what is wanted of one, and the plan that makes it.

Three ways to make it, named after the tool in the hand. With the *card* the whole piece is
open at first and more and more is covered, so the pulses are the differences between patches.
With the *window* one patch at a time is open and its pulse is whole. On the *same spot* the
window stays over the tone that matters and the paper slides beneath it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import Refused
from controller.exposing.around import BARE, Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Expose, Go, Plan, Sheet
from controller.ports import NO_FILTER, Move
from controller.stops import Step, differences, factor_to_stops, format_time, parse_step, series

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
Way = Literal["card", "window", "same-spot"]
TOOLS: dict[Way, str] = {"card": "card", "window": "window", "same-spot": "paper"}

# A hand in the dark lays a card to a millimetre or so: common practice, no source.
LEAST_PATCH_MM = 6.0
LONGEST_S = 3600.0
# Half of a twelfth of a stop, which is the finest step that is used for prints.
LEAST_STEP_STOPS = 1 / 24
MOST_VARIANTS = 3

StepField = Annotated[
    Step,
    BeforeValidator(lambda v: parse_step(v) if isinstance(v, str) else v),
    PlainSerializer(str),
]


class Beneath(BaseModel):
    """An exposure that the whole piece gets before the patches are made."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    label: str = Field("", description="the pass of a score that it stands for")
    filter: str = Field("", description="filter in the light")
    dose_s: float = Field(gt=0, le=LONGEST_S, description="in seconds")
    aperture: str = Field("", description="only if it differs from the strip's")
    bare: bool = Field(False, description="of bare easel light, the negative out: a flash")


class Purpose(BaseModel):
    """What a strip is to settle, where that is more than an exposure.

    A *burn* strip starts at what the region has and goes up, a *dodge* strip ends there, and
    both stand for one pass over all the others (``beneath``). A *contact* strip looks for the
    least exposure that is black through the clear edge of the film.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    kind: Literal["burn", "dodge", "contact"]
    region: str = ""
    within: str = Field("", description="label of the pass")


class Strip(BaseModel):
    """A test strip as it is wanted; version 1."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    version: Literal[1] = 1
    base_s: float = Field(gt=0, le=LONGEST_S, description="exposure of patch A, in seconds")
    step: StepField = Field(
        default_factory=lambda: parse_step("1/3"),
        description="from patch to patch: stops (1/3), seconds (2s) or percent (25%)",
    )
    patches: int = Field(5, ge=2, le=26, description="how many, from the shortest up")
    way: Way = Field("card", description="card, window or same-spot")
    side: Literal["left", "right", "top", "bottom"] = Field(
        "left", description="the side of the paper where patch A lies"
    )
    advance_after_s: float | None = Field(
        None, ge=2, description="go on by itself so long after each prompt; none: by pedal"
    )
    safelights: Literal["as-they-are", "off"] = Field(
        "as-they-are", description="through the whole strip"
    )
    aperture: str = Field("", description="working aperture as engraved, for the prompt")
    filter: str = Field("", description="filter in the light, for the record")
    beneath: tuple[Beneath, ...] = Field((), description="what the whole piece gets first")
    purpose: Purpose | None = None
    place: str = Field("", description="where on the picture the piece lies")
    width_mm: float = Field(203, gt=0, description="length of the piece of paper")
    height_mm: float = Field(25, gt=0, description="width of the piece of paper")


@dataclass(frozen=True, slots=True)
class Patch:
    """One patch: its letter, its stops over patch A, the dose it is to have in all."""

    letter: str
    stops: float
    dose_s: float


def patches_of(strip: Strip) -> list[Patch]:
    """Give the patches in order, the shortest exposure first."""
    totals = series(strip.base_s, strip.step, strip.patches)
    return [
        Patch(LETTERS[i], factor_to_stops(total / strip.base_s), total)
        for i, total in enumerate(totals)
    ]


def pulses_of(strip: Strip) -> list[float]:
    """Give the dose of each exposure of the sequence, in seconds."""
    totals = series(strip.base_s, strip.step, strip.patches)
    return differences(totals) if strip.way == "card" else totals


def fell_on(strip: Strip, letter: str) -> list[str]:
    """Name the exposures (by their letters) that fall on a patch."""
    index = LETTERS.index(letter)
    return list(LETTERS[: index + 1]) if strip.way == "card" else [letter]


def patch_mm(strip: Strip) -> float:
    """Give the width of one patch along the strip."""
    along = strip.width_mm if strip.side in ("left", "right") else strip.height_mm
    return along / strip.patches


# --- what cannot be done, and what could be instead -----------------------------------------


def obstacle(strip: Strip, lamp: Calibration, limits: LampLimits) -> str | None:
    """Say in a clause why this lamp cannot make the strip; None where it can."""
    if patch_mm(strip) < LEAST_PATCH_MM:
        return (
            f"{strip.patches} patches along {strip.patches * patch_mm(strip):.0f} mm are "
            f"{patch_mm(strip):.1f} mm wide each, and a hand needs {LEAST_PATCH_MM:g} mm"
        )
    patches = patches_of(strip)
    nearest = min(b.stops - a.stops for a, b in pairwise(patches))
    if nearest < LEAST_STEP_STOPS:
        return f"patches {nearest:.3f} stop apart cannot be told apart by any eye"
    pulses = pulses_of(strip)
    shortest_s, longest_s = min(pulses), max(pulses)
    if shortest_s < limits.least_pulse_s:
        letter = LETTERS[pulses.index(shortest_s)]
        return (
            f"patch {letter} needs a pulse of {shortest_s:.2f} s, and this lamp cannot be trusted "
            f"below {limits.least_pulse_s:g} s"
        )
    most_s = limits.longest_dose_s(lamp)
    if longest_s > most_s:
        letter = LETTERS[pulses.index(longest_s)]
        return (
            f"patch {letter} needs {format_time(longest_s)} at once, and this lamp's limit is "
            f"{format_time(limits.longest_on_s)}"
        )
    return None


@dataclass(frozen=True, slots=True)
class Variant:
    """Another strip that this lamp can make, and how to say it."""

    words: str
    strip: Strip


def _changes(strip: Strip) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Give single changes that may help: kind, words, and the fields that change."""
    if strip.way == "card":
        yield "way", "the window (--mode window)", {"way": "window"}
    for n in range(strip.patches - 1, 1, -1):
        yield "patches", f"{n} patches (--patches {n})", {"patches": n}
    for stops in range(1, 9):
        for sign, verb in ((1, "close"), (-1, "open")):
            base_s = float(f"{strip.base_s * 2.0 ** (sign * stops):.4g}")
            plural = "s" if stops > 1 else ""
            words = f"{verb} the lens {stops} stop{plural} (--base {base_s:g})"
            if base_s <= LONGEST_S:
                yield "lens", words, {"base_s": base_s}
    for step in ("1/3", "1/2", "1"):
        yield "step", f"--step {step}", {"step": parse_step(step)}
    for side in ("left", "top"):
        if side != strip.side:
            yield "side", f"A at the {side} (--side {side})", {"side": side}
    yield "size", "a piece of 203 x 25 mm (--size 203x25)", {"width_mm": 203, "height_mm": 25}


def variants(strip: Strip, lamp: Calibration, limits: LampLimits) -> list[Variant]:
    """Give up to three strips near this one that the lamp can make, each of another kind.

    One change is tried before two together, and two before three.
    """
    changes = list(_changes(strip))
    found: dict[frozenset[str], Variant] = {}
    for how_many in (1, 2, 3):
        for chosen in combinations(changes, how_many):
            kinds = frozenset(kind for kind, _, _ in chosen)
            if len(kinds) < how_many or kinds in found:
                continue
            update = {name: value for _, _, fields in chosen for name, value in fields.items()}
            other = strip.model_copy(update=update)
            if obstacle(other, lamp, limits) is None:
                found[kinds] = Variant(" with ".join(words for _, words, _ in chosen), other)
                if len(found) == MOST_VARIANTS:
                    return list(found.values())
        if found:
            break
    return list(found.values())


def require(strip: Strip, lamp: Calibration, limits: LampLimits) -> None:
    """Raise Refused, naming what would work, where the lamp cannot make the strip."""
    why = obstacle(strip, lamp, limits)
    if why is not None:
        words = tuple(v.words for v in variants(strip, lamp, limits))
        raise Refused(why, words)


# --- the plan ---------------------------------------------------------------------------------


def _doubtful(strip: Strip, index: int) -> tuple[str, ...]:
    """Name the patches that cannot be trusted if the hand was late for this exposure."""
    before = (LETTERS[index - 1],) if index else ()
    if strip.way == "card":
        return before or (LETTERS[index],)  # what should have been covered got too much
    return (*before, LETTERS[index])  # one too much, the other too little


def _prompt(strip: Strip, index: int) -> str:
    letter = LETTERS[index]
    last = LETTERS[index - 1] if index else ""
    match strip.way:
        case "card" if index == 0:
            return f"card away, patch {letter}"
        case "card":
            return f"card over {last}, patch {letter}"
        case "window":
            return f"window on {letter}"
        case _:
            return f"paper to {letter}"


def plan_strip(
    strip: Strip,
    lamp: Calibration,
    limits: LampLimits,
    around: Around = BARE,
) -> Plan:
    """Make the plan of a strip; what lies ``beneath`` it comes first, on the open piece.

    Raises Refused where the lamp cannot do it, with variants that it can.
    """
    require(strip, lamp, limits)
    sheet = Sheet(strip.width_mm, strip.height_mm, f"new strip, A at the {strip.side}", strip.place)
    actions = _beneath(strip, sheet, lamp, limits, around)
    before = _needs(strip.beneath[-1], strip) if strip.beneath else None
    actions += ask_for(Needs(strip.filter or NO_FILTER, strip.aperture), before)
    if not strip.beneath:
        actions.append(sheet)
    for index, dose_s in enumerate(pulses_of(strip)):
        after_s = strip.advance_after_s if index else None
        move = Move(TOOLS[strip.way], index, strip.patches, strip.side)
        actions.append(Go(_prompt(strip, index), move, around.lead_in_s, after_s))
        if index == 0 and not strip.beneath:
            actions += around.darken()
        doubtful = _doubtful(strip, index)
        actions.append(Expose(LETTERS[index], dose_s, doubtful=doubtful, filter=strip.filter))
    step = (
        f"{strip.step} stop"
        if "s" not in str(strip.step) and "%" not in str(strip.step)
        else (str(strip.step))
    )
    title = (
        f"strip from {format_time(strip.base_s)} by {step}, {strip.patches} patches, {strip.way}"
    )
    if strip.purpose:
        title = f"{' '.join(filter(None, [strip.purpose.kind, strip.purpose.region]))} {title}"
    elif strip.filter:
        title += f", filter {strip.filter}"
    return Plan("strip", title, tuple(actions), around.after())


def _beneath(
    strip: Strip, sheet: Sheet, lamp: Calibration, limits: LampLimits, around: Around
) -> list[Action]:
    """Give the piece what it gets before its patches, each under its filter.

    A whole piece lies open for it, but on the same spot every patch must see that spot.
    """
    actions: list[Action] = []
    moving = strip.way == "same-spot"
    for number, one in enumerate(strip.beneath, start=1):
        name = one.label or one.filter or str(number)
        require_dose(f"beneath {name}", one.dose_s, lamp, limits)
        before = _needs(strip.beneath[number - 2], strip) if number > 1 else None
        actions += ask_for(_needs(one, strip), before)
        if number == 1:
            actions.append(sheet)
        said = " ".join(filter(None, [one.label, one.filter and f"filter {one.filter}"]))
        told = f"{said or 'first exposure'}, {format_time(one.dose_s)}"
        for index in range(strip.patches if moving else 1):
            tool = TOOLS[strip.way] if moving else TOOLS["card"]
            where = f"paper to {LETTERS[index]}" if moving else "all open"
            move = Move(tool, index, strip.patches, strip.side)
            actions.append(Go(f"{where}, {told}", move, around.lead_in_s))
            if number == 1 and index == 0:
                actions += around.darken()
            patch = f", {LETTERS[index]}" if moving else ""
            actions.append(
                Expose(f"beneath {name} ({number}){patch}", one.dose_s, filter=one.filter)
            )
    return actions


def _needs(one: Beneath, strip: Strip) -> Needs:
    aperture = one.aperture or strip.aperture
    return Needs(one.filter or NO_FILTER, aperture, negative=not one.bare)


def stops_fraction(stops: float) -> Fraction:
    """Give stops as a fraction with a small denominator, for writing them as printers do."""
    return Fraction(stops).limit_denominator(96)
