"""A bare light sensor on one GPIO line: is there light, or not?

Options in the rig file: ``kind``, ``library`` and ``chip`` (see ``drivers.gpio``).

- ``kind = "switch"``: a comparator board or photo transistor whose output tells yes or no;
  ``lit_level`` ("low" or "high") is its level in light. The line's pull-up is on.
- ``kind = "capacitor"``: a light-dependent resistor that charges a capacitor on the line, timed
  by gpiozero. Slower than ``charge_s`` (0.01) is dark; ``threshold`` (0.1) is how much of that
  time must be left to count as light.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Any

from controller.ports import PortFault, Quantity, Reading, Sensor
from drivers.options import number, one_of
from drivers.pins import Pins, check_options, open_pins

_PINS = ("library", "chip")
_OF_KIND = {
    "switch": ("kind", "lit_level", *_PINS),
    "capacitor": ("kind", "charge_s", "threshold", *_PINS),
}


class LightPin:
    """The driver "light-pin" of the group ``dryside.sensors``; the class itself is the driver."""

    @staticmethod
    def open(address: int | str, options: Mapping[str, object]) -> Sensor:
        """Claim the line. Raises PortFault where it is not there, or is somebody else's."""
        kind = one_of(options, "kind", "switch", tuple(_OF_KIND))
        check_options(options, _OF_KIND[kind], f"light-pin, kind {kind}")
        pins = open_pins({name: options[name] for name in _PINS if name in options})
        try:
            gpio = pins.number(address)
            if kind == "switch":
                lit = one_of(options, "lit_level", "low", ("low", "high"))
                return _Switch(pins, gpio, lit_level=int(lit == "high"))
            charge_s = number(options, "charge_s", 0.01, 0.0001, 1.0)
            threshold = number(options, "threshold", 0.1, 0.0, 1.0)
            return _Capacitor(pins, gpio, charge_s=charge_s, threshold=threshold)
        except BaseException:
            pins.close()
            raise


class _Switch:
    def __init__(self, pins: Pins, gpio: int, *, lit_level: int) -> None:
        self._pins = pins
        self._gpio = gpio
        self._lit_level = lit_level
        pins.claim_input(gpio)

    def read(self) -> Reading:
        lit = self._pins.read(self._gpio) == self._lit_level
        return _reading(lit=lit)

    def close(self) -> None:
        self._pins.close()


class _Capacitor:
    def __init__(self, pins: Pins, gpio: int, *, charge_s: float, threshold: float) -> None:
        from gpiozero import LightSensor
        from gpiozero.exc import GPIOZeroError

        self._pins = pins
        self._faults = GPIOZeroError
        self._gpio = gpio
        try:
            self._sensor: Any = LightSensor(
                gpio,
                charge_time_limit=charge_s,
                threshold=threshold,
                queue_len=1,
                pin_factory=pins.factory,
            )
        except GPIOZeroError as error:
            raise PortFault(f"gpio {gpio} for the light sensor does not obey: {error}") from error

    def read(self) -> Reading:
        try:
            return _reading(lit=bool(self._sensor.light_detected))
        except self._faults as error:
            raise PortFault(
                f"gpio {self._gpio} of the light sensor does not obey: {error}"
            ) from error

    def close(self) -> None:
        self._sensor.close()
        self._pins.close()


def _reading(*, lit: bool) -> Reading:
    return Reading(Quantity.LIGHT, float(lit), time.monotonic_ns())
