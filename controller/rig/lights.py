"""Which lights a plan switches, and how they are left.

White light never comes back by itself after paper was out: that is for a person to ask for.
"""

from __future__ import annotations

from controller.rig.model import OtherLight, Rig, Safelight


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
