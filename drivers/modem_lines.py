"""Relays on DTR and RTS, and pedals on CTS, DSR, RI and CD: the modem lines of a serial port.

The cheapest switch there is, and it says so: nothing is read back from the relay, there is no
timer in the port, and what a pulled adapter does with its lines is its own affair. An output at
"dtr-rts" is a relay *between* the two wires, energised while DTR is raised and RTS is dropped.
Opened by whoever, a port raises both; closed, or without power, it has neither: there the lamp
stays dark. A relay on one wire alone pulls in for a moment when the port is first opened.

Options in the rig file, ``[board.modem-lines]``: ``port``, and ``supply`` ("dtr" or "rts": a line
that is kept raised to feed the pedals' contacts).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.ports import Line, OnPedal, Outputs, Pedal, PortFault, Rescuer
from controller.rig import modem_lines as words
from drivers.modem_input import LineContact
from drivers.modem_port import BITS, DTR, RTS, Held, Lost, Modem, OpenPort, open_port

_LOOK_NS = 200_000_000  # how often the lines are compared with what they were told
_HEAL_NS = 500_000_000  # between two looks for a port that is away
_RETRY_S = 0.005
_NONE: Mapping[str, object] = {}


@dataclass(frozen=True, slots=True)
class Options:
    """What the rig file says of the port; ``supply`` has the bit of the line that is kept up."""

    port: str
    supply: int

    @classmethod
    def of(cls, options: Mapping[str, object]) -> Options:
        """Check the options. Raises PortFault."""
        for wrong in words.wrong_options(options):
            raise PortFault(f"[{words.TABLE}] {wrong}")
        supply = options.get("supply", "none")
        return cls(str(options["port"]), BITS.get(str(supply), 0))


class ModemOutputs:
    """The driver "modem-lines" of ``dryside.outputs``; the class itself is the driver."""

    @staticmethod
    def open(lines: Sequence[Line], options: Mapping[str, object]) -> Outputs:
        """Claim the port, every relay at rest. Raises PortFault."""
        return Board(lines, Options.of(options))

    @staticmethod
    def rescuer(lines: Sequence[Line], options: Mapping[str, object]) -> Rescuer:
        """Open the port beforehand, but claim nothing. Raises PortFault."""
        return Rescue(lines, Options.of(options))


class ModemPedal:
    """The driver "modem-lines" of ``dryside.pedals``; the class itself is the driver.

    A closed contact is a raised line. Unplugged or cut, a line is dropped: with a normally closed
    contact that reads as a pressed pedal, which turns the lamp off.
    """

    @staticmethod
    def open(
        address: int | str,
        *,
        normally_closed: bool,
        on_edge: OnPedal,
        options: Mapping[str, object] = _NONE,
    ) -> Pedal:
        """Listen to a line; a pedal that is already down is told at once. Raises PortFault."""
        where = Options.of(options)
        for wrong in words.wrong_input(address):
            raise PortFault(f"pedal {wrong}")
        return LineContact(
            where.port,
            BITS[words.word(address)],
            where.supply,
            normally_closed=normally_closed,
            on_edge=on_edge,
        )


class Board:
    """The outputs of one port (``controller.ports`` Outputs and Tended). It is blind."""

    def __init__(
        self, lines: Sequence[Line], options: Options, *, opener: OpenPort = open_port
    ) -> None:
        self._options = options
        self._opener = opener
        self._lines = _checked(lines, options)
        self._raised = 0  # as they were told
        self._look_ns = 0
        self._modem: Modem | None = None
        try:
            self._modem = self._claimed()
        except Lost as lost:
            raise self._fault(lost) from lost

    def write(self, name: str, lit: bool) -> None:
        """Switch one light. Raises PortFault when the port does not hold it so."""
        line = self._line(name)
        bit = _energising(line)
        try:
            modem = self._modem or self._claimed()
            self._modem = modem
            if line.level(lit):
                modem.put(drop=_rest(line) & ~bit, lift=bit)
            else:
                modem.put(drop=bit)
            self._raised = self._raised & ~bit | (bit if line.level(lit) else 0)
            if modem.get() & (DTR | RTS) != self._raised:
                raise Lost("it does not hold its lines as they are told")
        except Lost as lost:
            self._let_go()
            raise self._fault(lost) from lost

    def read(self, name: str) -> bool | None:
        """Give None: a port knows what it was told, and nothing of the relay."""
        self._line(name)
        return None

    def alive(self, now_ns: int) -> Sequence[str]:
        """Give every output once the port is gone, or somebody else has moved its lines."""
        if now_ns < self._look_ns:
            return ()
        if self._modem is None:
            self._look_ns = now_ns + _HEAL_NS
            return self._healed()
        self._look_ns = now_ns + _LOOK_NS
        try:
            if self._modem.get() & (DTR | RTS) == self._raised:
                return ()
        except Lost:
            pass
        self._let_go()
        return tuple(self._lines)

    def close(self) -> None:
        """Let go of the port; when nobody else has it open, the kernel drops its lines."""
        self._let_go()
        self._look_ns = 1 << 62

    def _line(self, name: str) -> Line:
        try:
            return self._lines[name]
        except KeyError:
            names = ", ".join(repr(each) for each in self._lines)
            raise PortFault(f"there is no output {name!r} on this port, only {names}") from None

    def _healed(self) -> Sequence[str]:
        try:
            self._modem = self._claimed()
        except Lost:
            return ()
        return tuple(self._lines)  # at rest now: it is told by being brought to safety again

    def _claimed(self) -> Modem:
        modem = self._opener(self._options.port)
        try:
            modem.claim()
            _at_rest(modem, self._options)
        except BaseException:
            modem.close()
            raise
        self._raised = self._options.supply
        return modem

    def _let_go(self) -> None:
        modem, self._modem = self._modem, None
        if modem is not None:
            modem.unclaim()
            modem.close()

    def _fault(self, lost: Lost) -> PortFault:
        return PortFault(f"serial port {self._options.port}: {lost}")


class Rescue:
    """Takes the lines of a dead owner; the port was opened beforehand."""

    def __init__(
        self, lines: Sequence[Line], options: Options, *, opener: OpenPort = open_port
    ) -> None:
        _checked(lines, options)
        self._options = options
        self._opener = opener
        self._claimed = False
        self._modem: Modem | None = None
        try:
            self._modem = opener(options.port)
        except Lost as lost:
            raise PortFault(f"serial port {options.port}: {lost}") from lost

    def make_safe(self, deadline_ns: int) -> bool:
        """Put every relay to rest, at once and until it is ours; tries once in any case.

        Whoever still holds the port is overruled: at rest is right, whatever he wants.
        """
        while not self._take():
            if time.monotonic_ns() >= deadline_ns:
                return False
            time.sleep(_RETRY_S)
        return True

    def release(self) -> None:
        """Let the port go, with every relay at rest."""
        modem, self._modem = self._modem, None
        if modem is None:
            return
        if self._claimed:
            modem.unclaim()
        modem.close()

    def _take(self) -> bool:
        try:
            if self._modem is None:
                self._modem = self._opener(self._options.port)
            _at_rest(self._modem, self._options)
            self._modem.claim()
            _at_rest(self._modem, self._options)
        except Held:
            return False
        except Lost:  # it may have been plugged in again
            if self._modem is not None:
                self._modem.close()
                self._modem = None
            return False
        self._claimed = True
        return True


def _at_rest(modem: Modem, options: Options) -> None:
    """Drop all that energises a relay, and make sure of it. Raises Lost."""
    modem.put(drop=(DTR | RTS) & ~options.supply, lift=options.supply)
    if modem.get() & (DTR | RTS) != options.supply:
        raise Lost("it does not hold its lines as they are told")


def _checked(lines: Sequence[Line], options: Options) -> dict[str, Line]:
    for line in lines:
        for wrong in words.wrong_output(line.address, active_low=line.active_low):
            raise PortFault(f"output {line.name!r}: {wrong}")
    supply = next((name for name in ("dtr", "rts") if BITS[name] == options.supply), "none")
    for place, wrong in words.wrong_sharing([line.address for line in lines], supply):
        raise PortFault(f"output {lines[place].name!r}: {wrong}")
    return {line.name: line for line in lines}


def _energising(line: Line) -> int:
    """Give the line that energises the relay when it is raised."""
    return BITS[words.OUTPUTS[words.word(line.address)][0]]


def _rest(line: Line) -> int:
    """Give every line that the relay hangs on."""
    return sum(BITS[name] for name in words.OUTPUTS[words.word(line.address)])
