"""What the service manager hears, on a real socket."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers import pid_files
from drivers.journal import only_one
from drivers.service.notify import ALIVE, READY, STOPPING, ServiceManager
from ui.attach import EngineFault, attach

WAIT_S = 60.0


class Ear:
    """A socket like the manager's."""

    def __init__(self, address: str) -> None:
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind(address)

    def hear(self, wait_s: float) -> str | None:
        self._socket.settimeout(wait_s)
        try:
            return self._socket.recv(4096).decode()
        except (TimeoutError, BlockingIOError):
            return None

    def close(self) -> None:
        self._socket.close()


@pytest.fixture
def ear(tmp_path: Path) -> Iterator[Ear]:
    made = Ear(str(tmp_path / "notify"))
    yield made
    made.close()


def test_pings_are_sent_four_times_in_a_term_and_no_oftener(ear: Ear, tmp_path: Path) -> None:
    """A loop that comes round every 50 ms sends few datagrams, and never too few."""
    environ = {"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "4000000"}
    manager = ServiceManager.of(environ, os.getpid())
    for ms in range(0, 4000, 50):
        manager.alive((10_000 + ms) * 1_000_000)
    manager.close()
    heard = [ear.hear(0) for _ in range(5)]
    assert heard == [ALIVE] * 4 + [None]


def test_a_term_for_another_process_is_not_ours(ear: Ear, tmp_path: Path) -> None:
    """WATCHDOG_PID names who is watched; a child that inherits the environment keeps silent."""
    environ = {
        "NOTIFY_SOCKET": str(tmp_path / "notify"),
        "WATCHDOG_USEC": "4000000",
        "WATCHDOG_PID": "1",
    }
    manager = ServiceManager.of(environ, os.getpid())
    manager.alive(10**12)
    manager.ready()
    manager.close()
    heard = ear.hear(WAIT_S)
    assert heard is not None
    assert heard.startswith(READY)


def test_without_a_manager_or_with_a_deaf_one_nothing_happens(tmp_path: Path) -> None:
    """Neither a missing address nor a missing socket stops the unit."""
    for environ in ({}, {"NOTIFY_SOCKET": str(tmp_path / "gone"), "WATCHDOG_USEC": "1"}):
        manager = ServiceManager.of(environ, os.getpid())
        manager.ready()
        manager.alive(10**12)
        manager.close()


def test_an_abstract_address_is_reached() -> None:
    """A name that begins with @ is not a file."""
    name = f"dryside-test-{os.getpid()}"
    ear = Ear("\0" + name)
    manager = ServiceManager.of({"NOTIFY_SOCKET": f"@{name}"}, os.getpid())
    manager.stopping()
    manager.close()
    heard = ear.hear(WAIT_S)
    ear.close()
    assert heard is not None
    assert heard.startswith(STOPPING)


@pytest.mark.real
def test_a_unit_is_ready_when_its_lines_are_held_and_silent_when_it_hangs(
    ear: Ear, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """READY follows the lock and the keeper; it keeps its rig; a frozen loop stops the pings."""
    home = tmp_path / "home"
    environ = {
        **os.environ,
        "DRYSIDE_HOME": str(home),
        "NOTIFY_SOCKET": str(tmp_path / "notify"),
        "WATCHDOG_USEC": "400000",
    }
    (home / "run").mkdir(parents=True, mode=0o700)
    by_hand = only_one(home / "run")  # as if another engine ran
    words = [sys.executable, "-P", "-m", "drivers.engine_process", "--rig", "tungsten"]
    unit = subprocess.Popen(words, env={**environ, "PYTHONPATH": str(Path.cwd())})
    try:
        waits = ear.hear(WAIT_S)
        assert waits is not None
        assert waits.startswith("STATUS=waiting")
        os.close(by_hand)
        first = ear.hear(WAIT_S)
        assert first is not None
        assert first.startswith(READY)
        keeper = pid_files.find(home / "run" / pid_files.KEEPER_FILE)
        assert keeper is not None
        keeper.close()
        assert ear.hear(WAIT_S) == ALIVE
        monkeypatch.setenv("DRYSIDE_HOME", str(home))
        with pytest.raises(EngineFault, match="systemctl stop dryside"):
            attach(home / "run", "led", (), "another rig")
        unit.send_signal(signal.SIGSTOP)
        os.waitid(os.P_PID, unit.pid, os.WSTOPPED)
        while ear.hear(0) is not None:  # what was sent before it froze
            pass
        assert ear.hear(1.0) is None
        unit.send_signal(signal.SIGCONT)
        assert ear.hear(WAIT_S) == ALIVE
        unit.terminate()
        assert unit.wait(WAIT_S) == 0
        last = ""
        while (heard := ear.hear(0)) is not None:
            last = heard
        assert last.startswith(STOPPING)
    finally:
        unit.kill()
        unit.wait()
