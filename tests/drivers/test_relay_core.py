"""The relay unit's firmware core, in counted time: what it promises in any sequence of events."""

from __future__ import annotations

import random
import re
import subprocess
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.firmware import board, core
from drivers.firmware.core import ARMED, LATCHED, MET, NEW, Unit, seal, unseal
from tests.drivers.relay_bench import FIRMWARE, micropython

OUTPUTS: list[tuple[int, int | None]] = [(0, 60), (0, None), (1, None)]
SAFE = [0, 0, 1]
USED = "0-1"  # the second output is not used
DEAD_US = 300_000


class Host:
    """Speaks to a unit in counted time, and keeps what it said."""

    def __init__(self) -> None:
        self.unit = Unit("unit", OUTPUTS, 0)
        self.now_us = 0
        self.seq = 0
        self.told: list[list[str]] = []
        self.pins = list(SAFE)
        self.next_us: int | None = None
        self.step()

    def step(self, received: bytes = b"", seen: list[int] | None = None) -> list[list[str]]:
        """Step once, now; gives the answers, and keeps what was told."""
        writes, lines, self.next_us = self.unit.step(self.now_us, received, seen)
        for index, level in writes:
            self.pins[index] = level
        words = [unseal(line[:-1]) for line in lines]
        assert None not in words
        spoken = [each for each in words if each is not None]
        self.told += [each[2:] for each in spoken if each[0] == "tell"]
        return [each for each in spoken if each[0] != "tell"]

    def ask(self, *words: str | int) -> list[str]:
        """Ask, and give the one answer without its number."""
        self.seq += 1
        (answer,) = self.step(self.line(*words))
        assert answer[1] == str(self.seq)
        return [answer[0], *answer[2:]]

    def line(self, *words: str | int) -> bytes:
        return seal(" ".join(["ask", str(self.seq), *(str(word) for word in words)]))

    def arm(self) -> None:
        assert self.ask("hello", 1, "me")[0] == "yes"
        assert self.ask("setup", USED, DEAD_US // 1000, 60_000)[0] == "yes"

    def wait(self, us: int) -> None:
        """Let time go by, stepping when the unit asked for it."""
        until_us = self.now_us + us
        while self.next_us is not None and self.next_us <= until_us:
            self.now_us = self.next_us
            self.step()
            assert self.next_us is None or self.next_us > self.now_us, "it did not do what was due"
        self.now_us = until_us


@pytest.fixture
def host() -> Host:
    return Host()


@pytest.fixture
def armed(host: Host) -> Host:
    host.arm()
    return host


def test_nothing_is_lit_before_the_unit_is_set_up(host: Host) -> None:
    """Before an introduction and a setup a unit says that it started, and lights nothing."""
    assert host.told == [["start", "unit", "0"]]
    assert host.ask("put", 0, 1, 1000) == ["no", "order", NEW]
    assert host.ask("setup", USED, 300, 1000) == ["no", "order", NEW]
    assert host.ask("hello", 1, "me") == ["yes", "hello", "1", "me", "unit", "001", "60,-,-", "0"]
    assert host.ask("put", 0, 1, 1000) == ["no", "order", MET]
    assert host.ask("arm") == ["no", "order", MET]
    assert host.pins == SAFE


def test_an_on_time_is_kept_by_the_units_own_clock(armed: Host) -> None:
    """An output goes back when its bound is over, told and remembered with measured times."""
    armed.now_us = 1000
    assert armed.ask("put", 0, 1, 150_000) == ["yes", "put", "0", "1", "1000", "0"]
    assert armed.pins == [1, 0, 1]
    armed.wait(149_999)
    assert armed.pins == [1, 0, 1]
    armed.wait(1)
    assert armed.pins == SAFE
    assert armed.told[-1] == ["back", "0", "1000", "151000", "bound"]
    assert armed.ask("last", 0) == ["yes", "last", "0", "1000", "151000", "bound"]
    assert armed.unit.mode == ARMED


def test_a_return_says_how_long_it_was(armed: Host) -> None:
    """An output that is brought back is answered with the time that it was away."""
    armed.ask("put", 2, 0, "-")
    armed.wait(1234)
    assert armed.ask("put", 2, 1, "-") == ["yes", "put", "2", "1", "1234", "1234"]
    assert armed.ask("last", 2) == ["yes", "last", "2", "0", "1234", "asked"]
    assert armed.ask("put", 2, 1, "-")[-1] == "0"


def test_silence_turns_everything_off_and_is_latched(armed: Host) -> None:
    """After the dead-man time all is safe, and nothing is lit before the unit is armed anew."""
    armed.ask("put", 0, 1, 60_000_000)
    armed.ask("put", 2, 0, "-")
    armed.wait(DEAD_US - 1)
    assert armed.pins == [1, 0, 0]
    armed.wait(1)
    assert armed.pins == SAFE
    assert [each[0] for each in armed.told[-3:]] == ["back", "back", "latched"]
    assert armed.ask("put", 0, 1, 1000) == ["no", "order", LATCHED]
    assert armed.ask("alive")[2] == LATCHED
    assert armed.ask("arm")[0] == "yes"
    assert armed.ask("put", 0, 1, 1000)[0] == "yes"


def test_heartbeats_keep_it_armed(armed: Host) -> None:
    """With a heartbeat in time an output without a bound stays as long as it is wanted."""
    armed.ask("put", 2, 0, "-")
    for _ in range(100):
        armed.wait(DEAD_US - 1)
        assert armed.ask("alive")[2:4] == [ARMED, "000"]
    assert armed.pins == [0, 0, 0]


def test_time_is_judged_before_what_is_waiting(armed: Host) -> None:
    """A heartbeat that is read after the dead-man time comes too late, whenever it was sent."""
    armed.ask("put", 2, 0, "-")
    armed.now_us += DEAD_US
    assert armed.ask("alive")[2] == LATCHED
    assert armed.pins == SAFE


def test_a_repetition_changes_and_feeds_nothing(armed: Host) -> None:
    """The same line again gives the same answer again, lights nothing twice and is no heartbeat."""
    armed.ask("put", 0, 1, 1000)
    line = armed.line("put", 0, 1, 1000)
    armed.wait(1000)
    assert armed.pins == SAFE
    assert armed.step(line) == [["yes", str(armed.seq), "put", "0", "1", "0", "0"]]
    assert armed.pins == SAFE
    for _ in range(3):
        armed.wait(DEAD_US // 3)
        armed.step(line)
    assert armed.unit.mode == LATCHED


def test_an_old_number_is_refused(armed: Host) -> None:
    """A command with a number that was used, or is older, is refused and not carried out."""
    newest = armed.seq
    for seq in (newest, newest - 1):
        armed.seq = seq - 1
        assert armed.ask("put", 0, 1, 1000) == ["no", "old", str(newest)]
    assert armed.pins == SAFE


def test_a_bound_is_only_ever_made_shorter(armed: Host) -> None:
    """Asking again for what is lit already can't keep it lit for longer, only for less."""
    armed.ask("put", 0, 1, 100_000)
    armed.wait(50_000)
    armed.ask("put", 0, 1, 60_000)
    armed.wait(50_000)
    assert armed.pins == SAFE
    armed.ask("put", 0, 1, 100_000)
    armed.ask("put", 0, 1, 10)
    armed.wait(10)
    assert armed.pins == SAFE


@pytest.mark.parametrize("bound", ["-", "0", "60000001", "-5", "x"])
def test_a_lamp_needs_a_bound_within_the_limit(armed: Host, bound: str) -> None:
    """An output that its builder limited is lit for a time within the limit, or not at all."""
    assert armed.ask("put", 0, 1, bound) == ["no", "bound", "60000000"]
    assert armed.pins == SAFE


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (("setup", "1-1", 300, 1000), ["no", "safe", "001"]),
        (("setup", "0-", 300, 1000), ["no", "safe", "001"]),
        (("setup", USED, 99, 1000), ["no", "dead", "100-10000"]),
        (("setup", USED, 10_001, 1000), ["no", "dead", "100-10000"]),
        (("setup", USED, 300, 0), ["no", "longest", "7200000"]),
        (("put", 3, 1, 1000), ["no", "words", "-"]),
        (("put", 0, 2, 1000), ["no", "words", "-"]),
        (("put", 1, 1, 1000), ["no", "unused", "1"]),
        (("put", 0, 1), ["no", "words", "-"]),
        (("light", 0), ["no", "words", "-"]),
        (("last", 3), ["no", "words", "-"]),
        (("hello", 2, "me"), ["no", "version", "1"]),
    ],
)
def test_what_is_wrong_is_refused(
    armed: Host, words: tuple[str | int, ...], answer: list[str]
) -> None:
    """A command that can't be carried out is answered with the reason, and lights nothing."""
    assert armed.ask(*words) == answer
    assert armed.pins == SAFE


def test_an_introduction_brings_all_to_safety(armed: Host) -> None:
    """Whoever introduces himself finds every output safe, and must set the unit up again."""
    armed.ask("put", 2, 0, "-")
    armed.ask("hello", 1, "other")
    assert armed.pins == SAFE
    assert armed.ask("put", 0, 1, 1000) == ["no", "order", MET]


def test_a_setup_brings_all_to_safety(armed: Host) -> None:
    """Setting a unit up anew begins with every output safe, whatever is set up."""
    armed.ask("put", 2, 0, "-")
    armed.ask("setup", USED, 300, 100_000)
    assert armed.pins == SAFE
    # and what the builder allows stays the limit
    assert armed.ask("put", 0, 1, 60_000_001) == ["no", "bound", "60000000"]


def test_the_end_of_too_long_a_line_is_no_command(armed: Host) -> None:
    """What stands at the end of a line that is too long is thrown away with it."""
    armed.step(b"x" * 200)
    armed.seq += 1
    assert armed.step(armed.line("alive")) == []
    assert armed.ask("state")[-1] == "1"


def test_a_cut_brings_all_to_safety(armed: Host) -> None:
    """A cut turns everything off at once and leaves the unit armed."""
    armed.ask("put", 0, 1, 1000)
    armed.ask("put", 2, 0, "-")
    assert armed.ask("cut")[0] == "yes"
    assert armed.pins == SAFE
    assert armed.unit.mode == ARMED


def test_a_pin_that_does_not_obey_is_a_fault(armed: Host) -> None:
    """A pin that reads otherwise than it was written turns all off, is told once, and rewritten."""
    armed.ask("put", 0, 1, 1000)
    armed.step(seen=[0, 0, 1])
    assert armed.pins == SAFE
    assert armed.unit.mode == LATCHED
    assert [each[0] for each in armed.told[-3:]] == ["fault", "back", "latched"]
    told = len(armed.told)
    for _ in range(3):
        armed.pins[0] = 1
        armed.step(seen=[1, 0, 1])
        assert armed.pins == SAFE
    assert len(armed.told) == told


def test_echoed_lines_are_counted_and_never_answered(armed: Host) -> None:
    """A unit that hears itself says nothing to it, so that no line goes round for ever."""
    said = armed.unit.step(armed.now_us, seal("ask 77 state"))[1]
    assert armed.step(b"".join(said)) == []
    armed.seq = 77
    assert armed.ask("state")[-1] == str(len(said))


# --- any sequence of lines and times ----------------------------------------------------------

_INDEX = st.integers(0, 3).map(str)
_BOUND = st.one_of(st.just("-"), st.integers(0, 2_000_000).map(str))
_WORDS = st.one_of(
    st.tuples(st.just("put"), st.sampled_from(["0", "2"]), st.sampled_from(["0", "1"]), _BOUND),
    st.tuples(st.just("put"), _INDEX, st.sampled_from(["0", "1"]), _BOUND),
    st.sampled_from(
        [("alive",), ("alive",), ("arm",), ("cut",), ("state",), ("hello", "1", "n"),
         ("setup", USED, "300", "1500"), ("setup", "001", "150", "60000")]
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Wait:
    us: int
    held_up: bool  # the unit's loop was held up: nothing is stepped in between


@dataclass(frozen=True)
class Ask:
    words: tuple[str, ...]


@dataclass(frozen=True)
class Again:
    """The last line again."""


@dataclass(frozen=True)
class Raw:
    data: bytes


@dataclass(frozen=True)
class Seen:
    levels: list[int]


_EVENTS = st.lists(
    st.one_of(
        st.builds(Wait, st.integers(0, 400_000), st.booleans()),
        st.builds(Ask, _WORDS),
        st.builds(Ask, _WORDS),
        st.just(Again()),
        st.builds(Raw, st.binary(max_size=20)),
        st.builds(Seen, st.lists(st.integers(0, 1), min_size=3, max_size=3)),
    ),
    max_size=40,
)


class Promises:
    """An account of its own of when each output must be back, from what was asked and said."""

    def __init__(self, host: Host) -> None:
        self.host = host
        self.due_us: dict[int, int] = {}
        self.fed_us = 0
        self.dead_us = 0

    def asked(self, words: tuple[str, ...], answers: list[list[str]]) -> None:
        (answer,) = answers
        if answer[0] != "yes":
            return
        self.fed_us = self.host.now_us
        if words[0] == "setup":
            self.dead_us = int(words[2]) * 1000
        if words[0] == "put" and int(words[2]) != SAFE[int(words[1])] and words[3] != "-":
            index = int(words[1])
            due_us = self.host.now_us + int(words[3])
            self.due_us[index] = min(self.due_us.get(index, due_us), due_us)

    def hold(self) -> None:
        for index, level in enumerate(self.host.pins):
            if level == SAFE[index]:
                self.due_us.pop(index, None)
                continue
            assert self.host.unit.mode == ARMED
            assert self.host.now_us < self.fed_us + self.dead_us
            assert self.host.next_us is not None
            assert self.host.next_us <= self.fed_us + self.dead_us
            if index in self.due_us:
                assert self.host.now_us < self.due_us[index]
                assert self.host.next_us <= self.due_us[index]


@given(_EVENTS)
def test_the_promises_hold_in_any_sequence(events: list[Wait | Ask | Again | Raw | Seen]) -> None:
    """Whatever comes, no output is away beyond its bound or the dead-man time, at any step."""
    host = Host()
    host.arm()
    promises = Promises(host)
    promises.fed_us, promises.dead_us = host.now_us, DEAD_US
    last = b""
    for event in events:
        match event:
            case Wait(us, held_up):
                if held_up:
                    host.now_us += us
                    host.step()
                else:
                    host.wait(us)
            case Ask(words):
                host.seq += 1
                last = b"\n" + host.line(*words)  # behind whatever was left of a torn line
                promises.asked(words, host.step(last))
            case Again():
                host.step(last)
            case Raw(data):
                host.step(data)
            case Seen(levels):
                host.step(seen=levels)
                host.pins = host.unit.levels
        assert host.pins == host.unit.levels
        promises.hold()


# --- what is written down ---------------------------------------------------------------------


def test_the_protocols_page_is_true() -> None:
    """Its example carries its right checksum, and it names every command, refusal and mode."""
    page = (FIRMWARE / "PROTOCOL.md").read_text()
    (example,) = (line.strip() for line in page.splitlines() if line.startswith("    ask"))
    assert unseal(example.encode()) == ["ask", "1", "setup", "0-1", "300", "60000"]
    source = (FIRMWARE / "core.py").read_text()
    words = set(re.findall(r'"no", "(\w+)"|_tell\("(\w+)"', source))
    names = {name for pair in words for name in pair if name}
    assert {"order", "bound", "back", "latched"} <= names
    for name in names | core._WORDS.keys() | {NEW, MET, ARMED, LATCHED, "old"}:
        assert f"`{name}" in page, name


def test_the_board_that_is_flashed_can_be_run() -> None:
    """board.py as it is shipped makes a unit, whose lamp has a limit."""
    unit = Unit(board.BOARD_ID, [(safe, most) for _, safe, most in board.OUTPUTS], 0)
    unit.step(0)
    _, lines, _ = unit.step(1, seal("ask 0 hello 1 n"))
    assert unseal(lines[0][:-1]) == f"yes 0 hello 1 n {board.BOARD_ID} 0000 600,-,-,- 1".split()


# --- on a real MicroPython --------------------------------------------------------------------

_SCRIPT = """
import sys
sys.path.insert(0, {firmware!r})
from core import Unit, crc16
unit = Unit("unit", [(0, 60), (0, None), (1, None)], 0)
print(crc16(b"123456789"))
for now_us, received, seen in {steps!r}:
    print(unit.step(now_us, received, seen), unit.mode, unit.garbled)
"""


def _steps(seed: int) -> list[tuple[int, bytes, list[int] | None]]:
    chance = random.Random(seed)
    asks = ["put 0 1 9000", "put 2 0 -", "put 1 1 -", "put 0 0 -", "alive", "arm", "cut", "state"]
    asks += ["last 0", "hello 1 x", f"setup {USED} 300 1500", "put 9 9 9", "nonsense", "hello 1 x"]
    steps: list[tuple[int, bytes, list[int] | None]] = []
    now_us = 0
    for seq in range(200):
        now_us += chance.choice([0, 7, 5_000, 200_000])
        line = seal(f"ask {seq} {chance.choice(asks if seq > 5 else asks[:6])}")
        if chance.random() < 0.1:
            line = line[:9] + bytes([chance.randrange(256)]) + line[10:]
        seen = [chance.randrange(2) for _ in range(3)] if chance.random() < 0.05 else None
        steps.append((now_us, line * chance.choice([1, 1, 1, 2]), seen))
    return steps


@pytest.mark.real
def test_micropython_does_the_same() -> None:
    """The same file, run by a real MicroPython, makes of the same events the same of everything."""
    runner = micropython()
    if runner is None:
        pytest.skip("there is no MicroPython here")
    steps = _steps(1)
    script = _SCRIPT.format(firmware=str(FIRMWARE), steps=steps)
    ran = subprocess.run(
        [runner, "-c", script], capture_output=True, text=True, check=True, timeout=60
    )
    unit = Unit("unit", OUTPUTS, 0)
    here = [(str(unit.step(*step)), unit.mode, str(unit.garbled)) for step in steps]
    assert {mode for _, mode, _ in here} == {NEW, MET, ARMED, LATCHED}
    assert ran.stdout.splitlines() == [str(0x29B1), *(" ".join(each) for each in here)]
