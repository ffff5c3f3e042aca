"""The bar over every room: where one is, what runs, and what is wrong."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.events import Click
from textual.widget import Widget

from ui.terminal.rooms import ROOMS

DOORS = tuple(f" {number} {room.title} " for number, room in enumerate(ROOMS, start=1))


class RoomBar(Widget):
    """The doors in a row, the present one marked; the mark of the sheet at the right.

    One widget, for each one more would cost the first picture some milliseconds.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"bar--door", "bar--here"}

    def __init__(self, here: str) -> None:
        super().__init__(id="bar")
        self._here = here
        self._mark = ""

    def render(self) -> Text:
        """Draw the doors, and the mark where there is room."""
        away, here = (self.get_component_rich_style(f"bar--{name}") for name in ("door", "here"))
        text = Text(no_wrap=True)
        for room, door in zip(ROOMS, DOORS, strict=True):
            text.append(door, here if room.name == self._here else away)
        if self._mark:
            mark = f" {self._mark} "
            text.append(mark.rjust(max(len(mark), self.size.width - len(text))), here)
        return text

    def show_mark(self, mark: str) -> None:
        """Show the mark of the sheet under the enlarger."""
        if mark != self._mark:
            self._mark = mark
            self.refresh()

    async def on_click(self, event: Click) -> None:
        """Go through the door that was clicked."""
        begins = 0
        for room, door in zip(ROOMS, DOORS, strict=True):
            if begins <= event.x < begins + len(door) and event.y == 0:
                await self.app.run_action(f"room('{room.name}')")
            begins += len(door)
