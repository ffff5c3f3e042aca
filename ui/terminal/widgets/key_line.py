"""The line of keys under every room; a click on one presses it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.events import MouseDown
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.binding import Binding
    from textual.screen import Screen


class KeyLine(Widget):
    """The keys that are shown, of the screen and of what has the cursor.

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

    def render(self) -> Text:
        """Draw each key and what it does."""
        styles = [self.get_component_rich_style(f"keys--{name}") for name in ("key", "words")]
        text = Text(no_wrap=True)
        for binding in self._shown():
            for words, style in zip(self._words(binding), styles, strict=True):
                text.append(words, style)
        return text

    def on_mouse_down(self, event: MouseDown) -> None:
        """Press the key that was clicked."""
        begins = 0
        for binding in self._shown():
            width = sum(map(len, self._words(binding)))
            if begins <= event.x < begins + width:
                self.app.simulate_key(binding.key)
            begins += width
