"""The lines of a Raspberry Pi's header that its buses take, and the sensors that hang on them.

The buses are the kernel's usual ones (``dtparam=i2c_arm=on``, ``dtoverlay=w1-gpio``); from memory
of the Raspberry Pi's documentation.
"""

from __future__ import annotations

from collections.abc import Iterable

_I2C = (("SDA", 2), ("SCL", 3))
# For each driver: what a wire is called at the sensor, and its GPIO number.
WIRES = {"bh1750": _I2C, "veml7700": _I2C, "one-wire": (("data", 4),)}


def taken_by(drivers: Iterable[str]) -> dict[int, str]:
    """Tell which GPIO numbers the buses of these sensors take, and for which driver."""
    return {number: each for each in drivers for _, number in WIRES.get(each, ())}
