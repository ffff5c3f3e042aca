"""For tests of the Modbus driver: a board by an independent implementation, on a bad line.

The board is pymodbus: its framer, its messages and its store of coils. The line between is
imagined, in virtual time, and loses, damages, delays and repeats what goes over it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Coroutine
from dataclasses import dataclass
from random import Random
from typing import Any

from pymodbus.exceptions import ModbusIOException
from pymodbus.framer import FramerRTU
from pymodbus.pdu import DecodePDU, ExceptionResponse
from pymodbus.simulator import DataType, SimData, SimDevice
from pymodbus.simulator.simcore import SimCore

from controller.ports import Line
from drivers.modbus_talk import MS, Held, Lost

LINES = (
    Line("lamp", 0),
    Line("ceiling", 1, normally_closed=True),
    Line("bench", "2"),
    Line("room", 5),
)
COILS = {"lamp": 0, "ceiling": 1, "bench": 2, "room": 5}


def device(unit: int = 1, coils: int = 8) -> SimDevice:
    def bits(count: int) -> list[SimData]:
        return [SimData(0, count=count, values=False, datatype=DataType.BITS)]

    def words() -> list[SimData]:
        return [SimData(0, count=1, values=0)]

    return SimDevice(unit, simdata=(bits(coils), bits(coils), words(), words()))


def at_once(work: Coroutine[Any, Any, Any]) -> Any:
    """Give the result of a coroutine that waits for nothing."""
    try:
        work.send(None)
    except StopIteration as done:
        return done.value
    raise AssertionError("it waits")


def coils_of(core: SimCore, count: int = 8, unit: int = 1) -> list[bool]:
    values = at_once(core.async_getValues(unit, 1, 0, count))
    return [bool(each) for each in values]


class Relays:
    """A board without a line: frames in, frames out."""

    def __init__(self, *, coils: int = 8, refuses: tuple[int, ...] = ()) -> None:
        self._coils = coils
        self.refuses = refuses  # function codes that it does not know
        self.stuck: set[int] = set()  # coils that obey nothing
        self.heard: list[bytes] = []  # every frame that was taken
        self._framer = FramerRTU(DecodePDU(True))
        self.power_up()

    def power_up(self) -> None:
        self._core = SimCore(device(coils=self._coils))

    @property
    def coils(self) -> list[bool]:
        return coils_of(self._core, self._coils)

    def put(self, coil: int, *, on: bool) -> None:
        at_once(self._core.async_setValues(1, 5, coil, [on]))

    def take(self, frame: bytes) -> bytes:
        try:
            _, asked = self._framer.handleFrame(frame, 1, 0)
        except ModbusIOException:
            return b""
        if asked is None:
            return b""
        self.heard.append(frame)
        if asked.function_code in self.refuses:
            answer: Any = ExceptionResponse(asked.function_code, 1)
        else:
            before = self.coils
            answer = at_once(asked.datastore_update(self._core, 1))  # type: ignore[arg-type]
            for coil in self.stuck:
                self.put(coil, on=before[coil])
        answer.dev_id, answer.transaction_id = 1, 0
        return self._framer.buildFrame(answer)


@dataclass
class Faults:
    """How often, of all frames, each thing happens; ``late_ms`` is the longest delay each way."""

    lost: float = 0.0
    holes: float = 0.0  # some of its bytes are lost
    damaged: float = 0.0
    noise: float = 0.0  # bytes before it or behind it
    late: float = 0.0
    late_ms: float = 70.0
    twice: float = 0.0
    echo: float = 0.0


CLEAN = Faults()


class BadLine:
    """A ``Port`` in virtual time, 1 ms for each frame, with a board at its end."""

    name = "/dev/serial/by-id/imagined"

    def __init__(self, relays: Relays, random: Random, faults: Faults = CLEAN) -> None:
        self.relays = relays
        self.faults = faults
        self.plugged = True
        self.held = False
        self.opened = 0
        self.frame_ns = MS
        self.board_ns = 0  # when the board last took a frame
        self._random = random
        self._now_ns = 0
        self._open = False
        self._there: deque[tuple[int, bytes]] = deque()  # on the way to the board
        self._back: deque[tuple[int, bytes]] = deque()

    # -- Port --------------------------------------------------------------------------------

    @property
    def is_open(self) -> bool:
        return self._open

    def open(self) -> None:
        if self._open:
            return
        if not self.plugged:
            raise Lost("there is no port")
        if self.held:
            raise Held("the port is held")
        self._open = True
        self.opened += 1

    def close(self) -> None:
        self._open = False

    def send(self, data: bytes) -> None:
        self._check()
        if self._random.random() < self.faults.echo:
            self._queue(self._back, self._now_ns, data)
        self._post(self._there, self._now_ns + self.frame_ns, data)

    def hear(self, until_ns: int) -> bytes:
        self._check()
        while True:
            self._board(min(until_ns, self._back[0][0]) if self._back else until_ns)
            if self._back and self._back[0][0] <= max(until_ns, self._now_ns):
                at_ns, data = self._back.popleft()
                self._now_ns = max(self._now_ns, at_ns)
                if data:
                    return data
                continue
            self._now_ns = max(self._now_ns, until_ns)
            return b""

    def now_ns(self) -> int:
        return self._now_ns

    def rest(self, until_ns: int) -> None:
        self._now_ns = max(self._now_ns, until_ns)
        self._board(self._now_ns)

    # -- what happens to it ------------------------------------------------------------------

    def unplug(self) -> None:
        """Pull the adapter: what is on the way to the host is gone."""
        self.plugged = False
        self._back.clear()

    def replug(self) -> None:
        self.plugged = True
        self._open = False

    def _check(self) -> None:
        if not (self._open and self.plugged):
            self._open = False
            raise Lost("the port is gone")

    def _board(self, until_ns: int) -> None:
        """Let the board take what has reached it by then."""
        until_ns = max(until_ns, self._now_ns)
        while self._there and self._there[0][0] <= until_ns:
            at_ns, data = self._there.popleft()
            self.board_ns = at_ns
            answer = self.relays.take(data)
            if answer:
                self._post(self._back, at_ns + self.frame_ns, answer)
            if self._back and self._back[0][0] < until_ns:
                until_ns = max(self._now_ns, self._back[0][0])

    def _post(self, way: deque[tuple[int, bytes]], at_ns: int, data: bytes) -> None:
        chance, faults = self._random.random, self.faults
        if chance() < faults.lost:
            return
        frame = bytearray(data)
        if chance() < faults.holes:
            for _ in range(self._random.randint(1, 3)):
                if frame:
                    del frame[self._random.randrange(len(frame))]
        if chance() < faults.damaged and frame:
            for _ in range(self._random.randint(1, 4)):
                frame[self._random.randrange(len(frame))] ^= 1 << self._random.randrange(8)
        if chance() < faults.noise:
            before = self._random.randbytes(self._random.randint(0, 6))
            frame = bytearray(before) + frame + self._random.randbytes(self._random.randint(0, 4))
        if chance() < faults.late:
            at_ns += int(self._random.random() * faults.late_ms * MS)
        times = 2 if way is self._back and chance() < faults.twice else 1
        for _ in range(times):
            self._queue(way, at_ns, bytes(frame))

    def _queue(self, way: deque[tuple[int, bytes]], at_ns: int, data: bytes) -> None:
        at_ns = max(at_ns, way[-1][0]) if way else at_ns  # a line keeps the order
        cut = self._random.randrange(len(data) + 1) if way is self._back else len(data)
        way.append((at_ns, data[:cut]))
        if data[cut:]:
            way.append((at_ns + self.frame_ns // 4, data[cut:]))
