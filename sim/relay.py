"""Relays: when the contact really follows the command."""

from __future__ import annotations

import math
import random
from collections import deque
from typing import Protocol

from sim.settings import RelayKind, SimulatorSettings


class Delay(Protocol):
    """Tells when a contact follows a command."""

    def follows_ns(self, now_ns: int, closed: bool) -> int:
        """Give the moment at which the contact is closed, or open; never before now."""


class Ideal:
    """Follows at once."""

    def follows_ns(self, now_ns: int, closed: bool) -> int:
        """Give the moment of the command itself."""
        del closed
        return now_ns


class Mechanical:
    """A coil and a contact: operate and release time, each with a little scatter."""

    def __init__(
        self, operate_s: float, release_s: float, scatter_s: float, rng: random.Random
    ) -> None:
        self._operate_s = operate_s
        self._release_s = release_s
        self._scatter_s = scatter_s
        self._rng = rng

    def follows_ns(self, now_ns: int, closed: bool) -> int:
        """Give the moment at which the contact has moved."""
        mean_s = self._operate_s if closed else self._release_s
        taken_s = max(0.0, self._rng.gauss(mean_s, self._scatter_s))
        return now_ns + round(taken_s * 1e9)


class ZeroCrossing:
    """Solid state: goes on, and off, at the next zero crossing of the mains.

    ``phase_ns`` is the time of any one crossing: the mains knows nothing of our clock.
    """

    def __init__(self, mains_hz: float, phase_ns: int) -> None:
        self._half_ns = 0.5e9 / mains_hz
        self._phase_ns = phase_ns

    def follows_ns(self, now_ns: int, closed: bool) -> int:
        """Give the next zero crossing, which is the same for on and off."""
        del closed
        half = math.ceil((now_ns - self._phase_ns) / self._half_ns - 1e-6)
        return self._phase_ns + round(half * self._half_ns)


class Relay:
    """The contact of one relay: takes commands, and tells of its changes in order."""

    def __init__(self, delay: Delay) -> None:
        self._delay = delay
        self._coming: deque[tuple[int, bool]] = deque()

    def command(self, now_ns: int, closed: bool) -> None:
        """Energise the coil, or not. What has not happened yet may be overtaken by it."""
        at_ns = self._delay.follows_ns(now_ns, closed)
        while self._coming and self._coming[-1][0] >= at_ns:
            self._coming.pop()
        self._coming.append((at_ns, closed))

    def next_change(self, until_ns: int) -> tuple[int, bool] | None:
        """Take the next change of the contact up to a time; None when there is none."""
        if self._coming and self._coming[0][0] <= until_ns:
            return self._coming.popleft()
        return None


def relay_of(settings: SimulatorSettings, rng: random.Random, phase_ns: int) -> Relay:
    """Make the relay that the settings ask for."""
    match settings.relay:
        case RelayKind.IDEAL:
            return Relay(Ideal())
        case RelayKind.ZERO_CROSSING:
            return Relay(ZeroCrossing(settings.mains_hz, phase_ns))
        case RelayKind.MECHANICAL:
            s = settings
            delay = Mechanical(s.relay_operate_s, s.relay_release_s, s.relay_scatter_s, rng)
            return Relay(delay)
