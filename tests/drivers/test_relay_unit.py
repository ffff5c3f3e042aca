"""The relay unit's driver against its firmware: a process of its own behind a pseudo-terminal."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic_ns

import pytest

from controller.keeper import MS, Cause, Edge, Ended, Pulse, Put
from controller.ports import Bounded, Line, PortFault, Tended
from drivers import relay_unit
from drivers.keeper_words import Ready, Setup
from drivers.relay_port import Port
from drivers.relay_unit import RelayBoard, RelayUnit
from tests.drivers.kept import RULES, RawKeeper, wait_for
from tests.drivers.relay_bench import KINDS, LINES, SAFE, RelayBench

pytestmark = pytest.mark.real

HOUSE = Path(__file__).parents[2]
LONG_NS = 300_000 * MS


@pytest.fixture(params=KINDS)
def any_bench(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[RelayBench]:
    bench = RelayBench(tmp_path, request.param)
    yield bench
    bench.end()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[RelayBench]:
    bench = RelayBench(tmp_path)
    yield bench
    bench.end()


@pytest.fixture
def board(bench: RelayBench) -> Iterator[RelayBoard]:
    board = RelayUnit.open(LINES, bench.options())
    yield board
    board.close()


def tend_until(board: RelayBoard, true: Callable[[list[str]], object]) -> list[str]:
    """Be the keeper's loop until something is so of the outputs that became doubtful."""
    doubted: list[str] = []

    def turn() -> object:
        doubted.extend(board.alive(monotonic_ns()))
        return true(doubted)

    wait_for(turn)
    return doubted


# --- switching ------------------------------------------------------------------------------


def test_lights_are_switched_and_read_back(any_bench: RelayBench) -> None:
    """Every kind of line is switched by the unit, read back, and safe after the opening."""
    board = RelayUnit.open(LINES, any_bench.options())
    try:
        assert [board.read(line.name) for line in LINES] == [False, False, True]
        assert any_bench.levels() == SAFE
        board.write_for("lamp", True, 1_000 * MS)
        board.write("bench", True)
        board.write("nominated", False)
        assert any_bench.levels() == {"lamp": 1, "bench": 1, "nominated": 0}
        assert [board.read(line.name) for line in LINES] == [True, True, False]
        board.write("lamp", False)
        assert any_bench.level("lamp") == 0
        tend_until(board, lambda _: board.read("bench"))
    finally:
        board.close()


def test_the_unit_keeps_an_on_time_by_itself(any_bench: RelayBench) -> None:
    """A lamp whose host forgets to put it off goes off by the unit's own clock, not before."""
    board = RelayUnit.open(LINES, any_bench.options(dead_ms=5_000))
    try:
        board.write_for("lamp", True, 200 * MS)
        wait_for(lambda: any_bench.level("lamp") == 0)
        (on_us, *_), (off_us, *_) = any_bench.writes()[-2:]
        assert off_us - on_us >= 200_000
        # and it is told as what it is: not what was ordered
        assert set(tend_until(board, lambda doubted: doubted)) == {line.name for line in LINES}
    finally:
        board.close()


def test_the_unit_measures(board: RelayBoard, bench: RelayBench) -> None:
    """The unit's own measure of an on-time agrees with what its pins noted."""
    assert board.lasted_ns("lamp") is None
    board.write_for("lamp", True, 1_000 * MS)
    board.write("lamp", False)
    (on_us, *_), (off_us, *_) = bench.writes()[-2:]
    lasted_ns = board.lasted_ns("lamp")
    assert lasted_ns is not None
    # each is stamped once more by its own process: they agree but for what that takes
    assert abs(lasted_ns - (off_us - on_us) * 1000) < 500 * MS


def test_the_board_is_of_the_optional_kinds(board: RelayBoard) -> None:
    """The keeper recognises that the board has a dead-man timer and a clock of its own."""
    assert isinstance(board, Tended)
    assert isinstance(board, Bounded)


# --- the dead-man timer -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "state"),
    [
        *(("cpython", state) for state in ("idle", "lit", "paused", "setting-up", "half-said")),
        ("micropython", "lit"),
        ("micropython", "half-said"),
    ],
)
def test_a_killed_host_leaves_everything_safe(
    tmp_path: Path, kind: str, state: str, request: pytest.FixtureRequest
) -> None:
    """A host that is killed in any state leaves a unit that brings every output to safety."""
    any_bench = RelayBench(tmp_path, kind)
    request.addfinalizer(any_bench.end)
    host = subprocess.Popen(
        [sys.executable, "-m", "tests.drivers.relay_host", str(any_bench.port), state],
        cwd=HOUSE,
        stdout=subprocess.PIPE,
    )
    assert host.stdout is not None
    assert host.stdout.readline() == b"ready\n"
    if state != "setting-up":
        assert any_bench.levels() != SAFE
    host.kill()
    host.wait()
    host.stdout.close()
    wait_for(lambda: any_bench.levels() == SAFE)
    again = RelayUnit.open(LINES, any_bench.options())  # and the next host finds it well
    assert [again.read(line.name) for line in LINES] == [False, False, True]
    again.close()


def test_only_the_loop_feeds_the_timer(board: RelayBoard, bench: RelayBench) -> None:
    """A process that lives, with a loop that does not, is as good as dead; it is told so."""
    board.write_for("lamp", True, LONG_NS)
    wait_for(lambda: bench.level("lamp") == 0)
    assert "lamp" in tend_until(board, lambda doubted: doubted)
    with pytest.raises(PortFault):
        board.write("lamp", True)


def test_a_living_loop_keeps_it_lit(bench: RelayBench) -> None:
    """While the loop lives a lamp stays lit beyond the dead-man time.

    A busy machine may hold up the loop itself for as long: then it is tried again.
    """
    for _ in range(5):
        board = RelayUnit.open(LINES, bench.options(dead_ms=600, answer_ms=150))
        try:
            board.write_for("lamp", True, LONG_NS)
            until_ns = monotonic_ns() + 1_000 * MS
            doubted = tend_until(board, lambda _, until=until_ns: monotonic_ns() > until)  # type: ignore[misc]
            if not doubted and bench.level("lamp") == 1:
                return
        except PortFault:
            pass
        finally:
            board.close()
    raise AssertionError("the lamp went off under a loop that lives")


# --- when the line is bad -----------------------------------------------------------------------


def test_noise_is_borne(board: RelayBoard, bench: RelayBench) -> None:
    """An answer that arrives garbled is asked for again, and the command is carried out once."""
    before = len(bench.writes())
    bench.say(b"\x00\xffyes 1 put no")  # the next answer is joined to it, and cannot be read
    board.write_for("lamp", True, LONG_NS)
    assert [level for _, _, level in bench.writes()[before:]] == [1]
    assert board.read("lamp") is True


def test_a_lost_answer_is_never_called_off(bench: RelayBench) -> None:
    """While a unit does not answer its outputs are unknown, and an order to put off is a fault."""
    board = RelayUnit.open(LINES, bench.options(answer_ms=20))
    try:
        board.write_for("lamp", True, LONG_NS)
        bench.freeze(frozen=True)
        with pytest.raises(PortFault, match="its outputs are unknown"):
            board.write("lamp", False)
        assert board.read("lamp") is None
        with pytest.raises(PortFault):
            board.write("lamp", False)
        bench.freeze(frozen=False)
        assert set(tend_until(board, lambda _: board.read("lamp") is not None)) == set(SAFE)
        assert board.read("lamp") is False
        assert bench.levels() == SAFE
    finally:
        board.close()


def test_pulled_out_and_in_again_while_idle(bench: RelayBench, board: RelayBoard) -> None:
    """A unit that was unplugged is unknown until it is back; then it is safe, and serves again."""
    board.write("bench", True)
    bench.unplug()
    assert set(tend_until(board, lambda doubted: doubted)) == set(SAFE)
    assert board.read("bench") is None
    with pytest.raises(PortFault, match="the relay unit at"):
        board.write("lamp", False)
    bench.plug_in()
    tend_until(board, lambda _: board.read("bench") is not None)
    assert [board.read(line.name) for line in LINES] == [False, False, True]
    board.write_for("lamp", True, LONG_NS)
    assert bench.level("lamp") == 1


def test_another_unit_in_its_place_is_refused(bench: RelayBench, tmp_path: Path) -> None:
    """With its name in the rig file no other unit is taken for the one that was meant."""
    with pytest.raises(PortFault, match="is 'test-bench' and the rig file asks for 'other'"):
        RelayUnit.open(LINES, bench.options(id="other"))
    RelayUnit.open(LINES, bench.options(id="test-bench")).close()


# --- taking over --------------------------------------------------------------------------------


def test_a_rescuer_takes_the_unit_over(bench: RelayBench) -> None:
    """While the owner lives the unit can't be taken; once it is gone all is safe at once."""
    board = RelayUnit.open(LINES, bench.options(dead_ms=5_000))
    board.write_for("lamp", True, LONG_NS)
    rescuer = RelayUnit.rescuer(LINES, bench.options())
    assert not rescuer.make_safe(monotonic_ns())
    assert bench.level("lamp") == 1
    board.close()
    assert bench.level("lamp") == 1  # let go of as it was
    assert rescuer.make_safe(monotonic_ns() + 5_000 * MS)
    assert bench.levels() == SAFE
    rescuer.release()
    RelayUnit.open(LINES, bench.options()).close()


def test_a_rescuer_without_a_unit_does_not_promise(bench: RelayBench) -> None:
    """What no unit confirms is not called safe."""
    rescuer = RelayUnit.rescuer(LINES, bench.options())
    bench.unplug()
    assert not rescuer.make_safe(monotonic_ns() + 50 * MS)
    rescuer.release()


# --- the keeper's process on a relay unit --------------------------------------------------------


@pytest.fixture
def keeper(
    bench: RelayBench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[RawKeeper]:
    # registered here too, for an installation that is older than this driver
    package = tmp_path / "packages" / "relay_test-1.dist-info"
    package.mkdir(parents=True)
    (package / "METADATA").write_text("Metadata-Version: 2.1\nName: relay-test\nVersion: 1\n")
    (package / "entry_points.txt").write_text(
        "[dryside.outputs]\nrelay-unit = drivers.relay_unit:RelayUnit\n"
    )
    paths = [str(HOUSE), str(package.parent), os.environ.get("PYTHONPATH", "")]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(path for path in paths if path))
    keeper = RawKeeper()
    lines = (Line("lamp", 0), Line("safelight", 2, active_low=True, normally_closed=True))
    keeper.send(Setup(lines, RULES, "relay-unit", bench.options(dead_ms=800)))
    keeper.serve_until(lambda: keeper.of(Ready))
    yield keeper
    keeper.end()


def lit(keeper: RawKeeper, name: str) -> list[bool | None]:
    return [e.lit for e in keeper.of(Edge) if isinstance(e, Edge) and e.output == name]


def light(keeper: RawKeeper, bench: RelayBench, duration_ns: int) -> None:
    keeper.send(Pulse(1, "lamp", duration_ns, monotonic_ns() + 1_000 * MS))
    keeper.serve_until(lambda: lit(keeper, "lamp"))
    assert lit(keeper, "lamp") == [True]
    assert [level for _, pin, level in bench.writes() if pin == 2][-1] == 1


def test_the_keeper_exposes_through_the_unit(keeper: RawKeeper, bench: RelayBench) -> None:
    """A pulse is ended by the keeper at its deadline, which lies beyond the dead-man time."""
    light(keeper, bench, 1_000 * MS)
    keeper.serve_until(lambda: keeper.of(Ended))
    (ended,) = keeper.of(Ended)
    assert isinstance(ended, Ended)
    assert ended.cause is Cause.DEADLINE
    (on_us, *_), (off_us, *_) = [each for each in bench.writes() if each[1] == 2][-2:]
    # a deadline counts from when lighting was begun: edges differ as the two answers do
    assert ended.off_ns - ended.on_ns >= 850 * MS
    assert off_us - on_us >= 850_000


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGSTOP])
def test_a_keeper_that_dies_or_freezes_is_a_dark_lamp(
    keeper: RawKeeper, bench: RelayBench, how: signal.Signals
) -> None:
    """Killed or stopped, the keeper lights nothing any more: the unit sees to it."""
    light(keeper, bench, 30_000 * MS)
    os.kill(keeper.process.pid, how)
    wait_for(lambda: bench.levels() == SAFE)
    keeper.process.kill()


def test_unplugged_while_lit_is_a_fault(keeper: RawKeeper, bench: RelayBench) -> None:
    """Pulled out under a lit lamp: unknown at once, a fault, and off only when it was confirmed."""
    keeper.send(Put("safelight", False))
    keeper.serve_until(lambda: keeper.of(Edge))
    light(keeper, bench, 30_000 * MS)
    bench.unplug()
    keeper.serve_until(lambda: None in lit(keeper, "lamp") and None in lit(keeper, "safelight"))
    assert not keeper.of(Ended)
    assert lit(keeper, "lamp")[-1] is None
    bench.plug_in()
    keeper.serve_until(lambda: keeper.of(Ended) and lit(keeper, "safelight")[-1] is not None)
    (ended,) = keeper.of(Ended)
    assert isinstance(ended, Ended)
    assert ended.cause is Cause.FAULT
    assert lit(keeper, "lamp")[-1] is False
    assert lit(keeper, "safelight")[-1] is True


# --- what is wrong in the rig file ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ({}, "port = None: it should be the path"),
        ({"port": "ttyACM0"}, "it should be the path"),
        ({"port": "/dev/x", "baud": 1}, "baud is not known; right would be port, id"),
        ({"port": "/dev/x", "dead_ms": 50}, "dead_ms = 50: it should be a whole number from 100"),
        ({"port": "/dev/x", "answer_ms": True}, "answer_ms = True: it should be a whole number"),
        ({"port": "/dev/x", "id": 7}, "id = 7: it should be a word"),
        ({"port": "/dev/x", "answer_ms": 80}, "at most a quarter of dead_ms = 300"),
        ({"port": "/nowhere/port"}, "it is not there; see that it is plugged in"),
        ({"port": "/dev/null"}, "it is not a serial port"),
    ],
)
def test_wrong_options(options: dict[str, object], sentence: str) -> None:
    """What is wrong with an option is one sentence that says what would be right."""
    with pytest.raises(PortFault, match=sentence):
        RelayUnit.open(LINES, options)


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([Line("lamp", "GPIO17")], "'GPIO17' should be the number of an output"),
        ([Line("lamp", 3)], "has the outputs 0 to 2, and no 3"),
        ([Line("lamp", 0), Line("lamp", 1)], "two outputs are called 'lamp'"),
        ([Line("lamp", 0), Line("other", "0")], "given to both 'lamp' and 'other'"),
        ([Line("lamp", 0, active_low=True)], 'either active = "high" is right'),
        ([Line("lamp", 2)], 'either active = "low" is right'),
    ],
)
def test_wrong_lines(bench: RelayBench, lines: list[Line], sentence: str) -> None:
    """A line that the unit does not have, or that would be energised at rest, is refused."""
    with pytest.raises(PortFault, match=sentence):
        RelayUnit.open(lines, bench.options())
    assert bench.levels() == SAFE


def test_a_time_beyond_the_builders_limit(board: RelayBoard, bench: RelayBench) -> None:
    """A lamp that is to burn longer than its builder allows is refused, with both remedies."""
    with pytest.raises(PortFault, match=r"allows at most 600 s; make longest_on_s shorter"):
        board.write_for("lamp", True, 601_000 * MS)
    assert bench.levels() == SAFE
    with pytest.raises(PortFault, match="there is no output 'door'"):
        board.write("door", True)


def test_a_port_has_one_owner(board: RelayBoard, bench: RelayBench) -> None:
    """A unit that another program holds is not shared with it."""
    with pytest.raises(PortFault, match="held by another program; end that program"):
        RelayUnit.open(LINES, bench.options())


def test_something_else_at_the_port(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A port at which nobody answers is no relay unit."""
    monkeypatch.setattr(relay_unit, "_OPEN_NS", 50 * MS)
    near, far = pty.openpty()
    try:
        with pytest.raises(PortFault, match="it does not answer; see that it is plugged in"):
            RelayUnit.open(LINES, {"port": os.ttyname(far)})
        Port(os.ttyname(far)).close()  # and it was let go of
    finally:
        os.close(near)
        os.close(far)
