"""The engine's trays: wet pedals and spoken notes, told apart by how long a foot stays down.

Nothing in here can light a lamp: what it gives is cues.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from controller.events import Event, SheetBegun
from controller.ports import Cue, Sound
from controller.rig.model import Rig
from drivers.desk_store import DeskStore
from drivers.engine_notes import EngineNotes
from drivers.engine_wet import WetFoot, told_of


class EngineTrays:
    """What happens on the wet side. ``folder`` is the book's; ``wake`` is called for news."""

    def __init__(
        self, rig: Rig, store: DeskStore, *, folder: Path, wake: Callable[[], None]
    ) -> None:
        self._notes = EngineNotes(rig, store, folder, wake)
        self._mark = ""  # the newest sheet
        self._feet = {
            pedal.name: WetFoot(self._notes, tapped=self._tapped, mark=lambda: self._mark)
            for pedal in rig.pedal
            if pedal.wet
        }

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        times = [foot.next_ns for foot in self._feet.values()]
        return min((each for each in times if each is not None), default=None)

    def hear(self, event: Event) -> None:
        """Take note of what happened to a sheet."""
        if isinstance(event, SheetBegun):
            self._mark = event.mark

    def pedal(self, now_ns: int, name: str, down: bool) -> list[Cue]:
        """A wet pedal went down, or came up; gives what is heard of it."""
        return self._feet[name].edge(now_ns, down)

    def pedal_gone(self, name: str) -> None:
        """A wet pedal was unplugged."""
        self._feet[name].gone()

    def step(self, now_ns: int) -> list[Cue]:
        """Let time pass; gives what is to be heard."""
        cues = [cue for foot in self._feet.values() for cue in foot.wake(now_ns)]
        return cues + [told_of(news) for news in self._notes.news()]

    def close(self) -> None:
        """Let go of the microphone."""
        self._notes.close()

    def _tapped(self, _now_ns: int) -> list[Cue]:
        return [Cue(sound=Sound.NOT_TAKEN)]
