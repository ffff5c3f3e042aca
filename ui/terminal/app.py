"""The red terminal: one calm instrument for the whole unit."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from controller.ports import Cue
from controller.told import CurtainIs, Wish
from drivers.engine_words import FromEngine
from ui.terminal.backlight import Backlight
from ui.terminal.bell import RUNG
from ui.terminal.curtain import lift, lower
from ui.terminal.link import UnitLink
from ui.terminal.red import RedApp
from ui.terminal.rooms import PAGES, ROOMS

if TYPE_CHECKING:
    from ui.terminal.preferences import Preferences
    from ui.unit import Unit


class Terminal(RedApp[None]):
    """Holds the link to the unit, and one room at a time on the screen."""

    CSS_PATH = "terminal.tcss"
    TITLE = "Dryside"
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(
                str(number), f"room('{room.name}')", room.title, id=f"room.{room.name}", show=False
            )
            for number, room in enumerate(ROOMS, start=1)
        ),
        Binding("space", "tap", "pedal", id="foot.tap"),
        Binding("enter", "tap", "pedal", id="foot.tap.enter", show=False),
        Binding("l", "hold", "long press", id="foot.hold", show=False),
        Binding("f2", "page('sounds')", "sounds", id="page.sounds", show=False),
        Binding("b", "brightness", "brightness", id="screen.brightness", show=False),
        Binding("question_mark,f1", "help", "help", id="screen.help", key_display="?"),
        Binding("q", "quit", "leave", id="screen.leave"),
    ]

    def __init__(self, unit: Unit, run: Path, preferences: Preferences) -> None:
        panel = Backlight() if preferences.backlight_off else None
        super().__init__(brightness=preferences.brightness, panel=panel)
        self.preferences = preferences
        self._run_folder = run
        self.link = UnitLink(unit, changed=self._changed, lower=self._lower, gone=self._gone)
        self.trouble = ""  # one sentence, until something is well again
        self.set_keymap(preferences.keys)

    def on_mount(self) -> None:
        """Show the bench at once, and attach to the unit beside it."""
        for room in ROOMS:
            self.add_mode(room.name, room.screen)
        self.switch_mode(ROOMS[0].name)
        self.run_worker(self._attach_unit(), exclusive=True)

    def on_unmount(self) -> None:
        """Leave the unit to itself."""
        self.link.close()

    async def _attach_unit(self) -> None:
        from controller.errors import DrysideError
        from controller.ports import PortFault

        try:
            await self.link.attach(self._run_folder)
        except (DrysideError, PortFault) as fault:
            self._gone(str(fault))
            return
        self._refresh_room()
        for note in self.link.hello.notes if self.link.hello else ():
            self.notify(note, timeout=8)

    # -- the unit ----------------------------------------------------------------------------

    def _changed(self, message: FromEngine) -> None:
        rings = self.link.unit.rig.sounder.driver == "bell"
        if rings and isinstance(message, Cue) and message.sound in RUNG:
            self.bell()
        self._refresh_room()

    def _refresh_room(self) -> None:
        show = getattr(self.screen, "show_unit", None)
        if show is not None and not self.curtain_down:
            show()

    def _gone(self, why: str) -> None:
        self.trouble = why
        self._refresh_room()

    def _lower(self, down: bool) -> None:
        if down and not self.link.unit.imagined:
            self.run_worker(self._black_out(), group="curtain")
            return
        # nothing of an imagined sheet can see this screen
        if not down:
            self.run_worker(self._lift(), group="curtain")
        self.link.send(CurtainIs(down))

    async def _black_out(self) -> None:
        black = await lower(self)
        self.trouble = self.curtain_trouble
        self.link.send(CurtainIs(black))

    async def _lift(self) -> None:
        await lift(self)
        self._refresh_room()

    # -- keys --------------------------------------------------------------------------------

    def action_room(self, name: str) -> None:
        """Go to a room, from a page that lies over one too."""
        if self.screen.has_class("-page"):
            self.pop_screen()
        self.switch_mode(name)
        self.call_after_refresh(self._refresh_room)

    def action_page(self, name: str) -> None:
        """Lay a page over the room; one that lies there already goes."""
        if self.screen.has_class("-page"):
            self.pop_screen()
        self.push_screen(PAGES[name].screen())

    def action_tap(self) -> None:
        """Tap the pedal."""
        self.link.pedal.tap()

    def action_hold(self) -> None:
        """Press the pedal long."""
        self.link.pedal.hold()

    def action_brightness(self) -> None:
        """Step to the next brightness, and keep it."""
        self.preferences.brightness = self.step_brightness()
        self.preferences.keep()

    def action_help(self) -> None:
        """Tell what this room is for, and its keys."""
        from ui.terminal.screens.help import HelpScreen

        self.push_screen(HelpScreen(self.screen))

    def action_wish(self, name: str) -> None:
        """Ask for something without a pedal."""
        self.link.wish(Wish(name))

    def get_system_commands(self, screen: Screen[object]) -> Iterator[SystemCommand]:
        """Give the commands of the palette: the rooms, and what a room can do."""
        for number, room in enumerate(ROOMS, start=1):
            yield SystemCommand(
                room.title,
                f"go there (key {number})",
                lambda name=room.name: self.action_room(name),
            )
        for name, page in PAGES.items():
            yield SystemCommand(page.title, "a page", lambda name=name: self.action_page(name))
        yield SystemCommand("Brightness", "step to the next", self.action_brightness)
        yield SystemCommand("Help", "what this room is for, and its keys", self.action_help)
        yield SystemCommand("Long press", "as with the pedal", self.action_hold)
        yield SystemCommand("Leave", "the unit goes on", self.exit)
        commands = getattr(screen, "room_commands", None)
        if commands is not None:
            yield from commands()
