"""The live screen of a running plan: seconds left, what to do next, and the pedal on a key.

Red on black. It counts by the monotonic clock from what the engine last showed, so that a
screen that is slow or stopped costs nothing but its own picture.
"""

from __future__ import annotations

import asyncio
import time
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.widgets import Digits, Static

from controller.events import RunEnded
from controller.exposing.bench import State, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press, Run, Wish
from controller.ports import Cue, Sound
from drivers.clock import Clock
from drivers.engine_words import Please, Refusal, Say
from ui.asked_twice import AskedTwice
from ui.attach import EngineClient, EngineFault
from ui.pedal_key import PedalKey
from ui.terminal.curtain import lift, lower
from ui.terminal.red import RedApp

if TYPE_CHECKING:
    from ui.imagined_hands import ImaginedHands

FRAME_S = 1 / 20
WORDS = {
    State.ASKING: "tap when done",
    State.WAITING: "tap to go",
    State.CURTAIN: "",
    State.SETTLING: "lights settle",
    State.NOTING: "",
    State.LEAD_IN: "settling",
    State.LIT: "light; a press pauses, kept down it abandons",
    State.GAP: "between pulses",
    State.PAUSED: "paused, tap to go on",
    State.CHOOSING: "tap to take it",
}


class RunningScreen(RedApp[str]):
    """Shows one run until it is over; returns a sentence where it was refused."""

    CSS_PATH = "running.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS = [
        Binding("space", "tap", "pedal", id="bench.tap"),
        Binding("enter", "tap", "pedal", id="bench.tap.enter", show=False),
        Binding("l", "hold", "long press", id="bench.hold"),
        Binding("a", "abandon", "abandon", id="bench.abandon"),
        Binding("q", "leave", "leave (the unit goes on)", id="bench.leave"),
    ]

    def __init__(
        self,
        client: EngineClient,
        run_: Run,
        hands: ImaginedHands | None,
        *,
        countdown: bool,
        bell: bool,
        clock: Clock,
    ) -> None:
        super().__init__()
        self._clock = clock
        self._client = client
        self._watched = run_
        self._hands = hands
        self._countdown = countdown
        self._rings = bell
        self._shown = View()
        self._asked_twice = AskedTwice()
        self._pedal = PedalKey(
            lambda down: self._client.send(Press(down)), self.set_timer, time.monotonic
        )

    def compose(self) -> ComposeResult:
        """Lay out the screen."""
        with Vertical(id="page"):
            yield Static(self._watched.plan.title, id="title")
            yield Static("", id="patch")
            yield Digits("", id="left")
            yield Static("", id="todo")
            yield Static("", id="state")
            yield Static("", id="lights")
            yield Static(
                "space pedal   l long press   a abandon   q leave (the unit goes on)", id="keys"
            )

    def on_mount(self) -> None:
        """Begin to listen."""
        asyncio.get_running_loop().add_reader(self._client.fileno(), self._listen)
        self.set_interval(FRAME_S, self._frame)

    def on_unmount(self) -> None:
        """Stop listening."""
        asyncio.get_running_loop().remove_reader(self._client.fileno())

    # -- the engine --------------------------------------------------------------------------

    def _listen(self) -> None:
        for message in self._client.receive():
            if self._hands:
                self._hands.hear(message)
            match message:
                case View():
                    self._shown = message
                    self._draw()
                case Cue(sound=sound):
                    if self._rings and sound in (Sound.GO, Sound.END, Sound.ATTENTION, Sound.FAULT):
                        self.bell()
                case LowerCurtain(down=down):
                    self._lower(down)
                case Refusal(why=why):
                    self.exit(why)
                case RunEnded(record_id=record_id) if record_id == self._watched.record_id:
                    self.exit("")
                case _:
                    pass
        if self._client.closed:
            self.exit("the engine has ended; `dryside book list` tells what was done")

    def _lower(self, down: bool) -> None:
        """Go black, and say so once the terminal has it; or come back."""
        if self._countdown:
            self._client.send(CurtainIs(down))
            return
        self.run_worker(self._go_black() if down else self._come_back(), group="curtain")

    async def _go_black(self) -> None:
        self._client.send(CurtainIs(await lower(self)))

    async def _come_back(self) -> None:
        await lift(self)
        self._client.send(CurtainIs(False))
        self._draw()

    def _frame(self) -> None:
        if self._hands:
            self._hands.act(self._client)
        self._draw()

    def _draw(self) -> None:
        if self.curtain_down:
            return
        view = self._shown
        sheet = f"{view.mark}  " if view.mark else ""
        self.query_one("#patch", Static).update(f"{sheet}{view.label}")
        self.query_one("#left", Digits).update(self._figures(view))
        self.query_one("#todo", Static).update(view.text)
        self.query_one("#state", Static).update(WORDS.get(view.state, ""))
        known = {True: "on", False: "off", None: "unknown"}
        lights = "   ".join(f"{name} {known[lit]}" for name, lit in view.lit.items())
        self.query_one("#lights", Static).update(lights)

    def _figures(self, view: View) -> str:
        if view.state in (State.LIT, State.LEAD_IN) and view.until_ns is not None:
            left_s = max(0.0, (view.until_ns - self._clock.now_ns()) / 1e9)
            return f"{left_s:.1f}"
        return f"{view.left_s:.1f}" if view.left_s else ""

    # -- the foot ----------------------------------------------------------------------------

    def action_tap(self) -> None:
        """Tap the pedal."""
        self._pedal.tap()

    def action_hold(self) -> None:
        """Press the pedal long."""
        self._pedal.hold()

    def action_abandon(self) -> None:
        """Abandon the sheet, when it has been asked twice."""
        question = self._asked_twice.question(Wish.ABANDON)
        self._client.send(Say(question) if question else Please(Wish.ABANDON.value))

    def action_leave(self) -> None:
        """Leave the screen; the unit goes on."""
        self.exit("the screen was left; the unit goes on by pedal")


def watch(
    client: EngineClient,
    run: Run,
    hands: ImaginedHands | None,
    *,
    countdown: bool,
    bell: bool,
    clock: Clock,
) -> None:
    """Show a run until it is over. Raises EngineFault where it was refused or left."""
    said = RunningScreen(client, run, hands, countdown=countdown, bell=bell, clock=clock).run()
    if said:
        raise EngineFault(said)
