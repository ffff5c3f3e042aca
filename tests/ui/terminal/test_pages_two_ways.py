"""What only eyes can do (book, scores, pages, palette), by keyboard and by mouse: one table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from textual.events import MouseScrollDown

from controller.desk.desk import Desk
from controller.desk.orders import Order, Ordered
from controller.exposing.told import Run
from controller.score.file import load_score
from controller.score.model import Score
from controller.score.new import demonstration
from drivers.engine_words import Play
from tests.ui.terminal.an_evening import DESK, SPLIT, write_evening
from tests.ui.terminal.fake_unit import Tried, walk
from ui.scores import keep, path_of


@dataclass(frozen=True)
class Task:
    """``keys`` and ``clicks`` (on words) lead to the same; letters of ``typed`` come after."""

    keys: tuple[str, ...]
    clicks: tuple[str, ...]
    shows: str
    typed: tuple[str, ...] = ()
    proof: Callable[[Tried], bool] = lambda _: True
    desk: Desk = DESK


def brighter(tried: Tried) -> bool:
    return tried.app.brightness == 3


def rest_sent(tried: Tried) -> bool:
    sent = tried.unit.of(Run)
    return [run.mark for run in sent if isinstance(run, Run)] == ["P1"]


def sound_played(tried: Tried) -> bool:
    return tried.unit.of(Play) == [Play("end")]


def ordered(order: Order, choice: str) -> Callable[[Tried], bool]:
    return lambda tried: tried.unit.of(Ordered) == [Ordered(order.value, choice)]


def score_of(tried: Tried) -> Score:
    desk = tried.unit.desk
    assert desk is not None
    assert desk.score is not None
    return desk.score


def is_kept_as(name: str) -> Callable[[Tried], bool]:
    def proof(tried: Tried) -> bool:
        assert tried.unit.desk is not None
        path = path_of(name)
        return tried.unit.desk.kept_as == str(path) and load_score(path) == score_of(tried)

    return proof


def nothing_lies_ready(tried: Tried) -> bool:
    return tried.unit.desk is not None and tried.unit.desk.score is None


def is_larger(tried: Tried) -> bool:
    before, after = demonstration(), score_of(tried)
    factor = ((1 + 5.2) / (1 + 3.63)) ** 2
    return after.base_s == pytest.approx(before.base_s * factor) and len(after.came_from) == 2


def cross_lies_ready(tried: Tried) -> bool:
    assert tried.unit.desk is not None
    cross = tried.unit.desk.cross
    return cross is not None and (cross.soft.filter, cross.soft.base_s) == ("0", 9)


def has_pass(label: str, dose: str) -> Callable[[Tried], bool]:
    return lambda tried: str(score_of(tried).pass_called(label).dose) == dose


TASKS = {
    "scores: open one": Task(
        ("3", "o", "enter", "down", "down", "enter"),
        ("3 Score", "o scores", "harbour", "put it away"),
        "kept as harbour",
        proof=is_kept_as("harbour"),
    ),
    "scores: keep under a name": Task(
        ("3", "o", "k"),
        ("3 Score", "o scores", "a name for what"),
        "kept as one; what is changed",
        ("o", "n", "e", "enter"),
        proof=is_kept_as("one"),
    ),
    "scores: begin anew": Task(
        ("3", "o", "n", "down", "down", "enter"),
        ("3 Score", "o scores", "n anew", "put it away"),
        "no print lies ready",
        proof=nothing_lies_ready,
    ),
    "scores: the demonstration": Task(
        ("3", "o", "d", "down", "down", "enter"),
        ("3 Score", "o scores", "d example", "put it away"),
        "burn sky and cloud",
        proof=lambda tried: score_of(tried) == demonstration(),
    ),
    "scores: by the palette": Task(
        ("ctrl+p", *"kept", "enter"), ("more", "Scores that are kept"), "harbour"
    ),
    "score: change a row": Task(
        ("3", "slash", "down", "down"),
        ("3 Score", "hard  "),
        "13.1 s",
        ("backspace", "6", "enter"),
        proof=has_pass("hard", "-1/6"),
        desk=SPLIT,
    ),
    "score: its sketch": Task(
        ("3", "v", "t"),
        ("3 Score", "more", "Sketch of the score", "t turn it"),
        "as the image lies on the easel",
        desk=SPLIT,
    ),
    "score: convert": Task(
        ("3", "c"),
        ("3 Score", "c convert"),
        "one strip on the highlight",
        (*"5.2", "ctrl+s"),
        proof=is_larger,
        desk=SPLIT,
    ),
    "book: a print again": Task(
        ("7", "down", "enter", "n", "down", "enter"),
        ("7 Book", "L4", "L4", "print again", "lay it ready"),
        "11.7 s",
        proof=lambda tried: len(score_of(tried).passes) == 1,
        desk=SPLIT,
    ),
    "bench: lay out a cross": Task(
        ("k",),
        ("k  cross", "00=8s"),
        "nothing runs",
        (*("end", *(("backspace",) * 5)), *"0=9s", "ctrl+s"),
        proof=cross_lies_ready,
    ),
    "bench: pick a cell": Task(
        ("right", "left", "enter"), ("B3",), "B3", proof=ordered(Order.PICK, "B3"), desk=SPLIT
    ),
    "bench: pick another cell": Task(
        ("right", "right", "down", "down", "enter"),
        ("C4",),
        "C4",
        proof=ordered(Order.PICK, "C4"),
        desk=SPLIT,
    ),
    "bench: a trial piece": Task(
        ("t", "down", "enter"),
        ("trial piece", "cloud"),
        "nothing runs",
        proof=ordered(Order.TRIAL, "cloud"),
        desk=SPLIT,
    ),
    "bench: a trial piece by the palette": Task(
        ("ctrl+p", *"trial", "enter", "enter"),
        ("more", "Trial piece", "sky"),
        "nothing runs",
        proof=ordered(Order.TRIAL, "sky"),
        desk=SPLIT,
    ),
    "bench: add": Task(
        ("plus", "down", "enter"),
        ("add to N5", "a third"),
        "nothing runs",
        proof=ordered(Order.ADD, "a third"),
        desk=SPLIT,
    ),
    "a door": Task(("3",), ("3 Score",), "ctrl+s prints it"),
    "book: find a mark": Task(
        ("7", "slash"), ("7 Book", "/ find"), "sheet L4: done", ("l", "4", "enter")
    ),
    "book: open a page": Task(("7", "down", "enter"), ("7 Book", "L4", "L4"), "sheet L4: done"),
    "book: find by words": Task(
        ("7", "slash"), ("7 Book", "/ find"), "print again", (*"11.7", "enter", "enter")
    ),
    "book: all of a print": Task(
        ("7", "down", "enter", "p"),
        ("7 Book", "L4", "L4", "all of the print"),
        "no other print",
        ("c",),
    ),
    "book: the strips of a print": Task(
        ("7", "down", "enter", "p", "v"),
        ("7 Book", "L4", "L4", "all of the print", "v see"),
        "A B [C] D E",
    ),
    "book: rate a print": Task(
        ("7", "down", "enter", "p", "r", "enter"),
        ("7 Book", "L4", "L4", "all of the print", "r rate", "*****"),
        "rated 5 of 5",
    ),
    "book: the evenings": Task(("7", "t"), ("7 Book", "t days"), "1 print"),
    "book: give the rest": Task(
        ("7", "r", "down", "enter"),
        ("7 Book", "r rest", "give it the rest"),
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
    for _ in range(200):  # more than any list is long
        if words in tried.text:
            return
        await tried.pilot._post_mouse_events([MouseScrollDown], offset=(20, 12))
        await tried.settle()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    write_evening(tmp_path)
    keep(demonstration(), path_of("harbour"))
    return tmp_path


@pytest.mark.parametrize("way", [pytest.param("keyboard", marks=pytest.mark.long), "mouse"])
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

    walk(home, steps, desk=task.desk)
