"""The room of a rig that nobody has written down yet. Pure."""

from __future__ import annotations

from controller.rig.model import Rig
from controller.room.model import Kind, Light, Room


def room_of_rig(rig: Rig) -> Room:
    """Give a room that has the rig's own safelights, of which nothing is known."""
    return Room(
        lights=tuple(
            Light(
                name=light.name,
                kind=Kind.SAFELIGHT,
                relay=light.name if light.address is not None else "",
                switchable=light.may_be_switched,
            )
            for light in rig.safelight
        )
    )
