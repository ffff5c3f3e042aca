"""Stray light: a door that opens, a telephone that lights up, while paper is out. Sans-I/O.

A sensor reads what the room gives under each set of lights that the unit has lit. The least that
was ever read under a set is what belongs to it; clearly more is light from elsewhere. (What
shines from the start of a set and never stops is not told apart: that is what fog tests are for.)
"""

from __future__ import annotations

from dataclasses import dataclass, field

from controller.enlarger.lamp import ns

FACTOR = 1.5  # so much more than the least is clearly more: a bulb on a bad mains varies by less
FLOOR_LUX = 0.02  # what a sensor's own noise may be; common practice, no source
SETTLE_S = 0.5  # after a switch lamps and sensors take so long to settle
SURE = 2  # readings in a row


@dataclass(frozen=True, slots=True)
class Began:
    """Stray light is seen: so much, where so much belongs to the lights that are lit."""

    lux: float
    usual_lux: float

    @property
    def words(self) -> str:
        """Tell it."""
        return f"stray light, {self.lux:.2g} lux where {self.usual_lux:.2g} is usual"


@dataclass(frozen=True, slots=True)
class Gone:
    """It is gone again, after so long, and was so much at most."""

    for_s: float
    most_lux: float

    @property
    def words(self) -> str:
        """Tell it."""
        return f"stray light for {self.for_s:.0f} s, {self.most_lux:.2g} lux at most"


@dataclass
class StrayWatch:
    """Judges a sensor's readings; ``lit`` names the outputs that burn meanwhile."""

    usual_lux: dict[frozenset[str], float] = field(default_factory=dict)
    _lit: frozenset[str] = frozenset()
    _settled_ns: int = 0
    _above: int = 0
    _since_ns: int | None = None
    _most_lux: float = 0.0

    @property
    def seen(self) -> bool:
        """Is there stray light now?"""
        return self._since_ns is not None

    def switched(self, now_ns: int, lit: frozenset[str]) -> None:
        """Other lights burn from now on."""
        if lit != self._lit:
            self._lit = lit
            self._settled_ns = now_ns + ns(SETTLE_S)
            self._above = 0

    def read(self, now_ns: int, lux: float) -> Began | Gone | None:
        """Take a reading; tells when stray light begins and when it is gone."""
        if now_ns < self._settled_ns or lux < 0:
            return None
        usual_lux = self.usual_lux.get(self._lit)
        if usual_lux is None or lux < usual_lux:
            self.usual_lux[self._lit] = usual_lux = lux
        if lux > max(usual_lux * FACTOR, usual_lux + FLOOR_LUX):
            self._above += 1
            self._most_lux = max(self._most_lux, lux)
            if self._since_ns is None and self._above >= SURE:
                self._since_ns = now_ns
                return Began(lux, usual_lux)
            return None
        self._above = 0
        if self._since_ns is None:
            return None
        gone = Gone((now_ns - self._since_ns) / 1e9, self._most_lux)
        self._since_ns, self._most_lux = None, 0.0
        return gone
