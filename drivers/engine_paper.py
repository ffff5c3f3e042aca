"""What the engine's watch over paper needs of the disk: the room's file, and what is kept.

The room is read where something begins, never while the lamp is lit. What sheets have had is
kept over a restart in a file beside the book, written by the desk's thread.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from time import time
from typing import TYPE_CHECKING

import msgspec

from controller.desk.orders import Ordered
from controller.errors import BadInput
from controller.events import RunBegun
from controller.rig.model import Rig
from controller.room.file import load_room
from controller.room.left import Left
from controller.room.of_rig import room_of_rig
from controller.room.room_watch import Done, RoomWatch
from controller.room.watch import Heard

if TYPE_CHECKING:
    from controller.room.model import Room
    from drivers.desk_store import DeskStore

PAPER_FILE = "paper.json"


class EnginePaper:
    """A ``RoomWatch`` with its files; ``notice`` says what could not be read."""

    def __init__(
        self,
        rig: Rig,
        store: DeskStore,
        *,
        room_file: Path,
        folder: Path,
        now_ns: int,
        outputs: Mapping[str, bool | None],
    ) -> None:
        self._store = store
        self._room_file = room_file
        self._file = folder / PAPER_FILE
        self._read_ns = 0
        self.notice = ""
        self.watch = RoomWatch(
            rig,
            self._read_room() or room_of_rig(rig),
            now_ns=now_ns,
            day=_today(),
            outputs=outputs,
            left=self._left(),
            wall_s=time(),
        )
        self._kept = self.watch.paper.version

    def step(self, now_ns: int, heard: Heard | None = None) -> list[Done]:
        """Let the watch hear it, with the room as it is written now where a run begins."""
        done: list[Done] = []
        if isinstance(heard, RunBegun):
            room = self._read_room()
            if room is not None:
                done += self.watch.with_room(now_ns, room, _today())
        done += self.watch.step(now_ns, heard)
        self._keep()
        return done

    def changed(self, now_ns: int, room: Room) -> list[Done]:
        """Take up a room that was changed here, and is being written to its file."""
        return self.watch.with_room(now_ns, room, _today())

    def order(self, now_ns: int, ordered: Ordered) -> tuple[str, list[Done]]:
        """Carry an order out; see ``RoomWatch.order``. Raises BadInput."""
        said, done = self.watch.order(now_ns, ordered)
        self._keep()
        return said, done

    def close(self, now_ns: int) -> None:
        """Keep what sheets have had until now."""
        self.watch.step(now_ns)
        self._kept = -1
        self._keep()

    def _keep(self) -> None:
        version = self.watch.paper.version
        if version != self._kept:
            self._kept = version
            left = self.watch.paper.left(time())
            self._store.keep(self._file, msgspec.json.encode(left).decode())

    def _read_room(self) -> Room | None:
        """Read the room if its file has changed; None where it has not, or can't be read."""
        try:
            written_ns = self._room_file.stat().st_mtime_ns
            if written_ns == self._read_ns:
                return None
            self._read_ns = written_ns
            return load_room(self._room_file)
        except FileNotFoundError:
            return None
        except (OSError, BadInput) as error:
            self.notice = f"{error}; the fog budget counts without it"
            return None

    def _left(self) -> Left | None:
        try:
            return msgspec.json.decode(self._file.read_bytes(), type=Left)
        except FileNotFoundError:
            return None
        except (OSError, msgspec.MsgspecError):
            self.notice = f"{self._file} cannot be read; what sheets have had is not known"
            return None


def _today() -> date:
    return datetime.now().astimezone().date()
