"""Drawing a sketch by words: a region is a block of cells, and several words make any shape."""

from __future__ import annotations

import re
from string import ascii_lowercase, ascii_uppercase

from controller.errors import BadInput, quoted
from controller.score.file import from_tables, tables_of
from controller.score.model import NO_CELL, Score

COLUMNS, ROWS = 16, 12  # of a sketch that is begun
RIGHT_REGION = f"NAME=COLUMNS:ROWS from the left and the top, such as sky=1-{COLUMNS}:1-4"
_SPAN = r"([0-9]{1,3})(?:-([0-9]{1,3}))?"
_BLOCK = re.compile(rf"\s*([^=]+?)\s*=\s*{_SPAN}:{_SPAN}\s*")


def with_region(score: Score, text: str, file: str) -> Score:
    """Add a block of cells to a region, which is begun where there is none of the name.

    What another region had of them goes to this one. Raises BadInput.
    """
    found = _BLOCK.fullmatch(text)
    if not found:
        raise BadInput(f"{quoted(text)} is not understood", "region", RIGHT_REGION)
    rows = [list(row) for row in score.sketch] or [[NO_CELL] * COLUMNS for _ in range(ROWS)]
    left, right = _range(found[2], found[3], len(rows[0]), "columns")
    top, bottom = _range(found[4], found[5], len(rows), "rows")
    names = {name: letter for letter, name in score.regions.items()}
    name = str(found[1])
    letter = names.get(name) or _letter(name, set(score.regions))
    for y in range(top - 1, bottom):
        for x in range(left - 1, right):
            rows[y][x] = letter
    sketch = ["".join(row) for row in rows]
    regions = {**score.regions, letter: name}
    # a region of which nothing is left is gone
    kept = {one: name for one, name in regions.items() if any(one in row for row in sketch)}
    return from_tables({**tables_of(score), "sketch": sketch, "regions": kept}, file)


def without_region(score: Score, name: str, file: str) -> Score:
    """Take a region out of the sketch. Raises BadInput where handwork needs it."""
    letters = [letter for letter, one in score.regions.items() if one == name]
    if not letters:
        right = " or ".join(score.regions.values()) or "a region of the sketch"
        raise BadInput(f"the sketch has no region {quoted(name)}", "region", right)
    sketch = [row.replace(letters[0], NO_CELL) for row in score.sketch]
    kept = {letter: one for letter, one in score.regions.items() if one != name}
    return from_tables({**tables_of(score), "sketch": sketch, "regions": kept}, file)


def _range(first: str, last: str | None, most: int, what: str) -> tuple[int, int]:
    low, high = int(first), int(last or first)
    if not 1 <= low <= high <= most:
        raise BadInput(f"{what} {first}-{last or first} are not there", "region", f"1 to {most}")
    return low, high


def _letter(name: str, taken: set[str]) -> str:
    """Choose a letter for a region: one of its name if it is free."""
    for one in name.upper() + ascii_uppercase + ascii_lowercase:
        if one in ascii_uppercase + ascii_lowercase and one not in taken:
            return one
    raise BadInput("there are too many regions", "region", "fewer, or larger ones")
