"""The sheets that prove a room, from what a foot or a key asks for to their plans. Pure.

What is asked for is written as it is spoken: "fog test", "fog test of bench", "which light at
the trays".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Literal

from controller.errors import BadInput, quoted
from controller.plan import Plan
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.room.fog_sheets import (
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
from controller.room.model import Flash, Room
from controller.room.reading import FogSheet

AT_TRAYS = " at the trays"
OF = " of "
CAUTION = (
    "the room will be dark: clear the floor, know where lamp and trays are, wear gloves for the "
    "developer; the lamp is hot"
)


class Proof(Enum):
    """A sheet that proves something; the value is how it is spoken."""

    FLASH = "flash strip"
    FOG = "fog test"
    WHICH = "which light"
    COIN = "coin check"
    CYCLE = "whole cycle"


@dataclass(frozen=True, slots=True)
class Wanted:
    """A sheet that is asked for: of which lights, and where the paper lies."""

    proof: Proof
    lights: tuple[str, ...]
    place: Literal["easel", "trays"] = "easel"


def flash_of(room: Room) -> Flash | None:
    """Give the exposure that makes the paper in use a light grey, if it was found."""
    wanted = room.paper.casefold()
    return next((one for one in room.flash if one.paper.casefold() == wanted), None)


def offers(room: Room) -> list[str]:
    """Give what is worth asking for now, the likeliest first; few, since they are spoken."""
    names = [light.name for light in room.lights]
    if not names:
        return []
    if flash_of(room) is None:
        return [Proof.FLASH.value, Proof.COIN.value]
    many = len(names) > 1
    found = [Proof.WHICH.value] if many else []
    found += [Proof.FOG.value, Proof.FOG.value + AT_TRAYS]
    found += [f"{Proof.FOG.value}{OF}{name}" for name in names] if many else []
    return [*found, Proof.CYCLE.value, Proof.COIN.value, Proof.FLASH.value]


def wanted_of(text: str, room: Room) -> Wanted:
    """Read what is asked for. Raises BadInput."""
    words = text.strip()
    place: Literal["easel", "trays"] = "easel"
    if words.endswith(AT_TRAYS):
        words, place = words.removesuffix(AT_TRAYS), "trays"
    kind, _, name = words.partition(OF)
    known = [one.value for one in Proof]
    if kind not in known:
        raise BadInput(f"{quoted(text)} is no test of the room", "room test", " or ".join(known))
    names = tuple(light.name for light in room.lights)
    if name and name not in names:
        raise BadInput(f"the room has no light {name!r}", "room test", ", ".join(names))
    if not names and kind != Proof.FLASH.value:
        raise BadInput("no light is listed", "room test", "dryside room light add NAME")
    return Wanted(Proof(kind), (name,) if name else names, place)


def sheet_for(wanted: Wanted, room: Room) -> FogSheet:
    """Make the sheet with its usual times. Raises BadInput where the flash was never found."""
    lights, place, paper = wanted.lights, wanted.place, room.paper
    if wanted.proof is Proof.FLASH:
        before = flash_of(room)
        return FlashStrip(flash_filter=before.filter if before else "")
    if wanted.proof is Proof.COIN:
        return CoinCheck(place=place, lights=lights, paper=paper)
    flash = flash_of(room)
    if flash is None:
        right = "a flash strip first: it finds the exposure that gives a light grey"
        raise BadInput("the flash is not known", f"room test {wanted.proof.value}", right)
    models: dict[Proof, Callable[..., FogTest | WhichLight | WholeCycle]] = {
        Proof.FOG: FogTest,
        Proof.WHICH: WhichLight,
        Proof.CYCLE: WholeCycle,
    }
    return models[wanted.proof](
        place=place,
        lights=lights,
        paper=paper,
        flash_s=flash.exposure_s,
        flash_filter=flash.filter,
        aperture=flash.aperture,
    )


def plan_sheet(sheet: FogSheet, rig: Rig, room: Room) -> Plan:
    """Make the plan of a sheet on a rig, every light that can be switched out. Raises Refused."""
    lamp, limits = rig.calibration(), rig.limits()
    dark = around(rig, safelights_off=True)
    own = switched_of(rig, room)
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


def switched_of(rig: Rig, room: Room) -> dict[str, str]:
    """Give the relay of each light of the room that the unit may switch."""
    outputs = {o.name for o in rig.safelight if o.address is not None and o.may_be_switched}
    relays = {light.name: light.relay or light.name for light in room.lights}
    return {name: relay for name, relay in relays.items() if relay in outputs}
