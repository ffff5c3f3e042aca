"""The words of Modbus RTU that relay boards know: read coils, write one, write several.

Pure: bytes in, bytes out. The numbers are those of the "MODBUS Application Protocol
Specification V1.1b3" (6.1, 6.5, 6.11, 7) and "MODBUS over serial line V1.02" (2.5, 6.2.2).

Answers are looked for anywhere in what was heard: a USB adapter hands bytes over in heaps, so the
silence that parts two frames on the wire cannot be seen here; length and checksum can.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Function(IntEnum):
    """The function codes in use."""

    READ_COILS = 0x01
    WRITE_COIL = 0x05
    WRITE_COILS = 0x0F


_ON, _OFF = 0xFF00, 0x0000
_REFUSED = 0x80  # added to the function code of an answer that refuses
_REFUSALS = {
    0x01: "it does not know that command",
    0x02: "it has no such coil",
    0x03: "it does not take that value",
    0x04: "it failed at it",
    0x05: "it wants more time",
    0x06: "it is busy",
    0x08: "its memory is damaged",
}
_NOBODY = (0x0A, 0x0B)


def _table() -> tuple[int, ...]:
    rows = []
    for byte in range(256):
        crc = byte
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
        rows.append(crc)
    return tuple(rows)


_TABLE = _table()


def crc16(data: bytes) -> int:
    """Give the checksum of a frame (polynomial A001 reflected, from FFFF)."""
    crc = 0xFFFF
    for byte in data:
        crc = crc >> 8 ^ _TABLE[(crc ^ byte) & 0xFF]
    return crc


def framed(data: bytes) -> bytes:
    """Give a frame: the data with its checksum behind it, low byte first."""
    return data + crc16(data).to_bytes(2, "little")


@dataclass(frozen=True, slots=True)
class Refused:
    """The board answered that it will not."""

    code: int

    @property
    def why(self) -> str:
        """Say it in words that go on after "the board refused: "."""
        return _REFUSALS.get(self.code, f"its code is {self.code}")

    @property
    def nobody_there(self) -> bool:
        """Did a gateway answer, for want of the unit that was spoken to?"""
        return self.code in _NOBODY


@dataclass(frozen=True, slots=True)
class Done:
    """The board repeated what it was told."""


@dataclass(frozen=True, slots=True)
class Coils:
    """The coils as the board says they are, by their numbers."""

    on: frozenset[int]


@dataclass(frozen=True, slots=True)
class Asked:
    """A command: its frame, and what is needed to know its answer."""

    frame: bytes
    unit: int
    function: Function
    first: int
    count: int

    @property
    def answer_length(self) -> int:
        """Give the length of the answer in bytes, checksum included."""
        if self.function is Function.READ_COILS:
            return 5 + (self.count + 7) // 8
        return 8


def read_coils(unit: int, first: int, count: int) -> Asked:
    """Ask for ``count`` coils from ``first`` on."""
    return _asked(unit, Function.READ_COILS, first, count, _words(first, count))


def write_coil(unit: int, coil: int, *, on: bool) -> Asked:
    """Switch one coil."""
    return _asked(unit, Function.WRITE_COIL, coil, 1, _words(coil, _ON if on else _OFF))


def clear_coils(unit: int, first: int, count: int) -> Asked:
    """Switch several neighbouring coils off."""
    zeros = bytes((count + 7) // 8)
    data = _words(first, count) + bytes([len(zeros)]) + zeros
    return _asked(unit, Function.WRITE_COILS, first, count, data)


def find_answer(heard: bytes, asked: Asked) -> Done | Coils | Refused | None:
    """Find the first whole answer to a command in what was heard; None while there is none.

    Whatever else is there (noise, an answer to something else, a wrong checksum) is passed over.
    """
    length = asked.answer_length
    for at in range(len(heard) - 4):
        if heard[at] != asked.unit:
            continue
        if heard[at + 1] == asked.function | _REFUSED and _is_whole(heard[at : at + 5], 5):
            return Refused(heard[at + 2])
        frame = heard[at : at + length]
        if heard[at + 1] == asked.function and _is_whole(frame, length):
            answer = _answer(frame, asked)
            if answer is not None:
                return answer
    return None


def _answer(frame: bytes, asked: Asked) -> Done | Coils | None:
    if asked.function is not Function.READ_COILS:
        return Done() if frame[:6] == asked.frame[:6] else None
    if frame[2] != len(frame) - 5:
        return None
    bits = int.from_bytes(frame[3:-2], "little")
    return Coils(frozenset(asked.first + i for i in range(asked.count) if bits >> i & 1))


def _is_whole(frame: bytes, length: int) -> bool:
    return len(frame) == length and crc16(frame[:-2]) == int.from_bytes(frame[-2:], "little")


def _asked(unit: int, function: Function, first: int, count: int, data: bytes) -> Asked:
    return Asked(framed(bytes([unit, function]) + data), unit, function, first, count)


def _words(*values: int) -> bytes:
    return b"".join(value.to_bytes(2, "big") for value in values)
