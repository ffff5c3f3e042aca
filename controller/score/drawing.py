"""The sketch of a score as text for the terminal: outlines, names, and marks of handwork."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence

from controller.score.model import NO_CELL, Score
from controller.score.outline import Touch, name_of, touches, turned

TALL = 2.0  # a character's height over its width, near enough in every terminal's typeface
BURNED, DODGED = "+", "-"
_LEAST = 3  # characters across and down, below which nothing can be drawn

# By which of the four ways (up, down, left, right) a line leaves the place.
_STROKES = dict(zip(range(16), " ╵╷│╴┘┐┤╶└┌├─┴┬┼", strict=True))


def draw_sketch(score: Score, columns: int, rows: int, *, upright: bool = True) -> list[str]:
    """Draw the sketch in at most so many columns and rows, in the proportions of the sheet.

    Each region has its name (or, where that does not fit, its letter) with + for burns and -
    for dodges; ``sketch_key`` tells the letters. Not ``upright``: turned by 180 degrees, as the
    image lies on the easel. Empty where there is no sketch, or no room for one.
    """
    if not score.sketch:
        return []
    ratio = TALL * score.paper.width_mm / score.paper.height_mm
    columns, rows = min(columns, round(rows * ratio)), min(rows, round(columns / ratio))
    if columns < _LEAST or rows < _LEAST:
        return []
    cells = score.sketch if upright else turned(score.sketch)
    spots = _spots(cells, columns - 1, rows - 1)
    canvas = [[_stroke(spots, x, y) for x in range(columns)] for y in range(rows)]
    handwork = touches(score)
    for letter in dict.fromkeys("".join(cells)):
        name = name_of(score, letter)
        done = handwork.get(name, ())
        if letter != NO_CELL or done:
            _write(canvas, _inside(spots, letter), _wordings(letter, name, done))
    return ["".join(line).rstrip() for line in canvas]


def sketch_key(score: Score, *, handwork_only: bool = False) -> list[str]:
    """Tell each region of the sketch in a line: letter, name, burns and dodges."""
    handwork = touches(score)
    lines = []
    for letter in dict.fromkeys("".join(score.sketch)):
        name = name_of(score, letter)
        done = handwork.get(name, ())
        if done or (letter != NO_CELL and not handwork_only):
            lines.append("  ".join([letter, name, *(touch.text for touch in done)]))
    return lines


# --- inside -----------------------------------------------------------------------------------

Place = tuple[int, int]  # row, column of the canvas


def _spots(cells: Sequence[str], across: int, down: int) -> list[str]:
    """Give the letter between every four characters of the canvas."""
    high, wide = len(cells), len(cells[0])
    columns = [int((x + 0.5) * wide / across) for x in range(across)]
    return ["".join(cells[int((y + 0.5) * high / down)][x] for x in columns) for y in range(down)]


def _at(spots: list[str], x: int, y: int) -> str:
    """Give the letter of a spot; outside of the sheet there is none."""
    return spots[y][x] if 0 <= y < len(spots) and 0 <= x < len(spots[0]) else ""


def _stroke(spots: list[str], x: int, y: int) -> str:
    above_left, above = _at(spots, x - 1, y - 1), _at(spots, x, y - 1)
    left, here = _at(spots, x - 1, y), _at(spots, x, y)
    ways = (above_left != above) + 2 * (left != here)
    return _STROKES[ways + 4 * (above_left != left) + 8 * (above != here)]


def _inside(spots: list[str], letter: str) -> list[list[int]]:
    """Give the columns of each row of the canvas in which no line of a region runs."""
    lines: list[list[int]] = [[]]
    for y in range(1, len(spots)):
        pairs = (spots[y - 1], spots[y])
        free = [
            x
            for x in range(1, len(spots[0]))
            if all(row[x - 1] == letter == row[x] for row in pairs)
        ]
        lines.append(free)
    return [*lines, []]


def _wordings(letter: str, name: str, done: tuple[Touch, ...]) -> list[list[list[str]]]:
    """Give what may be written into a region, from the fullest to the shortest: lines of cells."""
    signs = BURNED * any(touch.burn for touch in done)
    signs += DODGED * any(not touch.burn for touch in done)
    amounts = [touch.amount for touch in done]
    texts = [[name, *(touch.text for touch in done)], [name, *amounts]]
    texts += [[" ".join([name, *amounts])]]
    texts += [[f"{name} {signs}".rstrip()], [name, signs], [letter + signs], [letter, signs]]
    texts += [[signs or letter]]
    return [[_cells(line) for line in lines if line] for lines in texts]


def _cells(text: str) -> list[str]:
    """Part a text into what takes one column each; a wide character is followed by nothing."""
    cells: list[str] = []
    for char in unicodedata.normalize("NFC", text):
        if unicodedata.combining(char) or unicodedata.category(char) in ("Cc", "Cf", "Mn", "Me"):
            continue
        cells.append(char)
        if unicodedata.east_asian_width(char) in "WF":
            cells.append("")
    return cells


def _write(
    canvas: list[list[str]], inside: list[list[int]], wordings: list[list[list[str]]]
) -> None:
    """Write the fullest wording that fits, as near to the middle of the region as it goes."""
    places = [(y, x) for y, line in enumerate(inside) for x in line]
    if not places:
        return
    middle = (sum(y for y, _ in places) / len(places), sum(x for _, x in places) / len(places))
    free = set(places)
    aired = [[[" ", *line, " "] for line in lines] for lines in wordings]
    for lines in (each for pair in zip(aired, wordings, strict=True) for each in pair):
        fitting = list(_fitting(lines, free, places))
        if fitting:
            top, left = min(fitting, key=lambda at: _off(at, lines, middle))
            width = max(map(len, lines))
            for down, line in enumerate(lines):
                start = left + (width - len(line)) // 2
                canvas[top + down][start : start + len(line)] = line
            return


def _fitting(lines: list[list[str]], free: set[Place], places: list[Place]) -> Iterator[Place]:
    """Give the top left places at which a block of lines lies within a region."""
    height, width = len(lines), max(map(len, lines))
    for y, x in places:
        if all((y + dy, x + dx) in free for dy in range(height) for dx in range(width)):
            yield y, x


def _off(at: Place, lines: list[list[str]], middle: tuple[float, float]) -> float:
    down = at[0] + (len(lines) - 1) / 2 - middle[0]
    along = at[1] + (max(map(len, lines)) - 1) / 2 - middle[1]
    return (down * TALL) ** 2 + along**2
