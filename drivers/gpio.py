"""Relays and pedals on GPIO lines.

Options in the rig file: ``library`` ("lgpio", "rpigpio" or "mock") and ``chip`` (a label or a
path; lgpio only).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence

from controller.ports import Line, OnPedal, Outputs, Pedal, PortFault, Rescuer
from drivers.pins import Busy, Pins, check_options, open_pins

_OPTIONS = ("library", "chip")
_RETRY_S = 0.001
_NONE: Mapping[str, object] = {}


class GpioOutputs:
    """The driver "gpio" of the group ``dryside.outputs``; the class itself is the driver."""

    @staticmethod
    def open(lines: Sequence[Line], options: Mapping[str, object]) -> Outputs:
        """Claim every line at its safe level, each in one step, or none of them.

        Raises PortFault: a line that is not there, is named twice, or is held by somebody else.
        """
        return _Board(lines, _open(options))

    @staticmethod
    def rescuer(lines: Sequence[Line], options: Mapping[str, object]) -> Rescuer:
        """Open the chip beforehand, and look up every line, but claim none. Raises PortFault."""
        return _Rescuer(lines, _open(options))


class GpioPedal:
    """The driver "gpio" of the group ``dryside.pedals``; the class itself is the driver.

    The contact lies between the line and ground, with the line's pull-up on. With a normally
    closed contact a cut wire reads as a pressed pedal, which turns the lamp off.
    """

    @staticmethod
    def open(
        address: int | str,
        *,
        normally_closed: bool,
        on_edge: OnPedal,
        options: Mapping[str, object] = _NONE,
    ) -> Pedal:
        """Listen to a line; a pedal that is already down is told at once, as an edge.

        Raises PortFault.
        """
        return _Pedal(address, _open(options), normally_closed=normally_closed, on_edge=on_edge)


class _Board:
    """Outputs: the lines of one rig, claimed."""

    def __init__(self, lines: Sequence[Line], pins: Pins) -> None:
        self._pins = pins
        try:
            self._places = _places(lines, pins)
            for name, (line, gpio) in self._places.items():
                _claim(pins, gpio, line.level(line.safe_lit), f"for {name!r}")
        except BaseException:
            pins.close()
            raise

    def write(self, name: str, lit: bool) -> None:
        line, gpio = self._place(name)
        self._pins.write(gpio, line.level(lit))

    def read(self, name: str) -> bool | None:
        line, gpio = self._place(name)
        try:
            level = self._pins.read(gpio)
        except PortFault:
            return None
        return level == line.level(True)

    def close(self) -> None:
        self._pins.close()

    def _place(self, name: str) -> tuple[Line, int]:
        try:
            return self._places[name]
        except KeyError:
            names = ", ".join(repr(each) for each in self._places)
            raise PortFault(f"there is no output {name!r} on this board, only {names}") from None


class _Rescuer:
    """Takes the lines of a dead owner, once: ``release`` closes the chip too."""

    def __init__(self, lines: Sequence[Line], pins: Pins) -> None:
        self._pins = pins
        try:
            self._safe = [
                (gpio, line.level(line.safe_lit)) for line, gpio in _places(lines, pins).values()
            ]
            for gpio, _ in self._safe:
                pins.prepare(gpio)
        except BaseException:
            pins.close()
            raise

    def make_safe(self, deadline_ns: int) -> bool:
        """Claim the lines in rounds of a millisecond; each is taken as soon as it is free.

        Tries once even when the deadline has passed.
        """
        left = self._safe
        while True:
            left = [(gpio, level) for gpio, level in left if not self._take(gpio, level)]
            if not left:
                return True
            if time.monotonic_ns() >= deadline_ns:
                return False
            time.sleep(_RETRY_S)

    def release(self) -> None:
        """Free the lines, as they are, and the chip."""
        self._pins.close()

    def _take(self, gpio: int, level: int) -> bool:
        try:
            self._pins.claim_output(gpio, level)
        except PortFault:
            return False
        return True


class _Pedal:
    """One contact to ground."""

    def __init__(
        self, address: int | str, pins: Pins, *, normally_closed: bool, on_edge: OnPedal
    ) -> None:
        self._pins = pins
        try:
            gpio = pins.number(address)
            pressed = 1 if normally_closed else 0
            try:
                pins.claim_input(gpio)
            except Busy as busy:
                raise _held(pins, gpio, "for the pedal") from busy
            pins.listen(gpio, lambda ns, level: on_edge(ns, level == pressed))
            # Held down from the start, or unplugged: whoever listens must know it before a lamp
            # is lit. An edge in this instant is told twice; the debouncer does not mind.
            if pins.read(gpio) == pressed:
                on_edge(time.monotonic_ns(), True)
        except BaseException:
            pins.close()
            raise

    def close(self) -> None:
        self._pins.close()


def _open(options: Mapping[str, object]) -> Pins:
    check_options(options, _OPTIONS, "gpio")
    return open_pins(options)


def _places(lines: Sequence[Line], pins: Pins) -> dict[str, tuple[Line, int]]:
    """Give every line its GPIO number, and refuse what is named twice."""
    places: dict[str, tuple[Line, int]] = {}
    names: dict[int, str] = {}
    for line in lines:
        try:
            gpio = pins.number(line.address)
        except PortFault as fault:
            raise PortFault(f"output {line.name!r}: {fault}") from fault
        if line.name in places:
            raise PortFault(f"two outputs are called {line.name!r}; give each its own name")
        if gpio in names:
            raise PortFault(
                f"gpio {gpio} is given to both {names[gpio]!r} and {line.name!r}; "
                "give each output a line of its own"
            )
        places[line.name] = (line, gpio)
        names[gpio] = line.name
    return places


def _claim(pins: Pins, gpio: int, level: int, purpose: str) -> None:
    try:
        pins.claim_output(gpio, level)
    except Busy as busy:
        raise _held(pins, gpio, purpose) from busy


def _held(pins: Pins, gpio: int, purpose: str) -> Busy:
    who = pins.who(gpio) or "another program"
    return Busy(f"gpio {gpio} {purpose} is held by {who}; end that, or choose another line")
