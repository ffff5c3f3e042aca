"""GPIO lines of a real kernel: relays and pedals as wires see them.

Needs a machine with a GPIO chip whose wires can be driven and watched from outside; it names
itself with GPIOLAB=1 and the folder of its helper with GPIOLAB_TOOLS. Kernels differ in what
becomes of a line that is let go of, so what depends on it is tried both ways.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import pytest

if os.environ.get("GPIOLAB") != "1":
    pytest.skip("needs the kernel lab", allow_module_level=True)

sys.path.insert(0, os.environ["GPIOLAB_TOOLS"])

from gpiolab import Lab

from controller.ports import Line, PortFault, Sound
from drivers.buzzer import Piezo
from drivers.gpio import GpioOutputs, GpioPedal
from drivers.pins import Busy, open_pins

MS = 1_000_000
RELAY, OTHER, PEDAL = 17, 22, 27
NONE: dict[str, object] = {}


@pytest.fixture
def wires() -> Any:
    """Give the wires, idle; lines that are let go of keep their level, as on a Raspberry Pi."""
    lab = Lab()
    lab.release_holds(False)
    pins = open_pins(NONE)
    for gpio in (RELAY, OTHER, PEDAL):
        pins.claim_output(gpio, 0)  # whatever the last test left: freed, it is an input again
    pins.close()
    for gpio in (RELAY, OTHER, PEDAL):
        assert lab.direction(gpio) == "in"
        lab.drive(gpio, None)
    lab.release_holds(True)
    return lab


@pytest.fixture(params=["hold", "input"])
def lab(request: pytest.FixtureRequest, wires: Any) -> Any:
    """Give the wires, with lines that keep their level when let go of, or become inputs."""
    wires.release_holds(request.param == "hold")
    return wires


def lamp(*, low: bool, gpio: int = RELAY) -> Line:
    return Line("lamp", gpio, active_low=low)


def pull(lab: Any, line: Line) -> int:
    """Fit the resistor that the wiring asks for: it keeps the relay off while nothing drives."""
    level = line.level(line.safe_lit)
    lab.drive(line.address, level)
    lab.clear_log()
    return level


def levels(lab: Any, gpio: int = RELAY) -> set[int]:
    return {level for _, _, level, _ in lab.log(gpio)}


def driven(lab: Any, gpio: int = RELAY) -> list[int]:
    return [level for _, _, level, way in lab.log(gpio) if way == "out"]


@pytest.mark.parametrize("low", [False, True])
def test_no_edge_from_opening_to_closing(lab: Any, low: bool) -> None:
    """A relay does not click when its line is opened, closed, and opened again."""
    line = lamp(low=low)
    safe = pull(lab, line)
    for _ in range(3):
        GpioOutputs.open([line], NONE).close()
    assert levels(lab) == {safe}
    assert driven(lab)[0] == safe


@pytest.mark.parametrize("low", [False, True])
def test_reopening_a_held_line_makes_no_edge(wires: Any, low: bool) -> None:
    """A line that keeps its level without an owner is taken without ever floating."""
    line = lamp(low=low)
    GpioOutputs.open([line], NONE).close()
    wires.clear_log()
    GpioOutputs.open([line], NONE).close()
    assert wires.log(RELAY) == []


@pytest.mark.parametrize("low", [False, True])
def test_pulses_on_the_wire(lab: Any, low: bool) -> None:
    """What is written is on the wire, once each, and is read back from there."""
    line = lamp(low=low)
    safe = pull(lab, line)
    outputs = GpioOutputs.open([line], NONE)
    for _ in range(3):
        for lit in (True, False):
            outputs.write("lamp", lit)
            assert outputs.read("lamp") is lit
            assert lab.value(RELAY) == line.level(lit)
    outputs.close()
    assert driven(lab) == [safe, *[1 - safe, safe] * 3]
    assert outputs.read("lamp") is None


def test_safe_opening_darkens_a_lamp_left_burning(wires: Any) -> None:
    """Opening a line that was left at its lit level puts it off in one step."""
    line = lamp(low=True)
    pull(wires, line)
    outputs = GpioOutputs.open([line], NONE)
    outputs.write("lamp", True)
    outputs.close()
    assert wires.value(RELAY) == 0
    wires.clear_log()
    GpioOutputs.open([line], NONE).close()
    assert [(level, way) for _, _, level, way in wires.log(RELAY)] == [(1, "out")]


OWNER = """
import sys, time
from controller.ports import Line
from drivers.gpio import GpioOutputs
lines = [Line(name, int(gpio), active_low=low == "low") for name, gpio, low in
         (each.split(":") for each in sys.argv[1:])]
outputs = GpioOutputs.open(lines, {})
for line in lines:
    outputs.write(line.name, True)
print("lit", flush=True)
time.sleep(600)
"""


@contextmanager
def owner_of(lines: Sequence[Line]) -> Iterator[subprocess.Popen[str]]:
    """Run a process that has lit these lines."""
    words = [f"{each.name}:{each.address}:{'low' if each.active_low else 'high'}" for each in lines]
    with subprocess.Popen(
        [sys.executable, "-c", OWNER, *words], stdout=subprocess.PIPE, text=True
    ) as owner:
        try:
            assert owner.stdout
            assert owner.stdout.readline() == "lit\n"
            yield owner
        finally:
            owner.kill()


@pytest.mark.parametrize("low", [False, True])
@pytest.mark.parametrize("frozen", [False, True])
def test_rescuer_takes_the_lines_of_a_dead_owner(lab: Any, low: bool, frozen: bool) -> None:
    """A killed owner's lamps go off within the time allowed, frozen beforehand or not."""
    lines = [lamp(low=low), Line("other", OTHER, active_low=low)]
    for line in lines:
        pull(lab, line)
    rescuer = GpioOutputs.rescuer(lines, NONE)
    with owner_of(lines) as owner:
        if frozen:
            owner.send_signal(signal.SIGSTOP)
            time.sleep(0.05)
        assert not rescuer.make_safe(time.monotonic_ns())  # alive or frozen, it holds them
        assert lab.value(RELAY) == lines[0].level(True)
        lab.clear_log()
        killed_ns = time.monotonic_ns()
        owner.kill()
        assert rescuer.make_safe(killed_ns + 250 * MS)
        took_ns = time.monotonic_ns() - killed_ns
    for line in lines:
        gpio, safe = int(line.address), line.level(False)
        assert lab.value(gpio) == safe
        assert lab.direction(gpio) == "out"
        assert levels(lab, gpio) == {safe}  # off, and nothing else
        off_ns = lab.log(gpio)[0][0] - killed_ns
        print(f"gpio {gpio} low={low} frozen={frozen}: off after {off_ns / MS:.1f} ms")
        assert off_ns < 250 * MS
    print(f"make_safe took {took_ns / MS:.1f} ms")
    lab.clear_log()
    rescuer.release()
    GpioOutputs.open(lines, NONE).close()  # the next owner comes in without an edge
    for line in lines:
        assert levels(lab, int(line.address)) <= {line.level(False)}


def test_a_held_line_names_its_holder(wires: Any) -> None:
    """A busy line is refused with the process that holds it, and nothing else is touched."""
    with owner_of([lamp(low=False)]) as owner:
        wires.clear_log()
        with pytest.raises(Busy) as caught:
            GpioOutputs.open([Line("first", OTHER), lamp(low=False)], NONE)
        assert f"gpio 17 for 'lamp' is held by process {owner.pid} (python" in str(caught.value)
        assert wires.value(RELAY) == 1


def test_the_chip_is_found_by_label_or_path(wires: Any) -> None:
    """A chip may be named by its label or its path; an unknown one is refused with those here."""
    for chip in ("pinctrl-bcm2711", "/dev/gpiochip0", "gpiochip0"):
        GpioOutputs.open([lamp(low=False)], {"chip": chip}).close()
    with pytest.raises(PortFault, match=r"no GPIO chip called 'pear'; .*'pinctrl-bcm2711'"):
        GpioOutputs.open([lamp(low=False)], {"chip": "pear"})
    with pytest.raises(PortFault, match="there is no gpio 45 here; choose one of 0 to 27"):
        GpioOutputs.open([lamp(low=False, gpio=45)], NONE)


def test_a_piezo_swings_and_is_left_still(wires: Any) -> None:
    """A note of 0.6 s at 1200 Hz swings the line, which is low and still afterwards."""
    wires.clear_log()
    piezo = Piezo.open({"address": OTHER, "speech": False})
    piezo.play(Sound.END)
    time.sleep(1.0)
    piezo.close()
    log = wires.log(OTHER)
    print(f"{len(log)} edges in {(log[-1][0] - log[0][0]) / MS:.0f} ms")
    assert len(log) > 500
    assert log[0][2] == 0
    assert wires.value(OTHER) == 0
    time.sleep(0.1)
    assert len(wires.log(OTHER)) == len(log)


class Foot:
    """A pedal and what was heard of it."""

    def __init__(self, lab: Any, *, closed: bool) -> None:
        self.lab, self.closed = lab, closed
        self.edges: list[tuple[int, bool]] = []
        self.heard = threading.Event()
        if closed:
            lab.drive(PEDAL, 0)
        self.pedal = GpioPedal.open(PEDAL, normally_closed=closed, on_edge=self.on_edge)

    def on_edge(self, ns: int, down: bool) -> None:
        self.edges.append((ns, down))
        self.heard.set()

    def move(self, down: bool) -> None:
        self.heard.clear()
        self.lab.drive(PEDAL, 0 if down != self.closed else None)

    def wait_until(self, down: bool) -> None:
        until = time.monotonic() + 5
        while not (self.edges and self.edges[-1][1] is down) and time.monotonic() < until:
            time.sleep(0.005)


@pytest.mark.parametrize("closed", [False, True])
def test_pedal_edges_arrive(wires: Any, closed: bool) -> None:
    """Every press and release arrives in order, stamped with the time it happened."""
    foot = Foot(wires, closed=closed)
    assert foot.edges == []
    wires.clear_log()
    late_ns = []
    for down in [True, False] * 10:
        foot.move(down)
        assert foot.heard.wait(5)
        late_ns.append(time.monotonic_ns() - wires.log(PEDAL)[-1][0])
        time.sleep(0.005)
    foot.pedal.close()
    assert [down for _, down in foot.edges] == [True, False] * 10
    for (ns, _), row in zip(foot.edges, wires.log(PEDAL), strict=True):
        assert abs(ns - row[0]) < 20 * MS
    late_ns.sort()
    print(
        f"closed={closed}: heard after {late_ns[10] / MS:.2f} ms (median), "
        f"{late_ns[-1] / MS:.2f} ms (worst)"
    )
    foot.move(True)
    time.sleep(0.05)
    assert len(foot.edges) == 20


def test_a_bouncing_pedal_ends_right(wires: Any) -> None:
    """After a train of bounces the last edge heard is the level at which the contact rests.

    The kernel reads the level in a thread of its own, so edges closer together than that thread
    is quick come as one.
    """
    foot = Foot(wires, closed=False)
    for gap_us in (100, 300, 1000):
        for down in (True, False) * 3:
            foot.edges.clear()
            wires.clear_log()
            wires.wave(PEDAL, [(0 if (k % 2 == 0) == down else None, gap_us) for k in range(15)])
            foot.wait_until(down)
            assert foot.edges[-1][1] is down
            print(f"{gap_us} us: {len(foot.edges)} of {len(wires.log(PEDAL))} edges heard")
            time.sleep(0.05)
            assert foot.edges[-1][1] is down
    foot.pedal.close()


@pytest.mark.parametrize("closed", [False, True])
def test_a_pedal_that_is_down_at_first_is_told(wires: Any, closed: bool) -> None:
    """A pedal held down, or cut off where the contact is normally closed, is told at once."""
    wires.drive(PEDAL, None if closed else 0)
    edges: list[bool] = []
    pedal = GpioPedal.open(
        PEDAL, normally_closed=closed, on_edge=lambda _, down: edges.append(down)
    )
    assert edges == [True]
    pedal.close()


def test_a_pedal_and_relays_close_apart(wires: Any) -> None:
    """Closing a pedal touches no relay of the same process, nor the other way round."""
    outputs = GpioOutputs.open([lamp(low=False)], NONE)
    foot = Foot(wires, closed=False)
    outputs.write("lamp", True)
    wires.clear_log()
    foot.pedal.close()
    assert wires.log(RELAY) == []
    assert outputs.read("lamp") is True
    foot = Foot(wires, closed=False)
    outputs.write("lamp", False)
    outputs.close()
    foot.move(True)
    assert foot.heard.wait(5)
    foot.pedal.close()
