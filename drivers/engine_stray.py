"""The engine's watch over stray light: the sensors that look at the room while paper is out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from controller.ports import PortFault
from controller.rig.model import Rig
from controller.room.stray import Began, Gone, StrayWatch
from drivers.found import open_sensor
from drivers.sensing import Sensing

LEAST_EVERY_S = 0.1  # a door is not quicker, and the machine has other things to do


class EngineStray:
    """Asks every sensor whose purpose is "stray", each in a thread of its own.

    One that can't be opened is told in ``faults``, and nothing waits for it.
    """

    def __init__(self, rig: Rig, run: Path, wake: Callable[[], None]) -> None:
        self._watched: list[tuple[StrayWatch, Sensing]] = []
        self._faults: list[str] = []
        for sensor in rig.sensor:
            if sensor.purpose != "stray":
                continue
            try:
                opened = open_sensor(rig, sensor, run)
            except PortFault as fault:
                self._faults.append(f"{fault}; stray light is not watched there")
                continue
            every_s = max(sensor.every_s, LEAST_EVERY_S)
            self._watched.append((StrayWatch(), Sensing(opened, every_s, wake)))

    def turn(self, *, on: bool) -> None:
        """Watch while paper is out, and rest otherwise."""
        for _, sensing in self._watched:
            sensing.turn(on=on)

    def switched(self, now_ns: int, lit: frozenset[str]) -> None:
        """Other lights burn from now on."""
        for watch, _ in self._watched:
            watch.switched(now_ns, lit)

    def take(self) -> list[Began | Gone]:
        """Give what was seen since the last call."""
        found = []
        for watch, sensing in self._watched:
            for reading in sensing.readings():
                seen = watch.read(reading.at_ns, reading.value)
                if seen is not None:
                    found.append(seen)
        return found

    def faults(self) -> list[str]:
        """Give what went wrong since the last call."""
        told, self._faults = self._faults, []
        return [*told, *(fault for _, sensing in self._watched for fault in sensing.faults())]

    def close(self) -> None:
        """Let go of the sensors."""
        for _, sensing in self._watched:
            sensing.close()
