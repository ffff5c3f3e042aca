"""Relays and pedals on the modem lines of a serial port, on a port that is imagined.

Pseudo-terminals have no such lines, so the kernel's own calls are tried in the kernel lab only.
"""

from __future__ import annotations

import os
import pty
import queue
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.ports import Line, Pluggable, PortFault, Tended
from drivers.modem_input import LineContact
from drivers.modem_lines import Board, ModemOutputs, ModemPedal, Options, Rescue
from drivers.modem_port import CTS, DTR, RTS, Held, Lost, open_port

WAIT_S = 20.0
PORT = {"port": "/dev/serial/by-id/usb-adapter"}
LAMP = Line("lamp", "dtr-rts")
ONE = [Line("lamp", "dtr"), Line("ceiling", "RTS", normally_closed=True)]


class Adapter:
    """A port and its wires: what the kernel and a USB adapter would do, and a diary of levels."""

    def __init__(self, *, waits: bool = True) -> None:
        self.lines = 0
        self.hangs_up = False  # speed B0: opening raises nothing
        self.diary: list[int] = []
        self.plugged = True
        self.owner: object | None = None
        self.opened = 0
        self.waits = waits
        self.changed = threading.Condition()

    def open(self, path: str) -> Share:
        if not self.plugged:
            raise Lost("it is not there")
        self.opened += 1
        if not self.hangs_up:
            self.set(self.lines | DTR | RTS)
            self.set(self.lines & ~(DTR | RTS))
            self.hangs_up = True
        return Share(self)

    def set(self, lines: int) -> None:
        with self.changed:
            self.lines = lines
            self.diary.append(lines & (DTR | RTS))
            self.changed.notify_all()

    def press(self, *, down: bool) -> None:
        self.set(self.lines | CTS if down else self.lines & ~CTS)

    def unplug(self) -> None:
        with self.changed:
            self.plugged, self.lines, self.hangs_up, self.owner = False, 0, False, None
            self.changed.notify_all()

    @property
    def energised(self) -> bool:
        """Is a relay between DTR and RTS energised?"""
        return self.lines & (DTR | RTS) == DTR


class Share:
    def __init__(self, adapter: Adapter) -> None:
        self.adapter = adapter
        self.closed = False
        self.gone = False

    def _there(self) -> None:
        if not self.adapter.plugged:
            self.gone = True
        if self.gone or self.closed:
            raise Lost("it is gone")

    def get(self) -> int:
        self._there()
        return self.adapter.lines

    def put(self, *, drop: int = 0, lift: int = 0) -> None:
        self._there()
        if drop:
            self.adapter.set(self.adapter.lines & ~drop)
        if lift:
            self.adapter.set(self.adapter.lines | lift)

    def await_change(self, lines: int) -> bool:
        self._there()
        if not self.adapter.waits:
            return False
        with self.adapter.changed:
            self.adapter.changed.wait(WAIT_S)
        self._there()
        return True

    def claim(self) -> None:
        self._there()
        if self.adapter.owner not in (None, self):
            raise Held("another program switches by it")
        self.adapter.owner = self

    def unclaim(self) -> None:
        if self.adapter.owner is self:
            self.adapter.owner = None

    def close(self) -> None:
        self.closed = True


def board(adapter: Adapter, *lines: Line, **options: object) -> Board:
    return Board(lines or [LAMP], Options.of(PORT | options), opener=adapter.open)


def test_a_relay_between_the_wires_stays_at_rest_from_opening_to_closing() -> None:
    """Opening raises both, closing drops both: neither energises it. Only lit does."""
    adapter = Adapter()
    outputs = board(adapter)
    assert isinstance(outputs, Tended)
    assert DTR not in adapter.diary
    outputs.write("lamp", True)
    assert adapter.energised
    outputs.write("lamp", False)
    assert adapter.lines == 0
    outputs.close()
    assert adapter.diary.count(DTR) == 1


def test_two_outputs_have_a_wire_each() -> None:
    """Each is switched without the other; a normally closed contact burns at rest."""
    adapter = Adapter()
    outputs = board(adapter, *ONE)
    assert adapter.lines == 0  # the lamp dark, the safelight lit
    outputs.write("ceiling", False)
    assert adapter.lines == RTS
    outputs.write("lamp", True)
    assert adapter.lines == DTR | RTS
    outputs.write("ceiling", True)
    assert adapter.lines == DTR
    assert outputs.read("lamp") is None
    with pytest.raises(PortFault, match="no output 'x' on this port, only 'lamp', 'ceiling'"):
        outputs.write("x", True)


def test_the_supply_of_the_contacts_is_never_dropped() -> None:
    """It is raised while relays are at rest, also by whoever takes a dead owner's lines."""
    adapter = Adapter()
    outputs = board(adapter, Line("lamp", "rts"), supply="dtr")
    outputs.write("lamp", True)
    rescue = Rescue(
        [Line("lamp", "rts")], Options.of(PORT | {"supply": "dtr"}), opener=adapter.open
    )
    adapter.owner = None  # dead
    assert rescue.make_safe(0)
    assert adapter.lines == DTR
    assert all(lines & DTR for lines in adapter.diary[3:])


@given(st.lists(st.tuples(st.sampled_from(["lamp", "ceiling"]), st.booleans()), max_size=12))
def test_the_wires_follow_what_was_written(writes: list[tuple[str, bool]]) -> None:
    """After any writes each wire is as its output's last one says."""
    adapter = Adapter()
    outputs = board(adapter, *ONE)
    lit = {"lamp": False, "ceiling": True}
    for name, wanted in writes:
        outputs.write(name, wanted)
        lit[name] = wanted
        assert bool(adapter.lines & DTR) is lit["lamp"]
        assert bool(adapter.lines & RTS) is not lit["ceiling"]


def test_a_pulled_adapter_leaves_everything_unknown_and_heals_at_rest() -> None:
    """Told once by the next look; plugged in again nothing is lit before it is asked for."""
    adapter = Adapter()
    outputs = board(adapter)
    outputs.write("lamp", True)
    assert outputs.alive(0) == ()
    adapter.unplug()
    assert outputs.alive(10**9) == ("lamp",)
    with pytest.raises(PortFault, match="serial port /dev/serial/by-id/usb-adapter: it is not th"):
        outputs.write("lamp", True)
    assert outputs.alive(2 * 10**9) == ()
    adapter.plugged = True
    adapter.diary.clear()
    assert outputs.alive(3 * 10**9) == ("lamp",)  # to be brought to safety, and so known again
    outputs.write("lamp", False)
    assert outputs.alive(4 * 10**9) == ()
    assert DTR not in adapter.diary


def test_lines_that_somebody_else_moves_are_noticed() -> None:
    """Another program that opens and raises the lines makes the outputs unknown."""
    adapter = Adapter()
    outputs = board(adapter)
    adapter.set(DTR | RTS)
    assert outputs.alive(0) == ("lamp",)
    outputs.write("lamp", False)
    assert adapter.lines == 0


def test_a_port_that_does_not_obey_is_a_fault() -> None:
    """What is not held as it was told is not known."""
    adapter = Adapter()
    outputs = board(adapter)
    adapter.set = lambda lines: None  # type: ignore[method-assign]
    with pytest.raises(PortFault, match="does not hold its lines as they are told"):
        outputs.write("lamp", True)


def test_one_owner_at_a_time_and_a_rescuer_over_him() -> None:
    """A second owner is refused; a rescuer puts relays to rest before he has the port."""
    adapter = Adapter()
    owner = board(adapter)
    owner.write("lamp", True)
    with pytest.raises(PortFault, match="another program switches by it"):
        board(adapter)
    assert adapter.energised
    rescue = Rescue([LAMP], Options.of(PORT), opener=adapter.open)
    assert adapter.energised  # preparing moves nothing
    assert not rescue.make_safe(0)  # held, and at rest all the same
    assert adapter.lines == 0
    owner.close()
    assert rescue.make_safe(0)
    rescue.release()
    board(adapter).write("lamp", True)


def test_a_rescuer_finds_a_port_that_was_away() -> None:
    """An adapter that was pulled and is there again can still be put to rest."""
    adapter = Adapter()
    rescue = Rescue([LAMP], Options.of(PORT), opener=adapter.open)
    adapter.unplug()
    assert not rescue.make_safe(0)
    adapter.plugged = True
    adapter.lines = DTR
    adapter.hangs_up = True
    assert rescue.make_safe(time.monotonic_ns() + 10**9)
    assert adapter.lines == 0


class Heard:
    def __init__(self) -> None:
        self._told: queue.Queue[str] = queue.Queue()

    def edge(self, _at_ns: int, down: bool) -> None:
        self._told.put("down" if down else "up")

    def presence(self, _at_ns: int, there: bool) -> None:
        self._told.put("back" if there else "gone")

    def next(self) -> str:
        return self._told.get(timeout=WAIT_S)

    def nothing(self) -> bool:
        return self._told.empty()


@pytest.fixture
def contacts() -> Iterator[list[LineContact]]:
    opened: list[LineContact] = []
    yield opened
    for each in opened:
        each.close()


@pytest.mark.parametrize("waits", [True, False])
@pytest.mark.parametrize("closed", [True, False])
def test_a_contact_is_heard_and_unplugging_is_told(
    contacts: list[LineContact], waits: bool, closed: bool
) -> None:
    """Pressed, let go, unplugged, plugged in again; whether the port can wait or not."""
    adapter, heard = Adapter(waits=waits), Heard()
    pedal = LineContact(
        "/x", CTS, 0, normally_closed=closed, on_edge=heard.edge, opener=adapter.open
    )
    contacts.append(pedal)
    assert isinstance(pedal, Pluggable)
    pedal.watch(heard.presence)
    if closed:
        assert heard.next() == "down"  # an open circuit is a press
        adapter.press(down=True)
        assert heard.next() == "up"
    for down in (True, False):
        adapter.press(down=down is not closed)
        assert heard.next() == ("down" if down else "up")
    adapter.unplug()
    assert heard.next() == "gone"
    adapter.plugged = True
    adapter.lines = CTS
    assert heard.next() == "back"
    if closed:
        adapter.press(down=False)
    assert heard.next() == "down"
    assert heard.nothing()


def test_listening_moves_no_output(contacts: list[LineContact]) -> None:
    """A pedal that is opened beside outputs in another process leaves their lines alone."""
    adapter, heard = Adapter(), Heard()
    outputs = board(adapter)
    outputs.write("lamp", True)
    adapter.diary.clear()
    contacts.append(
        LineContact("/x", CTS, 0, normally_closed=False, on_edge=heard.edge, opener=adapter.open)
    )
    assert adapter.energised
    assert set(adapter.diary) <= {DTR}


def test_a_contact_may_have_a_line_that_feeds_it(contacts: list[LineContact]) -> None:
    """Without any output on the port the pedal raises it itself."""
    adapter, heard = Adapter(), Heard()
    contacts.append(
        LineContact("/x", CTS, DTR, normally_closed=False, on_edge=heard.edge, opener=adapter.open)
    )
    assert adapter.lines == DTR


@pytest.mark.parametrize(
    ("options", "address", "said"),
    [
        ({}, "dtr", r"\[board.modem-lines\] port: it is missing"),
        (PORT | {"baud": 9600}, "dtr", "baud: there is no such key here"),
        (
            PORT | {"supply": "dtr"},
            "dtr",
            "output 'lamp': address: 'dtr' needs DTR, which is the su",
        ),
        (PORT, "cts", "output 'lamp': address: 'cts' is no output of a serial port"),
        (PORT, "dtr", "serial port /dev/serial/by-id/usb-adapter: it is not there; plug it in"),
    ],
)
def test_outputs_that_cannot_be(options: dict[str, object], address: str, said: str) -> None:
    """Options, addresses and ports that are wrong get one sentence, for owner and rescuer."""
    for way in (ModemOutputs.open, ModemOutputs.rescuer):
        with pytest.raises(PortFault, match=said):
            way([Line("lamp", address)], options)


def test_a_relay_that_wants_a_dropped_line_is_refused() -> None:
    """It would be energised by a port that nobody has open."""
    with pytest.raises(PortFault, match="output 'lamp': active: a port that nobody has open drops"):
        ModemOutputs.open([Line("lamp", "dtr", active_low=True)], PORT)


def test_a_pedal_that_cannot_be() -> None:
    """An address that is no input, and a port that is not there."""
    for address, said in (
        ("dtr", "pedal address: 'dtr' is no input of a serial port"),
        ("cts", "serial port /dev/serial/by-id/usb-adapter, for a pedal: it is not there"),
    ):
        with pytest.raises(PortFault, match=said):
            ModemPedal.open(address, normally_closed=False, on_edge=lambda *_: None, options=PORT)


def test_a_terminal_without_such_lines_is_no_port() -> None:
    """A pseudo-terminal is refused in words, and is not left open."""
    near, far = pty.openpty()
    try:
        path = os.ttyname(far)
        with pytest.raises(Lost, match="it is no serial port with modem lines"):
            open_port(path)
        fds = [each for each in Path("/proc/self/fd").iterdir() if each.exists()]
        assert [str(each.readlink()) for each in fds].count(path) == 1
    finally:
        os.close(near)
        os.close(far)
