"""The words and rules that a wall map is made of, and how texts are fitted. Pure.

All in mm; x from the left, y down from the top. Sizes are those of the type.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TypeAlias

# The width of a text in a size, plain or bold.
Measure: TypeAlias = Callable[[str, float, bool], float]

LINE = 1.2  # from line to line
CAP = 0.73  # height of capitals and figures
MINUS = "\u2212"  # wider than a hyphen: it is seen
SHRUNK = 0.72  # how much smaller a name may become before it is broken into lines
SMALLEST = 0.45  # and before a word of it is broken


class Side(Enum):
    """Which point of a text is placed."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True)
class Words:
    """A text; ``y`` is its base line. ``boxed`` has a frame around it."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    side: Side = Side.LEFT
    boxed: bool = False


@dataclass(frozen=True)
class Rule:
    """A straight black line."""

    x0: float
    y0: float
    x1: float
    y1: float
    width: float


@dataclass(frozen=True)
class Area:
    """A rectangle of the page."""

    x: float
    y: float
    width: float
    height: float


@dataclass
class Block:
    """Things drawn from their own top left on, and how high they are."""

    words: list[Words] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    height: float = 0.0

    def put(self, other: Block, x: float, y: float) -> None:
        """Lay another block into this one."""
        self.words += [replace(w, x=w.x + x, y=w.y + y) for w in other.words]
        self.rules += [
            replace(r, x0=r.x0 + x, y0=r.y0 + y, x1=r.x1 + x, y1=r.y1 + y) for r in other.rules
        ]


def wrapped(text: str, size: float, width: float, measure: Measure, *, bold: bool) -> list[str]:
    """Break a text into lines: between words, and within a word that is too long by itself."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if measure(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while len(word) > 1 and measure(word, size, bold) > width:
            keep = max(1, _fitting(word, size, width, measure, bold=bold))
            lines.append(word[:keep])
            word = word[keep:]
        line = word
    return [*lines, line] if line else lines


def cut(text: str, size: float, width: float, measure: Measure, *, bold: bool) -> str:
    """Shorten a text to a width, with dots where something is missing."""
    if measure(text, size, bold) <= width:
        return text
    dots = "..."
    room = width - measure(dots, size, bold)
    return text[: _fitting(text, size, room, measure, bold=bold)].rstrip() + dots


def joined(facts: Sequence[str], size: float, width: float, measure: Measure) -> list[str]:
    """Join facts with dots between them, as many in a line as go."""
    lines: list[str] = []
    for fact in facts:
        longer = f"{lines[-1]}  \u00b7  {fact}" if lines else fact
        if lines and measure(longer, size, False) <= width:
            lines[-1] = longer
        else:
            lines += wrapped(fact, size, width, measure, bold=False)
    return lines


def shrunk(text: str, size: float, room: float, measure: Measure) -> float:
    """Give the size in which a name goes on one line, or else the least for several.

    Where a single word is too wide even so, it becomes smaller yet before it is broken.
    """
    wide = measure(text, size, True)
    if wide <= room:
        return size
    least = max(size * SHRUNK, size * room / wide * 0.999)
    longest = max(measure(word, least, True) for word in text.split())
    return least if longest <= room else max(size * SMALLEST, least * room / longest * 0.999)


# --- inside -----------------------------------------------------------------------------------


def _fitting(text: str, size: float, width: float, measure: Measure, *, bold: bool) -> int:
    """Give how many characters of a text are not wider than that."""
    low, high = 0, len(text)
    while low < high:
        some = (low + high + 1) // 2
        low, high = (some, high) if measure(text[:some], size, bold) <= width else (low, some - 1)
    return low
