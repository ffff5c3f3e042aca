"""The unit's time: the monotonic clock, or on an imagined rig one that runs faster.

Everything that a unit counts (exposures, prompts, trays) is in this time. The keeper's process
and its heartbeats never are: they keep the real one, and ``paced_link`` stands between. What a
person does, such as holding a foot down, takes as long as ever, so it is longer in this time.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic_ns


@dataclass(frozen=True, slots=True)
class Clock:
    """Counts ``pace`` nanoseconds where one passes; the same in every process of this machine."""

    pace: int = 1

    def now_ns(self) -> int:
        """Give the unit's time now."""
        return monotonic_ns() * self.pace

    def at_ns(self, real_ns: int) -> int:
        """Give the unit's time at a time of the monotonic clock."""
        return real_ns * self.pace

    def real_ns(self, at_ns: int) -> int:
        """Give the time of the monotonic clock at one of the unit's; or what a span of it lasts."""
        return at_ns // self.pace

    def left_s(self, until_ns: int) -> float:
        """Say how many real seconds there are until a time of the unit's; 0 where it is past."""
        return max(0, until_ns - self.now_ns()) / self.pace / 1e9
