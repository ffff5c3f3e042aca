r"""The terminal's own colours: a palette of reds while Dryside runs, and the old one afterwards.

The line filter makes each cell red; this is for what lies outside of cells: the cursor, the
margins, cells that a larger window brings, the words of other programs on the same console. On the
Linux console it also gives the filter sixteen reds to choose from.

Sources, from memory of them: console_codes(4) for ``ESC ] P`` and ``ESC ] R``, xterm's ctlseqs for
OSC 4, 10, 11, 12, 17 and 19 and their resets 104, 110, 111, 112, 117 and 119.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from enum import Enum

from ui.terminal.tones import CUBE_FIRST, Depth, ramp

ESC = b"\x1b"
ST = ESC + b"\\"
WIPE = b"\x1b[0m\x1b[2J\x1b[H"

TAKE_OSC = (
    "xterm",
    "tmux",
    "rxvt",
    "vte",
    "gnome",
    "konsole",
    "kitty",
    "alacritty",
    "foot",
    "wezterm",
    "contour",
    "ghostty",
    "st-",
)


class Kind(Enum):
    """What can be told to a terminal about its palette."""

    LINUX = "the console of the Linux kernel"
    OSC = "a terminal that takes operating system commands for colours"
    PLAIN = "nothing is known: it is told nothing"


def kind_of(environ: Mapping[str, str]) -> Kind:
    """Tell from ``TERM`` how this terminal takes a palette."""
    term = environ.get("TERM", "").lower()
    if term.split("-")[0] == "linux":
        return Kind.LINUX
    return Kind.OSC if f"{term}-".startswith(TAKE_OSC) else Kind.PLAIN


def depth_of(kind: Kind, system: str | None) -> Depth:
    """Give how colours are told, from Rich's name for the colour system.

    The Linux console has sixteen colours whatever the environment says, and puts 24-bit colours
    into them by rules of its own (red below 86 becomes black), so it is always told numbers.
    """
    if kind is Kind.LINUX:
        return Depth.RAMP
    return {"256": Depth.CUBE, "standard": Depth.TWO}.get(system or "", Depth.FULL)


def load(kind: Kind, percent: int) -> bytes:
    """Give the bytes that load the reds, at this brightness in percent."""
    reds = ramp(percent)
    if kind is Kind.LINUX:
        return b"".join(b"%b]P%X%02X0000" % (ESC, at, red) for at, red in enumerate(reds))
    if kind is Kind.OSC:
        pairs = b";".join(b"%d;rgb:%02x/00/00" % (at, red) for at, red in enumerate(reds))
        bright, mid = max(reds), reds[4]
        own = ((10, bright), (11, 0), (12, bright), (17, mid), (19, bright))
        return b"%b]4;%b%b" % (ESC, pairs, ST) + b"".join(
            b"%b]%d;rgb:%02x/00/00%b" % (ESC, what, red, ST) for what, red in own
        )
    return b""


def restore(kind: Kind) -> bytes:
    """Give the bytes that bring the old palette back.

    A Linux console is wiped first: older kernels have no second screen to go back from, and what
    was drawn in reds would stand there in the sixteen usual colours.
    """
    if kind is Kind.LINUX:
        return WIPE + ESC + b"]R"
    if kind is Kind.OSC:
        return b"\x1b[0m" + b"".join(
            b"%b]%d%b" % (ESC, what, ST) for what in (104, 110, 111, 112, 117, 119)
        )
    return b"\x1b[0m"


def black_sgr(depth: Depth) -> str:
    """Give the sequence that sets black on black, for writing and erasing."""
    if depth is Depth.FULL:
        return "\x1b[0;38;2;0;0;0;48;2;0;0;0m"
    if depth is Depth.CUBE:
        return f"\x1b[0;38;5;{CUBE_FIRST};48;5;{CUBE_FIRST}m"
    return "\x1b[0;30;40m"


def red_sgr(depth: Depth) -> str:
    """Give the sequence for plain red on black, which no palette turns into another hue."""
    if depth is Depth.FULL:
        return "\x1b[0;38;2;200;0;0;48;2;0;0;0m"
    if depth is Depth.CUBE:
        return f"\x1b[0;38;5;160;48;5;{CUBE_FIRST}m"
    return "\x1b[0;31;40m"


def erase(depth: Depth, term: str, columns: int, rows: int) -> str:
    """Give the one stroke that makes all cells black.

    Where erasing does not use the current background (``screen``), spaces are written as well.
    """
    stroke = black_sgr(depth) + "\x1b[2J\x1b[H"
    if term.startswith("screen"):
        stroke += "".join(f"\x1b[{row};1H{' ' * columns}" for row in range(1, rows + 1))
    return stroke


class RedPalette:
    """Keeps the terminal at ``fd`` in reds, within ``with``; what is no terminal is left alone.

    Black is also set for writing, so the second screen that comes is cleared with black.
    ``wiped`` on leaving: the first screen, which comes back then, is wiped (paper may be open).
    """

    def __init__(self, fd: int, kind: Kind, depth: Depth, percent: int) -> None:
        self._fd = fd if os.isatty(fd) else None
        self._kind = kind
        self._told = load(kind, percent) + black_sgr(depth).encode()
        self.wiped = False

    def __enter__(self) -> RedPalette:
        if self._fd is not None:
            _put(self._fd, self._told)
        return self

    def __exit__(self, *_: object) -> None:
        if self._fd is not None:
            _put(self._fd, (WIPE if self.wiped else b"") + restore(self._kind))


def _put(fd: int, told: bytes) -> None:
    with suppress(OSError):  # a terminal that is gone needs no colours
        while told:
            told = told[os.write(fd, told) :]
