"""A program under a pseudo-terminal whose picture is watched, and what a process costs."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from time import monotonic, monotonic_ns

from controller.ports import PortFault
from ui.measure.frame import Frame

COLUMNS, ROWS = 100, 30
END_S = 10.0


class Watched:
    """A program that has been started; ``started_ns`` is when, by the monotonic clock."""

    def __init__(self, command: Sequence[str], environment: Mapping[str, str]) -> None:
        self.frame = Frame(COLUMNS, ROWS)
        self._last = b""
        self._screen, terminal = pty.openpty()
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        self.started_ns = monotonic_ns()
        try:
            self._process = subprocess.Popen(
                command,
                stdin=terminal,
                stdout=terminal,
                stderr=terminal,
                start_new_session=True,
                env=dict(environment),
            )
        finally:
            os.close(terminal)
        self.pid = self._process.pid

    def __enter__(self) -> Watched:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process.poll() is None:
            self._process.terminate()
        try:
            self.wait_for_end()
        except PortFault:
            self._process.kill()
            self._process.wait()
        os.close(self._screen)

    def wait_for(self, wanted: Callable[[Frame], bool], limit_s: float) -> float:
        """Watch until the picture is as wanted; give the seconds since the start.

        Raises PortFault when it is not so within ``limit_s``, or the program has ended.
        """
        until_s = monotonic() + limit_s
        while (left_s := until_s - monotonic()) > 0:
            arrived_ns = self._read(left_s)
            if arrived_ns is not None and wanted(self.frame):
                return (arrived_ns - self.started_ns) / 1e9
            if arrived_ns is None and self._process.poll() is not None:
                break
        last = self._last.decode(errors="replace").strip().split("\n")[-1]
        raise PortFault(f"the program that is measured did not draw its picture: {last[-200:]!r}")

    def watch(self, seconds: float) -> None:
        """Let time pass, and take what is drawn."""
        until_s = monotonic() + seconds
        while (left_s := until_s - monotonic()) > 0:
            if self._read(left_s) is None and self._process.poll() is not None:
                return

    def press(self, key: str) -> None:
        """Press a key."""
        os.write(self._screen, key.encode())

    def wait_for_end(self) -> None:
        """Wait until the program has ended. Raises PortFault."""
        until_s = monotonic() + END_S
        while self._process.poll() is None:
            if monotonic() > until_s:
                raise PortFault("the program that is measured did not end")
            self._read(0.02)  # one whose writing is not read would never end

    def _read(self, wait_s: float) -> int | None:
        """Take what has been written; gives when it had arrived, None where nothing had."""
        if not select.select([self._screen], (), (), min(wait_s, 0.1))[0]:
            return None
        try:
            data = os.read(self._screen, 65536)
        except OSError:  # EIO when the program has gone
            return None
        arrived_ns = monotonic_ns()
        self._last = data
        self.frame.feed(data)
        return arrived_ns


def processor_ns(pid: int) -> int:
    """Give the processor time that a process has used, all of its threads, in nanoseconds.

    From the kernel's scheduler (/proc/PID/task/TID/schedstat, first field). Raises PortFault.
    """
    try:
        tasks = list(Path(f"/proc/{pid}/task").iterdir())
        return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks)
    except (OSError, IndexError, ValueError):
        raise PortFault(f"what process {pid} costs can't be read; it may have ended") from None
