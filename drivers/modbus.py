"""Relay boards that speak Modbus RTU, behind a serial adapter (RS-485 on USB).

Options in the rig file, ``[board.modbus]``: see ``controller.rig.modbus``. An output's address is
its coil, counted from 0. A coil that is on pulls its relay in.

Nothing is taken for done because it was sent: each command must be answered (function 05 or 0F)
and every coil is read back (function 01). What is not confirmed is *unknown*:

* a coil that is to go **off** is told so again and again, for ``MOST_NS``; then ``write`` raises,
  and its owner tries again;
* one that is to go **on** is told so once. If that is not confirmed it is told to go off, at once,
  and ``write`` raises even if that was.

**While a write waits, its owner waits.** At 9600 baud a command, its answer and the read-back take
some 40 ms together with a board that is quick; ``MOST_NS`` bounds the worst, so that an engine
which gives its keeper up after 100 ms of silence does not blame it for a slow board. It also
bounds how late a lamp's deadline can be kept while another output of the board fails.

A pulled cable is noticed by ``alive``, which the keeper's loop calls: what was energised is then
unknown, and is switched off as soon as the cable is back. With nothing energised it is nobody's
loss. An adapter that was unplugged and is back is opened again by the same path at the next
command, and all coils are read before anything is energised. A coil that is then (or at any
reading) not as it was left is switched off, ``alive`` tells of it, and the next energising write
raises, so that nothing goes on as if the room were as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress

from controller.ports import Line, Outputs, PortFault, Rescuer
from controller.rig.modbus import (
    TABLE,
    ModbusOptions,
    Wrong,
    coil_of,
    options_of,
    wrong_line,
    wrong_span,
)
from drivers.modbus_port import SerialPort
from drivers.modbus_talk import MS, Held, Lost, Port, Silent, Talk, Unwilling
from drivers.modbus_words import Asked, clear_coils, write_coil

# A keeper says that it lives every 20 ms, and is given up after 100 ms: what is left, less a
# margin for a busy machine.
MOST_NS = 65 * MS
_PATIENCE_NS = 20 * MS  # how long an energising write waits for the line to be clean
_TRY_NS = 150 * MS  # for one attempt where nobody waits for a deadline
_CLAIM_NS = 1_500 * MS
_RETRY_NS = 2 * MS


class ModbusOutputs:
    """The driver "modbus" of the group ``dryside.outputs``; the class itself is the driver."""

    @staticmethod
    def open(lines: Sequence[Line], options: Mapping[str, object]) -> Outputs:
        """Lock the port, read every coil, switch off those that are on, and read back.

        Raises PortFault: a wrong option, a port that is held, a board that does not answer, cannot
        be read back or is too slow.
        """
        given = checked_options(options)
        return Board(lines, SerialPort(given), given)

    @staticmethod
    def rescuer(lines: Sequence[Line], options: Mapping[str, object]) -> Rescuer:
        """Prepare to take the port over as soon as its owner is dead. Raises PortFault."""
        given = checked_options(options)
        return BoardRescuer(lines, SerialPort(given), given)


class Board:
    """The coils of one board in the hands of their only owner (Outputs and Tended)."""

    def __init__(self, lines: Sequence[Line], port: Port, options: ModbusOptions) -> None:
        self._port = port
        self._lines, self._coils = _places(lines)
        self._talk = _talk(port, options, self._coils.values())
        # by coil, whether its owner was told that it is energised; None: told unknown
        self._told: dict[int, bool | None] = dict.fromkeys(self._coils.values())
        self._astray: set[str] = set()  # outputs that were found not to be as told
        self._doubtful: set[str] = set()  # and those that the next alive() is to tell of
        self._closed = False
        try:
            self._claim()
        except BaseException:
            port.close()
            raise

    def write(self, name: str, lit: bool) -> None:
        """Switch one light, and make sure of it; takes up to ``MOST_NS``. Raises PortFault."""
        coil = self._place(name)
        until_ns = self._port.now_ns() + MOST_NS
        try:
            if self._lines[name].level(lit):
                self._energise(name, coil, until_ns)
            else:
                self._release(coil, until_ns)
        except BaseException:
            self._told[coil] = None
            raise

    def read(self, name: str) -> bool | None:
        """Ask the board whether a light is lit; None while that cannot be known."""
        coil = self._place(name)
        try:
            self._open()
            if not self._talk.is_clean:
                return None  # "on" could be an old answer, and asking again would keep it so
            on = self._talk.read(self._port.now_ns() + MOST_NS)
        except PortFault:
            return None
        return (coil in on) == bool(self._lines[name].level(True))

    def alive(self, now_ns: int) -> Sequence[str]:
        """Look whether the port is still there, without waiting; gives what is now unknown."""
        del now_ns
        if self._port.is_open:
            with suppress(Lost):
                self._port.hear(0)
        if not self._port.is_open:
            self._doubtful |= {name for name, coil in self._coils.items() if self._told[coil]}
        doubtful, self._doubtful = sorted(self._doubtful), set()
        for name in doubtful:
            self._told[self._coils[name]] = None
        return doubtful

    def close(self) -> None:
        """Let go of the port, with the coils as they are."""
        self._closed = True
        self._port.close()

    # -- inside ------------------------------------------------------------------------------

    def _place(self, name: str) -> int:
        try:
            return self._coils[name]
        except KeyError:
            names = ", ".join(repr(each) for each in self._coils)
            raise PortFault(f"there is no output {name!r} on this board, only {names}") from None

    def _open(self) -> None:
        if self._closed:
            raise Lost(f"the board at {self._port.name} was closed")
        self._port.open()

    def _open_again(self) -> bool:
        """Open a port that was away; tells whether it was. Raises PortFault."""
        if self._port.is_open:
            with suppress(Lost):
                self._talk.drain()
                return False
        self._open()
        return True

    def _energise(self, name: str, coil: int, until_ns: int) -> None:
        self._reach(until_ns)
        self._refuse_if_astray(name)
        now_ns, clean_ns = self._port.now_ns(), self._talk.clean_ns
        if clean_ns > now_ns:
            if clean_ns > now_ns + _PATIENCE_NS:
                raise PortFault(
                    f"{name!r} was not switched: a moment ago the board at {self._port.name} left "
                    "a command unanswered, and may still answer it"
                )
            self._port.rest(clean_ns)
        try:
            self._talk.tell(write_coil(self._talk.unit, coil, on=True), until_ns)
            on = self._talk.read(until_ns)
            if coil not in on:
                raise PortFault("the board reads it back as off")
            self._compare(on, but=coil, was_clean=True, until_ns=until_ns)
            self._refuse_if_astray(name)
        except PortFault as fault:
            self._told[coil] = None
            try:
                self._release(coil, until_ns)
            except PortFault:
                raise PortFault(
                    f"whether {name!r} is on is unknown: {fault}, nor was it confirmed that it "
                    "was switched off again"
                ) from fault
            raise PortFault(
                f"{name!r} could not be switched on ({fault}), and was switched off again"
            ) from fault
        self._told[coil] = True

    def _release(self, coil: int, until_ns: int) -> None:
        """Switch a coil off, and make sure of it. Raises PortFault."""
        first: PortFault | None = None
        while True:
            try:
                self._open_again()
                was_clean = self._talk.is_clean
                self._talk.tell(write_coil(self._talk.unit, coil, on=False), until_ns)
                on = self._talk.read(until_ns)
                if coil in on:
                    raise PortFault(f"coil {coil} at {self._port.name} is read back as still on")
                break
            except Lost:
                raise  # it will not be back so soon
            except PortFault as fault:
                first = first or fault  # the last was perhaps only cut short
                if self._port.now_ns() >= until_ns:
                    raise first from None
        self._told[coil] = False
        self._compare(on, but=coil, was_clean=was_clean, until_ns=until_ns)

    def _reach(self, until_ns: int) -> None:
        """Make sure of a port that is there; one that was away: of all coils too."""
        if not self._open_again():
            return
        was_clean = self._talk.is_clean
        self._compare(self._talk.read(until_ns), was_clean=was_clean, until_ns=until_ns)

    def _compare(
        self, on: frozenset[int], *, but: int | None = None, was_clean: bool, until_ns: int
    ) -> None:
        """Compare what was read with what was told, and switch off what should not be on."""
        for name, coil in self._coils.items():
            told = self._told[coil]
            if coil == but or told is (coil in on):
                continue
            if coil not in on:
                if told:
                    self._strayed(name)
                self._told[coil] = False
                continue
            if told is False and was_clean:  # else it may be an old reading
                self._strayed(name)
            with suppress(PortFault):  # the next reading finds it again
                self._talk.tell(write_coil(self._talk.unit, coil, on=False), until_ns)

    def _strayed(self, name: str) -> None:
        self._astray.add(name)
        self._doubtful.add(name)

    def _refuse_if_astray(self, name: str) -> None:
        if self._astray:
            astray = ", ".join(repr(each) for each in sorted(self._astray))
            self._astray.clear()
            raise PortFault(
                f"{name!r} was not left on: the board at {self._port.name} did not have {astray} "
                "as last switched; look at the lights before you go on"
            )

    def _claim(self) -> None:
        until_ns = self._port.now_ns() + _CLAIM_NS
        while True:
            try:
                self._port.open()
                self._talk.doubt()  # whoever had it before may have been cut off
                try_ns = self._port.now_ns() + _TRY_NS
                on = self._talk.read(try_ns)
                if self._talk.echoes:
                    raise _Unfit(
                        f"the adapter at {self._port.name} gives back all that it sends, so that "
                        "nothing can be confirmed; switch its echo off, or take another"
                    )
                if _released(self._talk, self._own(on), try_ns):
                    self._measure()
                    break
                fault = PortFault(f"coils of the board at {self._port.name} cannot be put off")
            except _Unfit:
                raise
            except Unwilling as unwilling:
                raise PortFault(
                    f"{unwilling}; Dryside needs a board whose coils can be read back "
                    f"(function 01), and every address one that it has"
                ) from unwilling
            except PortFault as other:
                fault = other
            absent = isinstance(fault, Lost) and not isinstance(fault, Held)
            if absent or self._port.now_ns() >= until_ns:
                raise PortFault(self._advised(fault)) from fault
            self._port.rest(self._port.now_ns() + _RETRY_NS)
        self._told = dict.fromkeys(self._told, False)
        self._port.rest(self._talk.clean_ns)

    def _own(self, on: Iterable[int]) -> list[int]:
        return sorted(set(on) & set(self._told))

    def _advised(self, fault: PortFault) -> str:
        if isinstance(fault, Lost):
            return str(fault)
        return (
            f"{fault}; see that it is powered, that A and B are not crossed, that unit, baud and "
            f"parity in [{TABLE}] are those of the board, and timeout_ms as long as it thinks"
        )

    def _measure(self) -> None:
        """Refuse a board that is too slow for its owner's patience."""
        took_ns = []
        self._port.rest(self._talk.clean_ns)  # else an old answer may seem a quick one
        for _ in range(2):
            began_ns = self._port.now_ns()
            self._talk.read(began_ns + _TRY_NS)
            took_ns.append(self._port.now_ns() - began_ns)
        if 2 * min(took_ns) > MOST_NS:
            raise _Unfit(
                f"the board at {self._port.name} takes {min(took_ns) / 1e6:.0f} ms for an answer, "
                f"and a command with its read-back must be done within {MOST_NS // MS} ms; set "
                f"a higher baud, at the board and in [{TABLE}]"
            )


class BoardRescuer:
    """Takes the board from a dead owner. Nothing is open before, so that only one can speak."""

    def __init__(self, lines: Sequence[Line], port: Port, options: ModbusOptions) -> None:
        self._port = port
        _, coils = _places(lines)
        self._coils = sorted(coils.values())
        self._talk = _talk(port, options, coils.values())

    def make_safe(self, deadline_ns: int) -> bool:
        """Switch every coil off and read them back, again and again.

        Tries once even when the deadline has passed.
        """
        while True:
            now_ns = self._port.now_ns()
            with suppress(PortFault):
                self._port.open()
                if _released(self._talk, self._coils, max(deadline_ns, now_ns + _TRY_NS)):
                    return True
            now_ns = self._port.now_ns()
            if now_ns >= deadline_ns:
                return False
            self._port.rest(min(deadline_ns, now_ns + _RETRY_NS))

    def release(self) -> None:
        """Free the port, with the coils as they are."""
        self._port.close()


class _Unfit(PortFault):
    """A board or adapter that can be reached, and will not do."""


def checked_options(options: Mapping[str, object]) -> ModbusOptions:
    """Read the options. Raises PortFault that names the first wrong one, and what is right."""
    given = options_of(options)
    if isinstance(given, Wrong):
        raise PortFault(f"[{TABLE}] {given}")
    return given


def _places(lines: Sequence[Line]) -> tuple[dict[str, Line], dict[str, int]]:
    """Give the lines and their coils by name, and refuse what cannot be right."""
    named: dict[str, Line] = {}
    coils: dict[str, int] = {}
    for line in lines:
        for wrong in wrong_line(line.address, active_low=line.active_low):
            raise PortFault(f"output {line.name!r}, {wrong}")
        coil = coil_of(line.address)
        assert coil is not None  # wrong_line has looked
        if line.name in named:
            raise PortFault(f"two outputs are called {line.name!r}; give each its own name")
        for other, taken in coils.items():
            if taken == coil:
                raise PortFault(
                    f"coil {coil} is given to both {other!r} and {line.name!r}; "
                    "give each output a coil of its own"
                )
        named[line.name] = line
        coils[line.name] = coil
    for wrong in wrong_span(list(coils.values())):
        raise PortFault(str(wrong))
    return named, coils


def _talk(port: Port, options: ModbusOptions, coils: Iterable[int]) -> Talk:
    used = set(coils) or {0}
    return Talk(port, options, min(used), max(used) - min(used) + 1)


def _released(talk: Talk, coils: Sequence[int], until_ns: int) -> bool:
    """Switch coils off, neighbours together, and read back; True when all of them are off.

    Raises PortFault when that cannot be read. One that does not obey keeps no other from it.
    """
    for asked in _offs(talk.unit, coils):
        try:
            talk.tell(asked, until_ns)
        except Lost:
            raise
        except PortFault:
            for coil in range(asked.first, asked.first + asked.count):  # it may not know 0F
                with suppress(Silent, Unwilling):
                    talk.tell(write_coil(talk.unit, coil, on=False), until_ns)
    return not talk.read(until_ns).intersection(coils)


def _offs(unit: int, coils: Sequence[int]) -> list[Asked]:
    """Give the commands that switch coils off, and touch no others."""
    runs: list[list[int]] = []
    for coil in sorted(coils):
        if runs and coil == runs[-1][-1] + 1:
            runs[-1].append(coil)
        else:
            runs.append([coil])
    return [
        clear_coils(unit, run[0], len(run)) if len(run) > 1 else write_coil(unit, run[0], on=False)
        for run in runs
    ]
