"""The room's file, and the room of a rig that has none yet."""

from __future__ import annotations

from pathlib import Path

from controller.rig.model import Rig
from controller.room.file import load_room, save_room
from controller.room.model import Kind, Light, Room
from drivers.places import config_folder


def room_path() -> Path:
    """Give the file of the room."""
    return config_folder() / "room.toml"


def open_room(rig: Rig) -> Room:
    """Read the room; without a file, that of the rig's own safelights. Raises BadInput."""
    path = room_path()
    if path.exists():
        return load_room(path)
    lights = tuple(
        Light(
            name=light.name,
            kind=Kind.SAFELIGHT,
            relay=light.name if light.address is not None else "",
            switchable=light.may_be_switched,
        )
        for light in rig.safelight
    )
    return Room(lights=lights)


def keep_room(room: Room) -> Path:
    """Write the room; gives its file. Raises BadInput."""
    path = room_path()
    path.parent.mkdir(parents=True, exist_ok=True)
    save_room(room, path)
    return path
