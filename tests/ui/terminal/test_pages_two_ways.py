"""What only eyes can do (the book, the pages, the palette), by keyboard and by mouse: one table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from textual.events import MouseScrollDown

from controller.told import Run
from drivers.engine_words import Play
from tests.ui.terminal.an_evening import DESK, write_evening
from tests.ui.terminal.fake_unit import Tried, walk


@dataclass(frozen=True)
class Task:
    """``keys`` and ``clicks`` (on words) lead to the same; letters of ``typed`` come after."""

    keys: tuple[str, ...]
    clicks: tuple[str, ...]
    shows: str
    typed: tuple[str, ...] = ()
    proof: Callable[[Tried], bool] = lambda _: True


def brighter(tried: Tried) -> bool:
    return tried.app.brightness == 3


def rest_sent(tried: Tried) -> bool:
    sent = tried.unit.of(Run)
    return [run.mark for run in sent if isinstance(run, Run)] == ["P1"]


def sound_played(tried: Tried) -> bool:
    return tried.unit.of(Play) == [Play("end")]


TASKS = {
    "a door": Task(("3",), ("3 Score",), "ctrl+s prints it"),
    "book: find a mark": Task(
        ("7", "slash"), ("7 Book", "find a mark"), "sheet L4: done", ("l", "4", "enter")
    ),
    "book: open a page": Task(("7", "down", "enter"), ("7 Book", "L4", "L4"), "sheet L4: done"),
    "book: give the rest": Task(
        ("7", "r", "down", "enter"),
        ("7 Book", "give the rest", "give it the rest"),
        "strip from",
        proof=rest_sent,
    ),
    "open the evening": Task(
        ("o", "space", "ctrl+s"),
        ("more", "Open the evening", "the telephone is out", "keep it"),
        "not seen to",
    ),
    "close the evening": Task(
        ("c",),
        ("more", "Close the evening", "what it is"),
        "a quiet one",
        ("a", "space", "q", "u", "i", "e", "t", "space", "o", "n", "e"),
    ),
    "sounds": Task(
        ("f2", "down", "enter"),
        ("more", "Sounds", "the lamp is off"),
        "Sounds",
        proof=sound_played,
    ),
    "brightness": Task(("b",), ("more", "Brightness"), "nothing runs", proof=brighter),
    "help": Task(("question_mark",), ("? help",), "any key closes this"),
    "palette": Task(("ctrl+p", "s", "c", "o", "enter"), ("more", "Chemistry"), "3 Score"),
}


async def wheel_to(tried: Tried, words: str) -> None:
    """Turn the wheel until the words are in sight."""
    for _ in range(30):
        if words in tried.text:
            return
        await tried.pilot._post_mouse_events([MouseScrollDown], offset=(20, 12))
        await tried.settle()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    write_evening(tmp_path)
    return tmp_path


@pytest.mark.parametrize("way", ["keyboard", "mouse"])
@pytest.mark.parametrize("name", TASKS)
def test_a_task_at_the_screen(name: str, way: str, home: Path) -> None:
    """Both ways come to the same end."""
    task = TASKS[name]

    async def steps(tried: Tried) -> None:
        if way == "keyboard":
            await tried.press(*task.keys)
        else:
            for words in task.clicks:
                await wheel_to(tried, words)
                await tried.click(words)
        await tried.press(*task.typed)
        assert task.shows in " ".join(tried.text.split()), tried.text
        assert task.proof(tried)

    walk(home, steps, desk=DESK)
