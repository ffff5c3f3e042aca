"""The engine's counters: what the outputs do is added to the file, by the desk's thread."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from controller.enlarger.counters import Count, Tally, reminders, together
from controller.errors import BadInput
from controller.keeper import Edge
from controller.rig.model import Rig
from drivers import counters_file

if TYPE_CHECKING:
    from drivers.desk_store import DeskStore


class EngineCounters:
    """Counts; ``notes`` says which bulb or relay is near its end."""

    def __init__(
        self,
        rig: Rig,
        store: DeskStore,
        folder: Path,
        *,
        now_ns: int,
        lit: Mapping[str, bool | None],
    ) -> None:
        self._rig = rig.name
        self._store = store
        self._folder = folder
        self._tally = Tally(now_ns, lit)
        self._lock = threading.Lock()
        self._waiting: dict[str, Count] = {}
        try:
            self.notes = reminders(counters_file.read(folder, rig.name), rig.lives())
        except (BadInput, OSError) as error:
            self.notes = [str(error)]

    def edge(self, edge: Edge) -> None:
        """Take an edge of an output."""
        if self._tally.edge(edge):
            self._write(edge.at_ns)

    def close(self, now_ns: int) -> None:
        """Have all written that is left; before the store is closed."""
        self._write(now_ns)

    def _write(self, now_ns: int) -> None:
        new = self._tally.take(now_ns)
        if new:
            with self._lock:
                self._waiting = together(self._waiting, new)
            self._store.do(self._folder / counters_file.FILE, self._add)

    def _add(self) -> None:
        """Add what waits to the file; called by the store's thread."""
        with self._lock:
            new, self._waiting = self._waiting, {}
        try:
            counters_file.add(self._folder, self._rig, new)
        except BaseException:
            with self._lock:  # it is written with what comes next
                self._waiting = together(new, self._waiting)
            raise
