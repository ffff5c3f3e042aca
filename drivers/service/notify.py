"""Tell the service manager that the unit is ready, alive, or ending.

Source: sd_notify(3) and sd_watchdog_enabled(3). One datagram of ``KEY=value`` lines goes to the
unix socket that ``NOTIFY_SOCKET`` names; ``@`` begins an abstract name. Without it nothing is sent.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Mapping

SOCKET_VARIABLE = "NOTIFY_SOCKET"
READY = "READY=1"
ALIVE = "WATCHDOG=1"
STOPPING = "STOPPING=1"
_PINGS_IN_A_TERM = 4  # twice as often as sd_watchdog_enabled(3) asks for


class ServiceManager:
    """The manager's ear. ``alive`` belongs into the loop that is to be watched, into no thread."""

    def __init__(self, address: str, term_ns: int | None) -> None:
        """``address`` is empty where nobody listens; ``term_ns``: silence that means a hang."""
        self._address = "\0" + address[1:] if address.startswith("@") else address
        self._ping_ns = None if term_ns is None else term_ns // _PINGS_IN_A_TERM
        self._next_ns = 0
        self._socket: socket.socket | None = None
        if self._address:
            self._socket = socket.socket(
                socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_NONBLOCK | socket.SOCK_CLOEXEC
            )

    @classmethod
    def of(cls, environ: Mapping[str, str], pid: int) -> ServiceManager:
        """Make it from an environment; a term that is meant for another process does not count."""
        term_ns: int | None = None
        if environ.get("WATCHDOG_PID", str(pid)) == str(pid):
            text = environ.get("WATCHDOG_USEC", "")
            term_ns = int(text) * 1000 if text.isdecimal() and int(text) > 0 else None
        return cls(environ.get(SOCKET_VARIABLE, ""), term_ns)

    @property
    def listens(self) -> bool:
        """Does a service manager stand behind this unit?"""
        return self._socket is not None

    def waiting(self) -> None:
        """Say that another engine has the outputs."""
        self._send("STATUS=waiting for an engine that somebody started by hand to end")

    def ready(self) -> None:
        """Say that the outputs are held, and a pedal would be heard."""
        self._send(f"{READY}\nSTATUS=the outputs are held; waiting for a foot or a terminal")

    def alive(self, now_ns: int) -> None:
        """Say that the loop came round; costs nothing until the next ping is due."""
        if self._ping_ns is not None and now_ns >= self._next_ns:
            self._next_ns = now_ns + self._ping_ns
            self._send(ALIVE)

    def stopping(self) -> None:
        """Say that the end is in order."""
        self._send(f"{STOPPING}\nSTATUS=ending: the lamp goes off")

    def close(self) -> None:
        """Let go of the socket."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _send(self, text: str) -> None:
        if self._socket is None:
            return
        with contextlib.suppress(OSError):  # a manager that is deaf may cost no light its end
            self._socket.sendto(text.encode(), self._address)
