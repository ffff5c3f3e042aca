"""The patches of a strip in a row, to pick one, or a place between two."""

from __future__ import annotations

from rich.text import Text
from textual.message import Message
from textual.widgets import Static


class Picker(Static):
    """A row of choices with a cursor; the words are plain letters and the gaps between."""

    class Chosen(Message):
        """A choice was clicked."""

        def __init__(self, choice: str) -> None:
            super().__init__()
            self.choice = choice

    def __init__(self) -> None:
        super().__init__("", id="picker")
        self._choices: list[str] = []
        self._at = 0

    @property
    def choice(self) -> str:
        """Give the choice under the cursor; empty where there is none."""
        return self._choices[self._at] if self._choices else ""

    def show(self, choices: list[str]) -> None:
        """Offer these."""
        if choices != self._choices:
            self._choices = choices
            self._at = len(choices) // 2
        self._draw()

    def move(self, by: int) -> None:
        """Move the cursor."""
        if self._choices:
            self._at = max(0, min(len(self._choices) - 1, self._at + by))
            self._draw()

    def _draw(self) -> None:
        text = Text()
        for index, choice in enumerate(self._choices):
            here = index == self._at
            shown = choice if len(choice) == 1 else ("·" if not here else choice)
            text.append(f" {shown} ", style="bold reverse" if here else "")
        self.update(text)

    def on_click(self) -> None:
        """Take the choice under the cursor."""
        if self.choice:
            self.post_message(self.Chosen(self.choice))
