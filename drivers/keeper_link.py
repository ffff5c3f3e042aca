"""The engine's end of the keeper: start it, speak with it, and take over when it is lost.

``receive`` and ``check`` belong into the engine's loop; everything that is waiting is read
before the keeper's silence is judged, so that an engine that was itself held up blames nobody.
"""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from time import monotonic_ns
from typing import TYPE_CHECKING

from controller.keeper import (
    MS,
    Alive,
    Beat,
    Cause,
    Edge,
    Ended,
    Message,
    Pulse,
    Refused,
    Reply,
    Watch,
)
from controller.ports import PortFault, Rescuer
from drivers import pid_files
from drivers.found import find_outputs
from drivers.journal import JOURNAL
from drivers.keeper_words import Failed, FromKeeper, Ready, Setup
from drivers.places import board_options
from drivers.wire import Sent, Wire, pair

if TYPE_CHECKING:
    from controller.rig.model import Rig

NEVER_ENDS_NS = 1_000 * MS  # a pulse that is so long overdue will not be told of any more
LIMIT_NS = 100 * MS  # a keeper that is silent for so long is lost
TAKE_OVER_NS = 1_000 * MS  # how long to try for the lines
# After so long without reading, the socket may have been full and the keeper's last words lost:
# it then gets a fresh LIMIT_NS (its socket holds some seconds of heartbeats).
HELD_UP_NS = 1_000 * MS
READY_S = 10.0
END_S = 2.0
ERRORS_FILE = "keeper.err"


@dataclass(frozen=True, slots=True)
class KeeperLost:
    """The keeper is gone and its lines were taken over.

    ``replies`` tell what the keeper can't tell any more; ``safe`` is False when the lines could
    not be claimed: the outputs are then unknown.
    """

    why: str
    safe: bool
    at_ns: int
    replies: tuple[Reply, ...]


def setup_of(rig: Rig, run: Path) -> Setup:
    """Give what a keeper must know of a rig; its journal is in the run-time folder ``run``."""
    return Setup(
        lines=tuple(rig.lines()),
        rules=tuple(rig.rules()),
        driver=rig.lamp.driver,
        options=board_options(rig, run),
        journal=str(run / JOURNAL),
    )


class KeeperLink:
    """A running keeper process. Make one with ``KeeperLink.start``."""

    def __init__(self, setup: Setup, run: Path, ready_s: float) -> None:
        self._setup = setup
        self._run = run
        self._ready_s = ready_s
        self._early: list[Reply] = []  # to be given by the next receive
        self._asked: dict[int, tuple[Pulse, int]] = {}  # pulses that have not ended, and since when
        self._lit_ns: dict[str, int] = {}  # by output, the edges of a pulse that has not ended
        self._dark_ns: dict[str, int] = {}
        self._lost = False  # there is no keeper now
        self.notes: tuple[str, ...] = ()
        self._begin()

    @classmethod
    def start(cls, setup: Setup, *, run: Path, ready_s: float = READY_S) -> KeeperLink:
        """Start a keeper and wait until it holds the lines.

        ``run`` is the run-time folder. Raises PortFault with the keeper's own sentence.
        """
        return cls(setup, run, ready_s)

    @property
    def pid(self) -> int:
        """The keeper's process number."""
        return self._child.pid

    def fileno(self) -> int:
        """Give the descriptor for a selector: readable when the keeper said something or died."""
        return self._wire.fileno()

    @property
    def until_ns(self) -> int:
        """When ``check`` must be called at the latest."""
        until_ns = self._watch.until_ns
        assert until_ns is not None  # the watch begins with a time
        return until_ns

    def send(self, message: Message) -> None:
        """Tell the keeper something; a pulse that can't be told comes back as refused.

        Anything else that can't be told needs no answer: the keeper does not read, or is gone,
        and ``check`` is about to find out.
        """
        sent = Sent.GONE if self._lost else self._wire.send(message)
        if isinstance(message, Pulse):
            if sent is Sent.SENT:
                self._asked[message.id] = (message, monotonic_ns())
            else:
                self._early.append(Refused(message.id, "the keeper does not listen"))

    def beat(self, now_ns: int) -> None:
        """Send the engine's heartbeat."""
        self.send(Beat(now_ns))

    def receive(self, now_ns: int) -> list[Reply]:
        """Give everything that the keeper said, in order; never waits."""
        self._read(now_ns)
        replies, self._early = self._early, []
        return replies

    def check(self, now_ns: int) -> KeeperLost | None:
        """Judge the keeper; if it is silent or dead, take its lines over before returning.

        What it had said before comes first in ``KeeperLost.replies``. Call ``restart`` next.
        """
        if self._lost:
            return None
        if self._read(now_ns):
            return self._take_over("the keeper has ended")
        overdue = [
            pulse.id
            for pulse, asked_ns in self._asked.values()
            if now_ns > asked_ns + pulse.duration_ns + NEVER_ENDS_NS
        ]
        if overdue:
            return self._take_over("the keeper did not tell the end of a pulse")
        if self._watch.silent(now_ns):
            silent_ms = (now_ns - (self._watch.last_ns or now_ns)) / 1e6
            return self._take_over(f"the keeper was silent for {silent_ms:.0f} ms")
        return None

    def restart(self) -> None:
        """Start a new keeper after one was lost. Raises PortFault."""
        if not self._lost:
            raise RuntimeError("only a lost keeper is replaced")
        self._begin()

    def close(self) -> KeeperLost | None:
        """End the keeper in order; gives what happened if that needed force."""
        if self._lost:
            return None
        self._child.send_signal(signal.SIGTERM)
        if self._ended(END_S) and self._child.wait() == 0:
            self._read(monotonic_ns())
            self._let_go()
            self._rescuer.release()
            return None
        return self._take_over("the keeper did not end in order")

    # -- inside ------------------------------------------------------------------------------

    def _begin(self) -> None:
        # before the keeper: when it fails there is no time to prepare anything
        self._rescuer: Rescuer = find_outputs(self._setup.driver).rescuer(
            self._setup.lines, self._setup.options
        )
        near, far = pair()
        # never a terminal: a write to one can wait for ever
        with far, (self._run / ERRORS_FILE).open("wb") as errors:
            self._child = subprocess.Popen(
                [sys.executable, "-P", "-m", "drivers.keeper_process", "--fd", str(far.fileno())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=errors,
                pass_fds=[far.fileno()],
                start_new_session=True,
                # where lgpio makes its pipe; a working folder may be read-only
                env={"LG_WD": str(self._run), **os.environ},
            )
        self._pidfd = os.pidfd_open(self._child.pid)
        self._wire: Wire[FromKeeper] = Wire(near, FromKeeper)
        self._lost = False
        try:
            pid_files.note(self._run / pid_files.KEEPER_FILE, self._child.pid)
            self._wire.send(self._setup)
            self.notes = self._await_ready()
        except BaseException:
            # nothing was ever lit: lines are claimed at their safe level
            self._child.kill()
            self._child.wait()
            self._rescuer.release()
            self._let_go()
            raise
        now_ns = monotonic_ns()
        self._watch = Watch(LIMIT_NS, now_ns)
        self._read_ns = now_ns

    def _await_ready(self) -> tuple[str, ...]:
        until_ns = monotonic_ns() + int(self._ready_s * 1e9)
        while (left_ns := until_ns - monotonic_ns()) > 0:
            if not select.select([self._wire], (), (), left_ns / 1e9)[0]:
                break
            received = self._wire.receive_all(most=1)
            for message in received.messages:
                if isinstance(message, Ready):
                    return message.notes
                if isinstance(message, Failed):
                    raise PortFault(message.why)
            if received.closed:
                raise PortFault(f"the keeper ended before it was ready: {self._last_error()}")
        raise PortFault(f"the keeper was not ready after {self._ready_s:g} s")

    def _last_error(self) -> str:
        lines = (self._run / ERRORS_FILE).read_text(errors="replace").split("\n")
        return next((line for line in reversed(lines) if line.strip()), "it did not say why")

    def _read(self, now_ns: int) -> bool:
        """Read all that is waiting; True when the keeper is dead."""
        if now_ns - self._read_ns > HELD_UP_NS:
            self._watch.heard(now_ns, now_ns)
        self._read_ns = now_ns
        if self._lost:
            return True  # and what it had said has been read
        received = self._wire.receive_all()
        for message in received.messages:
            match message:
                case Alive():
                    self._watch.heard(now_ns, message.sent_ns)
                case Edge():
                    if message.lit:
                        self._lit_ns.setdefault(message.output, message.at_ns)
                    elif message.lit is False:
                        self._dark_ns[message.output] = message.at_ns
                    self._early.append(message)
                case Ended():
                    self._forget(message.id, message.output)
                    self._early.append(message)
                case Refused():
                    self._asked.pop(message.id, None)
                    self._early.append(message)
                case Ready() | Failed():
                    pass  # said at the start, and never again
        return received.closed or self._ended(0.0)

    def _forget(self, pulse_id: int, output: str) -> None:
        self._asked.pop(pulse_id, None)
        self._lit_ns.pop(output, None)
        self._dark_ns.pop(output, None)

    def _ended(self, timeout_s: float) -> bool:
        return bool(select.select([self._pidfd], (), (), timeout_s)[0])

    def _take_over(self, why: str) -> KeeperLost:
        self._child.kill()
        gone = self._ended(TAKE_OVER_NS / 1e9)  # only its exit frees the lines
        safe = self._rescuer.make_safe(monotonic_ns() + TAKE_OVER_NS) if gone else False
        at_ns = monotonic_ns()
        if gone:
            self._child.wait()
        self._read(at_ns)  # its last words stay readable after its death
        replies, self._early = self._early, []
        replies += self._last_words(at_ns, safe=safe)
        self._rescuer.release()
        self._let_go()
        return KeeperLost(why, safe, at_ns, tuple(replies))

    def _last_words(self, at_ns: int, *, safe: bool) -> list[Reply]:
        """Say for the dead keeper what it would have: the state now, and how each pulse ended.

        A pulse of which no edge was heard may have been lit ever since it was asked for: the
        worst is told.
        """
        words: list[Reply] = [
            Edge(rule.name, rule.safe_lit if safe else None, at_ns) for rule in self._setup.rules
        ]
        for pulse, asked_ns in list(self._asked.values()):
            on_ns = self._lit_ns.get(pulse.output, asked_ns)
            off_ns = at_ns
            if pulse.output in self._lit_ns:
                off_ns = max(on_ns, self._dark_ns.get(pulse.output, at_ns))
            words.append(Ended(pulse.id, pulse.output, on_ns, off_ns, Cause.LOST))
            self._forget(pulse.id, pulse.output)
        return words

    def _let_go(self) -> None:
        self._lost = True
        self._wire.close()
        os.close(self._pidfd)
        pid_files.forget(self._run / pid_files.KEEPER_FILE)
