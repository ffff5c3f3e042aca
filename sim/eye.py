"""An imagined light sensor that looks into the lamp's house: what it reads, with its noise.

It sees the imagined lamp's light as the lamp makes it, relay, filament, supply and all. A real
one is slow, since it sums up light over a while; so is this one.
"""

from __future__ import annotations

import random
from typing import Annotated, Protocol

from pydantic import Field

from controller.ports import Quantity, Reading
from sim.table import Table


class EyeSettings(Table):
    """What the imagined sensor is like."""

    full_lux: float = Field(400.0, gt=0, description="what it reads of the lamp at full light")
    dark_lux: float = Field(0.0, ge=0, description="what it reads of other light, always")
    noise: float = Field(
        0.01, ge=0, le=0.5, description="standard deviation of a reading, in parts of it"
    )
    over_s: float = Field(0.025, gt=0, le=1, description="it sums up light for so long")
    most_lux: float = Field(1e5, gt=0, description="more than this it cannot tell")
    silent: tuple[Annotated[float, Field(ge=0)], ...] = Field(
        (),
        max_length=2,
        description="it gives nothing from the first to the second of these seconds of light",
    )


class LampLight(Protocol):
    """What an eye needs of a world."""

    def lamp_light_s(self, now_ns: int) -> float:
        """Give the light that the lamp gave so far, in seconds of full light."""


class Eye:
    """Turns the light that the lamp gave, as it was summed up, into readings."""

    def __init__(self, settings: EyeSettings, seed: object = 1) -> None:
        self._settings = settings
        self._noise = random.Random(f"{seed} eye")
        self._before: tuple[int, float] | None = None
        self._begun_ns: int | None = None

    @property
    def every_ns(self) -> int:
        """How often there is a reading."""
        return round(self._settings.over_s * 1e9)

    def see(self, now_ns: int, light_s: float) -> Reading | None:
        """Give the reading of the time since the last; the lamp gave ``light_s`` in all so far.

        None: it was not looked at for long, and only begins again; or it is silent.
        """
        s = self._settings
        before, self._before = self._before, (now_ns, light_s)
        if before is None or not 0 < now_ns - before[0] < 2 * self.every_ns:
            return None
        passed_ns, fell_s = now_ns - before[0], light_s - before[1]
        if fell_s > 0.0 and self._begun_ns is None:
            self._begun_ns = before[0]
        if self._silent(now_ns):
            return None
        lux = s.full_lux * fell_s / (passed_ns / 1e9) + s.dark_lux
        lux *= 1.0 + self._noise.gauss(0.0, s.noise)
        value = max(0.0, min(lux, s.most_lux))
        return Reading(Quantity.ILLUMINANCE, value, now_ns, passed_ns, saturated=lux >= s.most_lux)

    def _silent(self, now_ns: int) -> bool:
        if self._begun_ns is None or len(self._settings.silent) < 2:
            return False
        begins_s, ends_s = self._settings.silent
        return begins_s <= (now_ns - self._begun_ns) / 1e9 < ends_s


class WorldEye:
    """An eye in the lamp's house of an imagined world: ``controller.ports.Eye``."""

    def __init__(self, world: LampLight, eye: Eye) -> None:
        self._world = world
        self._eye = eye

    @property
    def every_ns(self) -> int:
        """The time between two readings."""
        return self._eye.every_ns

    def look(self, now_ns: int) -> Reading | None:
        """Give what it reads now."""
        return self._eye.see(now_ns, self._world.lamp_light_s(now_ns))
