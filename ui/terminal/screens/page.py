"""A page that lies over a room for a while: with bar and keys, but no door of its own."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from ui.terminal.screens.base import RoomScreen


class PageOver(RoomScreen):
    """Escape takes it away; so does going to a room."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="page.back"),
    ]

    def on_mount(self) -> None:
        """Be known as a page."""
        self.set_class(True, "-page")
        super().on_mount()

    def action_back(self) -> None:
        """Go back to the room below."""
        if self.is_current:  # a second key may come before this page has gone
            self.app.pop_screen()
