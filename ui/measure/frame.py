"""A picture as a terminal receives it: which cells have been drawn, and what stands in them.

Only as much of a terminal as is needed to say when a picture is whole: places, erasing, letters.
Every letter counts as one cell wide, which the letters of this program are.
"""

from __future__ import annotations

import codecs
import re

# ECMA-48: control sequences, control strings, other escapes, control characters, letters
_TOKEN = re.compile(
    r"\x1b\[(?P<arguments>[0-?]*)[ -/]*(?P<final>[@-~])"
    r"|\x1b[\]PX^_].*?(?:\x07|\x1b\\)"
    r"|\x1b[ -/]*[0-OQ-WYZ\\`-~]"
    r"|(?P<control>[\x00-\x1a\x1c-\x1f\x7f])"
    r"|(?P<letters>[^\x00-\x1f\x7f]+)",
    re.DOTALL,
)


class Frame:
    """The cells of a terminal, fed with what a program writes."""

    def __init__(self, columns: int, rows: int) -> None:
        self._columns = columns
        self._cells: list[list[str]] = []  # of each row; "" where nothing was drawn
        self._rows = rows
        self._x = self._y = 0
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._left = ""  # a sequence of which the end has not come yet
        self._erase()

    @property
    def whole(self) -> bool:
        """Has every cell been drawn since the screen was erased?"""
        return all(all(row) for row in self._cells)

    def row(self, number: int) -> str:
        """Give what stands in a row; negative numbers count from below."""
        return "".join(cell or " " for cell in self._cells[number])

    def feed(self, data: bytes) -> None:
        """Take what was written."""
        text = self._left + self._decoder.decode(data)
        at = 0
        while at < len(text):
            token = _TOKEN.match(text, at)
            if token is None:
                break
            at = token.end()
            if token["final"]:
                self._obey(token["final"], token["arguments"])
            elif token["control"]:
                self._move(token["control"])
            elif token["letters"]:
                self._draw(token["letters"])
        self._left = text[at:]

    def _obey(self, final: str, arguments: str) -> None:
        if final in "Hf":
            numbers = [int(number or 1) for number in arguments.split(";")] if arguments else []
            row, column, *_ = [*numbers, 1, 1] if len(numbers) != 1 else [*numbers, 1]
            self._y = min(max(row, 1), self._rows) - 1
            self._x = min(max(column, 1), self._columns) - 1
        elif (final == "J" and arguments == "2") or (final in "hl" and arguments == "?1049"):
            self._erase()

    def _erase(self) -> None:
        self._cells = [[""] * self._columns for _ in range(self._rows)]

    def _move(self, control: str) -> None:
        if control == "\n":
            self._y = min(self._y + 1, self._rows - 1)
        if control in "\r\n":  # a line that ends is also returned: so terminals are set
            self._x = 0

    def _draw(self, letters: str) -> None:
        shown = letters[: self._columns - self._x]
        self._cells[self._y][self._x : self._x + len(shown)] = shown
        self._x += len(shown)
