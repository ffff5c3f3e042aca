"""Every cell that the toolkit can draw, on the compositor's strips."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from tests.ui.terminal.cells import brightest, cell_offences, segments
from tests.ui.terminal.demo import WHITE, Bare, Demo
from ui.terminal.curtain import lift, lower
from ui.terminal.tones import LEVELS


def walk(app: Demo, steps: Callable[[Demo, Pilot[None]], Coroutine[Any, Any, None]]) -> None:
    async def run() -> None:
        # Without these two the toolkit hides toasts and tips, and the test would pass for nothing.
        async with app.run_test(size=(100, 40), notifications=True, tooltips=True) as pilot:
            await pilot.pause(0.05)
            await steps(app, pilot)

    asyncio.run(run())


async def show(name: str, app: Demo, pilot: Pilot[None]) -> None:
    """Bring one thing to the screen, and see that it is there."""
    if name in Demo.SCENES:
        app.scene(name)
    elif name == "toasts":
        app.action_toast()
    elif name == "dialog":
        app.action_dialog()
    elif name == "keys":
        app.action_show_help_panel()
    elif name == "commands":
        await pilot.press("ctrl+p", "t", "h")
    elif name == "selection":
        app.query_one("#input", Input).focus()
        await pilot.press("home", "shift+end")
    elif name == "refused":
        app.query(Input).last().focus()
        await pilot.press("a", "backspace")
    elif name == "select":
        app.query_one("#select", Select).action_show_overlay()
    elif name == "tip":
        await pilot.hover("Button")
        await pilot.pause(0.5)
    elif name == "link":
        app.scene("raw")
        await pilot.pause(0.05)
        await pilot.hover(app.query_one("#raw").query(Static).first(), offset=(2, 0))
        await pilot.pause(0.05)
    elif name == "ansi":
        app.ansi_color = True
    elif name == "text selection":
        app.scene("words")
        await pilot.pause(0.05)
        app.screen.text_select_all()
    else:
        app.register_theme(WHITE)
        app.theme = "white"
    await pilot.pause(0.1)


SIGHTS = (
    *Demo.SCENES,
    "toasts",
    "dialog",
    "keys",
    "commands",
    "selection",
    "refused",
    "select",
    "tip",
    "link",
    "ansi",
    "text selection",
    "white theme",
)


def test_everything_that_the_toolkit_draws_is_red_on_explicit_red_or_black() -> None:
    """No cell of any sight has green, blue, a default colour, or an attribute with its own."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        before: list[str] = []
        for sight in SIGHTS:
            await show(sight, app, pilot)
            assert cell_offences(app) == [], sight
            now = [text for text, _, _ in segments(app)]
            if sight in ("toasts", "dialog", "keys", "commands", "select"):
                assert now != before, f"{sight} is not on the screen"
            before = now
            if sight in ("commands", "dialog", "select"):
                await pilot.press("escape")

    walk(Demo(), steps)


def test_without_the_filter_the_same_walk_finds_colours() -> None:
    """Every sight has cells that are not red when the filter is taken out."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        for sight in SIGHTS:
            await show(sight, app, pilot)
            assert cell_offences(app), sight
            if sight in ("commands", "dialog", "select"):
                await pilot.press("escape")

    walk(Bare(), steps)


def test_tips_and_toasts_are_really_shown_in_these_tests() -> None:
    """The words of a tip and of three notices are among the cells."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        await show("toasts", app, pilot)
        await show("tip", app, pilot)
        words = "".join(text for text, _, _ in segments(app))
        assert words.count("a notice") == 3
        assert "a tip in colours" in words

    walk(Demo(), steps)


def test_each_brightness_is_the_limit_of_every_cell_and_steps_come_round() -> None:
    """The brightest cell follows the levels, and after the brightest comes the darkest."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        seen = []
        for _ in range(len(LEVELS) + 1):
            index = app.step_brightness()
            await pilot.pause(0.05)
            assert brightest(app) <= round(255 * LEVELS[index] / 100)
            seen.append((index, brightest(app)))
        assert [index for index, _ in seen] == [0, 1, 2, 3, 0]
        assert seen[0][1] < seen[1][1] < seen[2][1] < seen[3][1]
        assert seen[4] == seen[0]

    walk(Demo(), steps)


def test_behind_the_curtain_every_cell_is_black_and_notices_wait() -> None:
    """Lowered: brightest 0 in spite of toasts, dialogs and what moves; lifted: notices come."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        app.scene("figures")
        assert await lower(app)
        assert app.curtain_down
        app.action_toast()
        app.action_dialog()
        await pilot.pause(0.1)
        assert brightest(app) == 0
        await lift(app)
        for _ in range(200):
            await pilot.pause(0.05)
            if "".join(text for text, _, _ in segments(app)).count("a notice") == 3:
                break
        else:
            raise AssertionError("the notices never came")
        assert brightest(app) > 0

    walk(Demo(), steps)


def test_a_click_on_a_link_still_acts() -> None:
    """The filter takes the link's look, not what a click on it does."""

    async def steps(app: Demo, pilot: Pilot[None]) -> None:
        app.scene("raw")
        await pilot.pause(0.05)
        await pilot.click(app.query_one("#raw").query(Static).first(), offset=(2, 0))
        await pilot.pause(0.05)
        assert "a notice" in "".join(text for text, _, _ in segments(app))

    walk(Demo(), steps)
