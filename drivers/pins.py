"""GPIO lines, typed: one small face before gpiozero's pin factories.

Only pins are used of gpiozero, none of its devices that put out: such a device opens an
active-low output by driving it on for some milliseconds, and closes it by making it an input,
which floats. Here an output is claimed at its first level in one step and is let go of as it is.

There is no falling back from one library to another: what the rig file names is used, or a
sentence says how to install it.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from enum import Enum
from typing import Any, Protocol, TypeAlias

from controller.ports import PortFault

_log = logging.getLogger(__name__)

# When, and the level on the wire. Called from a thread of the library's own.
OnLevel: TypeAlias = Callable[[int, int], None]

# A time stamp further from now than this was not taken from the monotonic clock.
_STALE_NS = 1_000_000_000


class Library(Enum):
    """The libraries that can drive pins; the value is what the rig file says."""

    LGPIO = "lgpio"
    RPIGPIO = "rpigpio"
    MOCK = "mock"


class Busy(PortFault):
    """A line is held by somebody else; trying again may help."""


class Factory(Protocol):
    """What is asked of a pin factory beyond gpiozero's own interface."""

    errors: tuple[type[Exception], ...]  # what its pins raise

    def pin(self, name: int) -> Any:
        """Give the pin with this GPIO number, without touching the line."""

    def gpios(self) -> Sequence[int]:
        """List the GPIO numbers that exist."""

    def is_busy(self, error: Exception) -> bool:
        """Was this raised because somebody else holds the line?"""

    def holder(self, gpio: int) -> str:
        """Say who holds a line, as well as can be known; empty where it cannot."""

    def close(self) -> None:
        """Free every line and the chip."""


class Pins:
    """GPIO lines by their numbers. Every fault is a ``PortFault`` with one sentence."""

    def __init__(self, factory: Factory) -> None:
        self._factory = factory
        self._gpios = factory.gpios()
        self._claimed: dict[int, Any] = {}
        self._closed = False

    @property
    def factory(self) -> Factory:
        """The factory itself, for a device of gpiozero's that is only read."""
        return self._factory

    def number(self, address: int | str) -> int:
        """Turn an address of the rig file (17, "17", "GPIO17") into a GPIO number."""
        gpio = _number(address)
        if gpio is None:
            raise PortFault(
                f"{address!r} is not a GPIO line; write its GPIO number, such as 17 or 'GPIO17' "
                "(not the number of the pin on the header)"
            )
        if gpio not in self._gpios:
            raise PortFault(f"there is no gpio {gpio} here; choose one of {_ranges(self._gpios)}")
        return gpio

    def prepare(self, gpio: int) -> None:
        """Look the line up beforehand, so that claiming it later takes no time."""
        self._pin(gpio)

    def claim_output(self, gpio: int, level: int) -> None:
        """Claim a line as an output that has this level from the first instant.

        Raises Busy when somebody else holds it. A line already claimed here is only set.
        """
        if gpio in self._claimed:
            self.write(gpio, level)
            return
        pin = self._pin(gpio)
        self._try(gpio, lambda: pin.output_with_state(level))
        self._claimed[gpio] = pin

    def claim_input(self, gpio: int) -> None:
        """Claim a line as an input with its pull-up on, for a contact to ground."""
        if gpio in self._claimed:
            raise Busy(f"gpio {gpio} is already in use here")
        pin = self._pin(gpio)
        self._try(gpio, lambda: pin.input_with_pull("up"))
        self._claimed[gpio] = pin

    def write(self, gpio: int, level: int) -> None:
        """Set an output."""
        pin = self._held(gpio)

        def put() -> None:
            pin.state = level

        self._try(gpio, put)

    def read(self, gpio: int) -> int:
        """Tell the level on the wire."""
        pin = self._held(gpio)
        return int(bool(self._try(gpio, lambda: pin.state)))

    def tone(self, gpio: int, pitch_hz: float | None) -> None:
        """Make a claimed output swing at this frequency; None: still, and low."""
        pin = self._held(gpio)

        def put() -> None:
            if pitch_hz is None:
                pin.frequency = None
                pin.state = 0
            else:
                # gpiozero's lgpio pin hands the number on to a C function that wants an integer
                pin.frequency = round(pitch_hz)
                pin.state = 0.5

        self._try(gpio, put)

    def listen(self, gpio: int, on_level: OnLevel) -> None:
        """Call ``on_level`` at every edge of a claimed input, bounces included."""
        pin = self._held(gpio)

        def heard(ticks_s: float, state: float) -> None:
            # What is raised here would end the library's thread, and all pedals would be deaf.
            try:
                on_level(_stamp_ns(ticks_s), int(bool(state)))
            except Exception:
                _log.exception("an edge of gpio %d was lost", gpio)

        def start() -> None:
            pin.when_changed = heard

        pin.heard = heard  # gpiozero keeps only a weak reference, and would fall silent
        self._try(gpio, start)

    def free(self, gpio: int) -> None:
        """Let go of a line, as it is; nothing happens to one that is not held."""
        pin = self._claimed.pop(gpio, None)
        if pin is not None:
            self._try(gpio, pin.close)
            pin.heard = None

    def close(self) -> None:
        """Let go of every line, as it is, and of the chip. Closing twice is closing once."""
        if self._closed:
            return
        self._closed = True
        for gpio in list(self._claimed):
            self.free(gpio)
        self._try(None, self._factory.close)

    def who(self, gpio: int) -> str:
        """Say who holds a line that was busy; empty where nobody can tell. Takes a while."""
        return self._factory.holder(gpio)

    # -- inside ------------------------------------------------------------------------------

    def _pin(self, gpio: int) -> Any:
        if self._closed:
            raise PortFault(f"gpio {gpio} cannot be claimed: the chip was closed")
        return self._factory.pin(gpio)

    def _held(self, gpio: int) -> Any:
        # lgpio quietly claims a line that is written or read without being held: never let it
        try:
            return self._claimed[gpio]
        except KeyError:
            raise PortFault(f"gpio {gpio} is not held by this program") from None

    def _try(self, gpio: int | None, action: Callable[[], Any]) -> Any:
        where = "the GPIO chip" if gpio is None else f"gpio {gpio}"
        try:
            return action()
        except self._factory.errors as error:
            if gpio is not None and self._factory.is_busy(error):
                raise Busy(f"{where} is in use by somebody else") from error
            raise PortFault(f"{where} does not obey: {error}") from error


def open_pins(options: Mapping[str, object]) -> Pins:
    """Open the pins that ``options`` name: ``library`` and, for lgpio, ``chip``.

    ``chip`` is a chip's label, or a path such as "/dev/gpiochip0"; without it the header's chip
    is found by the labels that Raspberry Pi kernels use. Raises PortFault.
    """
    library = _library(options.get("library", Library.LGPIO.value))
    chip = options.get("chip")
    if chip is not None and not (isinstance(chip, str) and chip):
        raise PortFault(
            f"chip = {chip!r} is not a GPIO chip; write its label in quotes, such as "
            "'pinctrl-bcm2711', or its path, such as '/dev/gpiochip0'"
        )
    if library is not Library.LGPIO and chip is not None:
        raise PortFault(f"chip = {chip!r} needs library = 'lgpio', not {library.value!r}")
    # Each library is loaded only when it is asked for: one of them starts a thread on import.
    match library:
        case Library.LGPIO:
            from drivers.pins_lgpio import open_lgpio

            return Pins(open_lgpio(chip))
        case Library.RPIGPIO:
            from drivers.pins_rpigpio import open_rpigpio

            return Pins(open_rpigpio())
        case Library.MOCK:
            from drivers.pins_mock import mock_factory

            return Pins(mock_factory())


def check_options(options: Mapping[str, object], known: Sequence[str], driver: str) -> None:
    """Refuse an option that the driver does not know, with the nearest that it does."""
    for name in options:
        if name not in known:
            near = get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"it knows {', '.join(known)}"
            raise PortFault(f"the driver {driver!r} has no option {name!r}; {hint}")


def _library(value: object) -> Library:
    try:
        return Library(value)
    except ValueError:
        names = ", ".join(repr(each.value) for each in Library)
        raise PortFault(f"library = {value!r} is not known; choose one of {names}") from None


def _number(address: int | str) -> int | None:
    if isinstance(address, bool):
        return None
    if isinstance(address, int):
        return address
    digits = address.strip().upper().removeprefix("GPIO")
    return int(digits) if digits.isascii() and digits.isdigit() else None


def _ranges(numbers: Sequence[int]) -> str:
    """Write numbers shortly: 0 to 27, 45."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(f"{first} to {last}" if last > first else f"{first}" for first, last in runs)


def _stamp_ns(ticks_s: float) -> int:
    """Turn the library's seconds into monotonic nanoseconds.

    Kernels before 5.7 stamped edges with the wall clock (from memory of the kernel's history of
    ``lineevent``); such a stamp is replaced by now.
    """
    now_ns = time.monotonic_ns()
    at_ns = round(ticks_s * 1e9)
    return at_ns if 0 <= now_ns - at_ns < _STALE_NS else now_ns
