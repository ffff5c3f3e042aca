"""Speaking with one Modbus board: a command, its answer, and what an answer is worth.

A serial line brings everything in order, loses bytes, damages them, and holds them up. An answer
to function 01 does not say what was asked, so an old one that comes late looks like a new one.
Two rules make late answers harmless:

* a coil is only ever *energised* on a **clean** line: every command of the last ``LATE_NS`` was
  answered;
* so whatever is heard after that, even late, is an answer to something that was asked since, and
  one that says "not energised" is true: nothing has energised the coil since then.

``Port`` is the line itself, real (``modbus_port``) or imagined in tests, with its own clock.
"""

from __future__ import annotations

from typing import Protocol

from controller.ports import PortFault
from controller.rig.modbus import ModbusOptions
from drivers.modbus_words import Asked, Coils, Refused, find_answer, read_coils

MS = 1_000_000
LATE_NS = 200 * MS  # an answer that is later than this is taken as never coming
_MOST_KEPT = 512  # bytes of noise that are looked through


class Lost(PortFault):
    """The port is gone or cannot be opened; it may come back."""


class Held(Lost):
    """Somebody else has the port."""


class Silent(PortFault):
    """No answer, or none that can be read."""


class Unwilling(PortFault):
    """The board answered that it will not."""

    def __init__(self, message: str, refused: Refused) -> None:
        super().__init__(message)
        self.refused = refused


class Port(Protocol):
    """A serial port that can be opened again. Everything but ``now_ns`` and ``rest`` raises Lost.

    After Lost it is closed.
    """

    @property
    def name(self) -> str:
        """What it is called, for sentences."""

    @property
    def is_open(self) -> bool:
        """Is it open?"""

    def open(self) -> None:
        """Open it, as its only owner."""

    def close(self) -> None:
        """Let go of it; never raises."""

    def send(self, data: bytes) -> None:
        """Send, without waiting for the wire."""

    def hear(self, until_ns: int) -> bytes:
        """Give what comes, as soon as it does; nothing when the time is over."""

    def now_ns(self) -> int:
        """Tell the time, in monotonic nanoseconds."""

    def rest(self, until_ns: int) -> None:
        """Wait."""


class Talk:
    """Commands to one board, one at a time."""

    def __init__(self, port: Port, options: ModbusOptions, first: int, count: int) -> None:
        self.port = port
        self.unit = options.unit
        self._all = read_coils(options.unit, first, count)
        bits = 9 + options.stop_bits + (options.parity != "none")
        self._char_ns = bits * 1_000_000_000 // options.baud
        self._thinks_ns = int(options.timeout_ms * MS)
        # Modbus over serial line, 2.5.1.1: 3.5 characters part two frames; 1.75 ms above 19200
        self._gap_ns = max(self._char_ns * 7 // 2 + 1, 1_750_000)
        self._quiet_ns = 0  # from when on the next frame may begin
        self._clean_ns = 0  # from when on no old answer can come any more
        self.echoes = False  # did the adapter give back what it had just sent?

    @property
    def is_clean(self) -> bool:
        """Can nothing that is heard be an answer to an older command?"""
        return self.port.now_ns() >= self._clean_ns

    @property
    def clean_ns(self) -> int:
        """From when on the line is clean."""
        return self._clean_ns

    def doubt(self) -> None:
        """Take it that somebody has just sent a command, which nobody has heard the answer to."""
        self._clean_ns = self.port.now_ns() + LATE_NS

    def drain(self) -> None:
        """Throw away what was said unasked. Raises Lost, so this also tells if a port is alive."""
        until_ns = self.port.now_ns() + self._gap_ns
        while self.port.hear(0) and self.port.now_ns() < until_ns:
            pass

    def tell(self, asked: Asked, until_ns: int) -> None:
        """Have something done. It is sent even if the time is over. Raises PortFault."""
        self._ask(asked, until_ns)

    def read(self, until_ns: int) -> frozenset[int]:
        """Read every coil in use; gives those that are energised. Raises PortFault."""
        answer = self._ask(self._all, until_ns)
        assert isinstance(answer, Coils)
        return answer.on

    def _ask(self, asked: Asked, until_ns: int) -> object:
        port = self.port
        self.drain()
        if port.now_ns() < self._quiet_ns:
            port.rest(self._quiet_ns)
        sent_ns = port.now_ns()
        was_clean = self.is_clean
        # until an answer is heard it may come late; also if this is left by an exception
        self._clean_ns = sent_ns + LATE_NS
        port.send(asked.frame)
        wire_ns = self._char_ns * (len(asked.frame) + asked.answer_length)
        until_ns = min(until_ns, sent_ns + wire_ns + self._thinks_ns)
        heard = b""
        while True:
            some = port.hear(until_ns)
            heard = (heard + some)[-_MOST_KEPT:]
            answer = find_answer(heard, asked) if some else None
            if answer is not None:
                break
            if port.now_ns() >= until_ns:
                self._quiet_ns = port.now_ns() + self._gap_ns
                raise Silent(self._silence(heard, asked))
        self._quiet_ns = port.now_ns() + self._gap_ns
        if was_clean:  # else it may be an older answer, and the one to this may still come
            self._clean_ns = sent_ns
        self.echoes = asked is self._all and asked.frame in heard
        if isinstance(answer, Refused):
            raise Unwilling(f"the board at {port.name} refused: {answer.why}", answer)
        return answer

    def _silence(self, heard: bytes, asked: Asked) -> str:
        where = f"unit {self.unit} at {self.port.name}"
        left = heard.replace(asked.frame, b"")
        if left:
            return f"{where} gave no answer that can be read"
        return f"{where} does not answer"
