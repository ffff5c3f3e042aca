"""A thermometer on the 1-wire bus, through the files that the kernel's own driver shows.

Options in the rig file: ``root`` (/sys/bus/w1/devices). The address is the thermometer's own
number, such as "28-0316a2795bff". Three things look like a temperature and are none: a check sum
that is wrong, 85 °C (what the chip holds when it has lost its power, from memory of the DS18B20's
public data sheet), and what lies outside of what it can measure (-55 to 125 °C, the same).
"""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from pathlib import Path

from controller.ports import PortFault, Quantity, Reading, Sensor
from drivers.pins import check_options

ROOT = Path("/sys/bus/w1/devices")
POWER_ON_C = 85.0
COLDEST_C, HOTTEST_C = -55.0, 125.0
_NUMBER = re.compile(r"[0-9a-f]{2}-[0-9a-f]{12}", re.IGNORECASE)


def celsius(text: str) -> float:
    """Read the kernel's two lines, or its plain number of thousandths, in degrees Celsius.

    Raises ValueError with what is wrong.
    """
    plain = text.strip()
    if re.fullmatch(r"-?\d+", plain):
        value = int(plain) / 1000
    else:
        if not re.search(r"crc=[0-9a-f]{2} YES", text):
            raise ValueError("its check sum is wrong, which a long or loose cable does")
        found = re.search(r"t=(-?\d+)", text)
        if found is None:
            raise ValueError("it gives no temperature")
        value = int(found[1]) / 1000
    if value == POWER_ON_C:
        raise ValueError("it gives 85 °C, which it does when it has no power: look at its wires")
    if not COLDEST_C <= value <= HOTTEST_C:
        raise ValueError(f"it gives {value:g} °C, which it cannot measure: look at its wires")
    return value


class OneWire:
    """The driver "one-wire" of the group ``dryside.sensors``; the class itself is the driver."""

    @staticmethod
    def open(address: int | str, options: Mapping[str, object]) -> Sensor:
        """Find the thermometer. Raises PortFault where it is not there."""
        check_options(options, ("root",), "one-wire")
        root = options.get("root", str(ROOT))
        if not isinstance(root, str) or not root:
            raise PortFault(f"root = {root!r} is no folder; write one in quotes, such as {ROOT}")
        if not isinstance(address, str) or not _NUMBER.fullmatch(address):
            raise PortFault(
                f"{address!r} is no number of a thermometer; {_those_that_are_there(Path(root))}"
            )
        sensor = _Thermometer(Path(root), address)
        sensor.find()
        return sensor


class _Thermometer:
    def __init__(self, root: Path, address: str) -> None:
        self._root = root
        self._folder = root / address.lower()

    def find(self) -> Path:
        # the first has the check sum, the second only newer kernels
        for name in ("w1_slave", "temperature"):
            if (self._folder / name).exists():
                return self._folder / name
        raise PortFault(
            f"there is no thermometer {self._folder.name}; {_those_that_are_there(self._root)}"
        )

    def read(self) -> Reading:
        path = self.find()
        try:
            value = celsius(path.read_text(encoding="ascii", errors="replace"))
        except OSError as error:
            raise PortFault(
                f"the thermometer {self._folder.name} cannot be read ({error.strerror}); look at "
                "its wires"
            ) from None
        except ValueError as error:
            raise PortFault(
                f"the thermometer {self._folder.name} is not believed: {error}"
            ) from None
        return Reading(Quantity.TEMPERATURE, value, time.monotonic_ns())

    def close(self) -> None:
        """Nothing is held open."""


def _those_that_are_there(root: Path) -> str:
    found = sorted(path.name for path in root.glob("*-*") if _NUMBER.fullmatch(path.name))
    if found:
        return f"those that answer: {', '.join(found)}"
    return f"none answers in {root} (a Raspberry Pi wants dtoverlay=w1-gpio in config.txt)"
