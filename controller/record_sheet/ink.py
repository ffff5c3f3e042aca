"""Things to be drawn on a page, in mm from its top left, and how texts are fitted. Pure.

A block is drawn from its own top left on; blocks are placed when their heights are known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TypeAlias

from controller.score.wall_map_parts import Area

LEADING = 1.36  # from line to line
CAP = 0.73  # height of capitals and figures, of the size


class Face(Enum):
    """A typeface of the family."""

    PLAIN = "plain"
    BOLD = "bold"
    ITALIC = "italic"


class At(Enum):
    """Which point of a text is placed."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True)
class Words:
    """A text on its base line; ``grey`` 0 is black; ``spaced`` is mm between letters."""

    x: float
    y: float
    text: str
    size: float
    face: Face = Face.PLAIN
    at: At = At.LEFT
    grey: float = 0.0
    spaced: float = 0.0


@dataclass(frozen=True)
class Line:
    """Straight pieces from point to point."""

    points: tuple[tuple[float, float], ...]
    width: float
    grey: float = 0.0
    dashed: tuple[float, ...] = ()


@dataclass(frozen=True)
class Box:
    """A rectangle: filled with a grey, framed by a line, or both."""

    area: Area
    fill: float | None = None
    line: float = 0.0
    grey: float = 0.0


@dataclass(frozen=True)
class Hatch:
    """Slanting lines, or level dashes, over some areas on one raster of ``within``."""

    areas: tuple[Area, ...]
    within: Area
    step: float
    width: float
    kind: str  # rising, falling, dashes


@dataclass(frozen=True)
class Picture:
    """A picture (PNG or JPEG) that fills an area."""

    area: Area
    data: bytes


@dataclass(frozen=True)
class Qr:
    """A QR code of a text; its area includes the quiet zone."""

    area: Area
    text: str


Mark: TypeAlias = Words | Line | Box | Hatch | Picture | Qr
Measure: TypeAlias = Callable[[str, float, Face], float]  # the width of a text in mm


@dataclass
class Block:
    """Marks from the block's own top left on, and how high it is."""

    height: float = 0.0
    marks: list[Mark] = field(default_factory=list)

    def put(self, other: Block, x: float, y: float) -> None:
        """Draw another block within this one."""
        self.marks += [moved(mark, x, y) for mark in other.marks]
        self.height = max(self.height, y + other.height)


def moved(mark: Mark, x: float, y: float) -> Mark:
    """Give a mark so much further right and down."""
    match mark:
        case Words():
            return replace(mark, x=mark.x + x, y=mark.y + y)
        case Line():
            return replace(mark, points=tuple((px + x, py + y) for px, py in mark.points))
        case Hatch():
            areas = tuple(shifted(area, x, y) for area in mark.areas)
            return replace(mark, areas=areas, within=shifted(mark.within, x, y))
        case _:
            return replace(mark, area=shifted(mark.area, x, y))


def shifted(area: Area, x: float, y: float) -> Area:
    """Give an area so much further right and down."""
    return replace(area, x=area.x + x, y=area.y + y)


def wrapped(
    text: str, size: float, width: float, measure: Measure, face: Face = Face.PLAIN, most: int = 99
) -> list[str]:
    """Break a text into lines of at most a width, at most so many; dots tell what is left out."""
    lines: list[str] = []
    for paragraph in text.splitlines():
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".strip()
            if not line or measure(longer, size, face) <= width:
                line = longer
            else:
                lines.append(line)
                line = word
            while measure(line, size, face) > width and len(line) > 1:
                keep = fitting(line, size, width, measure, face)
                lines.append(line[:keep])
                line = line[keep:]
        if line:
            lines.append(line)
    if len(lines) > most:
        rest = lines[most - 1]
        lines = [*lines[: most - 1], shortened(rest + " \u2026 ", size, width, measure, face)]
    return lines


def shortened(
    text: str, size: float, width: float, measure: Measure, face: Face = Face.PLAIN
) -> str:
    """Cut a text to a width, with dots where something is missing."""
    if measure(text, size, face) <= width:
        return text.rstrip()
    room = width - measure("\u2026", size, face)
    return text[: fitting(text, size, room, measure, face)].rstrip() + "\u2026"


def fitting(text: str, size: float, width: float, measure: Measure, face: Face) -> int:
    """Give how many of a text's first characters fit, one at least."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if measure(text[:middle], size, face) <= width:
            low = middle
        else:
            high = middle - 1
    return low
