"""USB pedals, on event nodes that are pipes."""

from __future__ import annotations

import os
import queue
import struct
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.ports import Pluggable, PortFault
from drivers import input_keys, input_node
from drivers.input_node import Read, Unplugged, identity, nodes_of, parse
from drivers.usb_pedal import Listening, UsbPedal

A, B, LEFT = 30, 48, 0x110
WAIT_S = 20.0
EVENT = struct.Struct("@llHHi")


def event(kind: int, code: int, value: int, at_ns: int | None = None) -> bytes:
    at_ns = time.monotonic_ns() if at_ns is None else at_ns
    return EVENT.pack(at_ns // 10**9, at_ns % 10**9 // 1000, kind, code, value)


def key(code: int, value: int) -> bytes:
    return event(1, code, value) + event(0, 0, 0)


class Piped:
    """An event node whose other end the test holds."""

    def __init__(self) -> None:
        self._r, self._w = os.pipe()
        os.set_blocking(self._r, False)
        self.keys: set[int] = set()
        self.grabbed = False
        self.taken = False  # by another program
        self.closed = False

    def fileno(self) -> int:
        return self._r

    def read(self) -> Read:
        data = os.read(self._r, 4096)
        if not data:
            raise Unplugged("gone")
        return parse(data, time.monotonic_ns())

    def down(self) -> frozenset[int]:
        return frozenset(self.keys)

    def grab(self) -> None:
        if self.taken:
            raise PortFault("another program has it")
        self.grabbed = True

    def close(self) -> None:
        if not self.closed:
            self.closed = True
            os.close(self._r)

    def send(self, data: bytes) -> None:
        os.write(self._w, data)

    def move(self, code: int, *, down: bool) -> None:
        (self.keys.add if down else self.keys.discard)(code)
        self.send(key(code, int(down)))

    def unplug(self) -> None:
        os.close(self._w)


class Devices:
    """A /dev/input and a /sys/class/input of the test's own."""

    def __init__(self, folder: Path) -> None:
        self.dev = folder / "dev"
        self.sys = folder / "sys"
        self.link = self.dev / "by-id-event-kbd"
        self.dev.mkdir()
        self.sys.mkdir()
        self.nodes: dict[str, Piped] = {}
        self.refused: set[str] = set()

    def plug(
        self,
        *names: str,
        name: str = "Foot Switch",
        place: str = "usb-1-1.3",
        first: bool = True,
    ) -> None:
        for place_of, node in enumerate(names):
            device = self.sys / node / "device"
            device.mkdir(parents=True, exist_ok=True)
            (device / "phys").write_text(f"{place}/input{place_of}\n")
            (device / "uniq").write_text("\n")
            (device / "name").write_text(f"{name}\n")
            (self.dev / node).touch()
            self.nodes[node] = Piped()
        if first:
            self.link.unlink(missing_ok=True)
            self.link.symlink_to(names[0])

    def unplug(self, *names: str) -> None:
        self.link.unlink()
        for node in names:
            (self.dev / node).unlink()
            for each in ("phys", "uniq", "name"):
                (self.sys / node / "device" / each).unlink()
            (self.sys / node / "device").rmdir()
            (self.sys / node).rmdir()
            self.nodes[node].unplug()

    def open(self, path: Path) -> Piped:
        if path.name in self.refused:
            raise PermissionError(13, "Permission denied")
        if not path.exists():
            raise FileNotFoundError(2, "gone")
        return self.nodes[path.name]


class Heard:
    """What was told, in order."""

    def __init__(self) -> None:
        self._told: queue.Queue[object] = queue.Queue()

    def edge(self, _at_ns: int, down: bool) -> None:
        self._told.put("down" if down else "up")

    def presence(self, _at_ns: int, there: bool) -> None:
        self._told.put("back" if there else "gone")

    def next(self) -> object:
        return self._told.get(timeout=WAIT_S)

    def nothing(self) -> bool:
        return self._told.empty()


@pytest.fixture
def devices(tmp_path: Path) -> Devices:
    return Devices(tmp_path)


@pytest.fixture
def heard() -> Heard:
    return Heard()


@pytest.fixture
def pedals() -> Iterator[list[Listening]]:
    opened: list[Listening] = []
    yield opened
    for each in opened:
        each.close()


def listen(devices: Devices, heard: Heard, code: int | None = None) -> Listening:
    pedal = Listening(str(devices.link), code, heard.edge, sys=devices.sys, opener=devices.open)
    pedal.watch(heard.presence)
    return pedal


def until(done) -> None:
    end_s = time.monotonic() + WAIT_S
    while not done():
        assert time.monotonic() < end_s
        time.sleep(0.002)


def test_any_key_of_any_node_is_the_pedal(devices: Devices, heard: Heard, pedals) -> None:
    """It is down while a key is, whichever; a held key that repeats is one press."""
    devices.plug("event3", "event4")
    pedals.append(listen(devices, heard))
    assert isinstance(pedals[0], Pluggable)
    first, second = devices.nodes["event3"], devices.nodes["event4"]
    assert first.grabbed
    assert second.grabbed
    first.move(B, down=True)
    assert heard.next() == "down"
    for _ in range(5):
        first.send(key(B, 2))
    second.move(LEFT, down=True)
    first.move(B, down=False)
    second.move(LEFT, down=False)
    assert heard.next() == "up"
    second.move(A, down=True)
    assert heard.next() == "down"


def test_one_key_alone_may_count(devices: Devices, heard: Heard, pedals) -> None:
    """Other keys of the same pedal are nothing."""
    devices.plug("event3")
    pedals.append(listen(devices, heard, B))
    node = devices.nodes["event3"]
    node.move(A, down=True)
    node.move(B, down=True)
    node.move(A, down=False)
    assert heard.next() == "down"
    node.move(B, down=False)
    assert heard.next() == "up"
    assert heard.nothing()


def test_it_is_taken_when_all_keys_are_up(devices: Devices, heard: Heard, pedals) -> None:
    """A key that is down at the start is told, and does not stay down for everybody else."""
    devices.plug("event3")
    node = devices.nodes["event3"]
    node.keys.add(B)
    pedals.append(listen(devices, heard))
    assert heard.next() == "down"
    assert not node.grabbed
    node.move(B, down=False)
    assert heard.next() == "up"
    until(lambda: node.grabbed)


def test_unplugged_and_plugged_in_again(devices: Devices, heard: Heard, pedals) -> None:
    """It is told once; a press that was cut off is no release; elsewhere it is found again."""
    devices.plug("event3", "event4")
    pedals.append(listen(devices, heard))
    old = devices.nodes["event3"], devices.nodes["event4"]
    old[0].move(B, down=True)
    assert heard.next() == "down"
    devices.unplug("event3", "event4")
    assert heard.next() == "gone"
    assert all(node.closed for node in old)
    devices.plug("event9", place="usb-1-1.4")
    assert heard.next() == "back"
    assert devices.nodes["event9"].grabbed
    devices.nodes["event9"].move(B, down=True)
    assert heard.next() == "down"


def test_whoever_asks_late_is_told_that_it_went(devices: Devices, heard: Heard, pedals) -> None:
    """A pedal that goes before anybody watches is told to have gone."""
    devices.plug("event3")
    pedal = Listening(str(devices.link), None, heard.edge, sys=devices.sys, opener=devices.open)
    pedals.append(pedal)
    devices.unplug("event3")
    until(lambda: devices.nodes["event3"].closed)
    pedal.watch(heard.presence)
    assert heard.next() == "gone"


def test_another_device_in_its_place_is_left_alone(devices: Devices, heard: Heard, pedals) -> None:
    """A node's number goes to whatever is plugged in next: a keyboard is not grabbed for it."""
    devices.plug("event3")
    pedals.append(listen(devices, heard))
    devices.unplug("event3")
    assert heard.next() == "gone"
    devices.plug("event3", name="Keyboard")
    time.sleep(0.6)  # two looks
    assert not devices.nodes["event3"].grabbed
    devices.unplug("event3")
    devices.plug("event3")
    assert heard.next() == "back"


def test_a_node_that_comes_later_belongs_to_it_too(
    devices: Devices, heard: Heard, pedals, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Plugged in, a device shows its nodes one after the other, some not yet to be opened."""
    monkeypatch.setattr("drivers.usb_pedal.LATE_S", 600.0)
    devices.plug("event3")
    pedals.append(listen(devices, heard))
    devices.refused.add("event4")
    devices.plug("event4", first=False)
    time.sleep(0.3)  # one look
    assert heard.nothing()
    devices.refused.clear()
    until(lambda: devices.nodes["event4"].grabbed)
    devices.nodes["event4"].move(B, down=True)
    assert heard.next() == "down"


def test_events_that_the_kernel_dropped(devices: Devices, heard: Heard, pedals) -> None:
    """After an overrun the keys are looked at anew."""
    devices.plug("event3")
    pedals.append(listen(devices, heard))
    node = devices.nodes["event3"]
    node.keys = {B}
    node.send(event(0, 3, 0))
    assert heard.next() == "down"
    node.keys = set()
    node.send(event(0, 3, 0))
    assert heard.next() == "up"


@pytest.mark.parametrize(
    ("address", "said"),
    [
        (3, "3 is no USB pedal; write its path from /dev/input/by-id"),
        ("pedal", "'pedal' is no USB pedal"),
        ("/dev/input/by-id/x#", "after '#' a key is missing"),
        ("/dev/input/by-id/x#bb", "'bb' is no key"),
        ("/no/such/pedal", "there is no pedal at /no/such/pedal; plug it in"),
        ("/dev/null", "/dev/null is not an event node"),
    ],
)
def test_addresses_that_are_wrong(address: int | str, said: str) -> None:
    """Each gets one sentence with what would be right."""
    with pytest.raises(PortFault, match=said):
        UsbPedal.open(address, normally_closed=False, on_edge=lambda *_: None)


def test_what_a_usb_pedal_has_not() -> None:
    """Neither options nor a contact that opens."""
    with pytest.raises(PortFault, match="has no option 'key'"):
        UsbPedal.open("/x", normally_closed=False, on_edge=lambda *_: None, options={"key": 1})
    with pytest.raises(PortFault, match="right would be contact = 'normally-open'"):
        UsbPedal.open("/x", normally_closed=True, on_edge=lambda *_: None)


def test_nodes_that_may_not_be_had(devices: Devices, heard: Heard) -> None:
    """The sentence names the group, or that another program has the pedal; nothing stays open."""
    devices.plug("event3", "event4")
    devices.refused.add("event4")
    with pytest.raises(PortFault, match="add the user to the group 'input'"):
        listen(devices, heard)
    assert devices.nodes["event3"].closed
    devices.refused.clear()
    devices.plug("event3", "event4")
    devices.nodes["event4"].taken = True
    with pytest.raises(PortFault, match="another program has it"):
        listen(devices, heard)


def test_which_nodes_are_one_device(devices: Devices) -> None:
    """Those of one plug, and not two alike at two plugs, nor nodes that tell no place."""
    devices.plug("event5", "event6", place="usb-1-1.3")
    devices.plug("event7", place="usb-1-1.4")
    devices.plug("event8", place="")
    (devices.sys / "event8" / "device" / "phys").write_text("")
    devices.plug("event2", "event1", place="usb-1-1.5")
    names = {
        n: [p.name for p in nodes_of(str(devices.dev / n), devices.sys)] for n in devices.nodes
    }
    assert names == {
        "event5": ["event5", "event6"],
        "event6": ["event6", "event5"],
        "event7": ["event7"],
        "event8": ["event8"],
        "event1": ["event1", "event2"],
        "event2": ["event2", "event1"],
    }
    assert identity("event5", devices.sys).name == "Foot Switch"


def test_keys_have_names_and_numbers() -> None:
    """By the kernel's names, in any case; a digit is the key with that digit."""
    wanted = {"b": 48, "KEY_B": 48, "1": 2, "0": 11, "pageup": 104, "F12": 88, "48": 48, "767": 767}
    assert {name: input_keys.code_of(name) for name in wanted} == wanted
    for wrong in ("768", "pagup", "", "-3", "²²"):
        with pytest.raises(PortFault, match="is no key"):
            input_keys.code_of(wrong)
    assert len(set(input_keys.CODES.values())) == len(input_keys.CODES)


def test_stamps_of_another_clock_are_replaced() -> None:
    """A time that is not near now was not taken from the monotonic clock."""
    now_ns = 5_000_000_000_000
    for at_ns, used_ns in ((now_ns - 3_000_000, now_ns - 3_000_000), (10**18, now_ns), (0, now_ns)):
        (told,) = parse(event(1, B, 1, at_ns), now_ns).keys
        assert told == (used_ns, B, True)


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Whatever comes, only whole events of keys are told."""
    read = parse(data, 1)
    assert len(read.keys) <= len(data) // input_node._EVENT.size
