"""The keeper as a process: ``python -P -m drivers.keeper_process --fd N``.

Started by exec with one end of a socket pair; the first message is a ``Setup``, the answer
``Ready`` or ``Failed``. From then on this loop drives ``controller.keeper.Keeper`` on the
monotonic clock: sleep to shortly before the next deadline, spin the rest while listening.

However the process ends in order (SIGTERM, SIGHUP, SIGINT, the engine's end of the socket
closed), the lamp goes off at once and every output to its safe state first. It never forks: a
child would keep the lines.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import select
import signal
import socket
import sys
from collections import deque
from collections.abc import Sequence
from time import monotonic_ns, sleep
from types import FrameType

from controller.keeper import (
    MS,
    Alive,
    AllSafe,
    Beat,
    Ended,
    Keeper,
    Message,
    Reply,
    Step,
    Write,
)
from controller.ports import Bounded, Outputs, PortFault, Tended
from drivers.keeper_words import CLOSED, Failed, Ready, Setup, ToKeeper
from drivers.realtime import become_realtime
from drivers.wire import Sent, Wire, encode

SPIN_NS = MS // 4  # a sleep overshoots by some 0.1 ms (measured); a longer spin gained nothing
ALIVE_NS = 20 * MS
QUIET_NS = MS  # so near a deadline nothing is done that could wait
SETUP_S = 10.0
LAST_WORD_NS = 1_000 * MS  # how long to insist on the safe state before giving up
MOST_WAITING = 4_096  # replies for an engine that does not read

_ENDING_SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT)


class _Signals:
    """Turns the signals that end the keeper into something a selector sees."""

    def __init__(self) -> None:
        self.asked_to_end = False
        self.fd, self._far = os.pipe()
        os.set_blocking(self._far, False)
        signal.set_wakeup_fd(self._far, warn_on_full_buffer=False)
        for number in _ENDING_SIGNALS:
            signal.signal(number, self._came)

    def _came(self, _number: int, _frame: FrameType | None) -> None:
        self.asked_to_end = True


class _Loop:
    """Drives the core; knows the outputs, the wire and the clock."""

    def __init__(
        self, wire: Wire[ToKeeper], outputs: Outputs, setup: Setup, signals: _Signals
    ) -> None:
        self._wire = wire
        self._outputs = outputs
        self._bounded = outputs if isinstance(outputs, Bounded) else None
        self._tended = outputs if isinstance(outputs, Tended) else None
        self._signals = signals
        self._core = Keeper(setup.rules, silence_ns=setup.silence_ns)
        self._safe = {rule.name: rule.safe_lit for rule in setup.rules}
        self._journal: int | None = None
        if setup.journal is not None:
            flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC
            self._journal = os.open(setup.journal, flags, 0o600)
        self._waiting: deque[Reply] = deque(maxlen=MOST_WAITING)
        self._next_ns: int | None = None
        self._alive_ns = monotonic_ns()
        self._complained: set[str] = set()

    def run(self) -> None:
        """Keep, until the engine's end is closed or a signal asks to end."""
        while not self._signals.asked_to_end:
            received = self._wire.receive_all()
            for bad in received.bad:
                self._complain(str(bad))
            if received.closed:
                return  # what was still waiting has nobody behind it any more
            self._take(received.messages)
            self._say_alive()
            self._wait()

    def close_journal(self) -> None:
        """Note that everything there was to note has been noted."""
        if self._journal is not None:
            with contextlib.suppress(OSError):
                os.write(self._journal, CLOSED + b"\n")

    def make_safe(self) -> bool:
        """Bring every output to its safe state; False when that did not succeed in time."""
        until_ns = monotonic_ns() + LAST_WORD_NS
        self._do(self._core.step(monotonic_ns(), AllSafe()))
        while self._core.lit != self._safe and monotonic_ns() < until_ns:
            sleep(0.001)
            self._tend(monotonic_ns())
            self._do(self._core.step(monotonic_ns()))
        return self._core.lit == self._safe

    def _take(self, messages: Sequence[ToKeeper]) -> None:
        """Step the core with all that was waiting: heartbeats first, so none is judged late."""
        beat: Beat | None = None
        others: list[Message] = []
        for message in messages:
            if isinstance(message, Beat):
                if beat is None or message.sent_ns > beat.sent_ns:
                    beat = message
            elif isinstance(message, Setup):
                self._complain("a keeper is set up only once; a second Setup was left out")
            else:
                others.append(message)
        self._do(self._core.step(monotonic_ns(), beat))
        for message in others:
            self._do(self._core.step(monotonic_ns(), message))

    def _do(self, step: Step) -> None:
        writes = deque(step.writes)
        replies = list(step.replies)
        self._next_ns = step.next_ns
        while writes:
            write = writes.popleft()
            began_ns = monotonic_ns()
            try:
                self._write(write)
                ok = True
            except Exception as error:  # whatever a driver raises, the state is unknown
                ok = False
                self._complain(f"{write.output}: {error}")
            done = self._core.wrote(monotonic_ns(), write, ok=ok, began_ns=began_ns)
            writes.extend(done.writes)
            replies.extend(done.replies)
            self._next_ns = done.next_ns
            # A board on a serial line takes its time for each write. It is not tended here: what
            # it doubts would be told before the replies to what was just written.
            self._say_alive(tend=False)
        if replies:
            self._answer(replies)

    def _write(self, write: Write) -> None:
        if write.most_ns is not None and self._bounded is not None:
            self._bounded.write_for(write.output, write.lit, write.most_ns)
        else:
            self._outputs.write(write.output, write.lit)

    def _tend(self, now_ns: int) -> None:
        """Feed the board's own dead-man timer, and hear which outputs it has brought to safety."""
        if self._tended is None:
            return
        try:
            doubted = self._tended.alive(now_ns)
        except Exception as error:  # whatever a driver raises, nothing is known any more
            self._complain(str(error))
            doubted = list(self._safe)
        for name in doubted:
            if name in self._safe:
                self._do(self._core.doubted(monotonic_ns(), name))

    def _answer(self, replies: Sequence[Reply]) -> None:
        self._waiting.extend(replies)
        self._flush()
        if self._journal is None:
            return
        for reply in replies:
            if isinstance(reply, Ended):  # its lamp has just gone off, and only one is ever lit
                try:
                    os.write(self._journal, encode(reply) + b"\n")
                except OSError as error:
                    self._complain(f"the journal could not be written: {error.strerror}")

    def _flush(self) -> None:
        while self._waiting and self._wire.send(self._waiting[0]) is not Sent.FULL:
            self._waiting.popleft()

    def _say_alive(self, *, tend: bool = True) -> None:
        now_ns = monotonic_ns()
        if now_ns < self._alive_ns or self._is_near(now_ns, QUIET_NS):
            return
        self._flush()
        if not self._waiting:
            self._wire.send(Alive(now_ns))
        self._alive_ns = now_ns + ALIVE_NS
        if tend:
            self._tend(now_ns)

    def _is_near(self, now_ns: int, margin_ns: int) -> bool:
        return self._next_ns is not None and self._next_ns - now_ns <= margin_ns

    def _wait(self) -> None:
        """Return when something is to be heard, a deadline was kept, or "alive" is due."""
        ears = [self._wire.fileno(), self._signals.fd]
        while True:
            now_ns = monotonic_ns()
            spinning = self._is_near(now_ns, SPIN_NS)
            if spinning:
                timeout_ns = 0
            else:
                wake_ns = self._alive_ns
                if self._next_ns is not None:
                    # near a deadline "alive" waits, so the deadline alone counts
                    near_ns = self._next_ns - SPIN_NS
                    wake_ns = near_ns if self._is_near(now_ns, QUIET_NS) else min(wake_ns, near_ns)
                timeout_ns = max(0, wake_ns - now_ns)
            if select.select(ears, (), (), timeout_ns / 1e9)[0]:
                return
            if not spinning:
                if monotonic_ns() >= self._alive_ns and not self._is_near(now_ns, QUIET_NS):
                    return
                continue
            # nothing is waiting, so the core may judge. Stepping it all through the spin keeps
            # its code in the processor's caches: the edge comes some 50 µs nearer to its time
            step = self._core.step(monotonic_ns())
            self._next_ns = step.next_ns
            if step.writes:
                self._do(step)
                return

    def _complain(self, sentence: str) -> None:
        """Tell something once on the error output, which the engine sends to a file."""
        if sentence not in self._complained and len(self._complained) < 100:
            self._complained.add(sentence)
            with contextlib.suppress(OSError):
                print(sentence, file=sys.stderr, flush=True)


def _write_safe(outputs: Outputs, setup: Setup) -> None:
    """Drive every output to its safe state past a core that has failed."""
    for rule in sorted(setup.rules, key=lambda rule: not rule.lamp):  # the lamp first
        with contextlib.suppress(Exception):
            outputs.write(rule.name, rule.safe_lit)


def _hear_setup(wire: Wire[ToKeeper], signals: _Signals) -> Setup | None:
    """Wait for the first message; None when nobody speaks. Raises PortFault."""
    until_ns = monotonic_ns() + int(SETUP_S * 1e9)
    while not signals.asked_to_end and (left_ns := until_ns - monotonic_ns()) > 0:
        if not select.select([wire.fileno(), signals.fd], (), (), left_ns / 1e9)[0]:
            break
        received = wire.receive_all(most=1)
        if received.bad:
            raise PortFault(f"the keeper's setup is wrong: {received.bad[0]}")
        for message in received.messages:
            if isinstance(message, Setup):
                return message
            raise PortFault(
                f"the first message to a keeper must be its setup, not {type(message).__name__}"
            )
        if received.closed:
            break
    return None


def _open(setup: Setup) -> Outputs:
    from drivers.found import find_outputs  # here: looking up entry points takes a while

    return find_outputs(setup.driver).open(setup.lines, setup.options)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the keeper; gives the exit code: 0 all safe, 1 not, 2 could not begin."""
    parser = argparse.ArgumentParser(prog="keeper", description="Holds the outputs.")
    parser.add_argument("--fd", type=int, required=True, help="the engine's socket")
    signals = _Signals()
    wire: Wire[ToKeeper] = Wire(socket.socket(fileno=parser.parse_args(arguments).fd), ToKeeper)
    loop: _Loop | None = None
    outputs: Outputs | None = None
    try:
        setup = _hear_setup(wire, signals)
        if setup is None:
            return 0
        outputs = _open(setup)
        loop = _Loop(wire, outputs, setup, signals)
    except Exception as error:
        wire.send(Failed(str(error) or type(error).__name__))
        if outputs is not None:
            outputs.close()
        return 2
    try:
        wire.send(Ready(become_realtime(), os.getpid()))
        loop.run()
        safe = loop.make_safe()
        if safe:
            loop.close_journal()
    except BaseException:
        _write_safe(outputs, setup)
        raise
    finally:
        outputs.close()
    return 0 if safe else 1


if __name__ == "__main__":
    sys.exit(main())
