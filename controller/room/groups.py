"""Which lights burn by what the hands are doing. Pure.

A light belongs to the groups that name it; one that no group names is left alone, and so is one
that may not be switched. Groups only choose among lights: a plan that wants the dark has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

from controller.room.model import LEVEL_MARK, Room


class Doing(Enum):
    """What the hands are doing; the value is the group's name in the room's file."""

    COMPOSING = "composing"  # no paper is out
    EASEL = "easel"
    TRAYS = "trays"


def group_lights(room: Room, doing: Doing, outputs: Mapping[str, bool]) -> dict[str, bool]:
    """Give the outputs that groups decide upon, and whether each burns now.

    ``outputs`` has the rig's outputs and whether a plan may switch each.
    """
    groups = room.groups.lists()
    named = {_bare(name) for names in groups.values() for name in names}
    now = {_bare(name) for name in groups[doing.value]}
    return {
        light.relay: light.name in now
        for light in room.lights
        if light.name in named and light.switchable and outputs.get(light.relay)
    }


def _bare(name: str) -> str:
    return name.partition(LEVEL_MARK)[0]
