"""Pins through gpiozero and RPi.GPIO, for boards and systems that lgpio does not serve.

RPi.GPIO writes to the chip's registers past the kernel: nobody is ever *busy*, and two programs
can drive one line. ``GPIO.setup(pin, OUT, initial=level)`` sets the output latch before the
direction (its source, py_gpio.c, ``setup_one``, version 0.7.1), so that an active-low relay does
not click; gpiozero's own pin would first make it an input, and does so again on closing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from controller.ports import PortFault

try:
    from gpiozero.exc import GPIOZeroError
    from gpiozero.pins.rpigpio import GPIO, RPiGPIOFactory, RPiGPIOPin
except ImportError as error:
    raise PortFault(
        "the library RPi.GPIO is not installed: run pip install 'dryside[pi-old]', or install "
        "the system's python3-rpi.gpio and make the environment with --system-site-packages"
    ) from error
except RuntimeError as error:  # "This module can only be run on a Raspberry Pi!"
    raise PortFault(f"RPi.GPIO does not work here ({error}); set library = 'lgpio'") from error


class SafePin(RPiGPIOPin):  # type: ignore[misc]
    """A pin that is left alone until it is claimed, and is let go of as it is."""

    def __init__(self, factory: SafeFactory, info: Any) -> None:
        # Not RPiGPIOPin.__init__: it makes the line an input, and a held line would float.
        super(RPiGPIOPin, self).__init__(factory, info)
        self._pull = info.pull or "floating"
        self._pwm = None
        self._frequency: float | None = None
        self._duty_cycle = None
        self._bounce = -666  # RPi.GPIO's own word for "none"
        self._edges = GPIO.BOTH
        self._listens = False

    def input_with_pull(self, pull: str) -> None:
        """Claim the line as an input with its pull."""
        super().input_with_pull(self.info.pull or pull)
        self._listens = True

    def close(self) -> None:
        """Let go of the line: an output keeps its level."""
        if self._frequency is not None:
            self.frequency = None
        if self._listens:
            self._listens = False
            self.when_changed = None
            GPIO.cleanup(self._number)


class SafeFactory(RPiGPIOFactory):  # type: ignore[misc]
    """The header's lines, with pins of its own."""

    errors: tuple[type[Exception], ...] = (RuntimeError, ValueError, GPIOZeroError)

    def __init__(self) -> None:
        super().__init__()
        self.pins: dict[Any, SafePin] = {}  # gpiozero's own are shared by all factories
        self.pin_class = SafePin

    def gpios(self) -> Sequence[int]:
        """List the lines of the header."""
        headers = self.board_info.headers.values()
        pins = [pin for header in headers for pin in header.pins.values()]
        return sorted(int(p.name.removeprefix("GPIO")) for p in pins if "gpio" in p.interfaces)

    def is_busy(self, error: Exception) -> bool:  # noqa: ARG002
        """Nobody is: the registers belong to everyone."""
        return False

    def holder(self, gpio: int) -> str:  # noqa: ARG002
        """Nobody can tell."""
        return ""

    def close(self) -> None:
        """Let go of every line. Not GPIO.cleanup(), which makes inputs of them all."""
        for pin in self.pins.values():
            pin.close()
        self.pins.clear()


def open_rpigpio() -> SafeFactory:
    """Open the header. Raises PortFault."""
    try:
        factory = SafeFactory()
        factory.gpios()
    except SafeFactory.errors as error:
        raise PortFault(f"RPi.GPIO does not work here ({error}); set library = 'lgpio'") from error
    return factory
