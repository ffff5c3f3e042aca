"""The engine's sensor that sees the lamp: asked by a thread while the lamp is lit, and no longer.

Where the rig has none that ends exposures, this does nothing. A sensor that cannot be opened
costs no evening: exposures then end by time, and it is told.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from controller.enlarger.integration import SeenLamp
from controller.ports import PortFault, Reading
from controller.rig.model import Rig
from drivers.found import open_sensor
from drivers.sensing import Sensing


class Senses:
    """The sensor of the lamp. ``wake`` is called when there is news."""

    def __init__(self, rig: Rig, run: Path, wake: Callable[[], None]) -> None:
        self._sensing: Sensing | None = None
        self.seen: SeenLamp | None = None
        self.notice = ""
        sensor = rig.lamp_sensor()
        if sensor is None:
            return
        try:
            self._sensing = Sensing(open_sensor(rig, sensor, run), sensor.every_s, wake)
            self.seen = rig.seen_lamp()
        except PortFault as fault:
            self.notice = f"exposures end by time: {fault}"

    def lit(self, *, lit: bool) -> None:
        """A pulse begins, or is over."""
        if self._sensing:
            self._sensing.turn(on=lit)

    def readings(self) -> list[Reading]:
        """Give what was read since the last call."""
        return self._sensing.readings() if self._sensing else []

    def notices(self) -> list[str]:
        """Give what the printer should be told since the last call."""
        return self._sensing.faults() if self._sensing else []

    def close(self) -> None:
        """Let go of the sensor."""
        if self._sensing:
            self._sensing.close()
