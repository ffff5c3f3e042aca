"""A sensor that is asked again and again by a thread, so that nobody has to wait for it."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable

from controller.ports import PortFault, Reading, Sensor

AGAIN_S = 0.5  # after a fault it is asked less often
CLOSE_S = 5.0


class Sensing:
    """Asks a sensor every ``every_s`` while ``on``; ``wake`` is called when there is news."""

    def __init__(self, sensor: Sensor, every_s: float, wake: Callable[[], None]) -> None:
        self._sensor = sensor
        self._every_s = every_s
        self._wake = wake
        self._change = threading.Condition()
        self._is_on = False
        self._ends = False
        self._readings: deque[Reading] = deque()
        self._faults: deque[str] = deque()
        self._told = ""
        self._thread = threading.Thread(target=self._run, name="sensor", daemon=True)
        self._thread.start()

    def turn(self, *, on: bool) -> None:
        """Begin to ask, or cease."""
        with self._change:
            self._is_on = on
            self._change.notify_all()

    def readings(self) -> list[Reading]:
        """Give what was read since the last call, in order."""
        return [self._readings.popleft() for _ in range(len(self._readings))]

    def faults(self) -> list[str]:
        """Give what went wrong since the last call; the same is told once until it works again."""
        return [self._faults.popleft() for _ in range(len(self._faults))]

    def close(self) -> None:
        """Cease, and let go of the sensor."""
        with self._change:
            self._ends = True
            self._change.notify_all()
        self._thread.join(CLOSE_S)
        self._sensor.close()

    def _run(self) -> None:
        while self._may_go_on():
            try:
                self._readings.append(self._sensor.read())
                self._told = ""
                rest_s = self._every_s
            except PortFault as fault:
                rest_s = AGAIN_S
                if str(fault) != self._told:
                    self._told = str(fault)
                    self._faults.append(self._told)
            self._wake()
            with self._change:
                self._change.wait_for(lambda: self._ends, rest_s)

    def _may_go_on(self) -> bool:
        with self._change:
            self._change.wait_for(lambda: self._ends or self._is_on)
            return not self._ends
