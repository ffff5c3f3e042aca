"""A key as a pedal: a terminal tells key-downs only, and repeats a key that is held.

A tap is down for a moment and up again by itself. A key that is held counts as one tap: its
repeats are told apart from a second tap by coming too soon. A long press has a key of its own,
and nothing else is heard while it lasts.
"""

from __future__ import annotations

from collections.abc import Callable

TAP_S = 0.15
HOLD_S = 1.8  # long enough for a long press
REPEAT_S = 0.7  # keyboards begin to repeat after a quarter to a whole half second


class PedalKey:
    """Turns key-downs into presses. ``later(seconds, do)`` calls something back."""

    def __init__(
        self,
        press: Callable[[bool], None],
        later: Callable[[float, Callable[[], None]], object],
        clock: Callable[[], float],
    ) -> None:
        self._press = press
        self._later = later
        self._clock = clock
        self._last_s: float | None = None
        self._down = False

    def tap(self) -> None:
        """The key of a tap came down, or repeated."""
        last_s, self._last_s = self._last_s, self._clock()
        if self._down or (last_s is not None and self._last_s - last_s < REPEAT_S):
            return
        self._for(TAP_S)

    def hold(self) -> None:
        """The key of a long press came down, or repeated."""
        if not self._down:
            self._for(HOLD_S)

    def _for(self, seconds: float) -> None:
        self._down = True
        self._press(True)
        self._later(seconds, self._up)

    def _up(self) -> None:
        self._down = False
        self._press(False)
