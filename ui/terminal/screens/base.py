"""What every room has: the bar, the line of trouble, the keys, and its help."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult, SystemCommand
from textual.containers import Vertical
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widgets import Static

from ui.terminal.widgets.bar import RoomBar
from ui.terminal.widgets.key_line import KeyLine

if TYPE_CHECKING:
    from ui.terminal.app import Terminal
    from ui.terminal.link import UnitLink


class RoomScreen(Screen[None]):
    """A room. ``compose_room`` lays it out, ``show_room`` brings it up to date."""

    NAME: ClassVar[str]
    HELP_TEXT: ClassVar[str]

    @property
    def terminal(self) -> Terminal:
        """The terminal that this room is in."""
        return cast("Terminal", self.app)

    @property
    def link(self) -> UnitLink:
        """What is known of the unit."""
        return self.terminal.link

    def compose(self) -> ComposeResult:
        """Lay out bar, room and keys."""
        yield RoomBar(self.NAME)
        yield Static("", id="trouble", markup=False)
        with Vertical(id="room"):
            yield from self.compose_room()
        yield KeyLine()

    def on_mount(self) -> None:
        """Show what is known already."""
        self.show_unit()

    def on_screen_resume(self) -> None:
        """Come back up to date."""
        self.show_unit()

    def show_unit(self) -> None:
        """Bring everything up to date with the unit."""
        if not self.is_mounted:
            return
        self.query_one(RoomBar).show_mark(self.link.view.mark if self.link.running else "")
        trouble = self.query_one("#trouble", Static)
        trouble.update(self.terminal.trouble)
        trouble.display = bool(self.terminal.trouble)
        self.show_room()

    def beside(self, work: Callable[[], Coroutine[None, None, None]], group: str = "room") -> None:
        """Do something beside the screen, in place of what of its ``group`` is under way."""

        async def until_left() -> None:
            try:
                await work()
            except NoMatches:
                if self in self.app.screen_stack:
                    raise  # else the page was left meanwhile: there is nothing to show it on

        self.run_worker(cast("Callable[[], None]", until_left), exclusive=True, group=group)

    def compose_room(self) -> ComposeResult:
        """Lay out the room itself."""
        yield from ()

    def show_room(self) -> None:
        """Bring the room itself up to date."""

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what this room adds to the palette."""
        yield from ()
