"""Paper left in the light of a room for so long, the enlarger dark: the account of one stretch."""

from __future__ import annotations

from controller.enlarger.lamp import SECOND_NS, ns
from controller.events import PulseMade
from controller.plan import SAME_S, Dwell


class Dwelling:
    """Counts the time under some lights, over any number of pauses; as ``Exposing`` counts dose.

    Seconds of these lights stand for dose: nothing is known of how strong they are.
    """

    def __init__(self, asked: Dwell) -> None:
        self.asked = asked
        self.delivered_s = 0.0
        self.touched = False
        self.full = False
        self.pulses: list[PulseMade] = []  # none: the lamp stays dark
        self._stretch_s = 0.0
        self._since_ns: int | None = None

    @property
    def left_s(self) -> float:
        """Give the time that is left, in seconds; never below zero."""
        return max(0.0, self.asked.time_s - self.delivered_s)

    @property
    def stretch_s(self) -> float:
        """Give the time since ``begin_stretch``, in seconds."""
        return self._stretch_s

    @property
    def lit(self) -> bool:
        """Is the paper in that light now?"""
        return self._since_ns is not None

    def begin_stretch(self) -> None:
        """Start a new row (what is resumed is a new entry in the book)."""
        self._stretch_s = 0.0

    def begin(self, now_ns: int) -> int:
        """The lights are on; gives when they are to go off."""
        self._since_ns = now_ns
        self.touched = True
        return now_ns + ns(self.left_s)

    def end(self, now_ns: int) -> None:
        """The lights are off again, when the time was over or before."""
        if self._since_ns is None:
            return
        had_s = (now_ns - self._since_ns) / SECOND_NS
        self._since_ns = None
        self.delivered_s += had_s
        self._stretch_s += had_s
        self.full = self.left_s <= SAME_S
