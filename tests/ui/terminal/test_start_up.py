"""While the unit is still being loaded: nothing that is pressed, heard or asked for is lost."""

from __future__ import annotations

import asyncio
import os
import threading
from pathlib import Path
from typing import Any, cast

import pytest

from controller.desk.desk import Desk
from controller.desk.orders import Ordered
from controller.errors import BadInput
from controller.exposing.bench import State, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press
from drivers.engine_words import FromEngine, Hello, Talk, ToEngine
from tests.ui.terminal.fake_unit import FakeLink, Tried, walk
from ui.attach import EngineClient, EngineFault
from ui.terminal import link as link_module
from ui.terminal.app import Terminal
from ui.terminal.link import UnitLink
from ui.terminal.preferences import Preferences
from ui.unit import Unit, unit_for


class Slow:
    """A unit that is loaded when the test says so."""

    def __init__(self) -> None:
        self.now = threading.Event()

    def __call__(self) -> Unit:
        assert self.now.wait(20)
        return unit_for("tungsten", ())


class Client:
    """A connection to an engine that says what the test wants."""

    def __init__(self, digest: str, *, running: str = "") -> None:
        self.hello = Hello(1, "some rig", digest, running=running)
        self.closed = False
        self.says: list[FromEngine] = []
        self.sent: list[ToEngine] = []
        self._ends = os.pipe()

    def fileno(self) -> int:
        return self._ends[0]

    def receive(self, wait_s: float = 0.0) -> list[FromEngine]:
        said, self.says = self.says, []
        return said

    def send(self, message: ToEngine) -> None:
        self.sent.append(message)

    def close(self) -> None:
        for end in self._ends:
            os.close(end)


class Heard:
    """A link, and what the terminal was told by it."""

    def __init__(self, unit: Any) -> None:
        self.changed: list[FromEngine] = []
        self.curtain: list[bool] = []
        self.gone: list[str] = []
        self.link = UnitLink(
            unit, changed=self.changed.append, lower=self.curtain.append, gone=self.gone.append
        )


def found(monkeypatch: pytest.MonkeyPatch, client: Client | None) -> None:
    """Let this engine be found running, or none."""
    monkeypatch.setattr(link_module, "connect", lambda _run, *, screen: client)


def test_keys_that_come_before_the_unit_are_taken_when_it_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A door, a key of that room and the doors again, all typed early, do what they say."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    slow = Slow()
    app = Terminal(slow, tmp_path, Preferences.read(tmp_path))
    link = FakeLink(slow, changed=app._changed, lower=app._lower, gone=app._gone)
    link.sent = []
    app.link = link

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            tried = Tried(app, link, pilot)
            await pilot.pause()
            assert "the unit is starting" in tried.text
            await pilot.press("space", "2", "1", "s", "3", "question_mark")
            assert (app.current_mode, link.sent) == ("bench", [])
            slow.now.set()
            await tried.settle()
            assert app.current_mode == "score"
            assert "any key closes this" in tried.text
            await asyncio.sleep(0.3)
            assert link.of(Ordered) == [Ordered("strip")]
            assert link.of(Press) == [Press(True), Press(False)]

    asyncio.run(run())


def test_a_rig_that_cannot_be_used_ends_the_terminal_with_its_sentence(tmp_path: Path) -> None:
    """What is wrong with it is told where the command began."""

    def load() -> Unit:
        raise BadInput("no such rig", "rig", "another")

    app = Terminal(load, tmp_path, Preferences.read(tmp_path))

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await app.workers.wait_for_complete()

    asyncio.run(run())
    assert "no such rig" in str(app.unusable)


def test_the_screen_goes_black_before_anything_is_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    """The curtain of a run is obeyed at once; what else was said waits, and comes in order."""
    slow = Slow()
    heard = Heard(slow)
    client = Client(unit_for("tungsten", ()).rig.digest())
    found(monkeypatch, client)
    told = [View(state=State.LIT), LowerCurtain(True), View(state=State.PAUSED)]

    async def run() -> None:
        link = heard.link
        await link.find(Path("run"))
        client.says += told
        link.listen()
        assert heard.curtain == [True]
        assert heard.changed == [LowerCurtain(True)]
        link.send(CurtainIs(True))
        link.send(Press(True))
        assert client.sent == [CurtainIs(True)]  # it is waited for
        slow.now.set()
        await link.load()
        await link.attach(Path("run"))
        link.begin()
        assert link.view.state is State.PAUSED
        assert heard.changed[1:] == [told[0], told[2]]
        assert client.sent == [CurtainIs(True), Press(True)]
        link.close()

    asyncio.run(run())


def test_two_early_taps_are_two() -> None:
    """They are made up for as far apart as they were, or as a pedal key needs."""
    heard = Heard(unit_for("tungsten", ()))
    client = Client("")

    async def run() -> None:
        link = heard.link
        link._client = cast(EngineClient, client)
        loop = asyncio.get_running_loop()
        loop.add_reader(client.fileno(), lambda: None)
        link.when_there(link.pedal.tap)
        await asyncio.sleep(0.3)
        link.when_there(lambda: link.send(Ordered("print")))
        began_s = loop.time()
        link.begin()
        while len(client.sent) < 3:
            await asyncio.sleep(0.02)
        assert client.sent == [Press(True), Press(False), Ordered("print")]
        assert loop.time() - began_s >= 0.28
        link.close()

    asyncio.run(run())


def test_of_a_unit_that_works_with_another_rig_only_the_curtain_matters(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its paper is kept dark, it is told nothing, and it may go on."""
    heard = Heard(unit_for("tungsten", ()))
    client = Client("another", running="r1")
    found(monkeypatch, client)

    def refuses(*_: object, **__: object) -> EngineClient:
        raise EngineFault("the unit is at work with the rig 'some rig'")

    monkeypatch.setattr(link_module, "attach", refuses)

    async def run() -> None:
        link = heard.link
        await link.find(Path("run"))
        link.send(Press(True))
        with pytest.raises(EngineFault):
            await link.attach(Path("run"))
        link.give_up()
        client.says += [View(state=State.LIT), LowerCurtain(True)]
        link.listen()
        link.send(CurtainIs(True))
        link.send(Press(True))
        assert heard.curtain == [True]
        assert client.sent == [CurtainIs(True)]
        assert heard.changed == [LowerCurtain(True)]
        link.close()

    asyncio.run(run())


def test_the_talking_book_is_asked_for_in_the_palette(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the rig has one it can be let play and be silenced; elsewhere it is not offered."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    for settings, offered in (((), []), (('talk.folder="/book"',), [Talk(True), Talk(False)])):

        async def steps(tried: Tried, wanted: list[Talk] = offered) -> None:
            for command in tried.app.get_system_commands(tried.app.screen):
                if command.title.startswith("Talking book"):
                    command.callback()
            assert tried.unit.of(Talk) == wanted

        walk(tmp_path, steps, desk=Desk(), unit=unit_for("tungsten", settings))
