"""Which process is which: its number, start time and boot, so that no stranger is ever killed.

A process number alone is used again sooner or later; together with the time at which the
process started, in the same boot, it is not.
"""

from __future__ import annotations

import os
import select
import signal
from contextlib import suppress
from pathlib import Path
from time import monotonic

import msgspec

ENGINE_FILE = "engine.pid"
KEEPER_FILE = "keeper.pid"


class Noted(msgspec.Struct, frozen=True):
    """A process, so that it can be known again. ``started`` is in clock ticks since the boot."""

    pid: int
    started: int
    boot: str


class Process:
    """A living process that is held by a pidfd: it can't be mistaken for another."""

    def __init__(self, noted: Noted, fd: int) -> None:
        self.pid = noted.pid
        self._fd = fd

    def fileno(self) -> int:
        """Give the pidfd: readable when the process has ended."""
        return self._fd

    def is_stopped(self) -> bool:
        """Is it frozen (SIGSTOP), so that it can't obey any other signal?"""
        with suppress(OSError):
            return _stat(self.pid)[0] in "Tt"
        return False

    def send(self, number: signal.Signals) -> None:
        """Send a signal; nothing happens if it has ended meanwhile."""
        with suppress(ProcessLookupError):
            signal.pidfd_send_signal(self._fd, number)

    def ended(self, timeout_s: float = 0.0) -> bool:
        """Wait so long for its end; True when it has ended."""
        return bool(select.select([self._fd], (), (), max(0.0, timeout_s))[0])

    def stop(self, patience_s: float) -> bool:
        """SIGTERM, and SIGKILL if that does not help; True when the process has ended."""
        if not self.is_stopped():
            self.send(signal.SIGTERM)
            until_s = monotonic() + patience_s
            while monotonic() < until_s and not self.is_stopped():
                if self.ended(0.02):
                    return True
        self.send(signal.SIGKILL)
        return self.ended(1.0)

    def close(self) -> None:
        """Let go of the pidfd."""
        os.close(self._fd)


def note(path: Path, pid: int) -> None:
    """Write down a living process. Raises OSError."""
    noted = Noted(pid=pid, started=_stat(pid)[1], boot=_boot())
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.write_bytes(msgspec.json.encode(noted))
    beside.replace(path)


def forget(path: Path) -> None:
    """Remove a note."""
    path.unlink(missing_ok=True)


def find(path: Path) -> Process | None:
    """Find the process that was noted, if it lives. Close what is given."""
    try:
        noted = msgspec.json.decode(path.read_bytes(), type=Noted)
        fd = os.pidfd_open(noted.pid)
    except (OSError, msgspec.DecodeError):
        return None
    process = Process(noted, fd)
    # compared after the pidfd is held: from here on the number can't change hands
    with suppress(OSError):
        if (_stat(noted.pid)[1], _boot()) == (noted.started, noted.boot) and not process.ended():
            return process
    process.close()
    return None


def _stat(pid: int) -> tuple[str, int]:
    """Give state and start time (fields 3 and 22 of /proc/PID/stat, see proc(5))."""
    text = Path(f"/proc/{pid}/stat").read_text()
    fields = text[text.rindex(")") + 2 :].split()  # the name before may hold anything
    return fields[0], int(fields[19])


def _boot() -> str:
    return Path("/proc/sys/kernel/random/boot_id").read_text().strip()
