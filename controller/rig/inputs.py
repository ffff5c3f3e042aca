"""What is listened to besides sensors: pedals, and the switch on the box of paper."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from controller.rig.rules import is_wet
from controller.rig.table import Address, Addressed, Contact, Text


def _dry_or_wet(value: str) -> str:
    # a "west" that lit the lamp would be a pedal at the trays that does what it never may
    if not re.fullmatch(r"(dry|wet)(-[0-9A-Za-z]+)?", value):
        raise PydanticCustomError("dry_or_wet", "neither dry nor wet")
    return value


class PedalAt(Addressed):
    """A pedal and its contact. ``pin`` may be written for ``address``."""

    name: Annotated[str, AfterValidator(_dry_or_wet)] = Field(
        "dry",
        description='"dry" (light) or "wet" (at the trays; it never lights the lamp); where there '
        'are more of a kind, "dry-2" and so on',
    )
    driver: Text = Field(
        description='"gpio", "usb-pedal", "modem-lines", or one that another package registers'
    )
    address: Address = Field(
        description="the line or device that the contact is on: a GPIO number, a path in "
        '/dev/input/by-id, or "cts", "dsr", "ri" or "cd" of a serial port'
    )
    contact: Contact = Field(
        "normally-open",
        description='"normally-open": pressing closes it; "normally-closed": pressing opens it',
    )
    bounce_ms: float = Field(
        20.0, ge=0, le=200, description="how long its contact may bounce, in milliseconds"
    )

    @property
    def wet(self) -> bool:
        """Does it stand at the trays? Then it never lights a lamp."""
        return is_wet(self.name)


class BoxSwitch(Addressed):
    """The reed switch on the paper box or drawer. ``pin`` may be written for ``address``."""

    driver: Text = Field(description='"gpio", or another that pedals use')
    address: Address = Field(description="the line or device that the contact is on")
    contact: Contact = Field(
        "normally-open",
        description='"normally-open": the magnet on the shut lid closes it (a cut wire then '
        'counts as an open box); "normally-closed": the magnet opens it',
    )
    bounce_ms: float = Field(
        50.0, ge=0, le=1000, description="how long its contact may bounce, in milliseconds"
    )
