"""Relays and pedals on gpiozero's mock board, and through a stand-in for RPi.GPIO."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from controller.ports import Line, PortFault
from drivers import gpio
from drivers.gpio import GpioOutputs, GpioPedal
from drivers.holders import Holder, who_holds
from drivers.pins import open_pins
from drivers.pins_mock import HeldFactory, mock_factory

MOCK = {"library": "mock"}
BOARDS = [(low, closed) for low in (False, True) for closed in (False, True)]


@pytest.fixture(autouse=True)
def board() -> Iterator[HeldFactory]:
    yield mock_factory()
    mock_factory().reset()


def levels(board: HeldFactory, number: int) -> list[int]:
    return [int(each.state) for each in board.pin(number).states]


def lamp(*, low: bool = False, closed: bool = False, address: int | str = 17) -> Line:
    return Line("lamp", address, active_low=low, normally_closed=closed)


# --- outputs --------------------------------------------------------------------------------


@pytest.mark.parametrize(("low", "closed"), BOARDS)
def test_first_level_is_safe(board: HeldFactory, low: bool, closed: bool) -> None:
    """From opening to closing a line has one level only, at which the coil is not energised."""
    outputs = GpioOutputs.open([lamp(low=low, closed=closed)], MOCK)
    assert board.pin(17).function == "output"
    outputs.close()
    assert levels(board, 17) == [int(low)]
    assert board.pin(17).function == "output"  # not made an input, which would float


@pytest.mark.parametrize(("low", "closed"), BOARDS)
def test_lit_is_said_of_the_light(board: HeldFactory, low: bool, closed: bool) -> None:
    """Lighting and darkening set the levels that the relay needs, and read back as light."""
    line = lamp(low=low, closed=closed)
    outputs = GpioOutputs.open([line], MOCK)
    assert outputs.read("lamp") is closed
    for lit in (not closed, closed):
        outputs.write("lamp", lit)
        assert outputs.read("lamp") is lit
    assert levels(board, 17) == [int(low), int(not low), int(low)]


def test_read_back_is_from_the_wire(board: HeldFactory) -> None:
    """A level that somebody else has changed is read back, not what was written."""
    outputs = GpioOutputs.open([lamp()], MOCK)
    board.pin(17)._change_state(1.0)
    assert outputs.read("lamp") is True


def test_after_closing_nothing_is_known() -> None:
    """A closed board is neither written to (which would claim the line again) nor known."""
    outputs = GpioOutputs.open([lamp()], MOCK)
    outputs.close()
    outputs.close()
    assert outputs.read("lamp") is None
    with pytest.raises(PortFault, match="gpio 17 is not held"):
        outputs.write("lamp", False)


def test_closing_frees_the_lines() -> None:
    """A new owner can open the board as soon as the old one has closed it."""
    GpioOutputs.open([lamp()], MOCK).close()
    GpioOutputs.open([lamp()], MOCK).close()


def test_all_lines_or_none(board: HeldFactory) -> None:
    """When one line is held by somebody else, those claimed before it are freed again."""
    owner = GpioOutputs.open([lamp(address=18)], MOCK)
    two = [lamp(), Line("safelight", 18)]
    with pytest.raises(PortFault, match="gpio 18 for 'safelight' is held by another part"):
        GpioOutputs.open(two, MOCK)
    assert not board.pin(17).held
    owner.close()
    GpioOutputs.open(two, MOCK).close()


@pytest.mark.parametrize(
    ("address", "sentence"),
    [
        (99, "output 'lamp': there is no gpio 99 here; choose one of 0 to 27"),
        (-1, "output 'lamp': there is no gpio -1 here; choose one of 0 to 27"),
        ("pear", "output 'lamp': 'pear' is not a GPIO line; write its GPIO number"),
        (True, "output 'lamp': True is not a GPIO line"),
        ("", "output 'lamp': '' is not a GPIO line"),
        ("17.5", "output 'lamp': '17.5' is not a GPIO line"),
    ],
)
def test_bad_addresses(address: Any, sentence: str) -> None:
    """A line that does not exist is refused by name, number and what would be right."""
    with pytest.raises(PortFault) as caught:
        GpioOutputs.open([lamp(address=address)], MOCK)
    assert str(caught.value).startswith(sentence)


@pytest.mark.parametrize("address", ["18", "GPIO18", "gpio18"])
def test_addresses_as_written(board: HeldFactory, address: str) -> None:
    """A GPIO number may be written as text, with or without GPIO before it."""
    GpioOutputs.open([lamp(address=address)], MOCK)
    assert board.pin(18).held


def test_double_use() -> None:
    """One line for two outputs is refused, naming both."""
    with pytest.raises(PortFault, match="gpio 17 is given to both 'lamp' and 'room'"):
        GpioOutputs.open([lamp(), Line("room", "GPIO17")], MOCK)
    with pytest.raises(PortFault, match="two outputs are called 'lamp'"):
        GpioOutputs.open([lamp(), lamp(address=18)], MOCK)


def test_unknown_output() -> None:
    """Writing to an output that the board lacks names those that it has."""
    outputs = GpioOutputs.open([lamp()], MOCK)
    with pytest.raises(PortFault, match="no output 'lmap' on this board, only 'lamp'"):
        outputs.write("lmap", False)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ({"library": "pigpoi"}, "library = 'pigpoi' is not known; choose one of 'lgpio', 'rpi"),
        ({"libary": "mock"}, "the driver 'gpio' has no option 'libary'; did you mean 'library'?"),
        ({"library": "mock", "chip": "x"}, "chip = 'x' needs library = 'lgpio', not 'mock'"),
        ({"chip": 4}, "chip = 4 is not a GPIO chip; write its label in quotes"),
    ],
)
def test_bad_options(options: dict[str, object], sentence: str) -> None:
    """A wrong option is refused with what would be right."""
    with pytest.raises(PortFault) as caught:
        GpioOutputs.open([lamp()], options)
    assert str(caught.value).startswith(sentence)


# --- the rescuer ----------------------------------------------------------------------------


@pytest.mark.parametrize("low", [False, True])
def test_rescuer_takes_over(board: HeldFactory, low: bool) -> None:
    """The lines of a dead owner are claimed at their safe level, and freed for the next."""
    lines = [lamp(low=low)]
    owner = GpioOutputs.open(lines, MOCK)
    rescuer = GpioOutputs.rescuer(lines, MOCK)
    owner.write("lamp", True)
    board.pin(17).held = False  # the owner dies: the kernel frees its line, at its level
    assert rescuer.make_safe(time.monotonic_ns())
    assert levels(board, 17) == [int(low)]
    assert board.pin(17).held
    rescuer.release()
    GpioOutputs.open(lines, MOCK).close()


def test_rescuer_tries_until_its_time_is_up(
    board: HeldFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While a line is held the rescuer goes on; at the deadline it says that it has failed."""
    lines = [lamp(), Line("safelight", 18, normally_closed=True)]
    GpioOutputs.open(lines[:1], MOCK)
    now_ns, sleeps = [0], []

    def sleep(seconds: float) -> None:
        sleeps.append(seconds)
        now_ns[0] += round(seconds * 1e9)
        if now_ns[0] == 30_000_000:
            board.pin(17).held = False

    monkeypatch.setattr(gpio.time, "monotonic_ns", lambda: now_ns[0])
    monkeypatch.setattr(gpio.time, "sleep", sleep)
    rescuer = GpioOutputs.rescuer(lines, MOCK)
    assert not rescuer.make_safe(5_000_000)
    assert sleeps == [0.001] * 5
    assert board.pin(18).held  # what was free has been taken at once
    assert rescuer.make_safe(100_000_000)
    assert now_ns[0] == 30_000_000


def test_rescuer_claims_nothing_beforehand(board: HeldFactory) -> None:
    """Preparing a rescuer leaves the lines to their owner, and to the kernel's defaults."""
    rescuer = GpioOutputs.rescuer([lamp()], MOCK)
    assert not board.pin(17).held
    assert board.pin(17).function == "input"
    rescuer.release()
    assert not rescuer.make_safe(0)  # it is spent


# --- pedals ---------------------------------------------------------------------------------


@pytest.mark.parametrize("closed", [False, True])
def test_pedal_edges(board: HeldFactory, closed: bool) -> None:
    """Every edge arrives with its time and what the foot did, bounces included."""
    pin = board.pin(27)
    if closed:
        pin.pull = "down"  # at rest the closed contact holds the line at ground
    edges: list[tuple[int, bool]] = []
    pull, drive = (pin.drive_low, pin.drive_high)
    press, lift = (drive, pull) if closed else (pull, drive)
    before_ns = time.monotonic_ns()
    pedal = open_pedal(board, edges, closed=closed)
    press(), lift(), press(), lift()
    assert [down for _, down in edges] == [True, False, True, False]
    assert all(before_ns - 1000 <= ns <= time.monotonic_ns() for ns, _ in edges)
    assert pin.bounce is None
    pedal.close()
    press()
    assert len(edges) == 4


def open_pedal(board: HeldFactory, edges: list[tuple[int, bool]], *, closed: bool) -> Any:
    """Open a pedal at rest: the mock's pull-up must first be overcome by a closed contact."""
    pin = board.pin(27)
    pedal = GpioPedal.open(
        27,
        normally_closed=closed,
        on_edge=lambda ns, down: edges.append((ns, down)),
        options=MOCK,
    )
    assert pin.pull == "up"
    if closed:
        assert [down for _, down in edges] == [True]  # open contact, or a cut wire
        pin.drive_low()
        assert [down for _, down in edges] == [True, False]
        edges.clear()
    else:
        assert edges == []
    return pedal


def test_fault_of_a_listener_leaves_the_pedal_alive(board: HeldFactory) -> None:
    """What a listener raises does not reach the library's thread, and the next edge arrives."""
    heard = []

    def on_edge(_ns: int, down: bool) -> None:
        heard.append(down)
        raise ValueError

    GpioPedal.open(27, normally_closed=False, on_edge=on_edge, options=MOCK)
    board.pin(27).drive_low()
    board.pin(27).drive_high()
    assert heard == [True, False]


def test_pedal_on_a_relays_line() -> None:
    """A pedal on a line that is an output already is refused, and frees nothing of it."""
    outputs = GpioOutputs.open([lamp()], MOCK)
    with pytest.raises(PortFault, match="gpio 17 for the pedal is held by"):
        GpioPedal.open(17, normally_closed=False, on_edge=lambda _, __: None, options=MOCK)
    outputs.write("lamp", True)
    assert outputs.read("lamp") is True


# --- the libraries --------------------------------------------------------------------------


class StandIn(ModuleType):
    """RPi.GPIO as far as outputs need it; every call is written down."""

    BCM, OUT, IN, I2C, SPI, HARD_PWM, SERIAL, UNKNOWN = 11, 0, 1, 42, 41, 43, 40, -1
    PUD_UP, PUD_DOWN, PUD_OFF, BOTH, RISING, FALLING = 22, 21, 20, 33, 31, 32

    def __init__(self) -> None:
        super().__init__("RPi.GPIO")
        self.calls: list[tuple[Any, ...]] = []
        self.level = 0

    def setmode(self, mode: int) -> None: ...

    def setwarnings(self, on: bool) -> None: ...

    def setup(self, number: int, direction: int, pull: int = 20, initial: int = -1) -> None:
        self.calls.append(("setup", number, direction, initial))
        self.level = initial

    def output(self, number: int, level: int) -> None:
        self.calls.append(("output", number, level))
        self.level = level

    def input(self, number: int) -> int:
        return self.level

    def cleanup(self, *numbers: int) -> None:
        self.calls.append(("cleanup", *numbers))


def loaded_anew(monkeypatch: pytest.MonkeyPatch, *modules: str) -> None:
    for name in modules:
        monkeypatch.delitem(sys.modules, name, raising=False)


@pytest.fixture
def stand_in(monkeypatch: pytest.MonkeyPatch) -> StandIn:
    module, package = StandIn(), ModuleType("RPi")
    package.GPIO = module  # type: ignore[attr-defined]
    loaded_anew(monkeypatch, "gpiozero.pins.rpigpio", "drivers.pins_rpigpio")
    monkeypatch.setitem(sys.modules, "RPi", package)
    monkeypatch.setitem(sys.modules, "RPi.GPIO", module)
    local = importlib.import_module("gpiozero.pins.local")
    monkeypatch.setattr(local.LocalPiFactory, "_get_revision", lambda self: 0xA02082)
    return module


@pytest.mark.parametrize("low", [False, True])
def test_rpigpio_claims_in_one_step(stand_in: StandIn, low: bool) -> None:
    """Through RPi.GPIO too the first level comes with the claim, and closing touches nothing."""
    outputs = GpioOutputs.open([lamp(low=low)], {"library": "rpigpio"})
    outputs.write("lamp", True)
    assert outputs.read("lamp") is True
    outputs.write("lamp", False)
    outputs.close()
    assert stand_in.calls == [
        ("setup", 17, StandIn.OUT, int(low)),
        ("output", 17, int(not low)),
        ("output", 17, int(low)),
    ]


@pytest.mark.parametrize(
    ("library", "module", "remedy"),
    [
        ("lgpio", "lgpio", r"pip install 'dryside\[pi\]', or install the system's python3-lgpio"),
        ("rpigpio", "RPi", r"pip install 'dryside\[pi-old\]'"),
    ],
)
def test_missing_library(
    monkeypatch: pytest.MonkeyPatch, library: str, module: str, remedy: str
) -> None:
    """A library that is not installed is named with its remedy; no other takes its place."""
    loaded_anew(monkeypatch, f"drivers.pins_{library}", f"gpiozero.pins.{library}", module)
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(PortFault, match=remedy):
        open_pins({"library": library})


needs_lgpio = pytest.mark.skipif(
    importlib.util.find_spec("lgpio") is None, reason="lgpio is not installed"
)


@pytest.fixture
def chips(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """Give two chips behind lgpio, neither of a Raspberry Pi, and write down every call."""
    pins_lgpio = importlib.import_module("drivers.pins_lgpio")
    lgpio: Any = sys.modules["lgpio"]
    calls: list[tuple[Any, ...]] = []

    def noted(name: str, answer: Any = 0) -> Any:
        def call(*args: Any) -> Any:
            calls.append((name, *args))
            return answer

        return call

    def claim_output(_handle: int, gpio: int, level: int) -> int:
        if gpio == 7:
            raise lgpio.error(lgpio.error_text(lgpio.GPIO_BUSY))
        calls.append(("claim", gpio, level))
        return 0

    def chip_info(handle: int) -> list[Any]:
        return [0, 8, f"gpiochip{handle}", ["soc", "expander"][handle]]

    monkeypatch.setattr(pins_lgpio, "_chips", lambda: [0, 1])
    monkeypatch.setattr(lgpio, "gpiochip_open", lambda number: number)
    monkeypatch.setattr(lgpio, "gpiochip_close", noted("close"))
    monkeypatch.setattr(lgpio, "gpio_get_chip_info", chip_info)
    monkeypatch.setattr(lgpio, "gpio_get_line_info", lambda _, gpio: [0, gpio, 1, "", "spi0 CS0"])
    monkeypatch.setattr(lgpio, "gpio_get_mode", lambda _handle, _gpio: 2)
    monkeypatch.setattr(lgpio, "gpio_claim_output", claim_output)
    monkeypatch.setattr(lgpio, "gpio_claim_input", noted("input"))
    monkeypatch.setattr(lgpio, "gpio_write", noted("write"))
    monkeypatch.setattr(lgpio, "gpio_free", noted("free"))
    return calls


@needs_lgpio
def test_lgpio_on_any_chip(chips: list[tuple[Any, ...]]) -> None:
    """On a chip found by its label a line is claimed at its level, set, and freed; no more."""
    outputs = GpioOutputs.open([lamp(low=True, address=5)], {"chip": "expander"})
    outputs.write("lamp", True)
    chips.remove(("close", 0))  # looked at for their labels
    chips.remove(("close", 1))
    outputs.close()
    assert chips == [("claim", 5, 1), ("write", 1, 5, False), ("free", 1, 5), ("close", 1)]


@needs_lgpio
@pytest.mark.usefixtures("chips")
@pytest.mark.parametrize(
    ("chip", "address", "sentence"),
    [
        (None, 5, "no GPIO chip that belongs to a Raspberry Pi's header; set chip to .* 'soc', 'e"),
        ("pear", 5, "there is no GPIO chip called 'pear'; set chip to one of those here: 'soc'"),
        ("expander", 8, "output 'lamp': there is no gpio 8 here; choose one of 0 to 7"),
        ("expander", 7, "gpio 7 for 'lamp' is held by 'spi0 CS0', as the kernel calls it; end"),
    ],
)
def test_lgpio_faults(chip: str | None, address: int, sentence: str) -> None:
    """A chip or line that is not there, or is held, is refused with what there is."""
    with pytest.raises(PortFault, match=sentence):
        GpioOutputs.open([lamp(address=address)], {"chip": chip} if chip else {})


@needs_lgpio
def test_lgpio_is_loaded_without_a_trace(tmp_path: Path) -> None:
    """Loading lgpio leaves no FIFO behind and the working folder and LG_WD unchanged."""
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    script = "import os, drivers.pins_lgpio as p; print(os.getcwd(), os.environ['LG_WD'], p.lgpio)"
    env = {"LG_WD": str(there), "PYTHONPATH": str(Path(gpio.__file__).parents[1])}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=here, env=env, capture_output=True, text=True
    )
    assert done.stdout.startswith(f"{here} {there} <module 'lgpio'"), done.stderr
    assert done.stderr == ""
    assert [*here.iterdir(), *there.iterdir()] == []


# --- who holds a line -----------------------------------------------------------------------


def test_holders_are_named(tmp_path: Path) -> None:
    """The process that holds just this line of just this chip is found in the kernel's list."""
    for pid, target, info in [
        (12, "anon_inode:gpio-line", "gpio-chip:\tgpiochip0\ngpio-line:\t17\n"),
        (13, "anon_inode:gpio-line", "gpio-chip:\tgpiochip0\ngpio-line:\t18\n"),
        (14, "anon_inode:gpio-line", "gpio-chip:\tgpiochip1\ngpio-line:\t17\n"),
        (15, "/dev/gpiochip0", ""),
    ]:
        folder = tmp_path / str(pid)
        (folder / "fd").mkdir(parents=True)
        (folder / "fdinfo").mkdir()
        (folder / "fd" / "6").symlink_to(target)
        (folder / "fdinfo" / "6").write_text("pos:\t0\nflags:\t02000000\n" + info)
        (folder / "comm").write_text(f"owner{pid}\n")
    (tmp_path / "16").mkdir()  # one that may not be looked into
    assert who_holds("gpiochip0", 17, proc=tmp_path) == [Holder(12, "owner12")]
    assert who_holds("gpiochip0", 27, proc=tmp_path) == []
