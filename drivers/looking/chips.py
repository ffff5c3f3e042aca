"""GPIO chips, by the kernel's own word: label, lines, and who has them. Nothing is claimed.

Numbers and structs are those of linux/gpio.h, from memory of it.
"""

from __future__ import annotations

import fcntl
import os
import re
import struct
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

from controller.rig.found_parts import Chip
from drivers.holders import who_holds
from drivers.looking.machine import ROOT, entries

# A request to an open chip: number and bytes in, bytes out. Raises OSError.
Ask: TypeAlias = Callable[[int, int, bytes], bytes]

CHIP_INFO = 0x8044B401  # _IOR(0xb4, 1, struct gpiochip_info)
LINE_INFO = 0xC100B405  # _IOWR(0xb4, 5, struct gpio_v2_line_info)
CHIP = struct.Struct("=32s32sI")
LINE = struct.Struct("=32s32sIIQ176x")  # name, consumer, offset, attributes, flags
USED = 1
_MOST_LINES = 512


def _ioctl(fd: int, request: int, data: bytes) -> bytes:
    return fcntl.ioctl(fd, request, data)


def chips(root: Path = ROOT, ask: Ask = _ioctl) -> list[Chip]:
    """List the chips that can be looked at, each with its busy lines."""
    found = [_chip(path, root, ask) for path in entries(root / "dev", "gpiochip*")]
    return [chip for chip in found if chip is not None]


def _chip(path: Path, root: Path, ask: Ask) -> Chip | None:
    if path.is_symlink() or not re.fullmatch(r"gpiochip\d+", path.name):
        return None  # a second name of one that is listed
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError as error:
        return Chip(path.name, "", 0, {}, why=error.strerror or "it cannot be opened")
    try:
        _, label, count = CHIP.unpack(ask(fd, CHIP_INFO, bytes(CHIP.size)))
        busy: dict[int, str] = {}
        for offset in range(min(count, _MOST_LINES)):
            data = ask(fd, LINE_INFO, LINE.pack(b"", b"", offset, 0, 0))
            _, consumer, _, _, flags = LINE.unpack(data)
            if flags & USED:
                busy[offset] = _holder(path.name, offset, root) or _text(consumer) or "the kernel"
        return Chip(path.name, _text(label), count, busy)
    except (OSError, struct.error) as error:
        return Chip(path.name, "", 0, {}, why=getattr(error, "strerror", None) or str(error))
    finally:
        os.close(fd)


def _holder(chip: str, offset: int, root: Path) -> str:
    return ", ".join(f"{who.command} ({who.pid})" for who in who_holds(chip, offset, root / "proc"))


def _text(data: bytes) -> str:
    return data.split(b"\0")[0].decode("utf-8", "replace")
