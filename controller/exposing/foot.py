"""What a foot means: edges of a pedal become gestures. Sans-I/O.

A press has one meaning, fixed when it goes down: while light falls (or is about to) it stops
the light at once; in a deaf moment it is not taken; else it is a tap when it comes up, or a
long press when it does not. No press ever has two meanings, and none is carried over.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from controller.enlarger.lamp import ns


@dataclass(frozen=True, slots=True)
class FootTimes:
    """The foot's times, all in seconds."""

    deaf_s: float = 1.0
    lead_in_s: float = 1.5
    long_press_s: float = 1.5
    stuck_s: float = 5.0
    choice_s: float = 2.0
    paused_reminder_s: float = 5.0


class Gesture(Enum):
    """What the foot said."""

    FELT = "felt"  # went down, and means something when it comes up
    STOP = "stop"  # down while light falls or is about to: acts on the way down
    LET_GO = "let-go"  # the stopping foot came up again soon: it is only a pause
    KEPT = "kept"  # the stopping foot stayed down: abandon
    TAP = "tap"  # came up again
    LONG = "long"  # stayed down at a prompt
    NOT_TAKEN = "not-taken"  # came in a deaf moment
    STUCK = "stuck"  # down for far too long
    FREE = "free"  # no longer stuck


class Contact:
    """One pedal contact: acts on the first edge, then is deaf to bounce for a moment."""

    def __init__(self, bounce_s: float = 0.02) -> None:
        self._bounce_ns = ns(bounce_s)
        self._down = False  # as taken
        self._raw = False  # as last seen
        self._deaf_until_ns: int | None = None

    @property
    def down(self) -> bool:
        """Is the contact down, as it was last taken?"""
        return self._down

    @property
    def next_ns(self) -> int | None:
        """When ``settle`` must be called."""
        return self._deaf_until_ns

    def gone(self) -> bool:
        """The contact was unplugged, so it is up now; tells whether it had been down."""
        was_down, self._down, self._raw = self._down, False, False
        self._deaf_until_ns = None
        return was_down

    def edge(self, now_ns: int, down: bool) -> bool | None:
        """Take a raw edge; gives the new state of the pedal, or None if nothing changed."""
        self._raw = down
        if self._deaf_until_ns is not None and now_ns < self._deaf_until_ns:
            return None
        return self._take(now_ns)

    def settle(self, now_ns: int) -> bool | None:
        """Look again when the bounce is over: the contact may have ended up the other way."""
        if self._deaf_until_ns is None or now_ns < self._deaf_until_ns:
            return None
        self._deaf_until_ns = None
        return self._take(now_ns)

    def _take(self, now_ns: int) -> bool | None:
        if self._raw == self._down:
            self._deaf_until_ns = None
            return None
        self._down = self._raw
        self._deaf_until_ns = now_ns + self._bounce_ns
        return self._down


class _Press(Enum):
    STOPPING = "stopping"
    DEAF = "deaf"
    PLAIN = "plain"
    SPENT = "spent"  # its meaning has been told; what is left of it means nothing


class Foot:
    """One pedal's foot, after bounce."""

    def __init__(self, times: FootTimes, *, down: bool = False) -> None:
        self._times = times
        # a foot that is down already came for something else: it means nothing here
        self._press: _Press | None = _Press.SPENT if down else None
        self._down_ns = 0
        self._deaf_until_ns = 0
        self._stuck = False

    @property
    def down(self) -> bool:
        """Is the pedal down?"""
        return self._press is not None

    @property
    def next_ns(self) -> int | None:
        """When ``wake`` must be called."""
        if self._press is None or self._stuck:
            return None
        long_ns = self._down_ns + ns(self._times.long_press_s)
        stuck_ns = self._down_ns + ns(self._times.stuck_s)
        return long_ns if self._press in (_Press.STOPPING, _Press.PLAIN) else stuck_ns

    def deafen(self, now_ns: int, for_s: float | None = None) -> None:
        """Be deaf for a moment from now: after each lamp-off and each prompt."""
        for_s = self._times.deaf_s if for_s is None else min(for_s, self._times.deaf_s)
        self._deaf_until_ns = max(self._deaf_until_ns, now_ns + ns(for_s))

    def edge(self, now_ns: int, down: bool, *, light: bool) -> Gesture | None:
        """Take an edge; ``light``: light falls now, or will without a further tap."""
        if down == self.down:
            return None
        if down:
            self._down_ns = now_ns
            if light:
                self._press = _Press.STOPPING
                return Gesture.STOP
            if now_ns < self._deaf_until_ns:
                self._press = _Press.DEAF
                return Gesture.NOT_TAKEN
            self._press = _Press.PLAIN
            return Gesture.FELT
        press, self._press = self._press, None
        if self._stuck:
            self._stuck = False
            return Gesture.FREE
        if press is _Press.STOPPING:
            return Gesture.LET_GO
        return Gesture.TAP if press is _Press.PLAIN else None

    def gone(self, now_ns: int) -> Gesture | None:
        """The pedal was unplugged while it was down: it is up, and that is no tap."""
        if self._press is _Press.PLAIN:
            self._press = _Press.SPENT
        return self.edge(now_ns, False, light=False)

    def wake(self, now_ns: int) -> Gesture | None:
        """Tell what a foot that stays down has come to mean."""
        due_ns = self.next_ns
        if due_ns is None or now_ns < due_ns:
            return None
        if self._press is _Press.STOPPING:
            self._press = _Press.SPENT
            return Gesture.KEPT
        if self._press is _Press.PLAIN:
            self._press = _Press.SPENT
            return Gesture.LONG
        self._stuck = True
        return Gesture.STUCK
