"""What the benchmark and the processes that it starts say to each other; and their pulses' pin.

Light to import: it must not change what is measured.
"""

from __future__ import annotations

import socket
from typing import TYPE_CHECKING

import msgspec

from drivers.wire import Wire

if TYPE_CHECKING:
    from gpiozero import DigitalOutputDevice


class Burst(msgspec.Struct, frozen=True, tag="burst"):
    """Make so many pulses of ``on_ns``, with ``gap_ns`` between."""

    count: int
    on_ns: int
    gap_ns: int


class Times(msgspec.Struct, frozen=True, tag="times"):
    """How long each pulse of a burst really was; ``redraws``: of the screen, since its start."""

    on_times_ns: list[int]
    redraws: int = 0


def benchmark_wire(fd: int) -> Wire[Burst]:
    """Take the socket that the benchmark passed to this process."""
    return Wire(socket.socket(fileno=fd), Burst)


def output(pin: int | None) -> DigitalOutputDevice:
    """Open what a plain script would: gpiozero's output, on its mock pins without ``pin``.

    The mock costs no time on a bus, which favours the scripts, not the keeper.
    """
    from gpiozero import DigitalOutputDevice

    if pin is not None:
        return DigitalOutputDevice(pin)
    from gpiozero.pins.mock import MockFactory

    return DigitalOutputDevice(2, pin_factory=MockFactory())
