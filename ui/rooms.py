"""The room's file."""

from __future__ import annotations

from pathlib import Path

from controller.rig.model import Rig
from controller.room.file import load_room, save_room
from controller.room.model import Room
from controller.room.of_rig import room_of_rig
from drivers.places import room_path


def open_room(rig: Rig) -> Room:
    """Read the room; without a file, that of the rig's own safelights. Raises BadInput."""
    path = room_path()
    return load_room(path) if path.exists() else room_of_rig(rig)


def keep_room(room: Room) -> Path:
    """Write the room; gives its file. Raises BadInput."""
    path = room_path()
    path.parent.mkdir(parents=True, exist_ok=True)
    save_room(room, path)
    return path
