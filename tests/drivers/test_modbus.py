"""The Modbus board in virtual time: opening, switching, losing and finding it again."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

import pytest

from controller.keeper import MS, Beat, Ended, Keeper, OutputRule, Pulse, Step, Write
from controller.ports import Line, PortFault, Tended
from controller.rig.modbus import ModbusOptions
from drivers.modbus import MOST_NS, Board, BoardRescuer, ModbusOutputs
from tests.drivers.modbus_line import CLEAN, LINES, BadLine, Faults, Relays

OPTIONS = ModbusOptions(BadLine.name, baud=115200)
PATIENT = ModbusOptions(BadLine.name, baud=9600, timeout_ms=40)
SLOW = ModbusOptions(BadLine.name, baud=9600)


def line_to(relays: Relays | None = None) -> BadLine:
    return BadLine(relays or Relays(), Random(1))


def open_on(line: BadLine, lines: Sequence[Line] = LINES) -> Board:
    board = Board(lines, line, OPTIONS)
    line.relays.heard.clear()
    return board


def functions(line: BadLine) -> list[int]:
    return [frame[1] for frame in line.relays.heard]


def settle(line: BadLine) -> None:
    line.faults = CLEAN
    line.rest(line.now_ns() + 250 * MS)


# --- opening --------------------------------------------------------------------------------


def test_opening_a_board_at_rest_writes_nothing() -> None:
    """Coils that are off already are only read, so that no relay clicks."""
    line = line_to()
    board = Board(LINES, line, OPTIONS)
    assert set(functions(line)) == {1}
    assert [board.read(each.name) for each in LINES] == [False, True, False, False]


def test_opening_switches_off_what_is_on_and_ours() -> None:
    """Coils that are on are switched off, neighbours together; a stranger's coil stays."""
    line = line_to()
    for coil in (0, 1, 3, 5):
        line.relays.put(coil, on=True)
    Board(LINES, line, OPTIONS)
    assert [i for i, on in enumerate(line.relays.coils) if on] == [3]
    assert [f for f in functions(line) if f != 1] == [15, 5]


def test_a_board_without_function_0f() -> None:
    """A board that cannot write several coils is told one by one."""
    line = line_to(Relays(refuses=(15,)))
    for coil in (0, 1, 2):
        line.relays.put(coil, on=True)
    Board(LINES, line, OPTIONS)
    assert not any(line.relays.coils)


UNFIT = [
    (lambda line: setattr(line, "plugged", False), "there is no port"),
    (lambda line: setattr(line, "held", True), "the port is held"),
    (lambda line: setattr(line, "faults", Faults(lost=1)), "does not answer; see that it is pow"),
    (lambda line: setattr(line, "faults", Faults(echo=1)), "gives back all that it sends"),
    (lambda line: line.relays.__init__(refuses=(1,)), "needs a board whose coils can be read ba"),
    (lambda line: setattr(line, "frame_ns", 20 * MS), "takes 4. ms for an answer"),
    (lambda line: setattr(line, "frame_ns", 40 * MS), "and timeout_ms as long as it thinks"),
    (lambda line: (line.relays.put(0, on=True), line.relays.stuck.add(0)), "cannot be put off"),
]


@pytest.mark.parametrize(("change", "sentence"), UNFIT)
def test_what_is_unfit_is_not_opened(change: Any, sentence: str) -> None:
    """A board that is not there, not free or not fit is refused in a sentence, and let go."""
    line = line_to()
    change(line)
    with pytest.raises(PortFault, match=sentence):
        Board(LINES, line, PATIENT)
    assert not line.is_open


def test_a_coil_that_the_board_has_not() -> None:
    """An address that the board refuses is told so."""
    with pytest.raises(PortFault, match="it has no such coil; Dryside needs"):
        Board([Line("lamp", 0), Line("room", 40)], line_to(), OPTIONS)


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([Line("lamp", "GPIO17")], "output 'lamp', address: 'GPIO17' is no coil of a Modbus bo"),
        ([Line("lamp", -1)], "output 'lamp', address: -1 is no coil"),
        ([Line("lamp", 0, active_low=True)], "output 'lamp', active: a coil that is off must l"),
        ([Line("lamp", 0), Line("room", "0")], "coil 0 is given to both 'lamp' and 'room'"),
        ([Line("lamp", 0), Line("lamp", 1)], "two outputs are called 'lamp'"),
        ([Line("lamp", 0), Line("room", 64)], "coils 0 and 64 are too far apart to be read back"),
    ],
)
def test_bad_lines(lines: list[Line], sentence: str) -> None:
    """A line that no such board can have is refused by name, with what would be right."""
    with pytest.raises(PortFault, match=sentence):
        Board(lines, line_to(), OPTIONS)


def test_bad_options() -> None:
    """A wrong option is refused, by its table and key, by opening and by preparing a rescue."""
    for act in (ModbusOutputs.open, ModbusOutputs.rescuer):
        with pytest.raises(PortFault) as caught:
            act(LINES, {"port": "/dev/ttyUSB0", "unit": 0})
        assert str(caught.value) == (
            "[board.modbus] unit: 0 is no Modbus address; right would be a number from 1 to 247"
        )


# --- switching ------------------------------------------------------------------------------


def test_every_command_is_read_back() -> None:
    """A write is a command and a reading; lit is said of the light."""
    line = line_to()
    board = open_on(line)
    for each in LINES:
        for lit in (not each.safe_lit, each.safe_lit):
            board.write(each.name, lit)
            assert board.read(each.name) is lit
    assert functions(line) == [5, 1, 1] * 8
    assert not any(line.relays.coils)
    with pytest.raises(PortFault, match="no output 'lmap' on this board, only 'lamp'"):
        board.write("lmap", False)


def test_on_is_told_once() -> None:
    """An "on" that is not answered is followed by "off", and never told again."""
    line = line_to()
    board = open_on(line)
    line.faults = Faults(lost=1)
    sent: list[bytes] = []
    send = line.send
    line.send = lambda data: (sent.append(data), send(data))  # type: ignore[method-assign]
    with pytest.raises(PortFault, match=r"whether 'lamp' is on is unknown: unit 1 at .* does not"):
        board.write("lamp", True)
    assert [frame[4] for frame in sent if frame[1] == 5][:2] == [0xFF, 0]
    assert sum(frame[4] == 0xFF for frame in sent) == 1
    assert board.read("lamp") is None
    settle(line)
    board.write("lamp", False)
    assert board.read("lamp") is False


def test_off_is_told_again() -> None:
    """An "off" that is not answered is told again, but only for so long."""
    line = line_to()
    board = open_on(line)
    board.write("lamp", True)
    line.faults = Faults(lost=1)
    line.relays.heard.clear()
    began_ns = line.now_ns()
    with pytest.raises(PortFault, match="does not answer"):
        board.write("lamp", False)
    assert line.now_ns() - began_ns <= MOST_NS + 5 * MS
    line.faults = Faults(lost=0.6)
    tries = 0
    while line.relays.coils[0]:
        tries += 1
        try:
            board.write("lamp", False)
        except PortFault:
            continue
    assert tries < 10


def test_a_coil_that_does_not_obey() -> None:
    """A board that answers and does not switch is found out by the read-back."""
    line = line_to()
    board = open_on(line)
    line.relays.stuck = {0}
    with pytest.raises(PortFault, match=r"'lamp' could not be switched on .the board reads it ba"):
        board.write("lamp", True)
    line.relays.stuck = set()
    board.write("lamp", True)
    line.relays.stuck = {0}
    with pytest.raises(PortFault, match=r"coil 0 at .* is read back as still on"):
        board.write("lamp", False)


def test_a_late_answer_is_not_taken_for_a_new_one() -> None:
    """After a lost answer nothing is energised or read before no old one can come any more."""
    line = line_to()
    board = open_on(line)
    board.write("lamp", True)
    line.faults = Faults(lost=1)
    with pytest.raises(PortFault):
        board.write("lamp", False)
    line.faults = CLEAN
    assert board.read("lamp") is None
    with pytest.raises(PortFault, match="'bench' was not switched: a moment ago"):
        board.write("bench", True)
    board.write("lamp", False)  # but off is told at once, and believed
    assert not line.relays.coils[0]
    settle(line)
    board.write("bench", True)
    assert board.read("lamp") is False


# --- losing it ------------------------------------------------------------------------------


def test_unplugged_and_back_while_idle() -> None:
    """An adapter that was away while nothing was asked is found again without a word."""
    line = line_to()
    board = open_on(line)
    board.write("bench", True)
    line.unplug()
    assert board.read("bench") is None
    line.replug()
    line.relays.heard.clear()
    board.write("lamp", True)
    assert functions(line) == [1, 5, 1]  # the coils are read before anything is energised
    assert board.read("bench") is True


def test_unplugged_while_lit() -> None:
    """A lamp whose adapter is away is unknown until the adapter is back, and off was read."""
    line = line_to()
    board = open_on(line)
    board.write("lamp", True)
    line.unplug()
    for _ in range(3):
        with pytest.raises(PortFault, match="there is no port"):
            board.write("lamp", False)
        assert board.read("lamp") is None
    assert line.relays.coils[0]
    line.replug()
    board.write("lamp", False)
    assert not line.relays.coils[0]


def test_a_pulled_cable_is_noticed() -> None:
    """What is energised is unknown as soon as the cable is pulled, once; what is not is no loss."""
    line = line_to()
    board = open_on(line)
    assert isinstance(board, Tended)
    line.unplug()
    assert board.alive(0) == []
    line.replug()
    board.write("lamp", True)
    board.write("bench", True)
    assert board.alive(0) == []
    line.unplug()
    assert board.alive(0) == ["bench", "lamp"]
    assert board.alive(0) == []
    line.replug()
    board.write("lamp", False)
    assert not any(line.relays.coils)  # and what was unknown besides is off too


def test_a_board_that_lost_its_power() -> None:
    """Where lights are not as last switched, the next that is lit is a fault, and named."""
    line = line_to()
    board = open_on(line)
    board.write("ceiling", False)
    board.write("bench", True)
    line.relays.power_up()
    with pytest.raises(PortFault, match="did not have 'bench', 'ceiling' as last switched"):
        board.write("lamp", True)
    assert not any(line.relays.coils)
    assert board.alive(0) == ["bench", "ceiling"]
    board.write("lamp", True)  # told once
    assert board.alive(0) == []


def test_a_coil_that_came_on_by_itself() -> None:
    """A coil that somebody else switched on is switched off at the next reading, and told."""
    line = line_to()
    board = open_on(line)
    line.relays.put(5, on=True)
    board.write("bench", False)
    assert not line.relays.coils[5]
    with pytest.raises(PortFault, match="did not have 'room' as last switched"):
        board.write("lamp", True)


def test_a_closed_board() -> None:
    """A closed board opens its port for nobody, and leaves the coils as they are."""
    line = line_to()
    board = open_on(line)
    board.write("lamp", True)
    board.close()
    with pytest.raises(PortFault, match="was closed"):
        board.write("lamp", False)
    assert board.read("lamp") is None
    assert line.relays.coils[0]


# --- taking it over -------------------------------------------------------------------------


def test_a_rescue_on_a_bad_line() -> None:
    """Every coil is switched off and read back, whatever it takes within the time."""
    line = line_to()
    for coil in (0, 1, 3, 5):
        line.relays.put(coil, on=True)
    line.faults = Faults(lost=0.4, damaged=0.2)
    rescuer = BoardRescuer(LINES, line, OPTIONS)
    assert not line.is_open
    assert rescuer.make_safe(line.now_ns() + 5_000 * MS)
    assert [i for i, on in enumerate(line.relays.coils) if on] == [3]
    rescuer.release()
    assert not line.is_open


def test_a_rescue_that_fails() -> None:
    """Safe is not said of a port that is held or a coil that stays on; one try is always made."""
    line = line_to()
    line.relays.put(0, on=True)
    line.held = True
    rescuer = BoardRescuer(LINES, line, OPTIONS)
    assert not rescuer.make_safe(line.now_ns() + 100 * MS)
    line.held = False
    line.relays.stuck = {0}
    line.relays.put(5, on=True)
    assert not rescuer.make_safe(line.now_ns() + 100 * MS)
    assert not line.relays.coils[5]  # what obeys is safe all the same
    line.relays.stuck = set()
    assert rescuer.make_safe(0)
    assert not any(line.relays.coils)


# --- and its owner --------------------------------------------------------------------------


def test_a_pulse_on_a_slow_board_is_as_long_as_asked() -> None:
    """A board that takes 40 ms to confirm makes no pulse longer: both edges wait alike."""
    line = line_to()
    board = Board(LINES, line, SLOW)
    line.frame_ns = 9 * MS
    keeper = Keeper([OutputRule("lamp", safe_lit=False, lamp=True, longest_ns=10_000 * MS)])
    edges: list[int] = []
    take = line.relays.take

    def took(frame: bytes) -> bytes:
        before = line.relays.coils[0]
        answer = take(frame)
        if line.relays.coils[0] is not before:
            edges.append(line.board_ns)
        return answer

    line.relays.take = took  # type: ignore[method-assign]
    replies: list[object] = []

    def do(step: Step) -> int | None:
        writes: list[Write] = list(step.writes)
        next_ns = step.next_ns
        replies.extend(step.replies)
        while writes:
            write = writes.pop(0)
            began_ns = line.now_ns()
            board.write(write.output, write.lit)
            done = keeper.wrote(line.now_ns(), write, began_ns=began_ns)
            writes += done.writes
            replies.extend(done.replies)
            next_ns = done.next_ns
        return next_ns

    line.rest(line.now_ns() + 10 * MS)  # the silence between two frames
    do(keeper.step(line.now_ns(), Beat(line.now_ns())))
    pulse = Pulse(1, "lamp", 200 * MS, line.now_ns() + 100 * MS)
    next_ns = do(keeper.step(line.now_ns(), pulse))
    assert next_ns is not None
    while next_ns is not None:
        line.rest(next_ns)
        next_ns = do(keeper.step(line.now_ns()))
    (ended,) = [each for each in replies if isinstance(each, Ended)]
    on_ns, off_ns = edges
    assert off_ns - on_ns == pytest.approx(200 * MS, abs=MS)
    # what is measured hangs on when the answers came, which this line leaves to chance
    assert ended.off_ns - ended.on_ns == pytest.approx(200 * MS, abs=10 * MS)
