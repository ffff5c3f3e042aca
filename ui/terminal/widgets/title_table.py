"""A table whose last column, of titles, takes what width is left and is cut with an ellipsis."""

from __future__ import annotations

from rich.text import Text
from textual.events import Resize
from textual.widgets import DataTable

LEAST = 16  # cells of a title
TITLE = "what"


class TitleTable(DataTable[str | Text]):
    """``beside`` is how many cells the other columns and the padding need.

    ``last`` stands over the titles.
    """

    def __init__(self, *columns: str, beside: int, last: str = TITLE, **more: str) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self._columns = columns
        self._beside = beside
        self._last = last

    def on_mount(self) -> None:
        """Make the columns."""
        self.add_columns(*self._columns)
        self.add_column(self._last, key=TITLE, width=LEAST)

    def on_resize(self, event: Resize) -> None:
        """Give the titles what is left."""
        for key, column in self.columns.items():
            if key.value == TITLE:
                column.width = max(LEAST, event.size.width - self._beside)
        self.refresh()

    def add(self, *cells: str, title: str, key: str | None = None) -> None:
        """Add a row."""
        self.add_row(*cells, Text(title, no_wrap=True, overflow="ellipsis"), key=key)
