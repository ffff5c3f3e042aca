"""The bar over every room: where one is, what runs, and what is wrong."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Static

from ui.terminal.rooms import ROOMS


class Door(Static):
    """The name of a room with its key; a click goes there."""

    def __init__(self, number: int, name: str, title: str) -> None:
        super().__init__(f"{number} {title}", classes="door")
        self._room = name

    async def on_click(self) -> None:
        """Go there."""
        await self.app.run_action(f"room('{self._room}')")


class RoomBar(Horizontal):
    """The doors in a row, the present one marked; the mark of the sheet at the right."""

    def __init__(self, here: str) -> None:
        super().__init__(id="bar")
        self._here = here

    def compose(self) -> ComposeResult:
        """Lay out the doors."""
        for number, room in enumerate(ROOMS, start=1):
            door = Door(number, room.name, room.title)
            door.set_class(room.name == self._here, "-here")
            yield door
        yield Static("", id="bar-mark")

    def show_mark(self, mark: str) -> None:
        """Show the mark of the sheet under the enlarger."""
        self.query_one("#bar-mark", Static).update(mark)
