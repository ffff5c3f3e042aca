"""The red terminal: one calm instrument for the whole unit."""

from __future__ import annotations

import asyncio
import gc
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ScreenStackError, SystemCommand
from textual.binding import Binding, BindingType
from textual.events import Event, Key, MouseDown, MouseScrollDown, MouseScrollUp, MouseUp, Paste
from textual.screen import Screen

from controller.errors import DrysideError
from controller.events import RunBegun
from controller.exposing.bench import LIGHT
from controller.exposing.told import CurtainIs, Wish
from controller.ports import Cue, PortFault, Sound, Wants
from drivers.engine_words import FromEngine, Say, Talk
from ui.asked_twice import AskedTwice
from ui.terminal.backlight import Backlight
from ui.terminal.bell import RUNG
from ui.terminal.curtain import lift, lower
from ui.terminal.link import UnitLink
from ui.terminal.red import RedApp
from ui.terminal.rooms import PAGES, ROOMS
from ui.terminal.tones import LEVELS

if TYPE_CHECKING:
    from textual.timer import Timer

    from ui.terminal.batch_timers import BatchTimers
    from ui.terminal.calibrating import Calibrating
    from ui.terminal.expected import Expected
    from ui.terminal.preferences import Preferences
    from ui.unit import Unit

KEPT = (Key, MouseDown, MouseUp, MouseScrollDown, MouseScrollUp, Paste)
TAKEN_S, TAKEN_LOOKS = 0.5, 50  # at the longest, and how often it is looked at
CALL_S = 0.5  # between two looks whether a batch's timer has something to say
LOOK_S = 1.0  # between two looks for a unit that may be brought again


class Terminal(RedApp[None]):
    """Holds the link to the unit, and one room at a time on the screen."""

    CSS_PATH = "first.tcss"
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
        Binding("ctrl+p", "command_palette", "more", id="screen.more"),
        Binding("q", "quit", "leave", id="screen.leave"),
    ]

    MODES: ClassVar[dict[str, str | Callable[[], Screen[None]]]] = {
        room.name: room.screen for room in ROOMS
    }
    DEFAULT_MODE = ROOMS[0].name  # the first picture is the bench

    @cached_property
    def expected(self) -> Expected:
        """What was asked of tones to come."""
        from ui.terminal.expected import Expected  # too heavy for the first picture

        return Expected()

    @cached_property
    def calibrating(self) -> Calibrating:
        """What was typed for calibration sheets, and how far their set has come."""
        from ui.terminal.calibrating import Calibrating  # not needed for the first picture

        return Calibrating()

    @cached_property
    def timers(self) -> BatchTimers:
        """The timers of batches' steps; they are called while any room is looked at."""
        from ui.terminal.batch_timers import BatchTimers  # too heavy for the first picture

        timers = BatchTimers(lambda text: self.link.send(Say(text)))
        self.set_interval(CALL_S, timers.call)
        return timers

    def __init__(
        self, unit: Unit | Callable[[], Unit], run: Path, preferences: Preferences
    ) -> None:
        panel = Backlight() if preferences.backlight_off else None
        super().__init__(brightness=preferences.brightness, panel=panel)
        self.preferences = preferences
        self._run_folder = run
        self.link = UnitLink(unit, changed=self._changed, lower=self._lower, gone=self._ended)
        self.trouble = ""  # one sentence, until something is well again
        self._of_curtain = ""  # what it was when the curtain was the trouble
        self._left_black = False  # by a unit that ended: any key lifts the curtain
        self._look: Timer | None = None  # for a unit, after one has ended
        self._looking = False
        self.unusable: DrysideError | PortFault | None = None  # why there is no unit to show
        self._typed: deque[Event] | None = deque()  # keys and clicks, while they must wait
        self._asked_twice = AskedTwice()
        self.set_keymap(preferences.keys)

    def on_mount(self) -> None:
        """Show the bench at once; the unit is loaded, and attached to, beside it."""
        self.screen.call_after_refresh(self.run_worker, self._attach_unit(), exclusive=True)

    def on_unmount(self) -> None:
        """Leave the unit to itself."""
        self.link.close()

    async def _attach_unit(self) -> None:
        gc.freeze()  # what has been loaded stays
        gc.enable()
        self.stylesheet.read(Path(__file__).with_name("terminal.tcss"))
        self.refresh_css(animate=False)
        await self.link.find(self._run_folder)
        try:
            await self.link.load()
        except (DrysideError, PortFault) as fault:
            self.unusable = fault
            self.exit()
            return
        self.run_worker(self._type())
        try:
            await self.link.attach(self._run_folder)
        except (DrysideError, PortFault) as fault:
            self.link.give_up()
            self._gone(str(fault))
            return
        self.link.begin()
        self.link.shines(LEVELS[self.brightness])
        self._refresh_room()
        for note in self.link.hello.notes if self.link.hello else ():
            self.notify(note, timeout=8)

    # -- keys and clicks -----------------------------------------------------------------------

    async def on_event(self, event: Event) -> None:
        """Take keys and clicks one by one; none is lost before the rooms can be entered."""
        orphan = self._left_black or not self.link.attached
        if self.curtain_down and isinstance(event, Key) and orphan:
            self.run_worker(self._lift(), group="curtain")
            return
        if self.curtain_down and isinstance(event, Key) and event.key in ("space", "enter"):
            if not event.is_forwarded:
                self.action_tap()  # in the dark it is the pedal, whatever had the cursor before
            return
        if not isinstance(event, KEPT) or event.is_forwarded or self._stops_light(event):
            await super().on_event(event)
        elif self._typed is not None:
            self._typed.append(event)
        else:
            self._typed = deque([event])
            self.run_worker(self._type(), group="typed")

    def _stops_light(self, event: Event) -> bool:
        """A pedal while light falls waits for nothing that was typed before."""
        lit = self.link.view.state in LIGHT
        return lit and isinstance(event, Key) and event.key in ("space", "enter")

    async def _type(self) -> None:
        """Type what was kept, each when what came before has been taken.

        A key that opens a page and one that is for that page may come in the same instant.
        """
        while self._typed and self._on_top() is not None:
            await super().on_event(self._typed.popleft())
            await self._taken()
        self._typed = None

    async def _taken(self) -> None:
        """Wait until the screen, and the one that it may have led to, has come up to date."""
        for _ in range(2):
            done, screen = asyncio.Event(), self._on_top()
            if screen is None:
                return
            screen.call_after_refresh(done.set)
            for _ in range(TAKEN_LOOKS):
                if done.is_set() or screen is not self._on_top():
                    break  # a screen that was left calls nothing back
                with suppress(TimeoutError):
                    await asyncio.wait_for(done.wait(), TAKEN_S / TAKEN_LOOKS)

    def _on_top(self) -> Screen[Any] | None:
        """Give the screen that has the keys; None while the program is being left."""
        try:
            return self.screen
        except ScreenStackError:
            return None

    # -- the unit ----------------------------------------------------------------------------

    def _changed(self, message: FromEngine) -> None:
        rings = self.link.loaded and self.link.unit.rig.sounder.driver == "bell"
        if rings and isinstance(message, Cue) and message.sound in RUNG:
            self.bell()
        self._hear_trouble(message)
        self._refresh_room()

    def _hear_trouble(self, message: FromEngine) -> None:
        """Keep a fault's sentence in sight, in every room, until something is begun anew."""
        match message:
            case RunBegun():
                self.trouble = ""
            case Cue(text=text, sound=Sound.FAULT) if text:
                if text not in self.trouble:  # one fault may be told from two sides
                    self.trouble = f"{self.trouble}; {text}" if self.trouble else text
            case Cue(text=text, sound=Sound.ATTENTION, wants=Wants.NOTHING) if text:
                if self.link.running:  # a room shows what the plan says; this is beside it
                    self.notify(text, timeout=8, markup=False)
            case _:
                pass

    def _refresh_room(self) -> None:
        show = getattr(self.screen, "show_unit", None)
        if show is not None and not self.curtain_down:
            show()

    def _gone(self, why: str) -> None:
        self.trouble = why
        if self.curtain_down:
            self.bell()  # paper may be out: it stays black until a key is pressed
        self._refresh_room()

    def _ended(self, why: str) -> None:
        """The unit has ended: say so, and look for the one that may be brought in its place."""
        self._left_black = self.curtain_down
        self._gone(why)
        if self._look is None:
            self._look = self.set_interval(LOOK_S, self._look_again)

    def _look_again(self) -> None:
        if not self._looking:
            self._looking = True
            self.run_worker(self._find_again(), group="look")

    async def _find_again(self) -> None:
        try:
            if not await self.link.find_again():
                return
        finally:
            self._looking = False
        if self._look is not None:
            self._look.stop()
            self._look = None
        if self.link.stranger:
            self.trouble = "the unit runs with another rig now: leave (q), and start anew"
        else:
            self.trouble = ""
            self.link.shines(LEVELS[self.brightness])
            self.notify("the unit is there again", timeout=8)
            for note in self.link.hello.notes if self.link.hello else ():
                self.notify(note, timeout=8)
        self._refresh_room()

    def _lower(self, down: bool) -> None:
        self._left_black = False
        if down and not (self.link.loaded and self.link.unit.imagined):
            self.run_worker(self._black_out(), group="curtain")
            return
        # nothing of an imagined sheet can see this screen
        if not down:
            self.run_worker(self._lift(), group="curtain")
        self.link.send(CurtainIs(down))

    async def _black_out(self) -> None:
        black = await lower(self)
        if self.curtain_trouble or self.trouble == self._of_curtain:
            self.trouble = self._of_curtain = self.curtain_trouble
        self.link.send(CurtainIs(black))

    async def _lift(self) -> None:
        self._left_black = False
        await lift(self)
        self._refresh_room()

    # -- keys --------------------------------------------------------------------------------

    def action_room(self, name: str) -> None:
        """Go to a room, from a page that lies over one too; pages beneath it go as well."""
        while self.screen.has_class("-page"):
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
        self.link.when_there(self.link.pedal.tap)

    def action_hold(self) -> None:
        """Press the pedal long."""
        self.link.when_there(self.link.pedal.hold)

    def action_brightness(self) -> None:
        """Step to the next brightness, and keep it."""
        self.preferences.brightness = self.step_brightness()
        self.link.shines(LEVELS[self.brightness])
        self.preferences.keep()

    def talk(self, *, on: bool) -> None:
        """Let the talking book play, or be silent."""
        self.link.send(Talk(on))

    def action_help(self) -> None:
        """Tell what this room is for, and its keys."""
        from ui.terminal.screens.help import HelpScreen

        self.push_screen(HelpScreen(self.screen))

    def action_wish(self, name: str) -> None:
        """Ask for something by a key; what cannot be taken back is asked twice."""
        question = self._asked_twice.question(Wish(name))
        if question:
            self.link.send(Say(question))  # the unit tells it to the ear, and to every screen
        else:
            self.wish_now(name)

    def wish_now(self, name: str) -> None:
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
        if self.link.loaded and self.link.unit.rig.talk is not None:
            for name, on in (("play", True), ("be silent", False)):
                yield SystemCommand(
                    f"Talking book: {name}", "the rig's folder", lambda on=on: self.talk(on=on)
                )
        commands = getattr(screen, "room_commands", None)
        if commands is not None:
            yield from commands()
