"""Sheets that find what is wrong with a print, beside the fog test: leak, blades, light, paper.

Pure: each is a spec and a plan, as the fog test's are. Each proves one thing, since all the rest
is kept away from it: the lights of the room are out while the enlarger is tested, the lens is
capped while only a leak could give light, and the sheets are developed in total darkness.
"""

from __future__ import annotations

import math
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import Refused
from controller.exposing.around import Around, require_dose
from controller.plan import Action, Confirm, Expose, Go, Plan, Sheet, Wait
from controller.ports import Lens, Move
from controller.room.fog_sheets import (
    Switched,
    begin_in_the_dark,
    by_hand,
    dwell_under,
    in_the_dark,
    named,
)
from controller.room.limits import told
from controller.stops import format_time

# Leaks are dim: the lamp burns for several prints' worth, so that what shows here and not on a
# print is known too (our choice).
LEAK_FACTOR = 4.0
MOST_PARTS = 12  # of a leak test: longer would take an hour with the lamp's rests
BLADES_S = 480.0


class _Trial(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    flash_s: float = Field(gt=0, le=600, description="exposure that gives the grey")
    flash_filter: str = ""
    aperture: str = ""
    paper: str = ""
    developer_s: float = Field(180.0, gt=0, le=3600, description="in the developer")
    width_mm: float = Field(254.0, gt=0)
    height_mm: float = Field(203.0, gt=0)


class LeakSheet(_Trial):
    """A light grey, half of it under a card while the lamp burns behind a capped lens."""

    print_s: float = Field(30.0, gt=0, le=3600, description="all exposures of a print, summed")
    factor: float = Field(LEAK_FACTOR, ge=1, le=20, description="times that, for the leak")
    width_mm: float = Field(203.0, gt=0)
    height_mm: float = Field(60.0, gt=0)

    @property
    def leak_s(self) -> float:
        """Give for how long the lamp burns, in seconds of dose."""
        return self.print_s * self.factor


class BladesSheet(_Trial):
    """A grey sheet under the easel's blades, left under the lights: it makes the pale line."""

    lights: tuple[str, ...] = Field(min_length=1, description="lights of the room")
    time_s: float = Field(BLADES_S, gt=0, le=4 * 3600, description="time under them")


class EvennessSheet(_Trial):
    """Two sheets of an even grey without a negative, the second turned round by half."""


class DarkStrips(BaseModel):
    """Two strips straight from the box: one through all baths, one into the fixer alone."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    paper: str = ""
    developer_s: float = Field(180.0, gt=0, le=3600)
    width_mm: float = Field(101.0, gt=0)
    height_mm: float = Field(25.0, gt=0)


def plan_leak(test: LeakSheet, lamp: Calibration, limits: LampLimits, room: Around) -> Plan:
    """Make the plan of a leak test: flash, cap, half under a card, lamp on. Raises Refused.

    The flash comes first, since fog shows soonest on grains that an image has reached. A time
    beyond the lamp's limit is given in equal parts, each with a tap of its own.
    """
    require_dose("flash", test.flash_s, lamp, limits)
    parts = max(1, math.ceil(test.leak_s / limits.longest_dose_s(lamp) - 1e-9))
    if parts > MOST_PARTS:
        raise Refused(
            f"{format_time(test.leak_s)} of lamp are {parts} times its limit",
            ("a shorter --time, which is that of one print",),
        )
    actions = begin_in_the_dark(test, room, "new sheet for the leak test")
    actions += [
        Go("all open, flash", Move("card", 0, 2, "left"), room.lead_in_s),
        Expose("flash", test.flash_s, filter=test.flash_filter),
        Confirm("lens capped, the cap well on", Lens("capped")),
    ]
    for part in range(parts):
        said = "card over the left half; the lamp burns behind the cap"
        again = f"part {part + 1} of {parts}, card as it is"
        move = Move("card", 1, 2, "left")
        label = f"leak {part + 1}" if parts > 1 else "leak"
        actions.append(Go(again if part else said, move, room.lead_in_s))
        actions.append(Expose(label, test.leak_s / parts))
    actions += [
        *in_the_dark(test.developer_s),
        Confirm("cap off, lens to the working aperture", Lens(test.aperture or "working")),
    ]
    title = f"leak test, lamp on for {format_time(test.leak_s)} behind the cap"
    return Plan("leak test", title, tuple(actions), room.after())


def plan_blades(
    test: BladesSheet, lamp: Calibration, limits: LampLimits, room: Around, switched: Switched
) -> Plan:
    """Make the plan of a sheet that shows the pale line: flash, then time under the lights."""
    require_dose("flash", test.flash_s, lamp, limits)
    actions = begin_in_the_dark(test, room, "new sheet, under the easel's blades")
    actions += [
        Go("flash", None, room.lead_in_s),
        Expose("flash", test.flash_s, filter=test.flash_filter),
        *by_hand(test.lights, switched, on=True),
        Go("it stays under the blades, lights on", None, room.lead_in_s),
        dwell_under("blades", test.time_s, test.lights, switched),
        *by_hand(test.lights, switched, on=False),
        *in_the_dark(test.developer_s),
    ]
    title = f"pale line, {named(test.lights)}, {told(test.time_s)} under the blades"
    return Plan("pale line", title, tuple(actions), room.after())


def plan_evenness(test: EvennessSheet, lamp: Calibration, limits: LampLimits, room: Around) -> Plan:
    """Make the plan of two even greys. Raises Refused for a dose that the lamp cannot give."""
    require_dose("grey", test.flash_s, lamp, limits)
    actions = begin_in_the_dark(test, room, "first sheet, its top away from you")
    actions += [
        Confirm("look away from the bare light, it is bright"),
        Go("first grey", None, room.lead_in_s),
        Expose("grey 1", test.flash_s, filter=test.flash_filter),
        Confirm("first sheet into its dark box, a corner clipped"),
        Sheet(test.width_mm, test.height_mm, "second sheet, its top towards you, in the dark"),
        Go("second grey", None, room.lead_in_s),
        Expose("grey 2", test.flash_s, filter=test.flash_filter),
        Confirm("both are developed one after the other, slid in by the same edge"),
    ]
    actions += [*in_the_dark(test.developer_s), Confirm("now the other sheet, the same way")]
    actions += in_the_dark(test.developer_s)
    title = f"evenness, two greys of {format_time(test.flash_s)} without a negative"
    return Plan("evenness", title, tuple(actions), room.after())


def plan_dark(test: DarkStrips, room: Around) -> Plan:
    """Make the plan of two strips that no light meets."""
    actions: list[Action] = [
        Confirm("every light that is not on the unit out"),
        Go("lights go out now; have the box of paper at hand", None, room.lead_in_s),
        *room.darken(),
        Sheet(test.width_mm, test.height_mm, "first strip straight from the box, in the dark"),
        Confirm("second strip from the box, a corner clipped, into the fixer alone"),
        *in_the_dark(test.developer_s),
        Wait("both in the fixer", 60.0),
    ]
    title = "two strips in total darkness, one developed and one only fixed"
    return Plan("dark strips", title, tuple(actions), room.after())
