"""The engine's end of the keeper: a keeper that is lost is replaced, and nothing burns on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic_ns

import msgspec
import pytest

from controller.keeper import MS, AllSafe, Cause, Edge, Ended, Pulse, Put, Refused, Reply
from controller.ports import PortFault
from drivers import pid_files
from drivers.all_safe import safe_now
from drivers.keeper_link import HELD_UP_NS, LIMIT_NS, KeeperLink, KeeperLost
from tests.drivers.kept import (
    BEAT_NS,
    LINES,
    PROMISE_NS,
    RawKeeper,
    setup_in,
    wait_for,
    wire_edges,
)

pytestmark = pytest.mark.real


class Engine:
    """The least loop that an engine has."""

    def __init__(self, folder: Path) -> None:
        self.link = KeeperLink.start(setup_in(folder), run=folder)
        self.heard: list[Reply] = []
        self.lost: list[KeeperLost] = []
        self._beat_ns = 0

    def serve_until(self, true: Callable[[], object], timeout_s: float = 5.0) -> None:
        until_ns = monotonic_ns() + int(timeout_s * 1e9)
        while not true():
            now_ns = monotonic_ns()
            assert now_ns < until_ns, f"it did not happen in time; heard: {self.heard[-5:]}"
            if now_ns >= self._beat_ns:
                self.link.beat(now_ns)
                self._beat_ns = now_ns + BEAT_NS
            self.heard += self.link.receive(now_ns)
            lost = self.link.check(monotonic_ns())
            if lost is not None:
                self.lost.append(lost)
                self.heard += lost.replies
            time.sleep(0.002)

    def pulse(self, number: int, duration_ns: int) -> None:
        now_ns = monotonic_ns()
        self.link.beat(now_ns)
        self.link.send(Pulse(number, "lamp", duration_ns, now_ns + 1_000 * MS))

    def ended(self) -> list[Ended]:
        return [reply for reply in self.heard if isinstance(reply, Ended)]


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    engine = Engine(tmp_path)
    yield engine
    engine.link.close()


def burn(engine: Engine, folder: Path) -> None:
    engine.pulse(1, 30_000 * MS)
    engine.serve_until(lambda: [e for e in engine.heard if isinstance(e, Edge) and e.lit])
    assert wire_edges(folder)[-1].lit


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_a_keeper_that_dies_or_freezes_is_replaced(
    engine: Engine, tmp_path: Path, number: signal.Signals
) -> None:
    """Lamp off within 250 ms, its end told with the real times, and the next keeper works."""
    engine.link.send(Put("safelight", False))
    burn(engine, tmp_path)
    on, *_ = wire_edges(tmp_path)
    dead = engine.link.pid
    killed_ns = monotonic_ns()
    os.kill(dead, number)
    engine.serve_until(lambda: engine.lost)

    off = wire_edges(tmp_path)[-1]
    assert not off.lit
    assert off.at_ns - killed_ns <= PROMISE_NS
    assert wire_edges(tmp_path, "safelight")[-1].lit
    (lost,) = engine.lost
    assert lost.safe
    assert not Path(f"/proc/{dead}").exists()
    (ended,) = engine.ended()
    assert (ended.id, ended.cause) == (1, Cause.LOST)
    assert 0 <= ended.on_ns - on.at_ns <= 50 * MS
    assert 0 <= ended.off_ns - off.at_ns <= 50 * MS
    told = {reply.output: reply.lit for reply in lost.replies if isinstance(reply, Edge)}
    assert told == {"lamp": False, "safelight": True}

    engine.link.send(Pulse(2, "lamp", 10 * MS, monotonic_ns() + 1_000 * MS))
    assert [type(reply) for reply in engine.link.receive(monotonic_ns())] == [Refused]
    engine.link.restart()
    assert engine.link.pid != dead
    engine.pulse(3, 20 * MS)
    engine.serve_until(lambda: len(engine.ended()) == 2)
    assert engine.ended()[-1].cause is Cause.DEADLINE
    assert len(engine.lost) == 1


def test_a_pulse_of_which_nothing_was_heard_is_told_at_its_worst(
    engine: Engine, tmp_path: Path
) -> None:
    """A keeper killed before it said anything may have lit the lamp since it was asked."""
    os.kill(engine.link.pid, signal.SIGSTOP)
    before_ns = monotonic_ns()
    engine.pulse(1, 1_000 * MS)
    engine.serve_until(lambda: engine.lost)
    (ended,) = engine.ended()
    assert ended.cause is Cause.LOST
    assert before_ns <= ended.on_ns <= before_ns + 50 * MS
    assert ended.off_ns == engine.lost[0].at_ns


def test_silence_is_judged_after_reading(engine: Engine) -> None:
    """A keeper is lost when silent beyond the limit, and not when the engine did not read."""
    time.sleep(0.3)
    assert engine.link.check(monotonic_ns()) is None
    # so long without reading that the socket may have been full: the keeper gets a fresh limit
    assert engine.link.check(monotonic_ns() + 2 * HELD_UP_NS) is None


def test_silence_is_counted_from_what_was_said(engine: Engine) -> None:
    """With everything read, silence beyond the limit is a loss, and the sentence says so."""
    engine.link.receive(monotonic_ns())
    assert engine.link.until_ns <= monotonic_ns() + LIMIT_NS
    os.kill(engine.link.pid, signal.SIGSTOP)
    engine.link.receive(monotonic_ns())
    lost = engine.link.check(engine.link.until_ns)
    assert lost is not None
    assert "silent for 100 ms" in lost.why


def test_a_keeper_that_ends_by_itself_is_lost(engine: Engine, tmp_path: Path) -> None:
    """Its own account of the pulse is believed, and told once."""
    burn(engine, tmp_path)
    os.kill(engine.link.pid, signal.SIGTERM)
    engine.serve_until(lambda: engine.lost)
    (ended,) = engine.ended()
    assert ended.cause is Cause.SAFE
    assert engine.lost[0].safe


def test_closing_ends_the_keeper_in_order(tmp_path: Path) -> None:
    """After close the lamp is off, the last words are there to read, and no note is left."""
    engine = Engine(tmp_path)
    burn(engine, tmp_path)
    pid = engine.link.pid
    assert pid_files.find(tmp_path / pid_files.KEEPER_FILE) is not None
    assert engine.link.close() is None
    engine.heard += engine.link.receive(monotonic_ns())
    assert engine.ended()[-1].cause is Cause.SAFE
    assert not wire_edges(tmp_path)[-1].lit
    assert not Path(f"/proc/{pid}").exists()
    assert not (tmp_path / pid_files.KEEPER_FILE).exists()
    assert engine.link.close() is None


def test_a_keeper_that_cannot_begin_says_why(tmp_path: Path) -> None:
    """The sentence of the driver reaches whoever starts, and nothing is left running."""
    with pytest.raises(PortFault, match="does not open"):
        KeeperLink.start(setup_in(tmp_path, fail="open-fails"), run=tmp_path)
    with pytest.raises(PortFault, match="'pear'"):
        KeeperLink.start(msgspec.structs.replace(setup_in(tmp_path), driver="pear"), run=tmp_path)
    with pytest.raises(PortFault, match=r"not ready after 0\.001 s"):
        KeeperLink.start(setup_in(tmp_path), run=tmp_path, ready_s=0.001)
    assert not (tmp_path / pid_files.KEEPER_FILE).exists()


def test_no_false_alarm_beside_busy_processes(engine: Engine, tmp_path: Path) -> None:
    """Six busy processes cost neither side a heartbeat (DRYSIDE_SOAK_S seconds, else three)."""
    soak_s = float(os.environ.get("DRYSIDE_SOAK_S", "3"))
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(6)]
    try:
        until_ns = monotonic_ns() + int(soak_s * 1e9)
        burn(engine, tmp_path)
        number = 1
        while monotonic_ns() < until_ns:
            engine.serve_until(lambda: monotonic_ns() >= until_ns or engine.ended(), 31.0)
            if engine.ended():
                assert [ended.cause for ended in engine.ended()] == [Cause.DEADLINE]
                engine.heard.clear()
                number += 1
                engine.pulse(number, 30_000 * MS)
        assert not engine.lost
        assert not engine.ended()
        engine.link.send(AllSafe())
        engine.serve_until(engine.ended)
        assert engine.ended()[0].cause is Cause.SAFE
    finally:
        for process in busy:
            process.kill()
            process.wait()


# --- safe, whoever held it ------------------------------------------------------------------

ENGINE = """
import os, sys, time
from pathlib import Path
from drivers import pid_files
from tests.drivers.test_keeper_link import Engine
folder = Path(sys.argv[1])
pid_files.note(folder / pid_files.ENGINE_FILE, os.getpid())
engine = Engine(folder)
engine.pulse(1, 30_000_000_000)
engine.serve_until(lambda: False, 60)
"""


@pytest.mark.parametrize("frozen", ["nothing", "engine", "keeper", "both"])
def test_safe_stops_whoever_held_the_lines(tmp_path: Path, frozen: str) -> None:
    """An engine and a keeper that live or are frozen are stopped, and the lamp is off."""
    root = Path(__file__).parents[2]
    engine = subprocess.Popen(
        [sys.executable, "-c", ENGINE, str(tmp_path)], cwd=root, stderr=subprocess.DEVNULL
    )
    keeper = None
    try:
        wait_for(lambda: (tmp_path / "wire").exists() and wire_edges(tmp_path), 10)
        keeper = pid_files.find(tmp_path / pid_files.KEEPER_FILE)
        assert keeper is not None
        if frozen in ("engine", "both"):
            engine.send_signal(signal.SIGSTOP)
        if frozen in ("keeper", "both"):
            keeper.send(signal.SIGSTOP)
        made = safe_now(LINES, "sim", {"wire": str(tmp_path / "wire")}, run=tmp_path)
        assert made.safe
        assert "lit: safelight" in made.did[-1]
        assert "engine" in made.did[0]
        assert not wire_edges(tmp_path)[-1].lit
        assert engine.wait(5) != 0
        assert keeper.ended(5)
    finally:
        engine.kill()
        engine.wait()
        if keeper is not None:
            keeper.send(signal.SIGKILL)
            keeper.close()


def test_safe_says_when_another_program_holds_the_lines(tmp_path: Path) -> None:
    """A holder that is nobody's note is left alone, and the state is called unknown."""
    holder = RawKeeper()
    try:
        holder.send(setup_in(tmp_path))
        holder.serve_until(lambda: holder.heard)
        made = safe_now(LINES, "sim", {"wire": str(tmp_path / "wire")}, run=tmp_path)
        assert not made.safe
        assert "unknown" in made.did[-1]
        assert holder.process.poll() is None
    finally:
        holder.end()


def test_a_process_number_that_was_used_again_is_not_found(tmp_path: Path) -> None:
    """The same number with another start time, or from another boot, is a stranger."""
    path = tmp_path / "note"
    pid_files.note(path, os.getpid())
    found = pid_files.find(path)
    assert found is not None
    found.close()
    noted = msgspec.json.decode(path.read_bytes(), type=pid_files.Noted)
    for wrong in ({"started": noted.started + 1}, {"boot": "another"}):
        path.write_bytes(msgspec.json.encode(msgspec.structs.replace(noted, **wrong)))
        assert pid_files.find(path) is None
    path.write_text("pear")
    assert pid_files.find(path) is None
