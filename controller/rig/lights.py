"""Which lights a plan switches, and how they are left.

White light never comes back by itself after paper was out: that is for a person to ask for.
"""

from __future__ import annotations

from dataclasses import dataclass

from controller.exposing.around import Around
from controller.rig.model import LAMP, OtherLight, Rig, Safelight


def off_while_exposing(rig: Rig, *, safelights_off: bool) -> dict[str, float]:
    """Name the lights that are off from the first light to the last, each with its afterglow.

    White lights always; safelights only if asked for, and never those that may not be switched.
    """
    lights: list[OtherLight | Safelight] = [
        *(each for each in rig.light if each.kind != "contact-frame"),
        *(rig.safelight if safelights_off else ()),
    ]
    return {
        light.name: light.afterglow_s
        for light in lights
        if light.address is not None and light.may_be_switched
    }


def back_afterwards(rig: Rig, *, safelights_off: bool) -> dict[str, bool]:
    """Name the safelights that burn again when the plan is over."""
    if not safelights_off:
        return {}
    return {
        light.name: True
        for light in rig.safelight
        if light.address is not None and light.may_be_switched
    }


@dataclass(frozen=True, slots=True)
class LightRow:
    """A light of the room, for a list; ``otherwise`` is its state where no line tells it."""

    name: str
    kind: str
    switched: str
    dark_in: str
    failing: str
    otherwise: str = "off"


def lights_of(rig: Rig) -> list[LightRow]:
    """Give every light of the rig, the enlarger's first."""
    rows = [LightRow(LAMP, "enlarger", "in pulses", "at once", "off")]
    lights: list[OtherLight | Safelight] = [*rig.safelight, *rig.light]
    for light in lights:
        kind = "safelight" if isinstance(light, Safelight) else light.kind
        if light.address is None:
            rows.append(LightRow(light.name, kind, "own plug", "-", "as it is", "on"))
            continue
        dark_in = f"{light.afterglow_s:g} s" if light.afterglow_s else "at once"
        failing = "on" if light.contact == "normally-closed" else "off"
        switched = "by the plan" if light.may_be_switched else "at start"
        rows.append(LightRow(light.name, kind, switched, dark_in, failing))
    return rows


def around(rig: Rig, *, safelights_off: bool = False) -> Around:
    """Give how the bench of a rig is prepared for light, and left afterwards."""
    return Around(
        rig.foot.lead_in_s,
        off_while_exposing(rig, safelights_off=safelights_off),
        back_afterwards(rig, safelights_off=safelights_off),
    )
