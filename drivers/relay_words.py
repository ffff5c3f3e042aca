"""The lines that a host and a relay unit say to each other, at the host's end. Pure.

The protocol is written down in ``drivers/firmware/PROTOCOL.md``. The unit's end is written on its
own (``drivers/firmware/core.py``), so that each is a check of the other.
"""

from __future__ import annotations

from binascii import crc_hqx
from dataclasses import dataclass
from typing import TypeAlias

VERSION = 1
MOST_BYTES = 120  # of one line, without its end
MOST_SEQ = 0x7FFF_FFFF
_MOST_NUMBER = 10**15

# Words behind "yes SEQ VERB". As their number is fixed, no line that was cut or joined passes.
_ANSWERS = {
    "hello": 6,
    "setup": 1,
    "put": 4,
    "cut": 1,
    "alive": 3,
    "arm": 1,
    "state": 4,
    "last": 4,
}
_TOLD = {"start": 2, "back": 4, "latched": 2, "fault": 3}


@dataclass(frozen=True, slots=True)
class Yes:
    """A command was carried out."""

    seq: int
    verb: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class No:
    """A command was refused: one of the protocol's words for the reason, and a detail."""

    seq: int
    why: str
    detail: str


@dataclass(frozen=True, slots=True)
class Told:
    """Something that nobody asked for has happened at the unit."""

    number: int
    what: str
    words: tuple[str, ...]


Heard: TypeAlias = Yes | No | Told


def crc16(data: bytes) -> int:
    """Give the CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, nothing reflected."""
    return crc_hqx(data, 0xFFFF)


def seal(body: str) -> bytes:
    """Make a line of some words: the checksum behind them, and the end of the line."""
    data = body.encode("ascii")
    return b"%b %04x\n" % (data, crc16(data))


def ask(seq: int, verb: str, *words: str | int) -> bytes:
    """Make the line of one command."""
    return seal(" ".join(["ask", str(seq), verb, *(str(word) for word in words)]))


def number(word: str) -> int | None:
    """Give a whole number that is written in the one way it can be, or None."""
    if not (word.isascii() and word.isdigit() and len(word) <= 16):
        return None
    value = int(word)
    return value if str(value) == word and value <= _MOST_NUMBER else None


def heard(line: bytes) -> Heard | None:
    """Understand a line (without its end); None where anything about it is wrong."""
    body, space, check = line.rpartition(b" ")
    if not space or not all(32 <= byte <= 126 for byte in body):
        return None
    if check != b"%04x" % crc16(body):
        return None
    match body.decode("ascii").split(" "):
        case ["yes", seq, verb, *words] if _ANSWERS.get(verb) == len(words):
            count = number(seq)
            return None if count is None else Yes(count, verb, tuple(words))
        case ["no", seq, why, detail]:
            count = number(seq)
            return None if count is None else No(count, why, detail)
        case ["tell", told, what, *words] if _TOLD.get(what) == len(words):
            count = number(told)
            return None if count is None else Told(count, what, tuple(words))
    return None


class Hearing:
    """Takes bytes as they come, and gives the lines in them that are right.

    What is wrong is left out: a command whose answer was left out is repeated, so nothing has to
    be said about it. ``garbled`` counts.
    """

    def __init__(self) -> None:
        self.garbled = 0
        self._rest = b""
        self._skipping = False

    def feed(self, data: bytes) -> list[Heard]:
        """Give the messages that these bytes complete, in order."""
        messages: list[Heard] = []
        *lines, rest = (self._rest + data).split(b"\n")
        for line in lines:
            plain = line.removesuffix(b"\r")
            skip, self._skipping = self._skipping, False
            message = None if skip or len(plain) > MOST_BYTES else heard(plain)
            if message is not None:
                messages.append(message)
            elif plain or skip:
                self.garbled += 1
        if len(rest) > MOST_BYTES:
            self._skipping = True
            rest = b""
        self._rest = rest
        return messages
