"""The sketch of a score as shapes, in cells; and the handwork that falls on each region. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from controller.score.amount import Amount, Unit
from controller.score.model import ELSEWHERE, NO_CELL, Burn, Score
from controller.stops import format_stops, format_time

Rows = Sequence[str]


@dataclass(frozen=True)
class Line:
    """A straight border, from one corner of cells to another."""

    x0: int
    y0: int
    x1: int
    y1: int


@dataclass(frozen=True)
class Box:
    """A rectangle of cells: right and bottom are the first that are not in it."""

    left: int
    top: int
    right: int
    bottom: int


@dataclass(frozen=True)
class Part:
    """Cells of one letter that hang together, and the boxes that lie within them."""

    letter: str
    cells: frozenset[tuple[int, int]]  # column, row
    boxes: tuple[Box, ...]

    @property
    def middle(self) -> tuple[float, float]:
        """Give the mean of its cells' middles, as column and row."""
        n = len(self.cells)
        return sum(x + 0.5 for x, _ in self.cells) / n, sum(y + 0.5 for _, y in self.cells) / n


@dataclass(frozen=True)
class Touch:
    """A burn (more light) or a dodge (less) of a region, as it is written on it."""

    burn: bool
    amount: str  # such as "+2/3" or "-2.0 s"
    over: str  # the pass, or the filter; empty where that is plain

    @property
    def text(self) -> str:
        """Give both in one line."""
        return f"{self.amount} {self.over}".rstrip()


def turned(rows: Rows) -> tuple[str, ...]:
    """Turn a sketch by 180 degrees: so the image lies on the easel."""
    return tuple(row[::-1] for row in reversed(rows))


def name_of(score: Score, letter: str) -> str:
    """Give the name of the region that a cell belongs to."""
    return ELSEWHERE if letter == NO_CELL else score.regions[letter]


def borders(rows: Rows) -> list[Line]:
    """Give the borders between regions as lines as long as they go; not the sheet's own edge."""
    lines: list[Line] = []
    for y in range(1, len(rows)):
        across = [rows[y - 1][x] != rows[y][x] for x in range(len(rows[y]))]
        lines += [Line(x0, y, x1, y) for x0, x1 in _runs(across)]
    for x in range(1, len(rows[0]) if rows else 0):
        down = [row[x - 1] != row[x] for row in rows]
        lines += [Line(x, y0, x, y1) for y0, y1 in _runs(down)]
    return lines


def parts(rows: Rows) -> list[Part]:
    """Give what hangs together (by edges), from the top left on."""
    number: dict[tuple[int, int], int] = {}
    letters: list[str] = []
    for y, row in enumerate(rows):
        for x, letter in enumerate(row):
            if (x, y) not in number:
                _fill(rows, (x, y), len(letters), number)
                letters.append(letter)
    cells: defaultdict[int, set[tuple[int, int]]] = defaultdict(set)
    for cell, which in number.items():
        cells[which].add(cell)
    found: defaultdict[int, list[Box]] = defaultdict(list)
    for box in _boxes(rows):
        found[number[box.left, box.top]].append(box)
    return [
        Part(letter, frozenset(cells[which]), tuple(found[which]))
        for which, letter in enumerate(letters)
    ]


def touches(score: Score, factor: float = 1.0) -> dict[str, tuple[Touch, ...]]:
    """Give the handwork on each region that has some; seconds are multiplied by ``factor``."""
    found: defaultdict[str, list[Touch]] = defaultdict(list)
    only = len(score.passes) == 1
    for burn in score.burns:
        touch = Touch(True, f"+{amount_text(burn.amount, factor)}", _over(burn, only=only))
        for name in burn.regions:
            found[name].append(touch)
    for dodge in score.dodges:
        held = f"-{amount_text(dodge.amount, factor)}"
        for name in dodge.regions:
            found[name].append(Touch(False, held, "" if only else dodge.within))
    return {name: tuple(done) for name, done in found.items()}


def amount_text(amount: Amount, factor: float = 1.0) -> str:
    """Write an amount without a sign: "2/3" of a stop, or seconds, multiplied by ``factor``."""
    if amount.unit is Unit.SECONDS:
        return format_time(float(amount.times(factor).value))
    return format_stops(amount.value, signed=False)


# --- inside -----------------------------------------------------------------------------------


def _over(burn: Burn, *, only: bool) -> str:
    """Name what a burn is over, where that is not plain."""
    if burn.filter:
        return f"filter {burn.filter}"
    return "" if only else burn.over


def _runs(flags: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Give where a row of flags is set: the first of each run, and the first after it."""
    at = 0
    for flag, group in groupby(flags):
        length = len(list(group))
        if flag:
            yield at, at + length
        at += length


def _fill(
    rows: Rows, start: tuple[int, int], which: int, number: dict[tuple[int, int], int]
) -> None:
    """Number all cells that hang together with one."""
    letter = rows[start[1]][start[0]]
    number[start] = which
    waiting = [start]
    while waiting:
        x, y = waiting.pop()
        for near in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
            inside = 0 <= near[1] < len(rows) and 0 <= near[0] < len(rows[near[1]])
            if inside and near not in number and rows[near[1]][near[0]] == letter:
                number[near] = which
                waiting.append(near)


def _boxes(rows: Rows) -> Iterator[Box]:
    """Give every rectangle of one letter that cannot be made wider."""
    for top in range(len(rows)):
        alike: list[str | None] = list(rows[top])
        for bottom in range(top + 1, len(rows) + 1):
            row = rows[bottom - 1]
            alike = [one if one == row[x] else None for x, one in enumerate(alike)]
            if not any(alike):
                break
            at = 0
            for letter, group in groupby(alike):
                width = len(list(group))
                if letter is not None:
                    yield Box(at, top, at + width, bottom)
                at += width
