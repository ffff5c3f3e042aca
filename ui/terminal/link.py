"""The terminal's end of the unit: attaches without holding up the screen, hears, and speaks."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from controller.bench import State, View
from controller.events import RunBegun, RunEnded
from controller.orders import Ordered
from controller.ports import Cue
from controller.told import LowerCurtain, Press, Wish
from drivers.engine_words import (
    Arrange,
    DeskIs,
    FromEngine,
    Hello,
    Please,
    Refusal,
    ToEngine,
)
from ui.pedal_key import PedalKey

if TYPE_CHECKING:
    from controller.desk import Desk
    from controller.plan import Plan
    from ui.attach import EngineClient
    from ui.imagined_hands import ImaginedHands
    from ui.unit import Unit


class UnitLink:
    """What the terminal knows of the unit, kept up to date; ``changed`` is called after news.

    ``lower`` is asked to make the screen black, or to lift the curtain.
    """

    def __init__(
        self,
        unit: Unit,
        *,
        changed: Callable[[FromEngine], None],
        lower: Callable[[bool], None],
        gone: Callable[[str], None],
    ) -> None:
        self.unit = unit
        self._changed = changed
        self._lower = lower
        self._gone = gone
        self._client: EngineClient | None = None
        self._hands: ImaginedHands | None = None
        self.hello: Hello | None = None
        self.view = View()
        self.plan: Plan | None = None
        self.desk: Desk | None = None
        self.cue = Cue()
        self.ended: RunEnded | None = None
        self.pedal = PedalKey(
            lambda down: self.send(Press(down)),
            lambda seconds, do: asyncio.get_running_loop().call_later(seconds, do),
            time.monotonic,
        )
        self.densities: dict[str, float] = {}  # of the last imagined strip, by letter

    @property
    def running(self) -> bool:
        """Is a plan being carried out?"""
        return self.plan is not None and self.ended is None

    async def attach(self, run: Path) -> None:
        """Attach to the engine, starting one if need be. Raises EngineFault."""
        from ui.attach import attach

        unit = self.unit
        self._client = await asyncio.to_thread(
            attach, run, unit.asked, unit.settings, unit.rig.digest(), screen=True
        )
        self.hello = self._client.hello
        self._run = run
        loop = asyncio.get_running_loop()
        loop.add_reader(self._client.fileno(), self.listen)
        self.listen()

    def close(self) -> None:
        """Leave; the unit goes on."""
        if self._client is not None:
            loop = asyncio.get_running_loop()
            loop.remove_reader(self._client.fileno())
            self._client.close()
            self._client = None

    def send(self, message: ToEngine) -> None:
        """Tell the engine something; nothing happens while there is none."""
        if self._client is not None:
            self._client.send(message)

    # -- the foot, and wishes ----------------------------------------------------------------

    def wish(self, wish: Wish) -> None:
        """Ask for something without a pedal."""
        self.send(Please(wish.value))

    def order(self, order: str, choice: str = "") -> None:
        """Order something from the desk."""
        self.send(Ordered(order, choice))

    def arrange(self, desk: Desk) -> None:
        """Lay something else ready."""
        self.desk = desk
        self.send(Arrange(desk.model_dump_json()))

    # -- hearing -----------------------------------------------------------------------------

    def listen(self) -> None:
        """Take everything that the engine said."""
        if self._client is None:
            return
        for message in self._client.receive():
            self._take(message)
            self._changed(message)
        if self._client is not None and self._client.closed:
            self.close()
            self._gone("the unit has ended; its lamp is off. What was done is in the book")

    def _take(self, message: FromEngine) -> None:
        if self._hands:
            self._hands.hear(message)
        match message:
            case View():
                self.view = message
            case Cue(text=text) if text:
                self.cue = message
            case DeskIs(desk=desk):
                from controller.desk import Desk

                self.desk = Desk.model_validate_json(desk)
            case LowerCurtain(down=down):
                self._lower(down)
            case RunBegun(plan=plan):
                from controller.plan import Plan

                self.plan = Plan.from_json(plan)
                self.ended = None
                self.densities = {}
                self._imagine(message)
            case RunEnded():
                self.ended = message
                self._develop()
            case Refusal(why=why):
                self.cue = Cue(why)
            case _:
                pass

    # -- an imagined room --------------------------------------------------------------------

    def _imagine(self, begun: RunBegun) -> None:
        """On an imagined rig the hands do as they are told; the foot is the terminal's."""
        if not self.unit.imagined or self.plan is None:
            return
        from controller.told import Run
        from ui.imagined_hands import ImaginedHands

        run = Run(begun.record_id, self.plan, begun.spec)
        self._hands = ImaginedHands(self.unit, run, self._run / "wire", by_hand=True)

    def _develop(self) -> None:
        if self._hands is None or self.plan is None:
            return
        hands, self._hands = self._hands, None
        self._developing = asyncio.create_task(self._in_the_tray(hands))

    async def _in_the_tray(self, hands: ImaginedHands) -> None:
        # in a thread: what it loads would hold up the screen for a second
        sheets = await asyncio.to_thread(hands.develop)
        if sheets:
            self.densities = {patch.letter: patch.density for patch in sheets[-1].patches}
            self._changed(self.view)


def seconds_left(view: View) -> float | None:
    """Give what a screen counts down to, in seconds; None where nothing is counted."""
    if view.state in (State.LIT, State.LEAD_IN, State.GAP) and view.until_ns is not None:
        return max(0.0, (view.until_ns - time.monotonic_ns()) / 1e9)
    if view.state is State.PAUSED:
        return view.left_s
    return None
