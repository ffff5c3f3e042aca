"""The tests of the room that are worth asking for, in the words in which they are spoken. Pure.

"fog test", "fog test of bench", "which light at the trays".
"""

from __future__ import annotations

from controller.errors import BadInput, quoted
from controller.room.asking import AskedTest, RoomTest, sheet_asked
from controller.room.change import flash_of
from controller.room.model import LEVEL_MARK, Room
from controller.room.reading import FogSheet

AT_TRAYS = " at the trays"
OF = " of "


def offers(room: Room) -> list[str]:
    """Give what is worth asking for now, the likeliest first; few, since they are spoken."""
    names = [light.name for light in room.lights]
    if not names:
        return []
    if flash_of(room) is None:
        return [RoomTest.FLASH.value, RoomTest.COIN.value]
    many = len(names) > 1
    found = [RoomTest.WHICH.value] if many else []
    found += [RoomTest.FOG.value, RoomTest.FOG.value + AT_TRAYS]
    found += [f"{RoomTest.FOG.value}{OF}{name}" for name in names] if many else []
    return [*found, RoomTest.CYCLE.value, RoomTest.COIN.value, RoomTest.FLASH.value]


def lights_at_work(room: Room, at: str = "easel") -> tuple[str, ...]:
    """Name the lights that burn while paper is out at a place; all where no groups were set."""
    groups = room.groups.lists()
    if any(groups.values()):
        return groups[at]
    return tuple(light.name for light in room.lights)


def can_be_left_out(room: Room) -> list[str]:
    """Name the lights that the unit switches and that still burn while paper is out."""
    at_work = {*lights_at_work(room), *lights_at_work(room, "trays")}
    return [
        light.name
        for light in room.lights
        if light.relay and light.switchable and at_work & {light.name, *light.names}
    ]


def sheet_called(text: str, room: Room) -> FogSheet:
    """Make the sheet that is meant, with its usual times and the flash that the room knows.

    Raises BadInput for what is no test, a light that is not there, or a flash never found.
    """
    words = text.strip()
    at = "easel"
    if words.endswith(AT_TRAYS):
        words, at = words.removesuffix(AT_TRAYS), "trays"
    kind, _, name = words.partition(OF)
    known = [one.value for one in RoomTest]
    if kind not in known:
        raise BadInput(f"{quoted(text)} is no test of the room", "room test", " or ".join(known))
    if not name and kind == RoomTest.FOG.value:
        name = ",".join(one.partition(LEVEL_MARK)[0] for one in lights_at_work(room, at))
    return sheet_asked(RoomTest(kind), AskedTest(at=at, lights=name), room)
