"""An ambient light chip of the type BH1750FVI on the I2C bus.

Options in the rig file: ``bus`` (1), ``mode`` ("fine", 0.5 lx in 120 ms; "normal", 1 lx in
120 ms; "quick", 4 lx in 16 ms) and ``sensitivity`` (0.45 to 3.68, the sheet's measurement time
over its default). Address 0x23, or 0x5c with its ADDR pin high.

Op-codes and the conversion are those of the chip's public data sheet, from memory of it: counts
/ 1.2 in lux, times 69 over the measurement time register, and half in the fine mode.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from enum import Enum

from controller.ports import Quantity, Reading, Sensor
from drivers.i2c import Chip, OpenChip, bus_chip, chip_at
from drivers.options import number, one_of
from drivers.pins import check_options

POWER_ON, RESET = 0x01, 0x07
TIME_HIGH, TIME_LOW = 0x40, 0x60  # 01000 and its three high bits, 011 and its five low ones
USUAL_TIME, LEAST_TIME, MOST_TIME = 69, 31, 254
PER_LUX = 1.2
FULL = 0xFFFF
_LATE = 1.5  # the sheet's longest measurement is half as long again as its typical one


class Mode(Enum):
    """How it measures continuously: the op-code, typical time, and counts for one of usual."""

    NORMAL = (0x10, 0.120, 1.0)
    FINE = (0x11, 0.120, 2.0)
    QUICK = (0x13, 0.016, 1.0)

    @property
    def op_code(self) -> int:
        """The command that begins it."""
        return self.value[0]


def time_commands(register: int) -> tuple[int, int]:
    """Give the two commands that set the measurement time register."""
    return TIME_HIGH | register >> 5, TIME_LOW | register & 0x1F


def lux(counts: int, mode: Mode = Mode.NORMAL, register: int = USUAL_TIME) -> float:
    """Turn 16 bits of the chip into lux."""
    return counts / PER_LUX * USUAL_TIME / register / mode.value[2]


def takes_s(mode: Mode, register: int = USUAL_TIME) -> float:
    """Give the time that one measurement takes at the longest, in seconds."""
    return mode.value[1] * _LATE * register / USUAL_TIME


class Bh1750:
    """The driver "bh1750" of the group ``dryside.sensors``; the class itself is the driver."""

    @staticmethod
    def open(
        address: int | str, options: Mapping[str, object], open_chip: OpenChip = bus_chip
    ) -> Sensor:
        """Begin to measure. Raises PortFault where no chip answers."""
        check_options(options, ("bus", "mode", "sensitivity"), "bh1750")
        mode = Mode[one_of(options, "mode", "normal", ("fine", "normal", "quick")).upper()]
        register = round(USUAL_TIME * number(options, "sensitivity", 1.0, 0.45, 3.68))
        register = min(MOST_TIME, max(LEAST_TIME, register))
        chip = chip_at(address, options, open_chip)
        sensor = _Eye(chip, mode, register)
        try:
            sensor.begin()
        except BaseException:
            chip.close()
            raise
        return sensor


class _Eye:
    def __init__(self, chip: Chip, mode: Mode, register: int) -> None:
        self._chip = chip
        self._mode = mode
        self._register = register
        self._takes_ns = round(takes_s(mode, register) * 1e9)
        self._ready_ns = 0
        self._lost = False

    def begin(self) -> None:
        for command in (POWER_ON, *time_commands(self._register), self._mode.op_code):
            self._chip.command(command)
        self._ready_ns = time.monotonic_ns() + self._takes_ns
        self._lost = False

    def read(self) -> Reading:
        if self._lost:
            self.begin()  # it was without power, and has forgotten what it was told
        self._lost = True
        time.sleep(max(0, self._ready_ns - time.monotonic_ns()) / 1e9)
        counts = int.from_bytes(self._chip.bytes(2), "big")
        at_ns = time.monotonic_ns()
        self._ready_ns = at_ns + self._takes_ns
        self._lost = False
        value = lux(counts, self._mode, self._register)
        over_ns = round(self._takes_ns / _LATE)
        return Reading(Quantity.ILLUMINANCE, value, at_ns, over_ns, saturated=counts == FULL)

    def close(self) -> None:
        self._chip.close()
