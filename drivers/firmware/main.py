"""Drives the core on a microcontroller: pins, the clock, and lines over USB serial.

Nothing here may wait: a host that does not read must not keep an output from going back in
time. So a byte is only written where there is room for it, and what a host does not fetch is
thrown away in the end.
"""

import select
import sys
from time import ticks_diff, ticks_us  # type: ignore[attr-defined]

import board
import machine
import micropython
from core import Unit

MOST_WAITING = 32  # lines that wait for a host that does not read
PIECE = 128  # bytes to send at once, and how many while an output is soon due
SMALL_PIECE = 4
SOON_US = 20_000
SPIN_US = 2000  # so near to a deadline there is no more sleeping
MOST_SLEEP_MS = 20


class Clock:
    """Microseconds since the start; never wraps, though the chip's counter does."""

    def __init__(self) -> None:
        self._last = ticks_us()
        self._us = 0

    def now_us(self) -> int:
        """Give the time; to be asked for more often than the counter wraps (minutes)."""
        ticks = ticks_us()
        self._us += ticks_diff(ticks, self._last)
        self._last = ticks
        return self._us


class Port:
    """The USB serial port, which is MicroPython's standard input and output."""

    def __init__(self) -> None:
        self._ear = select.poll()
        self._ear.register(sys.stdin, select.POLLIN)
        self._mouth = select.poll()
        self._mouth.register(sys.stdout, select.POLLOUT)
        self._lines: list[bytes] = []
        self._rest = b""

    def receive(self, wait_ms: int) -> bytes:
        """Give what has come in, after waiting for it a while."""
        received = b""
        if self._rest or self._lines:
            wait_ms = 0
        while len(received) < 64 and self._ear.poll(wait_ms):
            byte = sys.stdin.buffer.read(1)
            if not byte:
                break
            received += byte
            wait_ms = 0
        return received

    def send(self, lines: "list[bytes]", most: int) -> None:
        """Add lines to what waits, and send at most so many bytes of it, where there is room."""
        self._lines += lines
        if len(self._lines) > MOST_WAITING:
            self._lines = self._lines[-MOST_WAITING:]
        for _ in range(most):
            if not self._rest:
                if not self._lines:
                    return
                self._rest = self._lines.pop(0)
            if not self._mouth.poll(0):
                return
            sys.stdout.buffer.write(self._rest[:1])
            self._rest = self._rest[1:]


def claim() -> "list[machine.Pin]":
    """Make every pin an output that is at its safe level from the first moment."""
    return [machine.Pin(pin, machine.Pin.OUT, value=safe) for pin, safe, _ in board.OUTPUTS]


def make_safe(pins: "list[machine.Pin]") -> None:
    """Write every pin's safe level."""
    for pin, (_, safe, _) in zip(pins, board.OUTPUTS):
        pin.value(safe)


def run(pins: "list[machine.Pin]") -> None:
    """Be a relay unit, for ever."""
    clock = Clock()
    port = Port()
    unit = Unit(
        board.BOARD_ID, [(safe, longest_s) for _, safe, longest_s in board.OUTPUTS], clock.now_us()
    )
    watchdog = machine.WDT(timeout=board.WATCHDOG_MS)
    wait_ms = 0
    while True:
        received = port.receive(wait_ms)
        seen = [pin.value() for pin in pins]
        writes, lines, next_us = unit.step(clock.now_us(), received, seen)
        for index, level in writes:
            pins[index].value(level)
        watchdog.feed()
        left_us = SOON_US if next_us is None else next_us - clock.now_us()
        port.send(lines, PIECE if left_us >= SOON_US else SMALL_PIECE)
        wait_ms = max(0, min(MOST_SLEEP_MS, (left_us - SPIN_US) // 1000))


def main() -> None:
    """Claim the pins, and run unless the service pin is connected to ground."""
    pins = claim()
    if machine.Pin(board.SERVICE_PIN, machine.Pin.IN, machine.Pin.PULL_UP).value() == 0:
        return
    micropython.kbd_intr(-1)
    try:
        run(pins)
    finally:
        make_safe(pins)
        machine.reset()  # a fresh start is the only way on


main()
