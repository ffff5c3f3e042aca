"""A chip on an I2C bus, through the kernel's own bus device. Every fault is one sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol, TypeAlias

from smbus2 import SMBus, i2c_msg

from controller.ports import PortFault
from drivers.options import whole

_FIRST, _LAST = 0x08, 0x77  # the addresses that chips may have


class Chip(Protocol):
    """One chip on a bus."""

    def command(self, byte: int) -> None:
        """Send one byte. Raises PortFault."""

    def put_word(self, register: int, word: int) -> None:
        """Write a register of 16 bits, its low byte first. Raises PortFault."""

    def word(self, register: int) -> int:
        """Read a register of 16 bits, its low byte first. Raises PortFault."""

    def bytes(self, count: int) -> bytes:
        """Read bytes, with no register named. Raises PortFault."""

    def close(self) -> None:
        """Let go of the bus."""


# Bus and address.
OpenChip: TypeAlias = Callable[[int, int], Chip]


class _BusChip:
    """A chip on /dev/i2c-N."""

    def __init__(self, bus: int, address: int) -> None:
        self._where = f"0x{address:02x} on I2C bus {bus}"
        self._bus_number = bus
        self._address = address
        try:
            self._bus = SMBus(bus)
        except FileNotFoundError:
            raise PortFault(
                f"there is no I2C bus {bus} (/dev/i2c-{bus}); switch I2C on with raspi-config, or "
                "write the option bus = 1"
            ) from None
        except OSError as error:
            raise PortFault(
                f"I2C bus {bus} cannot be opened ({error.strerror}); let this user into the group "
                "i2c"
            ) from None

    def command(self, byte: int) -> None:
        self._try(lambda: self._bus.write_byte(self._address, byte))

    def put_word(self, register: int, word: int) -> None:
        self._try(lambda: self._bus.write_word_data(self._address, register, word))

    def word(self, register: int) -> int:
        return self._try(lambda: self._bus.read_word_data(self._address, register))

    def bytes(self, count: int) -> bytes:
        message = i2c_msg.read(self._address, count)
        self._try(lambda: self._bus.i2c_rdwr(message))
        return bytes(message)

    def close(self) -> None:
        self._bus.close()

    def _try(self, action: Callable[[], object]) -> int:
        try:
            done = action()
        except OSError as error:
            raise PortFault(
                f"no chip answers at {self._where} ({error.strerror}); look at its wires, and for "
                f"its address with i2cdetect -y {self._bus_number}"
            ) from None
        return done if isinstance(done, int) else 0


def bus_chip(bus: int, address: int) -> Chip:
    """Open a chip on /dev/i2c-N. Raises PortFault."""
    return _BusChip(bus, address)


def chip_at(
    address: int | str, options: Mapping[str, object], open_chip: OpenChip = bus_chip
) -> Chip:
    """Open the chip at an address (0x23, or "0x23"), on the bus of the option ``bus``, or bus 1.

    Raises PortFault.
    """
    try:
        number = int(address, 0) if isinstance(address, str) else address
    except ValueError:
        number = -1
    if not _FIRST <= number <= _LAST:
        raise PortFault(
            f"{address!r} is no address on an I2C bus; write such as 0x23, in no quotes"
        )
    return open_chip(whole(options, "bus", 1, 0, 99), number)
