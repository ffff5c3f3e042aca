"""A page of lines to be read, and left."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from ui.terminal.screens.page import PageOver


class LinesPage(PageOver):
    """A heading over lines; ``help_text`` tells what they are."""

    AUTO_FOCUS = "VerticalScroll"

    def __init__(self, name: str, heading: str, lines: Sequence[str], help_text: str) -> None:
        super().__init__()
        self.NAME = name  # type: ignore[misc]
        self.HELP_TEXT = help_text  # type: ignore[misc]
        self._heading = heading
        self._text = "\n".join(lines)

    def compose_room(self) -> ComposeResult:
        """Lay out the lines."""
        yield Static(self._heading, classes="heading", markup=False)
        with VerticalScroll():
            yield Static(self._text, id="lines", markup=False)
