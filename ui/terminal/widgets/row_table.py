"""The exposures of a score as a table, its seconds to be read from a step away."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.events import Click
from textual.message import Message
from textual.widget import Widget

from controller.score.report import Row, row_columns

GAP = "  "


class RowTable(Widget):
    """Draws rows; where there is room, a line apart. A click on one says which."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--label", "rows--time", "rows--quiet"}

    class Chosen(Message):
        """A row was clicked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, **more: str) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self._rows: list[Row] = []  # heads first
        self._apart = False
        self._at: list[int | None] = []  # which row is on each line

    @property
    def wide(self) -> int:
        """Give how many cells it needs across."""
        return len(GAP.join(self._rows[0])) if self._rows else 0

    def show(self, rows: list[Row], room: int) -> None:
        """Show these; ``room`` is how many lines there are for them."""
        self._rows = row_columns(rows) if rows else []
        whole = sum(1 for row in rows if not row.label.startswith(" "))
        self._apart = len(self._rows) + whole <= room
        self.refresh(layout=True)

    def render(self) -> Text:
        """Draw the heads and each row."""
        label, time, quiet = (
            self.get_component_rich_style(f"rows--{name}") for name in ("label", "time", "quiet")
        )
        text, self._at = Text(no_wrap=True), []
        for index, row in enumerate(self._rows):
            if index:
                text.append("\n")
            if self._apart and index and not row.label.startswith(" "):
                text.append("\n")
                self._at.append(None)
            self._at.append(index - 1 if index else None)
            head = not index
            text.append(row.label + GAP, label)
            text.append(row.filter + GAP, quiet if head else label)
            text.append(row.time + GAP, quiet if head else time)
            text.append(f"{row.undried}{GAP}{row.how}", quiet)
        return text

    def on_click(self, event: Click) -> None:
        """Say which row was clicked."""
        at = self._at[event.y] if 0 <= event.y < len(self._at) else None
        if at is not None:
            self.post_message(self.Chosen(at))
