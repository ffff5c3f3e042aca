"""What can be picked: the patches of a strip in a row, or the cells of a cross; or between two."""

from __future__ import annotations

from rich.text import Text
from textual.events import Click
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

HERE = "bold reverse"
CELL = 5  # cells of the screen for a cell of a cross, and one more between two
ABOVE_AND_BELOW = 8  # lines of the bench that stand over and under a grid


class Picker(Static):
    """Choices with a cursor: one row of them, or, with ``columns``, a grid of named cells."""

    class Chosen(Message):
        """A choice was clicked."""

        def __init__(self, choice: str) -> None:
            super().__init__()
            self.choice = choice

    class Moved(Message):
        """The cursor is on another choice."""

    def __init__(self) -> None:
        super().__init__("", id="picker")
        self._choices: list[str] = []
        self._columns = 0
        self._at = 0
        self._half = (0, 0)  # in a grid: row and column in halves, odd ones between two cells

    @property
    def choice(self) -> str:
        """Give the choice under the cursor; empty where there is none."""
        if not self._choices:
            return ""
        if self._columns:
            return "-".join(dict.fromkeys(self._ends()))
        return self._choices[self._at]

    def show(self, choices: list[str], columns: int = 0) -> None:
        """Offer these; with ``columns``, row by row."""
        if (choices, columns) != (self._choices, self._columns):
            self._choices, self._columns = choices, columns
            self._at = len(choices) // 2
            if columns:
                self._half = (2 * ((self._rows - 1) // 2), 2 * ((columns - 1) // 2))
        self._draw()

    def move(self, across: int, down: int = 0) -> None:
        """Move the cursor; in a grid by half a cell."""
        if not self._choices:
            return
        if self._columns:
            row, column = self._half[0] + down, self._half[1] + across
            self._half = _within(row, self._rows), _within(column, self._columns)
        else:
            self._at = max(0, min(len(self._choices) - 1, self._at + across))
        self._draw()
        self.post_message(self.Moved())

    @property
    def _rows(self) -> int:
        return len(self._choices) // self._columns

    def _cell(self, row: int, column: int) -> str:
        return self._choices[row * self._columns + column]

    def _ends(self) -> tuple[str, str]:
        """Give the cells between which the cursor is; twice the same where it is on one."""
        (row, row_off), (column, column_off) = (divmod(half, 2) for half in self._half)
        return self._cell(row, column), self._cell(row + row_off, column + column_off)

    def _draw(self) -> None:
        text = Text(no_wrap=True)
        if self._columns and self._choices:
            self._draw_grid(text)
        else:
            words = self._words()
            for index in self._in_row():
                text.append(words[index], style=HERE if index == self._at else "")
        self.update(text)

    def _draw_grid(self, text: Text) -> None:
        low, high = self._half[0] // 2, (self._half[0] + 1) // 2
        left, right = self._half[1] // 2, (self._half[1] + 1) // 2
        rows, columns = self._shown()
        for row in rows:
            if row > rows.start:
                text.append("\n")
            for column in columns:
                here = low <= row <= high and left <= column <= right
                text.append(self._cell(row, column).center(CELL), HERE if here else "")
                joined = low <= row <= high and left <= column < right
                text.append("·" if joined else " ", HERE if joined else "")

    def _shown(self) -> tuple[range, range]:
        """Give the rows and columns that are drawn: around the cursor where not all fit."""
        room = self.parent.size if isinstance(self.parent, Widget) else self.size
        high, wide = room.height - ABOVE_AND_BELOW, room.width // (CELL + 1)
        row, column = (half // 2 for half in self._half)
        return _around(row, high, self._rows), _around(column, wide, self._columns)

    def on_resize(self) -> None:
        """Draw as much as there is room for."""
        self._draw()

    def _in_row(self) -> range:
        """Give those of a row that are drawn: around the cursor where not all fit."""
        room = self.parent.size if isinstance(self.parent, Widget) else self.size
        most = (room.width - 2) // 3  # each takes three, and two more where it is named whole
        return _around(self._at, most, len(self._choices))

    def _words(self) -> list[str]:
        """Give what is drawn of each choice: a letter, or a dot for the place between two."""
        return [
            f" {choice if len(choice) == 1 or index == self._at else '·'} "
            for index, choice in enumerate(self._choices)
        ]

    def on_click(self, event: Click) -> None:
        """Take the choice under the pointer."""
        if self._columns:
            self._click_grid(event)
            return
        end, words = 0, self._words()
        for index in self._in_row():
            end += len(words[index])
            if event.x < end:
                self.post_message(self.Chosen(self._choices[index]))
                return

    def _click_grid(self, event: Click) -> None:
        column, off = divmod(event.x, CELL + 1)
        rows, columns = self._shown()
        if not (0 <= event.y < len(rows) and 0 <= column < len(columns)):
            return
        row, column = rows[event.y], columns[column]
        name = self._cell(row, column)
        if off == CELL:
            if column + 1 == self._columns:
                return
            name = f"{name}-{self._cell(row, column + 1)}"
        self.post_message(self.Chosen(name))


def _around(at: int, most: int, steps: int) -> range:
    """Give at most so many steps, with the one at the cursor and its neighbours among them."""
    shown = min(max(2, most), steps)
    first = max(0, min(at - (shown - 1) // 2, steps - shown))
    return range(first, first + shown)


def _within(half: int, steps: int) -> int:
    return max(0, min(2 * (steps - 1), half))
