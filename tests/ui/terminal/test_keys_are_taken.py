"""No key is lost: whatever is loading, lying over a room or in focus."""

from __future__ import annotations

import ast
import asyncio
import inspect
import pkgutil
import random
import textwrap
from functools import lru_cache
from importlib import import_module
from pathlib import Path

import pytest
from textual import events
from textual.message_pump import MessagePump
from textual.widgets import Input

import ui.terminal
from controller.exposing.told import Press
from tests.ui.terminal.an_evening import DESK, write_evening
from tests.ui.terminal.fake_unit import Tried, walk
from ui.terminal.rooms import ROOMS
from ui.terminal.screens.paper import PaperScreen


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    write_evening(tmp_path)
    return tmp_path


async def burst(tried: Tried, text: str) -> None:
    """Press keys without a pause, as a hurried hand or a paste does."""
    for letter in text:
        key = {"?": "question_mark", "/": "slash"}.get(letter, letter)
        tried.app.post_message(events.Key(key, letter))
    await tried.settle()


def test_of_keys_pressed_in_a_hurry_none_is_lost(home: Path) -> None:
    """However the doors are run through, the last one counts, and help comes up over it."""
    chance = random.Random(1)

    async def steps(tried: Tried) -> None:
        for _ in range(12):
            keys = [chance.randint(1, len(ROOMS)) for _ in range(chance.randint(1, 6))]
            await burst(tried, "".join(map(str, keys)) + "?")
            assert tried.app.current_mode == ROOMS[keys[-1] - 1].name, keys
            assert "any key closes this" in tried.text, keys
            await burst(tried, "x")
            assert "any key closes this" not in tried.text, keys

    walk(home, steps, desk=DESK)


def test_a_key_for_a_page_may_come_with_the_key_that_opens_it(home: Path) -> None:
    """Quick fingers, or a slow machine: each key is for what the one before it led to."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await burst(tried, "okh")
        await tried.press("enter")
        assert "kept as h" in tried.text

    walk(home, steps, desk=DESK)


def test_a_page_that_is_left_twice_at_once_is_left_once_and_all_goes_on(home: Path) -> None:
    """Escape twice over a page of the book, a question or help: the room is there, with keys."""

    async def steps(tried: Tried) -> None:
        for opening in (("7", "enter"), ("7", "r"), ("7", "question_mark"), ("1", "o"), ("f2",)):
            await tried.press(*opening)
            for _ in range(2):
                tried.app.post_message(events.Key("escape", None))
            await tried.settle()
            assert len(tried.app.screen_stack) == 1, opening
            await tried.press("3")
            assert tried.app.current_mode == "score", opening

    walk(home, steps, desk=DESK)


def test_what_was_being_read_for_a_page_that_is_left_is_let_go(home: Path) -> None:
    """It comes when all on the page is gone already, and the page itself is about to."""

    async def steps(tried: Tried) -> None:
        await tried.press("7", "p")
        page = tried.app.screen
        assert isinstance(page, PaperScreen)
        came_late = asyncio.Event()

        async def late() -> None:
            while page.query("#paper-box"):
                await asyncio.sleep(0)
            came_late.set()
            page.query_one("#paper-box")

        page.beside(late)
        await tried.pilot.press("1")
        await tried.settle()
        assert came_late.is_set()
        assert tried.app.current_mode == "bench"

    walk(home, steps, desk=DESK)


def test_the_doors_and_the_pedal_work_from_a_page_of_the_book(home: Path) -> None:
    """A digit goes to its room, and space is the pedal."""

    async def steps(tried: Tried) -> None:
        await tried.press("7", "enter")
        assert "escape closes this" in tried.text
        await tried.press("space")
        assert tried.unit.of(Press)
        await tried.press("2")
        assert tried.app.current_mode == "strip"
        assert len(tried.app.screen_stack) == 1

    walk(home, steps, desk=DESK)


def test_enter_is_the_pedal_in_every_room_that_has_nothing_to_enter(home: Path) -> None:
    """Bench without a strip, room, trays and chemistry."""

    async def steps(tried: Tried) -> None:
        for number in ("1", "4", "5", "6"):
            await tried.press(number)
            before = len(tried.unit.of(Press))
            await asyncio.sleep(0.75)  # a key that comes sooner counts as held
            await tried.press("enter")
            assert len(tried.unit.of(Press)) > before, number

    walk(home, steps)


def test_behind_the_curtain_the_space_bar_is_the_pedal_whatever_had_the_cursor(home: Path) -> None:
    """A field that was being typed in does not swallow the tap that puts the light off."""

    async def steps(tried: Tried) -> None:
        await tried.press("2", "tab")
        field = tried.app.focused
        assert isinstance(field, Input)
        before = field.value
        tried.app.darken()
        await tried.press("space")
        assert tried.unit.of(Press)[0] == Press(True)  # on a busy machine it is up again by now
        assert field.value == before

    walk(home, steps, desk=DESK)


def ours() -> list[type]:
    """Every class of the terminal that derives from one of the toolkit's."""
    found = []
    for info in pkgutil.walk_packages(ui.terminal.__path__, "ui.terminal."):
        for each in vars(import_module(info.name)).values():
            if inspect.isclass(each) and each.__module__ == info.name:
                found.append(each)
    return [each for each in found if any(map(toolkit, each.__mro__))]


def toolkit(each: type) -> bool:
    return each.__module__.split(".")[0] == "textual"


@lru_cache
def kept_by(each: type) -> set[str]:
    """Give the names that methods of a class store on ``self``."""
    return {
        node.attr
        for node in ast.walk(ast.parse(textwrap.dedent(inspect.getsource(each))))
        if isinstance(node, ast.Attribute)
        and isinstance(node.ctx, ast.Store)
        and isinstance(node.value, ast.Name)
        and node.value.id == "self"
    }


def test_no_class_keeps_anything_under_a_name_that_the_toolkit_uses_for_itself() -> None:
    """A ``_closed`` of ours once told the toolkit that its queue was closed; all stood still."""
    meant = {
        "_exception",
        "_return_code",
        "_file",
        "_batch_count",
    }  # red and line: they replace these
    clashes = {
        f"{each.__name__}.{name}"
        for each in ours()
        for base in filter(toolkit, each.__mro__)
        for name in kept_by(each) & (kept_by(base) | set(vars(base)))
        if name.startswith("_") and name not in meant
    }
    assert ours()
    assert "_closed" in kept_by(MessagePump), "the toolkit is really read"
    assert not clashes
