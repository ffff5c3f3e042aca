"""The serial port that a Modbus board hangs on, by pyserial, and looking for boards.

Two programs can open one serial port, so it is locked (flock), which the kernel undoes however
its owner ends. TIOCEXCL would also keep strangers out, but it stays while anybody has the port
open, and would then keep out whoever has to put the lamp off.
"""

from __future__ import annotations

import errno
import fcntl
import os
import select
import termios
import time
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

import serial

from controller.rig.modbus import ModbusOptions, Parity
from drivers.modbus_talk import MS, Held, Lost, Silent, Talk, Unwilling

_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}
_SEND_S = 0.01  # a frame of some ten bytes goes into the kernel's buffer at once
_HELD = (errno.EAGAIN, errno.EBUSY)
_ERRORS = (serial.SerialException, OSError, termios.error)


class SerialPort:
    """A ``drivers.modbus_talk.Port`` on the machine's own clock."""

    def __init__(self, options: ModbusOptions) -> None:
        self._options = options
        self._serial: serial.Serial | None = None

    @property
    def name(self) -> str:
        """Give its path."""
        return self._options.port

    @property
    def is_open(self) -> bool:
        """Is it open?"""
        return self._serial is not None

    def open(self) -> None:
        """Open and lock it, with DTR and RTS as they are to be. Raises Lost, or Held."""
        if self._serial is not None:
            return
        options = self._options
        line = serial.Serial()
        line.port = options.port
        line.baudrate = options.baud
        line.parity = _PARITY[options.parity]
        line.stopbits = options.stop_bits
        line.timeout = 0
        line.write_timeout = _SEND_S
        line.exclusive = True
        # before it opens: some boards begin anew, or an adapter begins to send, at their edges
        line.dtr = options.dtr
        line.rts = options.rts
        try:
            line.open()
        except _ERRORS as error:
            lost = Held if _number(error) in _HELD else Lost
            raise lost(_not_opened(options.port, error)) from error
        except ValueError as error:  # a speed or framing that this port has not
            raise Lost(f"{options.port} does not take these settings: {error}") from error
        self._serial = line
        _settle(line)

    def close(self) -> None:
        """Let go of it."""
        line, self._serial = self._serial, None
        if line is not None:
            with suppress(*_ERRORS):
                line.close()

    def send(self, data: bytes) -> None:
        """Hand a frame to the kernel. Raises Lost."""
        line = self._line()
        try:
            line.write(data)
        except _ERRORS as error:
            raise self._lost(error) from error

    def hear(self, until_ns: int) -> bytes:
        """Give what has come, or comes until then. Raises Lost."""
        line = self._line()
        left_s = max(0, until_ns - time.monotonic_ns()) / 1e9
        try:
            if not select.select([line.fileno()], (), (), left_s)[0]:
                return b""
            return bytes(line.read(256))
        except (*_ERRORS, ValueError) as error:
            raise self._lost(error) from error

    def now_ns(self) -> int:
        """Tell the monotonic time."""
        return time.monotonic_ns()

    def rest(self, until_ns: int) -> None:
        """Sleep."""
        time.sleep(max(0, until_ns - time.monotonic_ns()) / 1e9)

    def _line(self) -> serial.Serial:
        if self._serial is None:
            raise Lost(f"{self.name} is not open")
        return self._serial

    def _lost(self, error: Exception) -> Lost:
        self.close()
        number = _number(error)
        why = f" ({os.strerror(number)})" if number else ""
        return Lost(f"{self.name} is gone{why}; see that the adapter is plugged in")


def _settle(line: serial.Serial) -> None:
    """Ask for what an adapter may or may not have; nothing depends on it."""
    # an adapter's driver may collect bytes for 16 ms before it hands them over (from memory of
    # FTDI's latency timer)
    with suppress(*_ERRORS, ValueError, NotImplementedError):
        line.set_low_latency_mode(True)
    with suppress(*_ERRORS):  # DTR and RTS stay as they are when the port is closed
        settings = termios.tcgetattr(line.fileno())
        settings[2] &= ~termios.HUPCL
        termios.tcsetattr(line.fileno(), termios.TCSANOW, settings)
    with suppress(OSError):
        fcntl.fcntl(line.fileno(), fcntl.F_SETFD, fcntl.FD_CLOEXEC)


def _number(error: BaseException) -> int | None:
    """Find the system's error number, which pyserial at times leaves to the cause."""
    number = getattr(error, "errno", None)
    if number is None and error.args and isinstance(error.args[0], int):
        number = error.args[0]
    if number is None and error.__context__ is not None:
        return _number(error.__context__)
    return number


def _not_opened(path: str, error: BaseException) -> str:
    number = _number(error)
    match number:
        case errno.ENOENT | errno.ENODEV | errno.ENXIO:
            return (
                f"there is no port {path}; plug the adapter in, or write the path that "
                "ls /dev/serial/by-id shows"
            )
        case errno.EACCES | errno.EPERM:
            return (
                f"{path} may not be opened by this user; add the user to the group that owns it "
                "(usually dialout)"
            )
        case _ if number in _HELD:
            return f"{path} is held by another program; end that first"
        case errno.ENOTTY | errno.EINVAL:
            return f"{path} is not a serial port; write one that ls /dev/serial/by-id shows"
        case _:
            why = os.strerror(number) if number else str(error)
            return f"{path} cannot be opened: {why}"


# --- looking for boards ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Found:
    """A Modbus unit that answered, and how it was spoken to.

    ``readable``: it lets its coils be read, as a relay board must.
    """

    port: str
    unit: int
    baud: int
    parity: Parity
    readable: bool


# what boards are set to when they are new, most usual first: common practice, no source
USUAL: tuple[tuple[int, Parity], ...] = (
    (9600, "none"),
    (9600, "even"),
    (19200, "even"),
    (19200, "none"),
    (38400, "none"),
    (57600, "none"),
    (115200, "none"),
)


def find_board(
    port: str,
    *,
    units: Iterable[int] = (1,),
    ways: Iterable[tuple[int, Parity]] = USUAL,
    timeout_ms: float = 40.0,
) -> Found | None:
    """Find out whether a Modbus unit answers at a port, and how; nothing is switched.

    Only function 01 is sent, for the first coil, once for each unit and way to speak, each of
    which takes up to some 60 ms. Raises PortFault when the port cannot be opened, or is in use.
    """
    for baud, parity in ways:
        for unit in units:
            options = ModbusOptions(port, unit, baud, parity, timeout_ms=timeout_ms)
            line = SerialPort(options)
            line.open()
            try:
                talk = Talk(line, options, 0, 1)
                talk.read(line.now_ns() + 1_000 * MS)
            except Unwilling as unwilling:
                if unwilling.refused.nobody_there:
                    continue
                return Found(port, unit, baud, parity, readable=False)
            except Silent:
                continue
            finally:
                line.close()
            return Found(port, unit, baud, parity, readable=True)
    return None
