"""The line of keys under every room; a click on one presses it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.events import MouseDown
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.binding import Binding
    from textual.screen import Screen


EVERYWHERE = ("screen.", "foot.")  # by their ids: the same in every room, the first to be short


class KeyLine(Widget):
    """The keys that are shown, of the screen and of what has the cursor.

    Where they are too many for the line, the words of those that are the same in every room are
    left out: their keys alone remain, and a room's own keep their words.

    One widget and one pass, where a widget for each key would come a moment after the rest of
    the first picture.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"keys--key", "keys--words"}

    def on_mount(self) -> None:
        """Follow what the keys mean."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, _screen: Screen[object]) -> None:
        self.refresh()

    def _shown(self) -> list[Binding]:
        by_action: dict[str, Binding] = {}
        for active in self.screen.active_bindings.values():
            if active.binding.show:
                by_action.setdefault(active.binding.action, active.binding)
        return list(by_action.values())

    def _words(self, binding: Binding) -> tuple[str, str]:
        return f" {self.app.get_key_display(binding)} ", f"{binding.description} "

    def _fitting(self) -> list[tuple[Binding, tuple[str, str]]]:
        """Give each key with its words, as many as the line has room for."""
        line = [(binding, self._words(binding)) for binding in self._shown()]
        for everywhere in EVERYWHERE:
            if sum(len(key) + len(words) for _, (key, words) in line) <= self.size.width:
                break
            line = [
                (one, (key, "" if (one.id or "").startswith(everywhere) else words))
                for one, (key, words) in line
            ]
        return line

    def render(self) -> Text:
        """Draw each key and what it does."""
        styles = [self.get_component_rich_style(f"keys--{name}") for name in ("key", "words")]
        text = Text(no_wrap=True)
        for _, both in self._fitting():
            for words, style in zip(both, styles, strict=True):
                text.append(words, style)
        return text

    def on_mouse_down(self, event: MouseDown) -> None:
        """Press the key that was clicked."""
        begins = 0
        for binding, both in self._fitting():
            width = sum(map(len, both))
            if begins <= event.x < begins + width:
                self.app.simulate_key(binding.key)
            begins += width
