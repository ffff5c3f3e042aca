"""From what is asked to a sheet that proves the room, and to its plan. Pure.

Command line, terminal and foot all come this way.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any

from pydantic import ValidationError

from controller.errors import BadInput
from controller.plan import Plan
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.room.change import flash_of
from controller.room.fog_sheets import (
    USUAL_STEPS_S,
    CoinCheck,
    FlashStrip,
    FogTest,
    WhichLight,
    WholeCycle,
    plan_coin,
    plan_flash,
    plan_fog_test,
    plan_which_light,
    plan_whole_cycle,
)
from controller.room.model import Room
from controller.room.reading import SHEETS, FogSheet
from controller.stops import aperture_value, parse_time
from controller.written import bad_input

CAUTION = (
    "the room will be dark: clear the floor, know where lamp and trays are, wear gloves for the "
    "developer; the lamp is hot"
)


FLASH_FINDS = (
    "the exposure that gives a light grey: a flash strip finds it (dryside room test flash)"
)


class RoomTest(Enum):
    """A test of the room; the value is its kind of plan, in the words in which it is spoken."""

    FLASH = "flash strip"
    FOG = "fog test"
    WHICH = "which light"
    COIN = "coin check"
    CYCLE = "whole cycle"

    @property
    def word(self) -> str:
        """Give the word that is typed for it."""
        return self.name.lower()


@dataclass(frozen=True)
class AskedTest:
    """A test as it was typed, field by field; what is empty is as usual, or as the room knows it.

    ``flash`` is the exposure of the light grey, and of a flash strip the least one.
    """

    at: str = "easel"
    lights: str = ""
    steps: str = ""
    time: str = ""
    flash: str = ""
    filter: str = ""
    aperture: str = ""
    paper: str = ""


def test_called(word: str) -> RoomTest:
    """Read which test is meant. Raises BadInput."""
    for test in RoomTest:
        if word in (test.word, test.value):
            return test
    right = " or ".join(test.word for test in RoomTest)
    raise BadInput(f"{word!r} is not known", "room test", right)


def sheet_asked(kind: RoomTest, asked: AskedTest, room: Room) -> FogSheet:
    """Make the sheet of what was asked; a flash that the room knows need not be given.

    Raises BadInput that names the field.
    """
    if asked.at not in ("easel", "trays"):
        raise BadInput(f"{asked.at!r} is not known", "--at", "easel or trays")
    if asked.aperture:
        aperture_value(asked.aperture, where="--aperture")
    fields: dict[str, Any] = {"paper": asked.paper or room.paper}
    if kind is RoomTest.FLASH:
        fields |= {"flash_filter": asked.filter, "aperture": asked.aperture}
        if asked.flash:
            fields["base_s"] = parse_time(asked.flash, "--flash")
        return _made(kind, fields)
    fields |= {"place": asked.at, "lights": lights_asked(room, asked.lights)}
    if kind is not RoomTest.COIN:
        fields |= _flash(asked, room)
    if kind is RoomTest.FOG:
        if asked.time:
            raise BadInput("a fog test has several times", "--time", "--steps, such as 1m,2m,4m")
        fields["steps_s"] = _steps(asked.steps)
    elif asked.steps:
        raise BadInput(f"{kind.value} has one time", "--steps", "--time, such as 4m")
    elif asked.time:
        fields["time_s"] = parse_time(asked.time, "--time")
    return _made(kind, fields)


def lights_asked(room: Room, text: str) -> tuple[str, ...]:
    """Read which lights are meant, all without a text. Raises BadInput."""
    known = [light.name for light in room.lights]
    names = [name.strip() for name in text.split(",") if name.strip()] or known
    for name in names:
        if room.light(name) is None:
            right = ", ".join(known) or "room light add first"
            raise BadInput(f"the room has no light {name!r}", "--lights", right)
    if not names:
        raise BadInput("no light is listed", "room test", "dryside room light add NAME")
    return tuple(names)


def switched_of(rig: Rig, room: Room) -> dict[str, str]:
    """Give the relay of each light of the room that the unit may switch."""
    outputs = {o.name for o in rig.safelight if o.address is not None and o.may_be_switched}
    relays = {light.name: light.relay or light.name for light in room.lights}
    return {name: relay for name, relay in relays.items() if relay in outputs}


def plan_sheet(sheet: FogSheet, rig: Rig, room: Room) -> Plan:
    """Make the plan of a sheet that proves the room, every light out. Raises Refused."""
    lamp, limits = rig.calibration(), rig.limits()
    dark, own = around(rig, safelights_off=True), switched_of(rig, room)
    match sheet:
        case FogTest():
            return plan_fog_test(sheet, lamp, limits, dark, own)
        case WhichLight():
            return plan_which_light(sheet, lamp, limits, dark, own)
        case CoinCheck():
            return plan_coin(sheet, dark, own)
        case WholeCycle():
            return plan_whole_cycle(sheet, lamp, limits, dark, own)
        case FlashStrip():
            return plan_flash(sheet, lamp, limits, dark)


# --- inside -----------------------------------------------------------------------------------


def _flash(asked: AskedTest, room: Room) -> dict[str, Any]:
    if asked.flash:
        return {
            "flash_s": parse_time(asked.flash, "--flash"),
            "flash_filter": asked.filter,
            "aperture": asked.aperture,
        }
    known = flash_of(room, asked.paper)
    if known is None:
        paper = asked.paper or room.paper
        what = f"the flash is not known{f' for {paper}' if paper else ''}"
        right = FLASH_FINDS
        raise BadInput(what, "--flash", right)
    for given, was, option in (
        (asked.filter, known.filter, "--filter"),
        (asked.aperture, known.aperture, "--aperture"),
    ):
        if given and given != was:
            what = f"the flash was found with {was or 'none'} and not with {given}"
            raise BadInput(what, option, "another --flash with it, or as it was")
    return {
        "flash_s": known.exposure_s,
        "flash_filter": known.filter,
        "aperture": known.aperture,
    }


def _steps(text: str) -> tuple[float, ...]:
    if not text:
        return USUAL_STEPS_S
    return tuple(parse_time(part.strip(), "--steps") for part in text.split(","))


def _made(kind: RoomTest, fields: dict[str, Any]) -> FogSheet:
    model = SHEETS[kind.value]
    try:
        return model.model_validate(fields)
    except ValidationError as error:
        raise bad_input(error, f"room test {kind.word}", model=model) from None
