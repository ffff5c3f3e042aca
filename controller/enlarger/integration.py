"""A dose that ends at the wanted sum of light, as a sensor sees it, with time as its bound.

Pure. Readings are counted in parts of the lamp's full light, so their sum is a dose in seconds
of full light. Where the lamp is put off some light still falls: its relay lets go, its filament
cools. That *tail* was calibrated at full light, and goes with the level (the exposure is ended
where what fell, and the tail that will, are what was wanted).

A sensor is believed as long as it speaks, is not saturated, and sees about as much light as when
it was calibrated. Else the exposure ends by time, as if there were none.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import Enum

from controller.enlarger.lamp import ns
from controller.ports import Reading

RISEN_S = 0.4  # a lamp is as bright as it will be by then (an opal bulb takes 0.3 s)
SILENT_S = 0.5  # a sensor that was not heard for so long is not waited for
LEVEL_OF = 8  # readings whose mean is taken for the level now
SURE_OF = 4  # and how many of them must agree that the light is not the lamp's


class Doubt(Enum):
    """Why a sensor is not believed; the value is how it is said."""

    SILENT = "the light sensor is silent"
    SATURATED = "the light sensor has more light than it can tell"
    WEAK = "the light sensor sees much less light than it did when it was calibrated"
    STRONG = "the light sensor sees much more light than it did when it was calibrated"


@dataclass(frozen=True, slots=True)
class SeenLamp:
    """How a sensor sees a lamp: its readings at full light and of a cold lamp, and the tail.

    ``limit``: an exposure may last so much longer than its time, in parts of it, and the level
    is believed as far as that allows. ``least_s``: doses below it end by time. ``longest_s``:
    the lamp's longest on-time.
    """

    full: float
    dark: float = 0.0
    tail_s: float = 0.0
    limit: float = 0.35
    least_s: float = 1.0
    longest_s: float = 180.0
    output: str = "lamp"

    def level(self, reading: Reading) -> float:
        """Give a reading in parts of full light."""
        return (reading.value - self.dark) / (self.full - self.dark)

    def bound_ns(self, expected_ns: int) -> int:
        """Give the longest that a pulse may be that should be so long."""
        return max(expected_ns, min(round(expected_ns * (1 + self.limit)), ns(self.longest_s)))


class Integral:
    """The light of one pulse, as it is summed up from ``on_ns``.

    ``wanted_s`` is its dose in seconds of full light, ``expected_ns`` its on-time by calibration.
    """

    def __init__(self, seen: SeenLamp, on_ns: int, wanted_s: float, expected_ns: int) -> None:
        self._seen = seen
        self._on_ns = on_ns
        self._wanted_s = wanted_s
        self._expected_ns = expected_ns
        self._sum_s = 0.0  # what fell until _until_ns
        self._until_ns = on_ns
        self._last = 0.0
        self._recent: deque[float] = deque(maxlen=LEVEL_OF)
        self._heard_ns = on_ns
        self._over_ns = 0
        self.doubt: Doubt | None = None

    @property
    def level(self) -> float:
        """The light now, in parts of full light; 0 as long as the lamp rises."""
        return sum(self._recent) / len(self._recent) if self._recent else 0.0

    @property
    def cut_ns(self) -> int | None:
        """When the lamp is to be put off; None as long as too little is known."""
        if self.doubt is not None:
            return self._on_ns + self._expected_ns
        if self.level <= 0.0:
            return None
        more_s = (self._wanted_s - self._sum_s) / self.level - self._seen.tail_s
        return self._until_ns + ns(more_s)

    @property
    def next_ns(self) -> int:
        """When ``check`` is to be asked, if no reading comes before."""
        if self.doubt is not None:
            return self._on_ns + self._expected_ns
        silent_ns = self._heard_ns + self._patience_ns
        cut_ns = self.cut_ns
        return silent_ns if cut_ns is None else min(cut_ns, silent_ns)

    def take(self, reading: Reading) -> None:
        """Take a reading; what was read before the light began is passed over."""
        if self.doubt is not None or reading.at_ns <= self._until_ns:
            return
        if reading.saturated:
            self.doubt = Doubt.SATURATED
            return
        level = self._seen.level(reading)
        self._add(reading, level)
        self._heard_ns = reading.at_ns
        self._over_ns = reading.over_ns
        if reading.at_ns - reading.over_ns < self._on_ns + ns(RISEN_S):
            return
        self._recent.append(level)
        if len(self._recent) >= SURE_OF:
            if self.level < 1 / (1 + self._seen.limit):
                self.doubt = Doubt.WEAK
            elif self.level > 1 + self._seen.limit:
                self.doubt = Doubt.STRONG

    def check(self, now_ns: int) -> bool:
        """Tell whether the lamp is to be put off now."""
        if self.doubt is None and now_ns >= self._heard_ns + self._patience_ns:
            self.doubt = Doubt.SILENT
        cut_ns = self.cut_ns
        return cut_ns is not None and now_ns >= cut_ns

    def dose_s(self, off_ns: int) -> float | None:
        """Give what falls when the lamp was put off at this time; None where it is in doubt."""
        if self.doubt is not None or not self._recent:
            return None
        after_s = (off_ns - self._until_ns) / 1e9
        return max(0.0, self._sum_s + self.level * (after_s + self._seen.tail_s))

    # -- inside ------------------------------------------------------------------------------

    @property
    def _patience_ns(self) -> int:
        return max(ns(SILENT_S), 4 * self._over_ns)

    def _add(self, reading: Reading, level: float) -> None:
        begun_ns = reading.at_ns - reading.over_ns
        if begun_ns < self._on_ns and self._until_ns == self._on_ns:
            self._sum_s += level * reading.over_ns / 1e9  # all that it saw fell since
        else:
            begun_ns = max(begun_ns, self._until_ns)
            between_s = (begun_ns - self._until_ns) / 1e9
            self._sum_s += between_s * (self._last + level) / 2
            self._sum_s += level * (reading.at_ns - begun_ns) / 1e9
        self._until_ns = reading.at_ns
        self._last = level
