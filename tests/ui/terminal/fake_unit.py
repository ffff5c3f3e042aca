"""A terminal whose unit is only imagined by the test: quick, and all that is sent is kept."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from textual.pilot import Pilot

from controller.desk.desk import Desk
from controller.exposing.bench import State, View
from drivers.engine_words import FromEngine, Hello, ToEngine
from ui.terminal.app import Terminal
from ui.terminal.link import UnitLink
from ui.terminal.preferences import Preferences
from ui.unit import Unit, unit_for

SIZES = ((80, 24), (100, 30), (160, 48))
EDGES = (SIZES[0], *(pytest.param(size, marks=pytest.mark.long) for size in SIZES[1:]))


class FakeLink(UnitLink):
    """Knows what the test tells it, and keeps what it is asked to send."""

    desk_at_first = Desk()
    sent: list[ToEngine]

    gone = False

    @property
    def attached(self) -> bool:
        return not self.gone

    async def attach(self, run: Path) -> None:
        self._run = run
        self.hello = Hello(1, self.unit.rig.name, self.unit.rig.digest())
        self.desk = self.desk_at_first
        self.view = View(state=State.OVER, lit={"lamp": False, "ceiling": True})

    def send(self, message: ToEngine) -> None:
        self.sent.append(message)

    def tell(self, message: FromEngine) -> None:
        """Let the unit say something."""
        self._take(message)
        self._changed(message)

    def of(self, kind: type[object]) -> list[ToEngine]:
        return [message for message in self.sent if isinstance(message, kind)]


class Threads:
    """Stands for ``asyncio.to_thread``, and counts what is done there now."""

    def __init__(self) -> None:
        self.busy = 0
        self._to_thread = asyncio.to_thread

    async def __call__(self, *args: Any, **options: Any) -> Any:
        self.busy += 1
        try:
            return await self._to_thread(*args, **options)
        finally:
            self.busy -= 1


async def turns_taken() -> None:
    """Let everything that waits for its turn in the loop have it, and what that brings too."""
    waiting = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
    while True:
        await asyncio.sleep(0)
        if not waiting:
            return


class Tried:
    """A terminal that is open, and what a person does with it."""

    def __init__(self, app: Terminal, unit: FakeLink, pilot: Pilot[None]) -> None:
        self.app = app
        self.unit = unit
        self.pilot = pilot
        self.threads = Threads()

    async def press(self, *keys: str) -> None:
        """Press keys; what each of them begins is over before the next."""
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def type(self, text: str) -> None:
        """Type into the field that has the cursor."""
        await self.pilot.press(*text)
        await self.settle()

    async def click(self, wanted: str) -> None:
        """Click what is written somewhere on the screen."""
        for y, line in enumerate(self.text.splitlines()):
            if wanted in line:
                await self.pilot.click(offset=(line.index(wanted), y))
                await self.settle()
                return
        raise AssertionError(f"{wanted!r} is not on the screen:\n{self.text}")

    async def settle(self) -> None:
        """Wait until nothing is under way, the book's reading included.

        The toolkit's own pause takes a machine that is busy with others for one that is idle:
        so it is seen besides that nothing waits for its turn, that nothing is done in a thread,
        and that the picture stays as it is.
        """
        before = None
        while True:
            await self.pilot.pause()
            await turns_taken()
            while self.working():
                before = None
                await asyncio.sleep(0.001)
            if before == (now := (self.app.screen, self.text)):
                return
            before = now

    def working(self) -> bool:
        """Is anything done beside the screen?"""
        workers = any(not worker.is_finished for worker in self.app.workers)
        return workers or self.threads.busy > 0

    @property
    def text(self) -> str:
        """What is on the screen."""
        behind = self.app._background_screens
        update = self.app.screen._compositor.render_update(full=True, screen_stack=behind)
        lines = [
            "".join(segment.text for strip in line for segment in strip if not segment.control)
            for line in update.strips
        ]
        return "".join(f"{line.rstrip()}\n" for line in lines)


def walk(
    home: Path,
    steps: Callable[[Tried], Awaitable[None]],
    *,
    desk: Desk | None = None,
    size: tuple[int, int] = SIZES[0],
    unit: Unit | None = None,
) -> None:
    """Open the terminal, take the steps, and leave."""
    app = Terminal(unit or unit_for("tungsten", ()), home, Preferences.read(home))
    link = FakeLink(app.link.unit, changed=app._changed, lower=app._lower, gone=app._gone)
    link.desk_at_first, link.sent = desk or Desk(), []
    app.link = link

    async def run() -> None:
        async with app.run_test(size=size, notifications=True, tooltips=True) as pilot:
            tried = Tried(app, link, pilot)
            with patch("asyncio.to_thread", tried.threads):
                await tried.settle()
                await steps(tried)

    # The toolkit would wait until all is idle twice for each key: here ``settle`` does, once.
    with patch("textual.app.wait_for_idle", lambda _: asyncio.sleep(0)):
        asyncio.run(run())
