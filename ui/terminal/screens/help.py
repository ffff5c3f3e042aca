"""Help: what a room is for and its keys. Any key closes it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.events import Click, Key
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from ui.terminal.screens.over import Over

FOOT = (
    "The foot: a tap says done, or goes. A press while light falls puts it off at once; let go, "
    "it is only paused; kept down, the sheet is abandoned. A long press (l) offers choices, spoken "
    "one by one; a tap takes one, silence changes nothing. The space bar is the pedal."
)


class HelpScreen(Over[None], ModalScreen[None]):
    """Shows the help of the room below it."""

    BINDINGS: ClassVar[list[Binding]] = []  # type: ignore[assignment]

    def __init__(self, room: Screen[object]) -> None:
        super().__init__()
        self._text = getattr(room, "HELP_TEXT", "")
        self._title = getattr(room, "NAME", "").capitalize()
        self._keys = sorted(
            {
                (active.binding.key_display or active.binding.key, active.binding.description)
                for active in room.active_bindings.values()
                if active.binding.description
                and active.enabled
                and (active.binding.id or active.binding.action == "command_palette")
                and not active.binding.key.isdigit()
            }
        )

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(id="help") as page:
            page.border_subtitle = "any key closes this"
            yield Static(self._title, classes="heading")
            yield Static(self._text, markup=False)
            yield Static("\n" + FOOT, markup=False, classes="quiet")
            keys = ",  ".join(f"{key} {what}" for key, what in self._keys)
            yield Static(f"\nKeys:  1 to 7 rooms,  {keys}", markup=False)

    def on_key(self, event: Key) -> None:
        """Close, whatever the key."""
        event.stop()
        event.prevent_default()
        self.leave()

    def on_click(self, event: Click) -> None:
        """Close."""
        event.stop()
        self.leave()
