"""For tests: a relay unit's firmware as a process behind a pseudo-terminal, with noted pins."""

from __future__ import annotations

import os
import pty
import shutil
import signal
import subprocess
import sys
import tty
from pathlib import Path

import pytest

from controller.ports import Line
from tests.drivers.kept import wait_for

FIRMWARE = Path(__file__).parents[2] / "drivers" / "firmware"
PINS = Path(__file__).parent / "relay_pins"
LINES = (
    Line("lamp", 0),
    Line("bench", 1),
    Line("nominated", 2, active_low=True, normally_closed=True),
)
PIN = {"lamp": 2, "bench": 3, "nominated": 4}
SAFE = {"lamp": 0, "bench": 0, "nominated": 1}
KINDS = ("cpython", "micropython")  # what the firmware runs on
DEAD_MS = 300


def micropython() -> str | None:
    """Find a real MicroPython: beside this Python, or on the path."""
    beside = Path(sys.executable).with_name("micropython")
    return str(beside) if beside.exists() else shutil.which("micropython")


class RelayBench:
    """A unit that can be plugged in and out; ``port`` is a path that stays the same."""

    def __init__(self, folder: Path, kind: str = "cpython") -> None:
        self.kind = kind
        self.port = folder / "port"
        self.log = folder / "pins"
        self.log.touch()
        self._process: subprocess.Popen[bytes] | None = None
        self._ends: tuple[int, ...] = ()
        if kind == "micropython" and micropython() is None:
            pytest.skip("there is no MicroPython here")
        self.plug_in()

    def plug_in(self) -> None:
        """Give the unit power; waits until its pins are claimed."""
        before = len(self.writes())
        near, far = pty.openpty()
        tty.setraw(far)  # as USB serial is; and held open, or the unit would see it hung up
        self._ends = (near, far)
        self.port.symlink_to(os.ttyname(far))
        command = [sys.executable, "-P", str(PINS / "on_cpython.py")]
        path = {"PYTHONPATH": f"{PINS}:{FIRMWARE}"}
        if self.kind == "micropython":
            # the tests' board.py, in the working folder, comes before the one that is flashed
            command = [str(micropython()), "-c", "import main"]
            path = {"MICROPYPATH": f"{PINS}:{FIRMWARE}"}
        self._process = subprocess.Popen(
            command,
            stdin=near,
            stdout=near,
            stderr=subprocess.DEVNULL,
            env={**os.environ, **path, "RELAY_PINS": str(self.log)},
            cwd=PINS,
        )
        wait_for(lambda: len(self.writes()) >= before + len(LINES))

    def unplug(self) -> None:
        """Take its power away in the middle of whatever it does; pins fall to their resistors."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()
        self._process = None
        for end in self._ends:
            os.close(end)
        self.port.unlink()

    def freeze(self, *, frozen: bool) -> None:
        """Hold the unit's program up, as no real one should be."""
        assert self._process is not None
        self._process.send_signal(signal.SIGSTOP if frozen else signal.SIGCONT)

    def say(self, data: bytes) -> None:
        """Put bytes on the line to the host, as if the unit had sent them."""
        os.write(self._ends[0], data)

    def writes(self) -> list[tuple[int, int, int]]:
        """Give time (microseconds), pin and level of all that was written to pins."""
        rows = [line.split() for line in self.log.read_text().splitlines(keepends=True)]
        return [(int(us), int(pin), int(level)) for us, pin, level in rows]

    def level(self, name: str) -> int:
        """Give the level that a pin has."""
        return [level for _, pin, level in self.writes() if pin == PIN[name]][-1]

    def levels(self) -> dict[str, int]:
        """Give the level of every pin."""
        return {name: self.level(name) for name in PIN}

    def options(self, **more: object) -> dict[str, object]:
        """Give options by which the driver finds this unit; patient, for a busy machine."""
        return {"port": str(self.port), "dead_ms": 2_000, "answer_ms": 150, **more}

    def end(self) -> None:
        """Be done."""
        if self._process is not None:
            self.unplug()
