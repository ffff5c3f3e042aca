"""A client's end: attach to the engine, and start one when none runs."""

from __future__ import annotations

import select
import socket
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from controller.errors import DrysideError
from controller.exposing.told import Wish
from drivers.clock import Clock
from drivers.engine_words import (
    ENGINE_SOCKET,
    Attach,
    FromEngine,
    Hello,
    Leave,
    Please,
    Refusal,
    ToEngine,
)
from drivers.wire import Wire

START_S = 60.0  # a small computer with a cold memory card
LINGER_S = 20.0
BETWEEN_LOOKS_S = 0.5
ERRORS_FILE = "engine.err"


# Kept, so that nobody complains of a child that is let go: engines outlive whoever starts them.
_started: list[subprocess.Popen[bytes]] = []


class EngineFault(DrysideError):
    """The engine can't be had; one sentence."""


class EngineClient:
    """A connection to the engine that has been introduced."""

    def __init__(self, wire: Wire[FromEngine], hello: Hello) -> None:
        self._wire = wire
        self.hello = hello
        self.closed = False

    @property
    def clock(self) -> Clock:
        """The unit's time."""
        return Clock(self.hello.pace)

    def fileno(self) -> int:
        """Give the descriptor for a selector."""
        return self._wire.fileno()

    def send(self, message: ToEngine) -> None:
        """Tell the engine something."""
        self._wire.send(message)

    def receive(self, wait_s: float = 0.0) -> list[FromEngine]:
        """Give what the engine said, waiting for the first word for so long."""
        if not self.closed and wait_s > 0:
            select.select([self._wire.fileno()], (), (), wait_s)
        received = self._wire.receive_all()
        self.closed = received.closed
        return received.messages

    def close(self) -> None:
        """Leave; the engine goes on."""
        self._wire.close()


def attach(
    run: Path,
    rig: str,
    settings: Sequence[str],
    digest: str,
    *,
    screen: bool = False,
    found: EngineClient | None = None,
) -> EngineClient:
    """Attach to the running engine, or start one for this rig. Raises EngineFault.

    Where the service manager brings one it is waited for. An idle engine that has another rig is
    ended first; one that is at work is left alone.
    ``found`` is a connection that is there already (``connect``); where its engine is at work
    with another rig it is left open.
    """
    client = found or connect(run, screen=screen) or _brought(run, screen=screen)
    if client and client.hello.digest != digest:
        if client.hello.running:
            if client is not found:
                client.close()
            raise EngineFault(
                f"the unit is at work with the rig {client.hello.rig!r}; "
                "finish or abandon that first"
            )
        client.send(Leave())
        _wait_until_gone(client)
        client = None
    if client is None:
        child = _start(run, rig, settings)
        client = _await(run, child, screen=screen)
    return client


def running_record(run: Path) -> str:
    """Give the record that an engine is carrying out now; empty where there is none."""
    client = connect(run, screen=False)
    if client is None:
        return ""
    client.close()
    return client.hello.running


def abandon(run: Path) -> bool:
    """Ask the engine to abandon what it is at; False where nothing runs."""
    client = connect(run, screen=False)
    if client is None or not client.hello.running:
        return False
    client.send(Please(Wish.ABANDON.value))
    client.receive(0.5)
    client.close()
    return True


def connect(run: Path, *, screen: bool) -> EngineClient | None:
    """Attach to the engine that runs, whatever its rig; None where none does."""
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    try:
        sock.connect(str(run / ENGINE_SOCKET))
    except OSError:
        sock.close()
        return None
    wire: Wire[FromEngine] = Wire(sock, FromEngine)
    wire.send(Attach(screen))
    until_s = time.monotonic() + 5
    while time.monotonic() < until_s:
        select.select([wire.fileno()], (), (), 0.2)
        received = wire.receive_all(most=1)
        for message in received.messages:
            if isinstance(message, Hello):
                return EngineClient(wire, message)
        if received.closed:
            break
    wire.close()
    return None


def _brought(run: Path, *, screen: bool) -> EngineClient | None:
    """Wait for an engine that the service manager brings; None where it brings none."""
    from drivers.service.coming import engine_comes

    until_s = time.monotonic() + START_S
    while engine_comes(run) and time.monotonic() < until_s:
        client = connect(run, screen=screen)
        if client:
            return client
        time.sleep(BETWEEN_LOOKS_S)
    return None


def _start(run: Path, rig: str, settings: Sequence[str]) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-P", "-m", "drivers.engine_process", "--rig", rig]
    for setting in settings:
        command += ["--set", setting]
    with (run / ERRORS_FILE).open("wb") as errors:
        child = subprocess.Popen(
            [*command, "--linger", f"{LINGER_S:g}"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=errors,
            start_new_session=True,  # it lives on when this command ends, or is killed
        )
    _started.append(child)
    return child


def _await(run: Path, child: subprocess.Popen[bytes], *, screen: bool) -> EngineClient:
    until_s = time.monotonic() + START_S
    while time.monotonic() < until_s:
        client = connect(run, screen=screen)
        if client:
            return client
        if child.poll() is not None:
            lines = (run / ERRORS_FILE).read_text(errors="replace").splitlines()
            why = next((line for line in reversed(lines) if line.strip()), "it did not say why")
            raise EngineFault(f"the engine could not start: {why}")
        time.sleep(0.02)
    raise EngineFault(f"the engine was not ready after {START_S:g} s")


def _wait_until_gone(client: EngineClient) -> None:
    until_s = time.monotonic() + 5
    while not client.closed and time.monotonic() < until_s:
        for said in client.receive(0.1):
            if isinstance(said, Refusal):
                client.close()
                raise EngineFault(said.why)
    client.close()
    time.sleep(0.1)  # its lock is let go with its last breath
