"""Help: what a room is for and its keys. Any key closes it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.events import Click, Key
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

FOOT = (
    "The foot: a tap says done, or goes. A press while light falls puts it off at once; let go, "
    "it is only paused; kept down, the sheet is abandoned. A long press (l) offers choices, spoken "
    "one by one; a tap takes one, silence changes nothing. The space bar is the pedal."
)


class HelpScreen(ModalScreen[None]):
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
                if active.binding.description and active.enabled
            }
        )

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(id="help"):
            yield Static(self._title, classes="heading")
            yield Static(self._text, markup=False)
            yield Static("\n" + FOOT + "\n", markup=False, classes="quiet")
            width = max((len(key) for key, _ in self._keys), default=0)
            rows = [f"{key:>{width}}  {what}" for key, what in self._keys]
            yield Static("\n".join(rows), markup=False)
            yield Static("\nany key closes this", classes="quiet")

    def on_key(self, event: Key) -> None:
        """Close, whatever the key."""
        event.stop()
        event.prevent_default()
        self.dismiss()

    def on_click(self, event: Click) -> None:
        """Close."""
        event.stop()
        self.dismiss()
