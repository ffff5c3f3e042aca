"""The keeper as a real process, on the imagined board: what its wire shows is what counts."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from time import monotonic_ns

import pytest

from controller.keeper import (
    MS,
    Alive,
    AllSafe,
    Beat,
    Cause,
    Cut,
    Edge,
    Ended,
    Pulse,
    Put,
    Refused,
    Reply,
)
from drivers.keeper_words import Failed, Ready, Setup, read_journal
from drivers.wire import Sent
from tests.drivers.kept import (
    PROMISE_NS,
    SLACK_NS,
    RawKeeper,
    setup_in,
    wait_for,
    wire_edges,
)

pytestmark = pytest.mark.real


@pytest.fixture
def raw() -> Iterator[RawKeeper]:
    keeper = RawKeeper()
    yield keeper
    keeper.end()


@pytest.fixture
def keeper(raw: RawKeeper, tmp_path: Path) -> RawKeeper:
    raw.send(setup_in(tmp_path))
    raw.serve_until(lambda: raw.of(Ready))
    return raw


def light(keeper: RawKeeper, tmp_path: Path, *, duration_ns: int = 30_000 * MS) -> None:
    """Light the lamp, and serve until its wire shows it."""
    keeper.send(Beat(monotonic_ns()))
    keeper.send(Pulse(1, "lamp", duration_ns, monotonic_ns() + 1_000 * MS))
    keeper.serve_until(lambda: wire_edges(tmp_path))
    assert [edge.lit for edge in wire_edges(tmp_path)] == [True]


def ended(keeper: RawKeeper) -> Ended:
    (only,) = keeper.of(Ended)
    assert isinstance(only, Ended)
    return only


def test_a_pulse_is_measured_and_as_long_as_asked(keeper: RawKeeper, tmp_path: Path) -> None:
    """A pulse is never short, hardly long, and its edges are those of the wire."""
    light(keeper, tmp_path, duration_ns=150 * MS)
    keeper.serve_until(lambda: keeper.of(Ended))
    pulse = ended(keeper)
    on, off = wire_edges(tmp_path)
    assert pulse.cause is Cause.DEADLINE
    assert 148 * MS <= pulse.off_ns - pulse.on_ns <= 150 * MS + SLACK_NS
    # the wire is stamped before the write and the keeper's edge after it
    assert 0 <= pulse.on_ns - on.at_ns <= SLACK_NS
    assert 0 <= pulse.off_ns - off.at_ns <= SLACK_NS


def test_silence_of_the_engine_puts_the_lamp_off(keeper: RawKeeper, tmp_path: Path) -> None:
    """An engine that lives but says nothing: off 250 ms after its last heartbeat."""
    light(keeper, tmp_path)
    keeper.beating = False
    last_ns = monotonic_ns()
    keeper.send(Beat(last_ns))
    keeper.serve_until(lambda: keeper.of(Ended))
    assert ended(keeper).cause is Cause.SILENCE
    _, off = wire_edges(tmp_path)
    assert PROMISE_NS <= off.at_ns - last_ns <= PROMISE_NS + SLACK_NS


def test_a_keeper_that_was_held_up_blames_nobody(keeper: RawKeeper, tmp_path: Path) -> None:
    """Heartbeats that waited while the keeper was frozen are read before silence is judged."""
    light(keeper, tmp_path)
    keeper.process.send_signal(signal.SIGSTOP)
    until_ns = monotonic_ns() + 400 * MS
    keeper.serve_until(lambda: monotonic_ns() > until_ns)
    keeper.send(Beat(monotonic_ns()))
    keeper.process.send_signal(signal.SIGCONT)
    until_ns = monotonic_ns() + 100 * MS
    keeper.serve_until(lambda: monotonic_ns() > until_ns)
    assert not keeper.of(Ended)
    keeper.send(Cut(1))
    keeper.serve_until(lambda: keeper.of(Ended))
    assert ended(keeper).cause is Cause.CUT


def test_the_end_of_the_engine_puts_the_lamp_off(keeper: RawKeeper, tmp_path: Path) -> None:
    """The engine's end of the socket closed: lamp off at once, all safe, and noted for the book."""
    keeper.send(Put("safelight", False))
    light(keeper, tmp_path)
    closed_ns = monotonic_ns()
    keeper.wire.close()
    assert keeper.process.wait(5) == 0
    off = wire_edges(tmp_path)[-1]
    assert not off.lit
    assert off.at_ns - closed_ns <= SLACK_NS
    assert [edge.lit for edge in wire_edges(tmp_path, "safelight")] == [False, True]
    (noted,) = read_journal(tmp_path / "journal")
    assert (noted.id, noted.cause) == (1, Cause.SAFE)
    assert noted.off_ns - off.at_ns <= SLACK_NS


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_ends_it_in_order(
    keeper: RawKeeper, tmp_path: Path, number: signal.Signals
) -> None:
    """SIGTERM, SIGHUP and SIGINT: lamp off, its end told, exit code 0."""
    light(keeper, tmp_path)
    keeper.process.send_signal(number)
    sent_ns = monotonic_ns()
    keeper.serve_until(lambda: keeper.closed)
    assert keeper.process.wait(5) == 0
    assert wire_edges(tmp_path)[-1].at_ns - sent_ns <= SLACK_NS
    assert not wire_edges(tmp_path)[-1].lit
    assert ended(keeper).cause is Cause.SAFE


def test_a_late_pulse_is_refused(keeper: RawKeeper, tmp_path: Path) -> None:
    """A command that comes late is a fault, never a late action."""
    keeper.send(Pulse(1, "lamp", 100 * MS, monotonic_ns() - 10 * MS))
    keeper.serve_until(lambda: keeper.of(Refused))
    assert wire_edges(tmp_path) == []


def test_it_says_that_it_lives(keeper: RawKeeper) -> None:
    """The keeper's own heartbeat comes every 20 ms or so, lamp lit or not."""
    until_ns = monotonic_ns() + 600 * MS
    keeper.serve_until(lambda: monotonic_ns() > until_ns)
    assert 15 <= len(keeper.of(Alive)) <= 33


def test_a_failing_write_is_told_as_unknown(raw: RawKeeper, tmp_path: Path) -> None:
    """A board that does not answer once: unknown, then tried again until it is off."""
    raw.send(setup_in(tmp_path, fail="write-fails-once=0"))
    raw.serve_until(lambda: raw.of(Ready))
    raw.send(Beat(monotonic_ns()))
    raw.send(Pulse(1, "lamp", 1_000 * MS, monotonic_ns() + 1_000 * MS))
    raw.serve_until(lambda: raw.of(Ended))
    assert ended(raw).cause is Cause.FAULT
    states = [message.lit for message in raw.of(Edge) if isinstance(message, Edge)]
    assert states == [None, False]


def test_an_unsafe_end_is_not_called_safe(raw: RawKeeper, tmp_path: Path) -> None:
    """When the board can't be made safe the exit code says so."""
    raw.send(setup_in(tmp_path, fail="write-fails-after=1"))
    raw.serve_until(lambda: raw.of(Ready))
    light(raw, tmp_path)
    raw.process.terminate()
    assert raw.process.wait(5) == 1


def test_a_bad_message_spoils_only_itself(keeper: RawKeeper, tmp_path: Path) -> None:
    """Nonsense on the wire is left out; what follows is obeyed."""
    keeper.sock.send(b'{"type": "pulse", "id": "pear"}')
    keeper.sock.send(b"\xff\x00")
    light(keeper, tmp_path)
    keeper.send(AllSafe())
    keeper.serve_until(lambda: keeper.of(Ended))


def test_it_cannot_begin_without_its_lines(
    raw: RawKeeper, keeper: RawKeeper, tmp_path: Path
) -> None:
    """A second keeper of the same lines fails in a sentence, and takes nothing."""
    other = RawKeeper()
    other.send(setup_in(tmp_path))
    other.serve_until(lambda: other.of(Failed))
    (failed,) = other.of(Failed)
    assert isinstance(failed, Failed)
    assert "another program" in failed.why
    assert other.process.wait(5) == 2
    other.end()


@pytest.mark.parametrize(
    ("first", "why"),
    [
        (Setup((), (), "pear"), "'pear'"),
        (Beat(0), "must be its setup, not Beat"),
    ],
)
def test_a_wrong_setup_is_answered(raw: RawKeeper, first: Setup | Beat, why: str) -> None:
    """An unknown driver, or anything but a setup, is answered with a sentence."""
    raw.send(first)
    raw.serve_until(lambda: raw.of(Failed))
    (failed,) = raw.of(Failed)
    assert isinstance(failed, Failed)
    assert why in failed.why
    assert raw.process.wait(5) == 2


def test_it_holds_no_child_and_has_a_session_of_its_own(keeper: RawKeeper) -> None:
    """A keeper never forks, and signals of the terminal don't reach it."""
    pid = keeper.process.pid
    assert Path(f"/proc/{pid}/task/{pid}/children").read_text() == ""
    assert os.getsid(pid) == pid


def test_it_loads_nothing_heavy() -> None:
    """The keeper's start waits for none of the libraries that only the others need."""
    code = (
        "import sys, drivers.keeper_process, drivers.found, sim.board;"
        "print(*{name.split('.')[0] for name in sys.modules})"
    )
    loaded = subprocess.run(
        [sys.executable, "-P", "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    heavy = {"pydantic", "numpy", "scipy", "sqlalchemy", "textual", "PIL", "typer", "gpiozero"}
    assert "msgspec" in loaded
    assert not heavy & set(loaded)


def test_replies_wait_for_an_engine_that_does_not_read(keeper: RawKeeper, tmp_path: Path) -> None:
    """A full socket loses no end of a pulse: it is told when the engine reads again."""
    keeper.send(Beat(monotonic_ns()))
    for _ in range(600):
        for message in (Put("safelight", False), Put("safelight", True), Beat(monotonic_ns())):
            wait_for(lambda message=message: keeper.wire.send(message) is Sent.SENT)
    keeper.send(Beat(monotonic_ns()))
    keeper.send(Pulse(1, "lamp", 20 * MS, monotonic_ns() + 5_000 * MS))
    wait_for(lambda: len(wire_edges(tmp_path)) == 2)
    keeper.serve_until(lambda: keeper.of(Ended))
    edges: list[Reply] = [m for m in keeper.heard if isinstance(m, Edge) and m.output == "lamp"]
    assert len(edges) == 2
    assert len(keeper.of(Edge)) == 1_202
