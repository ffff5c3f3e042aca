"""Tests that are done by hand, guided by prompts and waits: trays, baths, and the column.

Pure. How each is done, and its order, is common practice without a source; what is dangerous in
it is said first, and the maker's safety data sheet goes before all of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from controller.enlarger.lamp import Calibration, LampLimits
from controller.exposing.around import Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Confirm, Expose, Go, Plan, Sheet, Shine, Wait
from controller.ports import Lens
from controller.room.fog_sheets import begin_in_the_dark
from controller.room.wrong import TESTS, Settles

SHEET_DATA = "the makers' safety data sheets go before all that is said here"
DROP_S = 120.0  # a drop of sulfide on the border: from memory of handbooks, two to three minutes


class By(Enum):
    """A guided test; the value is what is typed."""

    ALIGNMENT = "alignment"
    TRAY = "tray"
    AGITATION = "agitation"
    FIX = "fix"
    RINSE = "rinse"


SETTLED_BY: dict[By, Settles] = {
    By.ALIGNMENT: Settles.ALIGNMENT,
    By.TRAY: Settles.DIRTY_TRAY,
    By.AGITATION: Settles.AGITATION,
    By.FIX: Settles.FIX,
    By.RINSE: Settles.RINSE,
}


class Guided(BaseModel):
    """A guided test as it is wanted; times are the printer's own."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    test: By
    flash_s: float | None = Field(None, gt=0, le=600, description="exposure, where there is one")
    flash_filter: str = ""
    aperture: str = ""
    developer_s: float = Field(180.0, gt=0, le=3600)
    fixer_s: float = Field(60.0, gt=0, le=3600, description="the usual time")
    rinse_s: float = Field(300.0, gt=0, le=7200, description="the usual time")
    toner_s: float = Field(180.0, gt=0, le=7200)
    focus_s: float = Field(120.0, gt=0, le=600, description="of focus light at most")
    width_mm: float = Field(254.0, gt=0)
    height_mm: float = Field(203.0, gt=0)


def plan_guided(test: Guided, lamp: Calibration, limits: LampLimits, room: Around) -> Plan:
    """Make the plan of a guided test: cautions first, then prompt by prompt. Raises Refused."""
    trial = TESTS[SETTLED_BY[test.test]]
    actions: list[Action] = [Confirm(one) for one in (*trial.cautions, SHEET_DATA)]
    if test.flash_s is not None:
        require_dose("exposure", test.flash_s, lamp, limits)
    match test.test:
        case By.ALIGNMENT:
            actions += _alignment(test, limits, room)
        case By.TRAY:
            actions += _tray(test)
        case By.AGITATION:
            actions += _agitation(test, room)
        case By.FIX:
            actions += _fix(test)
        case By.RINSE:
            actions += _rinse(test)
    actions.append(Confirm(f"look at it in white light, dry: {trial.verdict}"))
    return Plan(f"{test.test.value} test", trial.settles.value, tuple(actions), room.after())


# --- inside -----------------------------------------------------------------------------------

CORNERS = ("upper left", "upper right", "lower left", "lower right")


def _alignment(test: Guided, limits: LampLimits, room: Around) -> list[Action]:
    focus_s = min(test.focus_s, limits.longest_on_s)
    actions: list[Action] = [
        Confirm("no paper out; a negative with grain in its corners in the carrier"),
        Confirm("lamp off and cool: measure from stage to easel at all four corners"),
        Go("focus light, lens wide open", None, 0.0),
        Shine("focus the middle with the aid, press to end", focus_s, opens_lens=True),
    ]
    for corner in CORNERS:
        actions += [
            Go(f"the {corner} corner, focus as it is", None, 0.0),
            Shine(f"is the grain sharp in the {corner} corner? press to end", focus_s),
        ]
    if test.flash_s is None:
        where = Lens(test.aperture or "working")
        return [*actions, Confirm("lens to the working aperture", where)]
    actions += ask_for(Needs(test.flash_filter or "none", test.aperture))
    actions += [
        Sheet(test.width_mm, test.height_mm, "new sheet, focused as it is"),
        Go("alignment print", None, room.lead_in_s),
        *room.darken(),
        Expose("alignment", test.flash_s, filter=test.flash_filter),
        Confirm("develop it as usual"),
    ]
    return actions


def _tray(test: Guided) -> list[Action]:
    return [
        Confirm("safelights on; two blanks from the box, a corner of the first clipped"),
        *_through("first blank, through the trays as they are", test),
        Confirm("trays and tongs washed, fresh baths in them, hands washed and dry"),
        *_through("second blank, through the washed trays", test),
    ]


def _agitation(test: Guided, room: Around) -> list[Action]:
    assert test.flash_s is not None  # asked for before
    actions = begin_in_the_dark(test, room, "first sheet, a corner clipped")
    actions += [
        Go("first grey", None, room.lead_in_s),
        Expose("grey 1", test.flash_s, filter=test.flash_filter),
        Sheet(test.width_mm, test.height_mm, "second sheet, in the dark"),
        Go("second grey", None, room.lead_in_s),
        Expose("grey 2", test.flash_s, filter=test.flash_filter),
        Confirm("every light stays out; first sheet into the developer, then leave it still"),
        Wait("developer, hands off", test.developer_s),
        Confirm("first sheet on into stop bath and fixer; second sheet into the developer"),
        Wait("developer, rock it and turn it over all the time", test.developer_s),
        Confirm("second sheet into the stop bath"),
        Wait("stop bath", 30.0),
        Wait("fixer, then lights may go on", test.fixer_s),
    ]
    return actions


def _fix(test: Guided) -> list[Action]:
    twice_s = 2 * test.fixer_s
    return [
        Confirm("two blanks from one box, a corner of the first clipped"),
        Confirm("first blank into the fixer as you use it"),
        Wait("first blank in the fixer", test.fixer_s),
        Confirm("first blank out; second blank into fresh fixer"),
        Wait("second blank in fresh fixer, twice the time", twice_s),
        Confirm("both into running water"),
        Wait("rinse", test.rinse_s),
        Confirm("gloves and goggles on: one drop of dilute sulfide on a white border of each"),
        Wait("the drop stands", DROP_S),
        Confirm("blot it off, wash, and look: brown is silver that was left"),
        Confirm("both, away from the drop, into the toner, with air that moves"),
        Wait("toner", test.toner_s),
    ]


def _rinse(test: Guided) -> list[Action]:
    return [
        Confirm("two blanks from the same fixer, a corner of the first clipped"),
        Confirm("both into running water"),
        Wait("rinse", test.rinse_s),
        Confirm("first blank out of the water, on a clean sheet of glass"),
        Wait("second blank goes on rinsing", test.rinse_s),
        Confirm("both side by side into the toner, with air that moves"),
        Wait("toner", test.toner_s),
    ]


def _through(say: str, test: Guided) -> Sequence[Action]:
    return (
        Confirm(f"{say}: tap as it goes into the developer"),
        Wait("developer", test.developer_s),
        Confirm("into the stop bath"),
        Wait("stop bath", 30.0),
        Confirm("into the fixer"),
        Wait("fixer", test.fixer_s),
    )
