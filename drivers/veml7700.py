"""An ambient light chip of the type VEML7700 on the I2C bus.

Options in the rig file: ``bus`` (1), ``gain`` ("1/8", "1/4", "1", "2"), ``integration_ms`` (25,
50, 100, 200, 400, 800) and ``lux_per_count`` (of the greatest gain and longest integration, if
not the sheet's 0.0042). Its address is always 0x10.

Registers and resolutions are those of the chip's public data sheet, from memory of it (older
editions say 0.0036). Above some 1,000 lux it reads low by a few per cent; the lower gains and
shorter integrations serve there. For ending exposures only its steadiness matters.
"""

from __future__ import annotations

import time
from collections.abc import Mapping

from controller.ports import PortFault, Quantity, Reading, Sensor
from drivers.i2c import Chip, OpenChip, bus_chip, chip_at
from drivers.options import number, one_of
from drivers.pins import check_options

CONFIGURATION, LIGHT = 0x00, 0x04
GAINS = {"1": 0b00, "2": 0b01, "1/8": 0b10, "1/4": 0b11}
INTEGRATIONS = {25: 0b1100, 50: 0b1000, 100: 0b0000, 200: 0b0001, 400: 0b0010, 800: 0b0011}
FINEST_LUX = 0.0042  # of one count, at gain 2 and 800 ms
FULL = 0xFFFF
_WAKE_S = 0.005  # 2.5 ms at least after it was switched on, by the sheet
_LATE = 1.1  # its clock may be so much slow


def configuration(gain: str, integration_ms: int) -> int:
    """Give the 16 bits that set gain and integration, with the chip awake."""
    return GAINS[gain] << 11 | INTEGRATIONS[integration_ms] << 6


def lux_per_count(gain: str, integration_ms: int, finest: float = FINEST_LUX) -> float:
    """Give what one count is in lux: twice as much for half the gain or half the time."""
    gains = {"2": 1, "1": 2, "1/4": 8, "1/8": 16}
    return finest * gains[gain] * (800 / integration_ms)


class Veml7700:
    """The driver "veml7700" of the group ``dryside.sensors``; the class itself is the driver."""

    @staticmethod
    def open(
        address: int | str, options: Mapping[str, object], open_chip: OpenChip = bus_chip
    ) -> Sensor:
        """Begin to measure. Raises PortFault where no chip answers."""
        known = ("bus", "gain", "integration_ms", "lux_per_count")
        check_options(options, known, "veml7700")
        gain = one_of(options, "gain", "1", tuple(GAINS))
        integration_ms = options.get("integration_ms", 100)
        if not isinstance(integration_ms, int) or integration_ms not in INTEGRATIONS:
            right = ", ".join(str(each) for each in INTEGRATIONS)
            raise PortFault(f"integration_ms = {integration_ms!r} is not right; write {right}")
        finest = number(options, "lux_per_count", FINEST_LUX, 1e-5, 1.0)
        chip = chip_at(address, options, open_chip)
        sensor = _Eye(chip, gain, integration_ms, finest)
        try:
            sensor.begin()
        except BaseException:
            chip.close()
            raise
        return sensor


class _Eye:
    def __init__(self, chip: Chip, gain: str, integration_ms: int, finest: float) -> None:
        self._chip = chip
        self._word = configuration(gain, integration_ms)
        self._per_count = lux_per_count(gain, integration_ms, finest)
        self._over_ns = integration_ms * 1_000_000
        self._ready_ns = 0
        self._lost = False

    def begin(self) -> None:
        self._chip.put_word(CONFIGURATION, self._word)
        self._ready_ns = time.monotonic_ns() + round(self._over_ns * _LATE + _WAKE_S * 1e9)
        self._lost = False

    def read(self) -> Reading:
        if self._lost:
            self.begin()  # it was without power, and has forgotten what it was told
        self._lost = True
        time.sleep(max(0, self._ready_ns - time.monotonic_ns()) / 1e9)
        counts = self._chip.word(LIGHT)
        at_ns = time.monotonic_ns()
        self._ready_ns = at_ns + round(self._over_ns * _LATE)
        self._lost = False
        value = counts * self._per_count
        saturated = counts == FULL
        return Reading(Quantity.ILLUMINANCE, value, at_ns, self._over_ns, saturated=saturated)

    def close(self) -> None:
        self._chip.close()
