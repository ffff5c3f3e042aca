"""What lies ready on the bench, a line for each, under its key; a click presses the key."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.events import Click
from textual.widget import Widget

GAP = "   "


class ReadyLines(Widget):
    """Lines of entries, each a key and words."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"ready--key", "ready--words"}

    def __init__(self, **more: str) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self._lines: list[list[tuple[str, str]]] = []

    def show(self, lines: list[list[tuple[str, str]]]) -> None:
        """Show these: a list of keys and words for each line."""
        if lines != self._lines:
            self._lines = lines
            self.refresh(layout=True)

    def render(self) -> Text:
        """Draw key and words."""
        key_style, words_style = (
            self.get_component_rich_style(f"ready--{name}") for name in ("key", "words")
        )
        text = Text(no_wrap=True, overflow="ellipsis")
        for index, entries in enumerate(self._lines):
            if index:
                text.append("\n")
            for key, words in entries:
                text.append(f"{key}  ", key_style)
                text.append(words + GAP, words_style)
        return text

    def on_click(self, event: Click) -> None:
        """Press the key of what was clicked."""
        if not 0 <= event.y < len(self._lines):
            return
        begins = 0
        for key, words in self._lines[event.y]:
            ends = begins + len(f"{key}  {words}{GAP}")
            if begins <= event.x < ends:
                self.app.simulate_key("plus" if key == "+" else key)
            begins = ends
