"""A program under a pseudo-terminal: keys go in, bytes come out."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.ui.terminal.sgr import Picture

TREE = Path(__file__).parents[3]
KEYS = {
    "f2": b"\x1bOQ",
    "f3": b"\x1bOR",
    "f4": b"\x1bOS",
    "f5": b"\x1b[15~",
    "f6": b"\x1b[17~",
    "f7": b"\x1b[18~",
    "f8": b"\x1b[19~",
    "f9": b"\x1b[20~",
    "f10": b"\x1b[21~",
    "f11": b"\x1b[23~",
    "tab": b"\t",
    "down": b"\x1b[B",
    "select": b"\x1b[1;2D",
    "palette": b"\x10",
    "escape": b"\x1b",
    "enter": b"\r",
}
QUIET_S = 0.15  # what is to come has come; longer than the toolkit waits for more after escape
QUESTION, ANSWER = b"\x1b[?2026$p", b"\x1b[?2026;2$y"


class Pseudo:
    """One process on a pseudo-terminal of its own; everything received is kept."""

    def __init__(
        self,
        command: Sequence[str],
        environ: dict[str, str],
        *,
        columns: int = 100,
        rows: int = 30,
        answers: bool = False,
    ) -> None:
        self.columns, self.rows = columns, rows
        self._answers = answers
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.modes = termios.tcgetattr(self.slave)
        self.received = b""
        self._grown = threading.Condition()
        self.held = threading.Event()  # set: nothing is read, as by a terminal that hangs
        self._over = False
        self._picture, self._drawn = Picture(environ["TERM"], columns, rows), 0
        plain = {
            name: value
            for name, value in os.environ.items()
            # a size that another test left behind would count for more than the terminal's own
            if name not in ("TERM", "COLORTERM", "NO_COLOR", "COLUMNS", "LINES")
            and not name.startswith("TEXTUAL")
        }
        self.process = subprocess.Popen(
            command,
            stdin=self.slave,
            stdout=self.slave,
            stderr=self.slave,
            cwd=TREE,
            env={**plain, "PYTHONPATH": str(TREE), **environ},
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0) and None,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while not self._over:
            if self.held.is_set():
                time.sleep(0.005)
                continue
            ready, _, _ = select.select([self.master], [], [], 0.02)
            if not ready:
                continue
            try:
                data = os.read(self.master, 65536)
            except OSError:
                return
            if self._answers and QUESTION in data:
                os.write(self.master, ANSWER * data.count(QUESTION))
            with self._grown:
                self.received += data
                self._grown.notify_all()

    def press(self, *keys: str, quiet_s: float = QUIET_S) -> None:
        """Press keys, each of which the program takes before the next comes.

        After escape a key that comes too soon would be another: alt and that key.
        """
        for key in keys:
            self.type(key)
            self.settle(quiet_s=max(quiet_s, QUIET_S) if key == "escape" else quiet_s)

    def type(self, key: str) -> None:
        """Press a key, and wait for nothing."""
        os.write(self.master, KEYS.get(key) or key.encode())

    def wait_for(self, wanted: bytes, *, after: int = 0, limit_s: float = 20) -> int:
        """Wait until something has been received; give where it ends."""
        with self._grown:
            came = self._grown.wait_for(lambda: wanted in self.received[after:], limit_s)
            assert came, f"{wanted!r} did not come; the last was {self.received[-300:]!r}"
            return self.received.index(wanted, after) + len(wanted)

    def press_until(self, key: str, wanted: bytes, *, tries: int = 10, limit_s: float = 3) -> int:
        """Press a key until what it brings is there: one that came too early may be lost."""
        after = len(self.received)
        for _ in range(tries):
            self.type(key)
            with self._grown:
                if self._grown.wait_for(lambda: wanted in self.received[after:], limit_s):
                    break
        return self.wait_for(wanted, after=after, limit_s=limit_s)

    def screen(self) -> str:
        """Give what is on the screen now, as text."""
        received = self.received
        self._picture.take(received[self._drawn :])
        self._drawn = len(received)
        return self._picture.text()

    def more(self, limit_s: float) -> None:
        """Wait until something more comes, or for so long."""
        with self._grown:
            if len(self.received) == self._drawn:
                self._grown.wait(limit_s)

    def settle(self, *, quiet_s: float = QUIET_S, limit_s: float = 0.8) -> None:
        """Wait until nothing more comes for a moment (what moves for ever: until the limit)."""
        last = time.monotonic() + limit_s
        with self._grown:
            while time.monotonic() < last and self._grown.wait(quiet_s):
                pass

    def end(self, *, limit_s: float = 20) -> int:
        """Wait for the end; give the exit code."""
        code = self.process.wait(limit_s)
        self.settle(quiet_s=0.1)
        return code

    def hang_up(self) -> None:
        """Take the terminal away, as a lost connection does."""
        self._over = True
        self._reader.join()
        os.close(self.slave)
        os.close(self.master)
        self.slave = self.master = -1

    def close(self) -> None:
        """End what still runs, and hang up."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
        self._over = True
        self.held.clear()
        self._reader.join()
        for fd in (self.master, self.slave):
            if fd >= 0:
                os.close(fd)


TERMS = {
    "full": {"TERM": "xterm-256color", "COLORTERM": "truecolor"},
    "cube": {"TERM": "xterm-256color"},
    "console": {"TERM": "linux"},
    "two": {"TERM": "vt220"},
}


@contextmanager
def demo(
    home: Path,
    term: str,
    *,
    kind: str = "red",
    answers: bool = False,
    until: bytes = b"inputs",
) -> Iterator[Pseudo]:
    """Run the demonstration of the toolkit, from when it has drawn its first picture."""
    command = [sys.executable, "-m", "tests.ui.terminal.demo", str(home), kind]
    made = Pseudo(command, TERMS[term], answers=answers)
    try:
        made.wait_for(until)
        made.settle()
        yield made
    finally:
        made.close()
