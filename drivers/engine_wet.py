"""The engine's wet foot: a tap for the trays, a hold for a note, and never any light.

What it gives is cues and nothing else: no path leads from here to a lamp.
"""

from __future__ import annotations

from collections.abc import Callable

from controller.exposing.foot import Foot, FootTimes, Gesture
from controller.ports import Cue, Sound
from drivers.engine_notes import EngineNotes, Heard

HOLD_S = 0.6  # held longer than a tap: somebody wants to speak
NO_MICROPHONE = "no microphone for notes: give one in a table notes of the rig file"


class WetFoot:
    """One wet pedal, after its bounce.

    ``tapped`` answers a tap with what is to be heard; ``mark`` names the sheet that a note is of.
    """

    def __init__(
        self,
        notes: EngineNotes,
        *,
        tapped: Callable[[int], list[Cue]],
        mark: Callable[[], str],
        pace: int = 1,
    ) -> None:
        hold_s = HOLD_S * pace  # a person is no faster where time is
        self._foot = Foot(FootTimes(deaf_s=0.0, long_press_s=hold_s, stuck_s=3600.0))
        self._notes = notes
        self._tapped = tapped
        self._mark = mark
        self._is_note = False  # the foot that is down speaks

    @property
    def next_ns(self) -> int | None:
        """When ``wake`` must be called."""
        return None if self._is_note else self._foot.next_ns

    def edge(self, now_ns: int, down: bool) -> list[Cue]:
        """The pedal went down, or came up; gives what is heard of it."""
        gesture = self._foot.edge(now_ns, down, light=False)
        if gesture is Gesture.FELT:
            self._notes.listen()
            return []
        if self._is_note:
            self._is_note = False
            self._notes.keep(self._mark())
            return []
        self._notes.forget()
        return self._tapped(now_ns) if gesture is Gesture.TAP else []

    def gone(self) -> None:
        """The pedal was unplugged: what was spoken is kept, and there was no tap."""
        if self._foot.down:
            self._foot.gone(0)
            if self._is_note:
                self._notes.keep(self._mark())
            else:
                self._notes.forget()
        self._is_note = False

    def wake(self, now_ns: int) -> list[Cue]:
        """Look at a foot that stays down; gives what is heard when it has become a note."""
        if self._is_note or self._foot.wake(now_ns) is not Gesture.LONG:
            return []
        if not self._notes:
            return [Cue(NO_MICROPHONE, Sound.ATTENTION)]
        self._is_note = True
        return [Cue(sound=Sound.PRESS)]


def told_of(news: Heard | str) -> Cue:
    """Say what became of a note; the whole sentence of a fault, since nobody can look it up."""
    if isinstance(news, str):
        return Cue(news, Sound.ATTENTION)
    return Cue(f"note for {news.mark or 'no sheet'}, {news.lasts_s:.0f} seconds")
