"""The modem lines of a serial port, by the kernel's own calls. Linux only.

What the kernel does, and what is done about it (from memory of its tty_port.c and serial_core.c;
the kernel lab's 16550 agrees):

- *Opening* raises DTR and RTS, whoever opens, unless the port's speed is B0 ("hang up"). The
  first to open it here drops them at once and sets B0, so that whoever opens it after that moves
  nothing. The speed is kept as long as the device is plugged in.
- *Closing* drops both when the last program that has the port open is gone (HUPCL), however it
  went: that is as near to a dead-man as these lines come.

A port is opened once in a process, and shared there by outputs and inputs.
"""

from __future__ import annotations

import errno
import fcntl
import os
import struct
import termios
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Protocol, TypeAlias

DTR, RTS, CTS, DSR, RI, CD = (
    termios.TIOCM_DTR,
    termios.TIOCM_RTS,
    termios.TIOCM_CTS,
    termios.TIOCM_DSR,
    termios.TIOCM_RI,
    termios.TIOCM_CD,
)
BITS = {"dtr": DTR, "rts": RTS, "cts": CTS, "dsr": DSR, "ri": RI, "cd": CD}


class Lost(Exception):
    """The port is gone, or cannot be opened; the text is one clause, for a sentence."""


class Held(Lost):
    """Another program switches by it."""


class Modem(Protocol):
    """The lines of an open port; a bit that is set is a line that is raised."""

    def get(self) -> int:
        """Give all lines: the outputs as they were told, the inputs as they are. Raises Lost."""

    def put(self, *, drop: int = 0, lift: int = 0) -> None:
        """Drop some outputs, then raise others. Raises Lost."""

    def await_change(self, lines: int) -> bool:
        """Wait until one of these inputs changes; False where the port cannot. Raises Lost."""

    def claim(self) -> None:
        """Be the only one that switches by it, until unclaimed or dead. Raises Held, Lost."""

    def unclaim(self) -> None:
        """Let others switch by it."""

    def close(self) -> None:
        """Let go of it; shared with others in this process, it stays open for them."""


OpenPort: TypeAlias = Callable[[str], Modem]

_shared: dict[str, _Port] = {}
_lock = threading.Lock()


def open_port(path: str) -> Modem:
    """Open a port, or share it with who has it open in this process. Raises Lost."""
    with _lock:
        port = _shared.get(path)
        if port is None or port.lost:
            port = _shared[path] = _Port(path)
        port.users += 1
        return _Share(port)


class _Port:
    """An open port, with all who use it in this process."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.users = 0
        self.lost = False
        try:
            self.fd = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            raise Lost(_not_opened(error)) from error
        try:
            _quieten(self.fd)
        except (OSError, termios.error) as error:
            os.close(self.fd)
            raise Lost("it is no serial port with modem lines") from error

    def ioctl(self, request: int, value: int | bytes) -> bytes:
        if self.lost:
            raise Lost("it is gone")
        try:
            result = fcntl.ioctl(self.fd, request, value)
        except OSError as error:
            self.lost = True
            raise Lost(f"it is gone ({os.strerror(error.errno or 0)})") from error
        return result if isinstance(result, bytes) else b""


class _Share:
    """A ``Modem``: one user's share of a port."""

    def __init__(self, port: _Port) -> None:
        self._port = port
        self._closed = False

    def get(self) -> int:
        lines: int = struct.unpack("@I", self._port.ioctl(termios.TIOCMGET, bytes(4)))[0]
        return lines

    def put(self, *, drop: int = 0, lift: int = 0) -> None:
        if drop:
            self._port.ioctl(termios.TIOCMBIC, struct.pack("@I", drop))
        if lift:
            self._port.ioctl(termios.TIOCMBIS, struct.pack("@I", lift))

    def await_change(self, lines: int) -> bool:
        if self._port.lost or self._closed:
            raise Lost("it is gone")
        try:
            fcntl.ioctl(self._port.fd, termios.TIOCMIWAIT, lines)
        except OSError as error:
            if error.errno in (errno.EIO, errno.ENODEV, errno.EBADF):
                raise Lost("it is gone") from error
            return False
        return True

    def claim(self) -> None:
        try:
            fcntl.flock(self._port.fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise Held("another program switches by it; end that first") from error
        except OSError as error:
            raise Lost("it is gone") from error

    def unclaim(self) -> None:
        if not self._closed:
            with suppress(OSError):  # gone: so is the claim
                fcntl.flock(self._port.fd, fcntl.LOCK_UN)

    def close(self) -> None:
        if self._closed:
            return
        self._closed = True
        with _lock:
            self._port.users -= 1
            if self._port.users == 0:
                if _shared.get(self._port.path) is self._port:
                    del _shared[self._port.path]
                os.close(self._port.fd)


def _quieten(fd: int) -> None:
    """Drop both lines if opening has raised them, and see to it that nobody's opening does."""
    struct.unpack("@I", fcntl.ioctl(fd, termios.TIOCMGET, bytes(4)))  # has it such lines at all?
    settings = termios.tcgetattr(fd)
    if termios.B0 not in settings[4:6]:
        fcntl.ioctl(fd, termios.TIOCMBIC, struct.pack("@I", DTR | RTS))
    settings[0] = settings[1] = settings[3] = 0
    settings[2] = termios.CLOCAL | termios.CS8 | termios.HUPCL  # and no handshake by RTS
    settings[4] = settings[5] = termios.B0
    termios.tcsetattr(fd, termios.TCSANOW, settings)


def _not_opened(error: OSError) -> str:
    match error.errno:
        case errno.ENOENT | errno.ENODEV | errno.ENXIO | errno.EIO:
            return "it is not there; plug it in, or write the path that ls /dev/serial/by-id shows"
        case errno.EACCES | errno.EPERM:
            return "this user may not open it; add the user to its group (usually dialout)"
        case _:
            return f"it cannot be opened ({error.strerror})"
