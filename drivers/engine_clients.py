"""The engine's clients: terminals and commands, over a Unix socket that only the user may open.

A client that does not read is not waited for: what shows a state is dropped for it (a newer one
follows), anything else is kept for a while.
"""

from __future__ import annotations

import os
import selectors
import socket
from collections import deque
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from controller.exposing.bench import PaperView, View
from controller.exposing.told import LowerCurtain
from drivers.engine_words import Hello, ToEngine
from drivers.wire import Sent, Wire

MOST_WAITING = 2_000


@dataclass
class _Client:
    wire: Wire[ToEngine]
    screen: bool = False
    percent: int = 100  # how bright its screen is; the most, until it tells
    black: bool = False  # its curtain is down, as it says
    introduced: bool = False
    stale: bool = False  # has not been shown the newest view
    owes_curtain: bool = False  # was asked to go black and has not said that it is
    waiting: deque[msgspec.Struct] = field(default_factory=lambda: deque(maxlen=MOST_WAITING))


class Clients:
    """Whoever is attached."""

    def __init__(self, path: Path, selector: selectors.BaseSelector) -> None:
        self._selector = selector
        self._path = path
        self._clients: dict[int, _Client] = {}
        self._view: View | None = None
        self._paper: PaperView | None = None
        self._curtain_down = False
        self.dirty = False  # there is a new view to show
        self.curtain_failed = False  # the last screen that owed a curtain has gone
        path.unlink(missing_ok=True)
        self._listener = socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        before = os.umask(0o177)
        try:
            self._listener.bind(str(path))
        finally:
            os.umask(before)
        self._listener.listen(8)
        self._listener.setblocking(False)
        selector.register(self._listener, selectors.EVENT_READ)

    def __len__(self) -> int:
        return len(self._clients)

    def take(self) -> list[tuple[int, ToEngine]]:
        """Give what the clients said, and who; lets new ones in and gone ones out."""
        self._accept()
        said: list[tuple[int, ToEngine]] = []
        for fd, client in list(self._clients.items()):
            self._flush(client)
            self._refresh(client)
            received = client.wire.receive_all()
            said += [(fd, message) for message in received.messages]
            if received.closed:
                self._drop(fd)
        return said

    def introduce(self, fd: int, hello: Hello, *, screen: bool) -> None:
        """Answer a client that has introduced itself."""
        client = self._clients.get(fd)
        if client:
            client.screen = screen
            client.introduced = True
            self._send(client, hello)
            if screen and self._curtain_down:  # paper is out: it must not shine either
                self._send(client, LowerCurtain(True))

    def answer(self, fd: int, message: msgspec.Struct) -> None:
        """Tell one client something."""
        client = self._clients.get(fd)
        if client:
            self._send(client, message)

    def say(self, message: msgspec.Struct) -> None:
        """Tell everyone something that must not be dropped lightly."""
        for client in self._clients.values():
            if client.introduced:
                self._send(client, message)

    def show(self, view: View, paper: PaperView) -> None:
        """Show everyone the state; who does not read is shown the newest when it does."""
        self._view, self._paper = view, paper
        for client in self._clients.values():
            client.stale = client.introduced
            self._refresh(client)

    def shines(self, fd: int, percent: int) -> None:
        """Take note of how bright a client's screen is."""
        client = self._clients.get(fd)
        if client:
            client.percent = max(0, min(100, percent))

    @property
    def percent(self) -> int:
        """Tell how bright the brightest screen is now; 0 where all are black."""
        shown = (c.percent for c in self._clients.values() if c.screen and not c.black)
        return max(shown, default=0)

    def lower(self, down: bool) -> bool:
        """Ask every screen for its curtain; False when there is none to wait for."""
        self._curtain_down = down
        waits = False
        for client in self._clients.values():
            if client.screen:
                self._send(client, LowerCurtain(down))
                client.owes_curtain = down
                client.black = client.black and down
                waits = waits or down
        return waits

    def curtain_is(self, fd: int, down: bool) -> bool:
        """Take a screen's answer; True when no other is still owed, or it failed."""
        client = self._clients.get(fd)
        if client is None:
            return False
        client.owes_curtain = False
        client.black = down
        return not down or not any(c.owes_curtain for c in self._clients.values())

    def make_dirty(self) -> None:
        """There is something new to show."""
        self.dirty = True

    def close(self) -> None:
        """Let everyone go."""
        for fd in list(self._clients):
            self._drop(fd)
        self._selector.unregister(self._listener)
        self._listener.close()
        self._path.unlink(missing_ok=True)

    # -- inside ------------------------------------------------------------------------------

    def _refresh(self, client: _Client) -> None:
        if client.stale and not client.waiting and self._view:
            client.stale = Sent.FULL in (client.wire.send(self._view), self._send_paper(client))

    def _send_paper(self, client: _Client) -> Sent:
        return client.wire.send(self._paper) if self._paper else Sent.SENT

    def _accept(self) -> None:
        while True:
            try:
                sock, _ = self._listener.accept()
            except BlockingIOError:
                return
            client = _Client(Wire(sock, ToEngine))
            self._clients[sock.fileno()] = client
            self._selector.register(sock.fileno(), selectors.EVENT_READ)

    def _drop(self, fd: int) -> None:
        client = self._clients.pop(fd)
        self._selector.unregister(fd)
        client.wire.close()
        owed = client.owes_curtain
        if owed and not any(c.owes_curtain for c in self._clients.values()):
            self.curtain_failed = True

    def _send(self, client: _Client, message: msgspec.Struct) -> None:
        client.waiting.append(message)
        self._flush(client)

    def _flush(self, client: _Client) -> None:
        while client.waiting and client.wire.send(client.waiting[0]) is not Sent.FULL:
            client.waiting.popleft()
