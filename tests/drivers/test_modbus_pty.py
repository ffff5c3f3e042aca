"""The Modbus driver on a pseudo-terminal, with pymodbus's own server behind a bad cable."""

from __future__ import annotations

import asyncio
import itertools
import os
import pty
import select
import signal
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import Any

import pytest
from pymodbus.server import ModbusSerialServer

from controller.keeper import MS, AllSafe, Edge, OutputRule, Pulse, Put
from controller.ports import PortFault
from controller.rig.modbus import ModbusOptions
from drivers.keeper_link import KeeperLink
from drivers.keeper_words import Setup
from drivers.modbus import ModbusOutputs
from drivers.modbus_port import find_board
from tests.drivers.modbus_line import COILS, LINES, coils_of, device

pytestmark = pytest.mark.real

HOUSE = Path(__file__).parents[2]
BY_NAME = {line.name: line for line in LINES}
# nothing of a pseudo-terminal depends on the speed; the timeout is generous for a busy machine
SPEED = {"baud": 115200, "timeout_ms": 20}


class Cable:
    """A board's server on one pseudo-terminal, an adapter on another, and a thread between."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "usb-adapter-port0"
        self.random = Random(7)
        self.lost = self.damaged = 0.0
        self.noise = 0.0
        self.late_s = 0.0
        self.slow_s = 0.0  # for each frame
        self._far, self._board = pty.openpty()
        tty.setraw(self._board)
        self._near: int | None = None
        self._slave: int | None = None
        self._lock = threading.Lock()
        self._ending = threading.Event()
        self._ready = threading.Event()
        self._threads = [threading.Thread(target=each) for each in (self._serve, self._carry)]
        for thread in self._threads:
            thread.start()
        assert self._ready.wait(10)
        self.plug()

    # -- hands -------------------------------------------------------------------------------

    def plug(self) -> None:
        near, slave = pty.openpty()
        tty.setraw(slave)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(slave))
        with self._lock:
            self._near, self._slave = near, slave

    def unplug(self) -> None:
        self.path.unlink()
        with self._lock:
            assert self._near is not None
            assert self._slave is not None
            os.close(self._slave)
            os.close(self._near)
            self._near = self._slave = None
        time.sleep(0.05)  # until the thread between lets go of it too

    def clean(self) -> None:
        self.lost = self.damaged = self.noise = self.late_s = 0.0

    @property
    def coils(self) -> list[bool]:
        return coils_of(self._server.context)  # type: ignore[arg-type]

    def end(self) -> None:
        self._ending.set()
        self._loop.call_soon_threadsafe(self._stop.set)
        for thread in self._threads:
            thread.join(10)
        for fd in (self._far, self._board, self._near, self._slave):
            if fd is not None:
                os.close(fd)

    # -- threads -----------------------------------------------------------------------------

    def _serve(self) -> None:
        async def serve() -> None:
            self._loop = asyncio.get_running_loop()
            self._stop = asyncio.Event()
            self._server = ModbusSerialServer(
                device(),
                port=os.ttyname(self._board),
                baudrate=115200,
                ignore_missing_devices=True,
            )
            await self._server.serve_forever(background=True)
            self._ready.set()
            await self._stop.wait()
            await self._server.shutdown()

        asyncio.run(serve())

    def _carry(self) -> None:
        while not self._ending.is_set():
            with self._lock:
                near = self._near
            ears = [self._far] if near is None else [self._far, near]
            with suppress(OSError, ValueError):  # the adapter was pulled meanwhile
                for fd in select.select(ears, (), (), 0.005)[0]:
                    data = os.read(fd, 256)
                    if fd == near and data[:1] != b"\x01":
                        continue  # pymodbus would answer for every unit
                    time.sleep(self.slow_s)
                    data = self._spoiled(data)
                    with self._lock:
                        other = self._near if fd == self._far else self._far
                        if data and other is not None and (fd == self._far or fd == self._near):
                            os.write(other, data)

    def _spoiled(self, data: bytes) -> bytes:
        chance = self.random.random
        if chance() < self.lost:
            return data[: self.random.randrange(len(data))] if chance() < 0.5 else b""
        frame = bytearray(data)
        if chance() < self.damaged:
            frame[self.random.randrange(len(frame))] ^= 1 << self.random.randrange(8)
        if chance() < self.noise:
            frame = bytearray(self.random.randbytes(self.random.randint(1, 4))) + frame
        if chance() < 0.3:
            time.sleep(self.late_s * chance())
        return bytes(frame)

    def options(self) -> dict[str, object]:
        return {"port": str(self.path), **SPEED}


@pytest.fixture
def cable(tmp_path: Path) -> Iterator[Cable]:
    cable = Cable(tmp_path)
    yield cable
    cable.end()


def until(act: Any, timeout_s: float = 10.0) -> Any:
    """Do something until it raises no PortFault."""
    until_s = time.monotonic() + timeout_s
    while True:
        try:
            return act()
        except PortFault:
            if time.monotonic() > until_s:
                raise
            time.sleep(0.01)


def test_a_board_is_found_and_switched(cable: Cable) -> None:
    """A board answers a search, is opened, obeys, is read back, and can be opened but once."""
    found = find_board(str(cable.path), units=(3, 1), ways=[(115200, "none")])
    assert found is not None
    assert (found.unit, found.baud, found.parity, found.readable) == (1, 115200, "none", True)
    assert find_board(str(cable.path), units=(9,), ways=[(115200, "none")]) is None
    board = until(lambda: ModbusOutputs.open(LINES, cable.options()))
    with pytest.raises(PortFault, match="is held by another program"):
        find_board(str(cable.path))
    for name, coil in COILS.items():
        for lit in (True, False):
            until(lambda name=name, lit=lit: board.write(name, lit))
            assert cable.coils[coil] is (lit != BY_NAME[name].safe_lit)
    board.close()
    ModbusOutputs.open(LINES, cable.options()).close()


def test_what_is_told_is_so_on_a_real_port(cable: Cable) -> None:
    """Three hundred commands over a bad cable tell nothing that is not so, and then it heals."""
    board = ModbusOutputs.open(LINES, cable.options())
    random = cable.random
    confirmed = 0
    for count in range(300):
        if count % 50 == 0:
            cable.lost, cable.damaged, cable.noise = (random.random() * 0.1 for _ in range(3))
            cable.late_s = random.choice((0.0, 0.0, 0.03))
        name = random.choice(list(COILS))
        lit = random.random() < 0.5
        with suppress(PortFault):
            board.write(name, lit)
            confirmed += 1
            assert cable.coils[COILS[name]] is (lit != BY_NAME[name].safe_lit)
    assert 20 < confirmed < 300
    cable.clean()
    for name, line in BY_NAME.items():
        until(lambda name=name, line=line: board.write(name, line.safe_lit))
    assert not any(cable.coils)
    until(lambda: board.write("lamp", True))
    assert cable.coils[0]
    board.close()


def test_unplugged_and_plugged_in_again(cable: Cable) -> None:
    """Away while lit the lamp is unknown; back at the same path, perhaps another port, it obeys."""
    board = ModbusOutputs.open(LINES, cable.options())
    until(lambda: board.write("lamp", True))
    cable.unplug()
    with pytest.raises(PortFault):
        board.write("lamp", False)
    with pytest.raises(PortFault, match="there is no port"):
        board.write("lamp", False)
    assert board.read("lamp") is None
    assert cable.coils[0]
    cable.plug()
    until(lambda: board.write("lamp", False))
    assert not cable.coils[0]
    # and while nothing is asked: the next command finds it, without a fault
    time.sleep(0.25)
    cable.unplug()
    cable.plug()
    board.write("lamp", True)
    assert cable.coils[0]
    board.close()


OWNER = """
import sys, time
from drivers.keeper_link import KeeperLink
from drivers.keeper_words import Setup
from drivers.modbus import ModbusOutputs
from tests.drivers.modbus_line import LINES
board = ModbusOutputs.open(LINES, {"port": sys.argv[1], "baud": 115200, "timeout_ms": 20})
while True:
    try:
        board.write("lamp", True)
        break
    except Exception:
        time.sleep(0.05)
print("lit", flush=True)
time.sleep(60)
"""


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_a_dead_owner_is_relieved(cable: Cable, number: signal.Signals) -> None:
    """A rescuer cannot speak while the owner lives, frozen too, and makes all safe after it."""
    rescuer = ModbusOutputs.rescuer(LINES, cable.options())
    owner = subprocess.Popen(
        [sys.executable, "-c", OWNER, str(cable.path)],
        cwd=HOUSE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(HOUSE)},
    )
    try:
        assert owner.stdout is not None
        assert owner.stdout.readline() == b"lit\n"
        assert cable.coils[0]
        owner.send_signal(number)
        if number is signal.SIGSTOP:
            assert not rescuer.make_safe(time.monotonic_ns() + 50 * MS)
            assert cable.coils[0]
    finally:
        owner.kill()
        owner.wait()
        owner.stdout.close()  # type: ignore[union-attr]
    assert rescuer.make_safe(time.monotonic_ns() + 10_000 * MS)
    assert not any(cable.coils)
    rescuer.release()
    ModbusOutputs.open(LINES, cable.options()).close()


def test_what_is_no_serial_port(tmp_path: Path) -> None:
    """A path that is not there, or is a file, is refused with what would be right."""
    options = ModbusOptions(str(tmp_path / "none"))
    with pytest.raises(PortFault, match=r"there is no port .*none; plug the adapter in"):
        ModbusOutputs.open(LINES, {"port": options.port})
    (tmp_path / "file").write_text("")
    with pytest.raises(PortFault, match="is not a serial port"):
        ModbusOutputs.open(LINES, {"port": str(tmp_path / "file")})


@pytest.fixture
def registered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Register the driver, as an installed package does, here and in processes that begin."""
    made = tmp_path / "site" / "boards-1.dist-info"
    made.mkdir(parents=True)
    (made / "METADATA").write_text("Metadata-Version: 2.1\nName: boards\nVersion: 1\n")
    (made / "entry_points.txt").write_text(
        "[dryside.outputs]\nmodbus = drivers.modbus:ModbusOutputs\n"
    )
    monkeypatch.syspath_prepend(str(made.parent))
    monkeypatch.setenv("PYTHONPATH", f"{made.parent}{os.pathsep}{HOUSE}")


@pytest.mark.usefixtures("registered")
class GivenUp(Exception):
    """The keeper was silent for too long: for the board's sake, or the machine was busy."""


def test_a_slow_board_in_a_keepers_hands(tmp_path: Path) -> None:
    """A keeper that waits for a slow board is not given up, and notices a pulled cable.

    On a busy machine it may be silent for other reasons: then it is tried again.
    """
    for number in range(6):
        folder = tmp_path / str(number)
        folder.mkdir()
        held = Cable(folder)
        try:
            _slow_board(held, folder)
        except (GivenUp, PortFault):
            continue  # at its start a keeper may find the board too slow, too
        finally:
            held.end()
        return
    raise AssertionError("the keeper was given up each time")


def _slow_board(cable: Cable, tmp_path: Path) -> None:
    cable.slow_s = 0.008
    patient = {**cable.options(), "timeout_ms": 40}
    rules = tuple(
        OutputRule(line.name, line.safe_lit, lamp=line.name == "lamp", longest_ns=60_000 * MS)
        for line in LINES
    )
    setup = Setup(lines=LINES, rules=rules, driver="modbus", options=patient)
    link = KeeperLink.start(setup, run=tmp_path)
    told: dict[str, bool | None] = {}

    def serve(ask: Callable[[], object], done: Callable[[], object]) -> None:
        """Ask, again and again where a busy machine made the board too slow, until it is done."""
        until_s = time.monotonic() + 20
        asked_s = 0.0
        while not done():
            now_s = time.monotonic()
            assert now_s < until_s, told
            link.beat(time.monotonic_ns())
            if now_s > asked_s + 1:
                asked_s = now_s
                ask()
            select.select([link], (), (), 0.02)
            for reply in link.receive(time.monotonic_ns()):
                if isinstance(reply, Edge):
                    told[reply.output] = reply.lit
            lost = link.check(time.monotonic_ns())
            if lost is not None:
                raise GivenUp(lost.why)

    lights = {"ceiling": False, "bench": True, "room": True}

    def put_all() -> None:
        for name, lit in lights.items():
            link.send(Put(name, lit))

    for _ in range(3):
        serve(put_all, lambda: {name: told.get(name) for name in lights} == lights)
        serve(
            lambda: link.send(AllSafe()),
            lambda: all(told[line.name] is line.safe_lit for line in LINES[1:]),
        )
        assert not any(cable.coils)
    number = itertools.count(1)

    def light() -> None:
        until_ns = time.monotonic_ns() + 500 * MS
        link.send(Pulse(next(number), "lamp", 30_000 * MS, until_ns))

    serve(light, lambda: told.get("lamp"))
    assert cable.coils[0]
    cable.unplug()  # noticed at once, though the pulse goes on for long
    serve(lambda: None, lambda: told["lamp"] is None)
    cable.plug()
    serve(lambda: None, lambda: told["lamp"] is False)
    assert not cable.coils[0]
    serve(light, lambda: told.get("lamp"))
    os.kill(link.pid, signal.SIGKILL)
    lost = None
    while lost is None:
        select.select([link], (), (), 1)
        lost = link.check(time.monotonic_ns())
    assert lost.safe
    assert not any(cable.coils)
    link.restart()
    assert link.close() is None
