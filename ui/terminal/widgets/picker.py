"""The patches of a strip in a row, to pick one, or a place between two."""

from __future__ import annotations

from rich.text import Text
from textual.events import Click
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
        for index, words in enumerate(self._cells()):
            text.append(words, style="bold reverse" if index == self._at else "")
        self.update(text)

    def _cells(self) -> list[str]:
        """Give what is drawn of each choice: a letter, or a dot for the place between two."""
        return [
            f" {choice if len(choice) == 1 or index == self._at else '·'} "
            for index, choice in enumerate(self._choices)
        ]

    def on_click(self, event: Click) -> None:
        """Take the choice under the pointer."""
        end = 0
        for choice, words in zip(self._choices, self._cells(), strict=True):
            end += len(words)
            if event.x < end:
                self.post_message(self.Chosen(choice))
                return
