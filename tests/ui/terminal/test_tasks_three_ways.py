"""Each task of an evening by keyboard, by pedal and by mouse: one table, a real engine, a pilot."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from controller.desk.desk import Desk
from controller.events import Fate
from controller.exposing.told import Press
from controller.ports import Cue, Wants
from controller.strips.strip import Strip
from drivers.all_safe import safe_now
from drivers.places import board_options, run_folder
from tests.ui.terminal.fake_unit import Tried
from ui.attach import EngineClient, attach
from ui.terminal.app import Terminal
from ui.terminal.preferences import Preferences
from ui.unit import open_book, unit_for

pytestmark = pytest.mark.real

SETTINGS = ("foot.deaf_s=0.05", "foot.lead_in_s=0.1", "foot.long_press_s=0.5", "foot.choice_s=0.8")
DEAF_S = 0.1  # and a little more: just after a prompt a press counts for nothing
REPEAT_S, APART_S = 0.2, 0.25  # a key that comes sooner counts as held
WAIT_S = 20.0
RUNS = "light; a press puts it off"

# What is done in each task, and what must be on the screen before the next thing is done.
TASKS: dict[str, tuple[tuple[str, str], ...]] = {
    "focus, and the lens to its aperture": (
        ("order", "focus light"),
        *(("see", "no paper out; focus light"), ("tap", "")),
        *(("see", RUNS), ("tap", "")),
        *(("see", "lens to"), ("tap", "")),
        ("see", "at most: done"),
    ),
    "placing light through the red filter": (
        ("order", "placing light"),
        *(("see", "red filter in"), ("tap", "")),
        *(("see", "tap to go"), ("tap", "")),
        *(("see", RUNS), ("tap", "")),
        *(("see", "red filter away"), ("tap", "")),
        ("see", "at most: done"),
    ),
    "a strip": (("order", "strip"), ("follow", ": done")),
    "pick a place between two patches": (
        *(("see", "pick from"), ("pick", "A-B"), ("see", "n print 1.4")),
    ),
    "print it": (("order", "print"), ("follow", ": done")),
    "print again, pause and go on": (
        *(("order", "print"), ("follow", RUNS), ("tap", "")),
        *(("see", "paused"), ("tap", ""), ("follow", ": done")),
    ),
    "abandon one": (
        *(("order", "print"), ("follow", RUNS), ("abandon", ""), ("see", ": abandoned")),
    ),
}
FATES = [
    *(("focus", Fate.DONE), ("placing light", Fate.DONE), ("strip", Fate.DONE)),
    *(("print", Fate.DONE), ("print", Fate.DONE), ("print", Fate.ABANDONED)),
]


class Hands:
    """What the three ways share: eyes, and patience."""

    def __init__(self, tried: Tried, home: Path) -> None:
        self.tried = tried
        self._tapped_s = 0.0

    @property
    def text(self) -> str:
        return " ".join(self.tried.text.replace("│", " ").split())

    async def until(self, true: Callable[[], bool]) -> None:
        end_s = time.monotonic() + WAIT_S
        while not true():
            assert time.monotonic() < end_s, f"it never came:\n{self.tried.text}"
            await self.tried.pilot.pause(0.02)

    async def see(self, words: str) -> None:
        await self.until(lambda: words in self.text)

    async def follow(self, words: str) -> None:
        """Tap at every prompt until these words come."""
        end_s = time.monotonic() + WAIT_S
        old = words in self.text  # from the run before
        while old or words not in self.text:
            assert time.monotonic() < end_s, f"{words!r} never came:\n{self.tried.text}"
            old = old and words in self.text
            if "tap when it is done" in self.text or "tap to go" in self.text:
                await self.tap("")
            await self.tried.pilot.pause(0.02)

    async def tap(self, _: str) -> None:
        """Tap, not sooner than a person does, and see that it was taken."""
        await asyncio.sleep(max(DEAF_S, self._tapped_s + APART_S - time.monotonic()))
        before = self.text
        await self.press_once()
        self._tapped_s = time.monotonic()
        await self.until(lambda: self.text != before)

    async def press_once(self) -> None:
        """Press the space bar."""
        await self.tried.pilot.press("space")

    async def close(self) -> None:
        """Nothing is held."""


class Keyboard(Hands):
    """Keys, and nothing else."""

    async def order(self, what: str) -> None:
        keys = {"focus light": "f", "placing light": "p", "strip": "s", "print": "n"}
        await self.tried.pilot.press(keys[what])

    async def pick(self, choice: str) -> None:
        assert choice == "A-B", "the middle, where the cursor is"
        await self.tried.pilot.press("left", "right", "enter")

    async def abandon(self, _: str) -> None:
        await self.tried.pilot.press("a", "a")


class Mouse(Hands):
    """Clicks on the row of keys and on the patches."""

    async def order(self, what: str) -> None:
        words = {"focus light": "f focus", "placing light": "p placing"}
        await self._click(words.get(what) or {"strip": "s strip", "print": "n print"}[what])

    async def _click(self, words: str) -> None:
        await self.see(words)
        await self.tried.click(words)

    async def press_once(self) -> None:
        await self._click("space pedal")

    async def pick(self, choice: str) -> None:
        await self.see("A A-B B")
        await self.tried.click("A-B")

    async def abandon(self, _: str) -> None:
        await self._click("a abandon")
        await self._click("a abandon")  # what cannot be taken back is asked twice


class OneFoot(Hands):
    """A pedal, heard through a client of its own; what is spoken is what is taken."""

    def __init__(self, tried: Tried, home: Path) -> None:
        super().__init__(tried, home)
        unit = tried.app.link.unit
        self._ear: EngineClient = attach(run_folder(), unit.asked, SETTINGS, unit.rig.digest())

    async def press_once(self, for_s: float = 0.05) -> None:
        self._ear.send(Press(True))
        await asyncio.sleep(for_s)
        self._ear.send(Press(False))

    def heard(self) -> list[Cue]:
        return [said for said in self._ear.receive(0.0) if isinstance(said, Cue)]

    async def order(self, what: str) -> None:
        await self._choose(lambda word: word == what)

    async def pick(self, choice: str) -> None:
        await self._choose(lambda word: word == "pick")
        await self._take(lambda word: word == choice.replace("-", " "))

    async def _choose(self, wanted: Callable[[str], bool]) -> None:
        await asyncio.sleep(DEAF_S)
        self.heard()
        await self.press_once(0.7)
        await self._take(wanted)

    async def _take(self, wanted: Callable[[str], bool]) -> None:
        async def offered() -> None:
            while True:
                for cue in self.heard():
                    if cue.wants is Wants.CHOICE and wanted(cue.text):
                        await asyncio.sleep(DEAF_S)
                        await self.press_once()
                        return
                await self.tried.pilot.pause(0.02)

        await asyncio.wait_for(offered(), WAIT_S)

    async def abandon(self, _: str) -> None:
        self._ear.send(Press(True))
        await self.see(": abandoned")
        self._ear.send(Press(False))

    async def close(self) -> None:
        self._ear.close()


WAYS: dict[str, type[Hands]] = {"keyboard": Keyboard, "pedal": OneFoot, "mouse": Mouse}


@pytest.mark.parametrize(
    "way",
    [
        pytest.param("keyboard", marks=pytest.mark.long),
        "pedal",
        pytest.param("mouse", marks=pytest.mark.long),
    ],
)
def test_an_evening_task_by_task(way: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every task of the table can be done in this way alone, and the book holds what was done."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    monkeypatch.setattr("ui.pedal_key.REPEAT_S", REPEAT_S)
    desk = Desk(strip=Strip(base_s=1, step="1", patches=2))
    (tmp_path / "desk.json").write_text(desk.model_dump_json())
    unit = unit_for("tungsten", SETTINGS)
    app = Terminal(unit, run_folder(), Preferences.read(tmp_path))

    async def evening() -> None:
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            tried = Tried(app, app.link, pilot)  # type: ignore[arg-type]
            with suppress(TimeoutError):
                await asyncio.wait_for(tried.settle(), WAIT_S)
            hands = WAYS[way](tried, tmp_path)
            await hands.see("strip from")
            for name, steps in TASKS.items():
                for verb, what in steps:
                    try:
                        await getattr(hands, verb)(what)
                    except (AssertionError, TimeoutError) as error:
                        raise AssertionError(f"{name}: {verb} {what}\n{tried.text}") from error
            await hands.close()

    try:
        asyncio.run(evening())
        with open_book() as book:
            assert [(r.kind, r.fate) for r in book.records(20)[::-1]] == FATES
            picked = book.last_pick()
            assert picked is not None
            assert picked.choice == "A-B"
    finally:
        board = board_options(unit.rig, run_folder())
        safe_now(unit.rig.lines(), "sim", board, run=run_folder())
