"""The plans made from a score: the print, several of them, and a trial piece. Pure."""

from __future__ import annotations

import math
from dataclasses import replace

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput
from controller.exposing.around import Around, require_dose
from controller.exposing.calls import WARN_S
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Curtain, Expose, Go, Handwork, Plan, Sheet
from controller.ports import Hands, Shade
from controller.score.doses import Given, Held, Kind, exposures, region_names
from controller.score.model import Score
from controller.stops import format_time

MOST_SHEETS = 200


def plan_score(
    score: Score,
    lamp: Calibration,
    limits: LampLimits,
    around: Around,
    *,
    sheets: int = 1,
    alternate: bool = False,
) -> Plan:
    """Make the plan of one print, or of several in a row.

    With ``alternate`` every second sheet goes through its exposures backwards, so that the
    filter that is in the light serves twice. Raises Refused for what the lamp cannot do, and
    BadInput for a number of sheets.
    """
    if not 1 <= sheets <= MOST_SHEETS:
        raise BadInput(f"{sheets} is no number of sheets", "sheets", f"1 to {MOST_SHEETS}")
    given = exposures(score)
    require_given(given, lamp, limits)
    actions: list[Action] = []
    last: Given | None = None
    for number in range(1, sheets + 1):
        backwards = alternate and number % 2 == 0
        say = "new sheet" if sheets == 1 else f"sheet {number} of {sheets}"
        sheet = Sheet(score.paper.width_mm, score.paper.height_mm, say)
        order = given[::-1] if backwards else given
        suffix = "" if sheets == 1 else f", sheet {number}"
        actions += on_one_sheet(score, order, sheet, around, limits, lamp, suffix, last)
        last = order[-1]
        if number < sheets:
            actions.append(Curtain(False))
    title = title_of(score) if sheets == 1 else f"{title_of(score)}, {sheets} sheets"
    return Plan("print", title, tuple(actions), around.after())


def plan_trial(
    score: Score,
    place: str,
    lamp: Calibration,
    limits: LampLimits,
    around: Around,
    *,
    size_mm: tuple[float, float],
) -> Plan:
    """Make the plan of a trial piece: a small piece of paper laid on one region.

    It gets every pass, and only the burns and dodges that touch the region. Raises BadInput
    for a region that the score does not have, and Refused.
    """
    known = region_names(score)
    if place not in known:
        raise BadInput(f"the score has no region {place!r}", "region", " or ".join(known))
    given = touching(exposures(score), place)
    require_given(given, lamp, limits)
    sheet = Sheet(*size_mm, f"trial piece on {place}", place)
    actions: list[Action] = []
    actions += on_one_sheet(score, given, sheet, around, limits, lamp)
    title = f"trial piece on {place}, {title_of(score, given)}"
    return Plan("trial piece", title, tuple(actions), around.after())


def touching(given: list[Given], place: str) -> list[Given]:
    """Give what falls on one region: every pass, and the burns and dodges that touch it."""
    return [
        replace(one, held=tuple(held for held in one.held if place in held.regions))
        for one in given
        if not one.regions or place in one.regions
    ]


def title_of(score: Score, given: list[Given] | None = None) -> str:
    """Give the title of a print's record; it names what is given, else all of the score."""
    name = score.title or score.negative or "print"
    told = exposures(score) if given is None else given
    parts = [f"{one.label} {format_time(one.dose_s)}" for one in told]
    return f"{name}: {', '.join(parts)}"


def require_given(given: list[Given], lamp: Calibration, limits: LampLimits) -> None:
    """Refuse exposures that this lamp cannot give."""
    for one in given:
        require_dose(one.label, one.dose_s, lamp, limits, divisible=not one.held)


def on_one_sheet(
    score: Score,
    given: list[Given],
    sheet: Sheet,
    around: Around,
    limits: LampLimits,
    lamp: Calibration,
    suffix: str = "",
    last: Given | None = None,
) -> list[Action]:
    """Give what is done for one sheet, its laying down included.

    ``suffix`` keeps the labels of several sheets apart; ``last`` was exposed on the one before.
    """
    actions: list[Action] = []
    before: Given | None = None
    for index, one in enumerate(given):
        actions += ask_for(_needs(one), _needs(before) if before else None)
        if index == 0:
            actions.append(sheet)
        actions.append(Go(_prompt(one), _job(score, one, before or last), around.lead_in_s))
        before = one
        if index == 0:
            actions += around.darken()
        actions.append(_exposure(score, one, lamp, limits, suffix))
    return actions


# --- inside -----------------------------------------------------------------------------------


def _needs(one: Given) -> Needs:
    """Give what an exposure needs to stand at the enlarger."""
    negative = one.kind is not Kind.FLASH
    return Needs(one.filter, one.aperture, one.yellow, one.magenta, negative)


def _job(score: Score, one: Given, before: Given | None) -> Hands | None:
    """Give the card of a burn, or its taking away."""
    if one.regions:
        return Shade("card", " and ".join(one.regions), score.area(one.regions))
    if before is not None and before.regions:
        return Shade("card", "", held=False)
    return None


def _prompt(one: Given) -> str:
    said = f"{one.label}, {format_time(one.dose_s)}"
    tools = [held.name for held in one.held if held.begin_s <= WARN_S]
    if tools:
        said += f"; {' and '.join(tools)} held back"
    return said


def _exposure(
    score: Score, one: Given, lamp: Calibration, limits: LampLimits, suffix: str
) -> Expose:
    most_s = limits.longest_dose_s(lamp)
    pulses = max(1, math.ceil(one.dose_s / most_s))
    return Expose(
        one.label + suffix,
        one.dose_s,
        pulses=pulses,
        gap_s=max(limits.rest_s, 1.0) if pulses > 1 else 0.0,
        ticks=bool(one.held or one.regions),
        handwork=tuple(_handwork(score, held) for held in one.held),
        filter=one.filter,
    )


def _handwork(score: Score, held: Held) -> Handwork:
    shade = Shade("wand", held.name, score.area(held.regions))
    return Handwork(shade, held.begin_s, held.end_s)
