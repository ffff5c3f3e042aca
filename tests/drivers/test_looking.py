"""Looking at a machine through made-up trees of files, chips and ports."""

from __future__ import annotations

import errno
import tomllib
from collections.abc import Iterator
from pathlib import Path
from queue import SimpleQueue

import pytest

from controller.ports import PortFault
from controller.rig import findings
from controller.rig.file import find_faults
from controller.rig.findings import State
from controller.rig.first import as_lines, first_rig
from controller.rig.found_parts import Answer, Chip, FoundParts, LightChip, SerialPortFound
from controller.rig.model import Rig
from drivers.i2c import Chip as BusChip
from drivers.looking import machine, parts, trying
from drivers.looking.asking import asked
from drivers.looking.chips import CHIP, CHIP_INFO, LINE, USED, chips
from tests.drivers.relay_bench import RelayBench

LABEL = "pinctrl-bcm2711"


def put(root: Path, name: str, text: str = "") -> None:
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)


@pytest.fixture
def pi(tmp_path: Path) -> Path:
    put(tmp_path, "proc/device-tree/model", "Raspberry Pi 4 Model B\0")
    put(tmp_path, "proc/cmdline", "quiet")
    put(tmp_path, "boot/firmware/config.txt", "dtparam=strict_gpiod\n")
    put(tmp_path, "sys/class/backlight/panel/bl_power", "0")
    put(tmp_path, "dev/watchdog0")
    for led, trigger, brightness in (
        ("ACT", "none rc-feedback [mmc0]", "0"),
        ("PWR", "[none] mmc0", "255"),
        ("mmc1::", "[none] mmc0", "0"),
        ("input3::capslock", "[kbd-capslock]", "0"),
    ):
        put(tmp_path, f"sys/class/leds/{led}/trigger", trigger)
        put(tmp_path, f"sys/class/leds/{led}/brightness", brightness)
    put(tmp_path, "etc/systemd/system.conf", "#RuntimeWatchdogSec=off\n")
    put(tmp_path, "etc/systemd/system.conf.d/a.conf", "[Manager]\nRuntimeWatchdogSec=15\n")
    put(tmp_path, "run/systemd/timesync/synchronized")
    put(tmp_path, "dev/gpiochip0")
    put(tmp_path, "dev/i2c-1")
    put(tmp_path, "dev/i2c-20")
    put(tmp_path, "dev/serial/by-id/usb-adapter-port0")
    put(tmp_path, "dev/input/by-id/usb-pedal-event-kbd")
    put(tmp_path, "dev/input/by-id/usb-mouse-event-mouse")
    put(tmp_path, "sys/bus/w1/devices/28-0316a2795bff/w1_slave")
    put(tmp_path, "sys/bus/w1/devices/w1_bus_master1/name")
    put(tmp_path, "proc/asound/cards", " 0 [Phones ]: drv - Phones\n              more\n")
    return tmp_path


def kernel(_: int, request: int, data: bytes) -> bytes:
    """Be a chip of 58 lines, of which 17 is held by a consumer named "buzzer"."""
    if request == CHIP_INFO:
        return CHIP.pack(b"gpiochip0", LABEL.encode(), 58)
    offset = LINE.unpack(data)[2]
    held = offset == 17
    return LINE.pack(b"GPIO17", b"buzzer" if held else b"", offset, 0, USED if held else 0)


class FakeChip:
    """A chip that answers with one word."""

    def __init__(self, word: int) -> None:
        self._word = word
        self.written: list[int] = []

    def command(self, byte: int) -> None:
        self.written.append(byte)

    def put_word(self, register: int, word: int) -> None:
        self.written += [register, word]

    def word(self, register: int) -> int:
        return self._word

    def bytes(self, count: int) -> bytes:
        return bytes(count)

    def close(self) -> None:
        pass


def test_a_made_up_pi_is_judged_whole(pi: Path) -> None:
    """Each file of the tree tells in the finding that it belongs to."""
    found = {each.part: each for each in machine.look_at_machine(pi)}
    well = ("lines of a dead program", "watchdog", "backlight", "clock")
    assert {part: found[part].state for part in well} == dict.fromkeys(well, State.WELL)
    assert found["console colours"].state is State.LOOK
    assert found["its own lights"].state is State.LOOK
    assert found["its own lights"].sentence.endswith(": ACT, PWR")


def test_a_machine_without_anything_is_judged_without_a_fault(tmp_path: Path) -> None:
    """An empty tree gives nothing that is wrong, and lists nothing."""
    assert State.WRONG not in {each.state for each in machine.look_at_machine(tmp_path)}
    found = parts.look_for_parts(tmp_path)
    assert (found.chips, found.ports, found.pedals, found.buses) == ((), (), (), ())


@pytest.mark.parametrize("says", [True, False, None])
def test_the_kernel_tells_of_other_time_services(tmp_path: Path, says: bool | None) -> None:
    """Without the file of one time service, the kernel's own word counts."""
    assert machine.synchronised(tmp_path, lambda: says) is says


def test_parts_are_listed_by_their_lasting_names(pi: Path) -> None:
    """Ports, pedals, buses, thermometers and cards are found, and nothing else is taken for one."""
    assert parts.serial_ports(pi) == ["/dev/serial/by-id/usb-adapter-port0"]
    assert parts.pedals(pi) == ["/dev/input/by-id/usb-pedal-event-kbd"]
    assert parts.buses(pi) == [1, 20]
    assert parts.thermometers(pi) == ["28-0316a2795bff"]
    assert parts.cards(pi) == ["drv - Phones"]


def test_a_chip_tells_its_label_and_its_busy_lines(pi: Path) -> None:
    """Label, count and consumer come from the kernel's answers."""
    assert chips(pi, kernel) == [Chip("gpiochip0", LABEL, 58, {17: "buzzer"})]


def test_a_chip_that_refuses_is_told_and_raises_nothing(pi: Path) -> None:
    """A chip that cannot be asked is listed with the reason."""

    def refuses(_: int, request: int, data: bytes) -> bytes:
        raise OSError(errno.EPERM, "not permitted")

    assert chips(pi, refuses) == [Chip("gpiochip0", "", 0, {}, why="not permitted")]


@pytest.mark.parametrize(("word", "sure"), [(0xC481, True), (0xFFFF, False)])
def test_light_chips_are_found_and_only_read(word: int, sure: bool) -> None:
    """A chip is sure only by its identity, and nothing is ever written to it."""
    chip = FakeChip(word)

    def opener(bus: int, address: int) -> BusChip:
        if address == 0x5C:
            raise PortFault("no chip answers")
        return chip

    assert parts.light_chips([1], opener) == [
        LightChip(1, 0x23, "bh1750", sure=False),
        LightChip(1, 0x10, "veml7700", sure=sure),
    ]
    assert chip.written == []


PORT = "/dev/serial/by-id/usb-adapter-port0"
HEADER = Chip("gpiochip0", LABEL, 58, {17: "buzzer"})
MODBUS = SerialPortFound(
    PORT, Answer.MODBUS, "unit 3", {"port": PORT, "unit": 3, "baud": 19200, "parity": "even"}
)
UNIT = SerialPortFound(PORT, Answer.RELAY_UNIT, "u1", {"port": PORT})
LIGHTS = (LightChip(1, 0x10, "veml7700", sure=True), LightChip(1, 0x23, "bh1750", sure=False))


@pytest.mark.parametrize(
    ("found", "driver"),
    [
        (FoundParts(), "sim"),
        (FoundParts(chips=(HEADER,)), "gpio"),
        (FoundParts(chips=(HEADER,), ports=(MODBUS,), light_chips=LIGHTS), "modbus"),
        (FoundParts(ports=(MODBUS, UNIT), pedals=('/dev/input/by-id/a"b', "/c")), "relay-unit"),
        (FoundParts(chips=(HEADER,), thermometers=("28-0316a2795bff",)), "gpio"),
    ],
)
def test_a_first_rig_file_has_no_fault(found: FoundParts, driver: str) -> None:
    """Whatever was found, the file that is written is right, and on the board that answered."""
    raw = tomllib.loads(first_rig(found))
    assert find_faults(raw, "rig.toml") == []
    assert Rig.model_validate(raw).lamp.driver == driver
    assert as_lines(found)


def test_a_first_rig_file_takes_no_busy_line() -> None:
    """A line that somebody holds is given to no output."""
    rig = Rig.model_validate(tomllib.loads(first_rig(FoundParts(chips=(HEADER,)))))
    assert 17 not in {line.address for line in rig.lines()}


def edges(*told: tuple[int, bool]) -> SimpleQueue[tuple[int, bool]]:
    came: SimpleQueue[tuple[int, bool]] = SimpleQueue()
    for at_ms, down in told:
        came.put((at_ms * 1_000_000, down))
    return came


@pytest.mark.parametrize(
    ("told", "felt"),
    [
        (((1, True), (3, False), (4, True), (200, False)), (1, 1, 4)),
        (((1, True), (100, False), (200, True), (300, False)), (2, 2, 4)),
        (((1, True),), (1, 0, 1)),
        ((), (0, 0, 0)),
    ],
)
def test_presses_are_counted_without_their_bounce(
    told: tuple[tuple[int, bool], ...], felt: tuple[int, int, int]
) -> None:
    """Bounces count as edges only, and what never comes up has no up."""
    seen = trying.feel(edges(*told), 0.02, 1.2, ends_down=False)
    assert (seen.downs, seen.ups, seen.edges) == felt


# --- a relay unit ---------------------------------------------------------------------------


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[RelayBench]:
    bench = RelayBench(tmp_path)
    yield bench
    bench.end()


@pytest.mark.real
def test_a_relay_unit_is_known_by_its_hello(bench: RelayBench) -> None:
    """A port that is asked tells the unit behind it, and no pin leaves its safe level."""
    before = bench.levels()
    written = len(bench.writes())
    found = asked(str(bench.port))
    assert found.answer is Answer.RELAY_UNIT
    assert found.options == {"port": str(bench.port)}
    assert bench.levels() == before
    safe = {2: 0, 3: 0, 4: 1}
    assert all(level == safe[pin] for _, pin, level in bench.writes()[written:])


@pytest.mark.real
def test_the_dead_man_of_a_relay_unit_is_tried(bench: RelayBench, tmp_path: Path) -> None:
    """The unit lights its lamp's output once and puts it off by itself; afterwards all is safe."""
    raw = {
        "lamp": {"driver": "relay-unit", "address": 0},
        "safelight": [
            {"name": "nominated", "address": 2, "active": "low", "contact": "normally-closed"}
            | {"nominated": True}
        ],
        "board": {"relay-unit": bench.options(dead_ms=600)},
    }
    assert trying.dead_man(Rig.model_validate(raw), tmp_path) is True
    assert [level for _, pin, level in bench.writes() if pin == 2 and level] == [1]
    assert bench.level("lamp") == 0


def test_a_port_that_is_not_there_is_told_and_raises_nothing(tmp_path: Path) -> None:
    """Asking a port that is away gives a fault in words."""
    assert asked(str(tmp_path / "away")).answer is Answer.FAULT


@pytest.mark.parametrize(
    ("told", "green", "state"),
    [
        ("quiet", "0,0,170,170", State.LOOK),  # the kernel's own colours
        ("vt.default_grn=0,0 vt.default_red=0,9", "0,0,170,170", State.WRONG),
        ("quiet", "0", State.WELL),  # set since, by whatever way
    ],
)
def test_the_palette_that_the_kernel_holds_is_judged(
    tmp_path: Path, told: str, green: str, state: State
) -> None:
    """What is on the command line counts only as far as the kernel took it."""
    folder = tmp_path / "sys/module/vt/parameters"
    folder.mkdir(parents=True)
    (tmp_path / "proc").mkdir()
    (tmp_path / "proc/cmdline").write_text(told)
    (folder / "default_red").write_text(",".join(["0", *["200"] * 15]) + "\n")
    (folder / "default_grn").write_text(",".join([green] * (16 // len(green.split(",")))) + "\n")
    (folder / "default_blu").write_text(",".join(["0"] * 16) + "\n")
    assert findings.palette(machine.console_palette(tmp_path)).state is state
