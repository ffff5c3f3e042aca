"""For tests of the real keeper process: a rig on the imagined board, and what its wire tells."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import monotonic_ns

from controller.keeper import MS, Beat, Message, OutputRule, Reply
from controller.ports import Line
from drivers.keeper_words import Failed, FromKeeper, Ready, Setup
from drivers.wire import Wire, pair

LINES = (Line("lamp", 17), Line("safelight", 27, normally_closed=True))
RULES = (
    OutputRule("lamp", safe_lit=False, lamp=True, longest_ns=60_000 * MS),
    OutputRule("safelight", safe_lit=True),
)
BEAT_NS = 50 * MS
PROMISE_NS = 250 * MS
SLACK_NS = 150 * MS  # of a busy test machine, where the promise depends on its scheduler too


@dataclass(frozen=True)
class WireEdge:
    at_ns: int
    lit: bool


def setup_in(folder: Path, **options: object) -> Setup:
    return Setup(
        lines=LINES,
        rules=RULES,
        driver="sim",
        options={"wire": str(folder / "wire"), **options},
        journal=str(folder / "journal"),
    )


def wire_edges(folder: Path, name: str = "lamp") -> list[WireEdge]:
    """Read what really happened on a line."""
    rows = [line.split() for line in (folder / "wire").read_text().splitlines()]
    return [WireEdge(int(row[0]), row[3] == "1") for row in rows if row[1] == name]


def wait_for(true: Callable[[], object], timeout_s: float = 5.0) -> None:
    """Wait until something is so; it not becoming so fails the test."""
    until_ns = monotonic_ns() + int(timeout_s * 1e9)
    while not true():
        assert monotonic_ns() < until_ns, "it did not happen in time"
        select.select((), (), (), 0.002)


class RawKeeper:
    """A keeper process at the end of a bare wire: the test is its engine."""

    def __init__(self) -> None:
        near, far = pair()
        with far:
            self.process = subprocess.Popen(
                [sys.executable, "-P", "-m", "drivers.keeper_process", "--fd", str(far.fileno())],
                pass_fds=[far.fileno()],
                start_new_session=True,
                stderr=subprocess.DEVNULL,
            )
        self.sock = near
        self.wire: Wire[FromKeeper] = Wire(near, FromKeeper)
        self.heard: list[FromKeeper] = []
        self.closed = False
        self.beating = True
        self._beat_ns = 0

    def send(self, message: Message | Setup) -> None:
        self.wire.send(message)

    def serve_until(self, true: Callable[[], object], timeout_s: float = 5.0) -> None:
        """Be the engine's loop until something is so."""
        until_ns = monotonic_ns() + int(timeout_s * 1e9)
        while not true():
            now_ns = monotonic_ns()
            assert now_ns < until_ns, f"it did not happen in time; heard: {self.heard[-5:]}"
            if self.beating and now_ns >= self._beat_ns:
                self.send(Beat(now_ns))
                self._beat_ns = now_ns + BEAT_NS
            if not self.closed:
                select.select([self.wire], (), (), 0.005)
                received = self.wire.receive_all()
                self.heard += received.messages
                self.closed = received.closed

    def of(self, kind: type[Reply] | type[Ready] | type[Failed]) -> list[FromKeeper]:
        return [message for message in self.heard if isinstance(message, kind)]

    def end(self) -> None:
        self.wire.close()
        if self.process.poll() is None:
            os.kill(self.process.pid, signal.SIGCONT)
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                self.process.kill()
        self.process.wait()
