"""USB pedals of the kernel's own making (uinput): plugged, pressed, unplugged and plugged in again.

Runs only in the kernel lab (GPIOLAB=1).
"""

from __future__ import annotations

import fcntl
import os
import queue
import struct
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.ports import Cue
from tests.lab.test_unit import LAMP, Lines, prompt, rig_text, start

pytestmark = pytest.mark.skipif(os.environ.get("GPIOLAB") != "1", reason="needs the kernel lab")

A, B = 30, 48
WAIT_S = 20.0
# numbers from the kernel's uinput.h (read)
CREATE, DESTROY, SETUP = 0x5501, 0x5502, 0x405C5503
EV_BIT, KEY_BIT, PHYS, SYSNAME = 0x40045564, 0x40045565, 0x4008556C, 0x8040552C


class Device:
    """One event node of an imagined pedal."""

    def __init__(self, phys: str, name: str = "Foot Switch") -> None:
        import ctypes

        self._fd = os.open("/dev/uinput", os.O_WRONLY | os.O_NONBLOCK)
        fcntl.ioctl(self._fd, EV_BIT, 1)
        for code in (A, B):
            fcntl.ioctl(self._fd, KEY_BIT, code)
        # an address is too large for fcntl.ioctl
        assert ctypes.CDLL(None).ioctl(self._fd, ctypes.c_ulong(PHYS), phys.encode()) == 0
        setup = struct.pack("@HHHH80sI", 3, 0x1234, 0x5678, 1, name.encode(), 0)
        fcntl.ioctl(self._fd, SETUP, setup)
        fcntl.ioctl(self._fd, CREATE)
        buffer = bytearray(64)
        fcntl.ioctl(self._fd, SYSNAME, buffer)
        sysname = buffer.split(b"\0")[0].decode()
        end_s = time.monotonic() + WAIT_S
        while not (nodes := list(Path(f"/sys/class/input/{sysname}").glob("event*"))):
            assert time.monotonic() < end_s
            time.sleep(0.01)
        self.node = Path("/dev/input") / nodes[0].name
        while not self.node.exists():
            assert time.monotonic() < end_s
            time.sleep(0.01)

    def move(self, code: int, value: int) -> None:
        for kind, which, what in ((1, code, value), (0, 0, 0)):
            os.write(self._fd, struct.pack("@llHHi", 0, 0, kind, which, what))

    def tap(self, for_s: float = 0.1) -> None:
        self.move(B, 1)
        time.sleep(for_s)
        self.move(B, 0)

    def unplug(self) -> None:
        fcntl.ioctl(self._fd, DESTROY)
        os.close(self._fd)


class Plug:
    """A pedal with a path of its own, as udev would give it."""

    def __init__(self, folder: Path) -> None:
        self.link = folder / "usb-Foot_Switch-event-kbd"
        self.nodes: list[Device] = []
        self._times = 0

    def plug_in(self, nodes: int = 1) -> Device:
        self._times += 1
        self.nodes = [Device(f"lab-{self._times}/input{n}") for n in range(nodes)]
        self.link.symlink_to(self.nodes[0].node)
        return self.nodes[0]

    def unplug(self) -> None:
        self.link.unlink(missing_ok=True)
        for node in self.nodes:
            node.unplug()
        self.nodes = []


@pytest.fixture
def plug(tmp_path: Path) -> Iterator[Plug]:
    made = Plug(tmp_path)
    try:
        yield made
    finally:
        made.unplug()


def test_a_pedal_of_two_nodes_from_plug_to_plug(plug: Plug) -> None:
    """Both nodes are the pedal, nobody else gets its keys, and errno 19 means that it went."""
    from drivers.usb_pedal import UsbPedal

    told: queue.Queue[object] = queue.Queue()
    plug.plug_in(2)
    stranger = os.open(plug.nodes[0].node, os.O_RDONLY | os.O_NONBLOCK)
    plug.nodes[0].move(A, 1)  # down while it is opened: taken only when it is up
    pedal = UsbPedal.open(
        str(plug.link),
        normally_closed=False,
        on_edge=lambda at_ns, down: told.put((at_ns, down)),
    )
    try:
        pedal.watch(lambda _at_ns, there: told.put("back" if there else "gone"))
        assert told.get(timeout=WAIT_S)[1] is True
        plug.nodes[0].move(A, 0)
        assert told.get(timeout=WAIT_S)[1] is False
        time.sleep(1.0)  # for the grab
        assert os.read(stranger, 4096)
        for node in plug.nodes:
            node.move(B, 1)
            at_ns, down = told.get(timeout=WAIT_S)
            assert down
            assert 0 <= time.monotonic_ns() - at_ns < 2_000_000_000
            node.move(B, 2)
            node.move(B, 0)
            assert told.get(timeout=WAIT_S)[1] is False
        with pytest.raises(BlockingIOError):
            os.read(stranger, 4096)
        os.close(stranger)
        plug.nodes[1].move(B, 1)
        assert told.get(timeout=WAIT_S)[1] is True
        plug.unplug()
        assert told.get(timeout=WAIT_S) == "gone"
        plug.plug_in(1).tap()
        assert told.get(timeout=WAIT_S) == "back"
        while told.qsize():
            told.get()  # the tap may have been quicker than the look for the pedal
        plug.nodes[0].tap()
        assert [told.get(timeout=WAIT_S)[1] for _ in range(2)] == [True, False]
    finally:
        pedal.close()


def test_a_strip_by_a_usb_pedal_that_is_unplugged(
    plug: Plug, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pulling the only pedal puts the lamp off and is told; plugged in again it gives the rest."""
    from controller.rig.file import load_rig
    from drivers.all_safe import safe_now
    from drivers.places import board_options, run_folder
    from ui.attach import attach

    lines = Lines(lamp_active="high")
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "home"))
    pedal = plug.plug_in()
    path = tmp_path / "rig.toml"
    text = rig_text(lamp_active="high")
    at = f'driver = "gpio"\naddress = {27}\n'
    assert at in text
    path.write_text(text.replace(at, f'driver = "usb-pedal"\naddress = "{plug.link}#b"\n'))
    rig = load_rig(path)
    lines.lab.clear_log()
    client = attach(run_folder(), str(path), (), rig.digest())
    try:
        start(client, 5.0)
        prompt(client, "mark")
        pedal.tap()
        prompt(client, "patch A")
        pedal.tap()
        lines.wait(True)
        time.sleep(0.5)
        pulled_ns = time.monotonic_ns()
        plug.unplug()
        lines.wait(False)
        print(f"unplugged to dark: {(lines.edges()[-1][0] - pulled_ns) / 1e6:.1f} ms")
        heard = hear(client, "pedal gone", "paused")
        assert heard
        pedal = plug.plug_in()
        hear(client, "pedal back")
        time.sleep(1.5)  # a foot that stands on it while it is plugged in counts for nothing
        pedal.tap()
        lines.wait(True)
        prompt(client, "done")
        lit_s = sum(
            (b - a) / 1e9 for (a, _), (b, _) in zip(*[iter(lines.edges())] * 2, strict=True)
        )
        print(f"lit for {lit_s:.3f} s at GPIO {LAMP}, 5.0 s asked for")
        assert lit_s == pytest.approx(5.0 + 2 * 0.05, abs=0.1)
    finally:
        client.close()
        safe_now(rig.lines(), "gpio", board_options(rig, run_folder()), run=run_folder())


def hear(client: object, *wanted: str) -> list[str]:
    """Wait until all of this was said."""
    from ui.attach import EngineClient

    assert isinstance(client, EngineClient)
    end_s = time.monotonic() + 30.0
    said: list[str] = []
    while not all(any(each in text for text in said) for each in wanted):
        assert time.monotonic() < end_s, f"{wanted} were never said, but {said}"
        said += [m.text for m in client.receive(0.1) if isinstance(m, Cue)]
    return said
