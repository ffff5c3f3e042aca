"""Event nodes of the kernel's input devices, and which of them belong to one device.

Pure Python: a binding would have to be compiled on the machine itself, and what is needed of it
is a struct and four ioctls (numbers from the kernel's input.h; read).
"""

from __future__ import annotations

import array
import errno
import fcntl
import os
import re
import struct
import time
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple, Protocol

from controller.ports import PortFault

SYS = Path("/sys/class/input")

_EVENT = struct.Struct("@llHHi")  # seconds, microseconds, type, code, value
_EV_SYN, _EV_KEY = 0, 1
_SYN_DROPPED = 3
_GRAB = 0x40044590  # _IOW('E', 0x90, int)
_CLOCK = 0x400445A0  # _IOW('E', 0xa0, int)
_KEYS_BYTES = 96  # a bit for each key up to 0x2ff
_KEYS = 0x80004518 | _KEYS_BYTES << 16  # _IOC(_IOC_READ, 'E', 0x18, length)
_MONOTONIC = 1
_STALE_NS = 1_000_000_000  # a time stamp further from now was not taken from our clock
_MOST = 64  # events that are read at once


class Key(NamedTuple):
    """A key went down, or came up."""

    at_ns: int
    code: int
    down: bool


class Read(NamedTuple):
    """What was read at once; ``lost``: events were dropped before, so look at the keys anew."""

    keys: tuple[Key, ...]
    lost: bool


class Unplugged(Exception):
    """The device is gone."""


class Node(Protocol):
    """An open event node."""

    def fileno(self) -> int:
        """Give the descriptor, readable when there are events."""

    def read(self) -> Read:
        """Give what has come. Raises Unplugged."""

    def down(self) -> frozenset[int]:
        """Tell which keys are down now. Raises Unplugged."""

    def grab(self) -> None:
        """Have the events alone. Raises Unplugged, and PortFault when somebody else has them."""

    def close(self) -> None:
        """Let go of it."""


def parse(data: bytes, now_ns: int) -> Read:
    """Turn the bytes of whole events into keys; repeats of a held key are left out."""
    keys: list[Key] = []
    lost = False
    for sec, usec, kind, code, value in _EVENT.iter_unpack(
        data[: len(data) // _EVENT.size * _EVENT.size]
    ):
        if kind == _EV_SYN and code == _SYN_DROPPED:
            lost = True
        elif kind == _EV_KEY and value in (0, 1):
            at_ns = sec * 1_000_000_000 + usec * 1000
            fits = 0 <= now_ns - at_ns < _STALE_NS
            keys.append(Key(at_ns if fits else now_ns, code, value == 1))
    return Read(tuple(keys), lost)


class EventNode:
    """A ``Node`` of the kernel."""

    def __init__(self, path: Path) -> None:
        self._fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        # not every kernel that is still in use stamps with another clock than the wall's
        try:
            fcntl.ioctl(self._fd, _CLOCK, struct.pack("@i", _MONOTONIC))
        except OSError as error:
            if error.errno == errno.ENODEV:
                os.close(self._fd)
                raise

    def fileno(self) -> int:
        """Give the descriptor."""
        return self._fd

    def read(self) -> Read:
        """Give what has come. Raises Unplugged."""
        try:
            data = os.read(self._fd, _MOST * _EVENT.size)
        except BlockingIOError:
            return Read((), lost=False)
        except OSError as error:
            raise Unplugged(os.strerror(error.errno or 0)) from error
        if not data:
            raise Unplugged("it ended")
        return parse(data, time.monotonic_ns())

    def down(self) -> frozenset[int]:
        """Tell which keys are down now. Raises Unplugged."""
        bits = array.array("B", bytes(_KEYS_BYTES))
        try:
            fcntl.ioctl(self._fd, _KEYS, bits, True)
        except OSError as error:
            raise Unplugged(os.strerror(error.errno or 0)) from error
        return frozenset(
            8 * place + bit
            for place, byte in enumerate(bits)
            for bit in range(8)
            if byte >> bit & 1
        )

    def grab(self) -> None:
        """Have the events alone. Raises Unplugged, and PortFault when somebody else has them."""
        try:
            fcntl.ioctl(self._fd, _GRAB, 1)
        except OSError as error:
            if error.errno == errno.EBUSY:
                raise PortFault("another program has it for itself; end that first") from error
            raise Unplugged(os.strerror(error.errno or 0)) from error

    def close(self) -> None:
        """Let go of it."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


# --- which nodes are one device -------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Identity:
    """What the kernel knows of a device: where it is plugged in, its number, its name."""

    place: str
    uniq: str
    name: str


def identity(node: str, sys: Path = SYS) -> Identity:
    """Give the identity of a node such as "event3"."""

    def text(key: str) -> str:
        try:
            return (sys / node / "device" / key).read_text(errors="replace").strip()
        except OSError:
            return ""

    # one plug's interfaces differ only in what follows: usb-0000:01:00.0-1.3/input0, .../input1
    place = re.sub(r"/input\d+$", "", text("phys"))
    return Identity(place, text("uniq"), text("name"))


def nodes_of(path: str, sys: Path = SYS) -> list[Path]:
    """List the event nodes of the device that ``path`` (a link, mostly) leads to, its own first.

    Raises PortFault where it leads to none.
    """
    real = Path(os.path.realpath(path))
    if not real.exists():
        raise PortFault(
            f"there is no pedal at {path}; plug it in, or write the path that "
            "ls /dev/input/by-id shows"
        )
    if not re.fullmatch(r"event\d+", real.name):
        raise PortFault(
            f"{path} is not an event node; write a path from /dev/input/by-id that ends in "
            "-event-kbd"
        )
    own = identity(real.name, sys)
    found = [real]
    if own.place:
        for each in sorted(sys.glob("event*")):
            other = identity(each.name, sys)
            if each.name != real.name and (other.place, other.uniq) == (own.place, own.uniq):
                found.append(real.with_name(each.name))
    return found
