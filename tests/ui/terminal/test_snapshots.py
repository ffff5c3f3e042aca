"""Every room and page, cell for cell, at three sizes. ``DRYSIDE_SNAPSHOTS=write`` draws anew."""

from __future__ import annotations

import os
import re
from difflib import unified_diff
from pathlib import Path

import pytest

from controller.desk.orders import Order
from controller.events import RunBegun
from controller.exposing.bench import State, View
from controller.plan import Expose
from controller.ports import Wants
from controller.score.new import demonstration
from tests.ui.terminal.an_evening import DESK, SPLIT, write_evening
from tests.ui.terminal.boxes import write_boxes
from tests.ui.terminal.fake_unit import EDGES, Tried, walk
from ui.scores import folder, keep, path_of

KEPT = Path(__file__).parent / "snapshots"
WALKS = {
    "bench": ["1"],
    "strip": ["2"],
    "tones": ["2", "d"],
    "score": ["3"],
    "room": ["4"],
    "trays": ["5"],
    "chemistry": ["6"],
    "book": ["7"],
    "page": ["7", "down", "down", "enter"],
    "rest": ["7", "up", "up", "r"],
    "paper": ["7", "p"],
    "sounds": ["f2"],
    "opening": ["1", "o"],
    "closing": ["c"],
    "help": ["1", "question_mark"],
    "scores": ["3", "o"],
    "again": ["7", "down", "enter", "n"],
    "print": ["7", "enter", "p"],
    "cross": ["1", "k"],
}
SPLIT_WALKS = {  # with the demonstration on the desk, and a cross to pick from
    "picking": ["1"],
    "demonstration": ["3"],
    "sketch": ["3", "v"],
    "converting": ["3", "c", *"5.2"],
    "score-help": ["3", "question_mark"],
}
CLEARED = ("ctrl+u",)
BOX_WALKS = {  # with two boxes of paper in the book
    "paper-box": ["7", "p"],
    "paper-new": ["7", "p", "a", *"lustre", "tab", *"7"],
    "paper-sheet": ["7", "p", "s", *"2, 3"],
    "paper-read": ["7", "p", "r", "enter", *"0.07", "enter", *"0.08 0.09"],
    "paper-eye": ["7", "p", "r", "enter", *(3 * ["shift+tab"]), "enter", "down", "enter"],
    "paper-scan": ["7", "p", "i", "enter", *"scan.png", "tab", *"0.05,0.15"],
    "paper-doses": ["7", "p", "d", *"0.2=0.12", "tab", *"2=1.70"],
    "paper-match": ["7", "p", "m", "enter"],
    "paper-control": ["7", "p", "c"],
    "paper-convert": ["7", "p", "v"],
    "paper-picture": ["7", "p", "g", *CLEARED, *"pearl.pdf"],
}


def timeless(text: str) -> str:
    """Take the times of day out, and leave every other cell where it is."""
    text = re.sub(r"\d\d [A-Z][a-z]{2} \d\d:\d\d", "DD Mon hh:mm", text)
    return re.sub(r"(\s)\d\d:\d\d(\s)", r"\1hh:mm\2", text)


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    write_evening(tmp_path)
    keep(demonstration(), path_of("harbour"))
    (folder() / "damaged.toml").write_text("base_s = 'long'\n")
    return tmp_path


def drawn(home: Path, size: tuple[int, int]) -> dict[str, str]:
    pictures: dict[str, str] = {}

    async def each(tried: Tried, walks: dict[str, list[str]]) -> None:
        for name, keys in walks.items():
            await tried.press(*keys)
            await tried.settle()  # what was found beside the screen is drawn one round later
            pictures[name] = timeless(tried.text)
            await tried.press("escape", "escape")

    async def look_at_split(tried: Tried) -> None:
        await each(tried, SPLIT_WALKS)

    async def look(tried: Tried) -> None:
        await each(tried, WALKS)
        await tried.press("1")
        plan = DESK.plan(Order.PRINT, tried.unit.unit.rig)[0]
        tried.unit.tell(RunBegun("r9", plan.kind, plan.title, "{}", plan.to_json(), {}, "imagined"))
        at = next(n for n, action in enumerate(plan.actions) if isinstance(action, Expose))
        lit = {"lamp": False, "ceiling": True}
        paused = "paused, 10.4 left"
        tried.unit.tell(
            View(State.PAUSED, Wants.GO, paused, mark="L5", left_s=10.4, action=at, lit=lit)
        )
        await tried.settle()
        pictures["running"] = timeless(tried.text)

    walk(home, look, desk=DESK, size=size)
    walk(home, look_at_split, desk=SPLIT, size=size)
    write_boxes(home)

    async def look_at_boxes(tried: Tried) -> None:
        await each(tried, BOX_WALKS)

    walk(home, look_at_boxes, desk=SPLIT, size=size)
    return pictures


@pytest.mark.parametrize("size", EDGES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_every_room_and_page_looks_as_it_was_approved(size: tuple[int, int], home: Path) -> None:
    """Each picture is the one that is kept, cell for cell."""
    differ: list[str] = []
    for name, text in drawn(home, size).items():
        path = KEPT / f"{name}-{size[0]}x{size[1]}.txt"
        if os.environ.get("DRYSIDE_SNAPSHOTS") == "write":
            path.write_text(text, encoding="utf-8")
        kept = path.read_text(encoding="utf-8")
        differ += unified_diff(
            kept.splitlines(), text.splitlines(), f"{path.name}, kept", "drawn now", lineterm=""
        )
    assert not differ, "\n".join(differ)


WHOLE = {  # on the smallest panel: each of these stands there to its end
    "paper": ["writes one down", "a  new box", "n next box", "q leave"],
    "paper-box": ["box 1 of 2: pearl/13", "filter 2: ISO R", "d  doses", "g  picture", "q leave"],
    "paper-new": ["lustre", "not said", "ctrl+s writes it down", "^p more"],
    "paper-sheet": ["1 of 2: filter 2, 21 steps", "21 exposures; ctrl+s makes it", "^p more"],
    "paper-read": ["0.08 0.09", "2 of 9 patches are read; ctrl+s keeps them", "^p more"],
    "paper-eye": ["black from", "as black as the rest", "^p more"],
    "paper-scan": ["above the strip", "ctrl+s reads it", "^p more"],
    "paper-doses": ["wanted 1.70", "ctrl+s lays it ready as a print", "^p more"],
    "paper-match": ["filter 2: highlight wants", "black", "q leave"],
    "paper-control": ["speed -0.", "+0.10", "act: ", "q leave"],
    "paper-convert": ["pearl", "13", "^p more"],
    "paper-picture": ["pearl.pdf", "ctrl+s draws it", "^p more"],
    "bench": ["7 Book", "pick from K3: arrows and enter", "print 11.7 s, from K3 C", "q leave"],
    "running": [
        "7 Book",
        "L5",
        "paused, 10.4 left",
        "tap to go",
        "expose print",
        "a abandon",
        "^p  q",
    ],
    "tones": [
        "sky=0.3, house=0.9",
        "s on the Paper page",
        "(7, p), read when it is dry.",
        "^p more",
    ],
    "strip": ["+1 1/3", "ctrl+s makes it)", "by pedal", "on print", "q leave"],
    "score": ["254x203.2", "11.7 s   12.7 s  base 0", "ctrl+s prints it)", "q leave"],
    "scores": ["it cannot be read; enter tells why", "a name for what lies ready", "q leave"],
    "again": ["print: print 11.7 s", "leave what lies ready as it is", "lay it ready"],
    "print": ["L4  #1", "print: 11.7 s of 11.7 s", "no picture", "e sign", "v see", "^p  q"],
    "cross": ["20.2 s", "D5", "9 exposures on one sheet; ctrl+s makes it", "^p more"],
    "picking": ["pick from M2", "D5", "B3, 12.7 and 5.0 seconds", "add to N5", "q leave"],
    "demonstration": ["from the start", "fixed", "v shows its sketch", "q leave"],
    "sketch": ["Q  quay  +3.0 s hard", "as it will hang", "q leave"],
    "converting": ["burn quay: 2.8 s to 4.9 s", "before the first sheet", "escape leaves all as"],
    "score-help": ["v sketch", "any key closes this"],
    "room": ["fails to", "level 3", "the hot lamp are.", "q leave"],
    "trays": ["last light", "data sheet says comes first.", "b batch", " ^p "],
    "chemistry": ["of each product comes first, and local rules", "with it.", "q leave"],
    "book": ["r rest", "p box", "interrupted", "L4", "q leave"],
    "page": ["E       +1 1/3", "escape closes this"],
    "rest": ["P1: patches A and B done", "it is spoiled"],
    "sounds": ["the lamp is put off", "last tick", "q leave"],
    "opening": ["trays and tongs are clean", "strips left 7", "q leave"],
    "closing": ["P1   strip from", "fixer -", "^s keep it"],
    "help": ["t trial piece", "s strip", "any key closes this"],
}


def test_nothing_is_cut_off_on_the_smallest_panel() -> None:
    """At 80 by 24 the last word of each line, list and row of keys is there.

    The kept pictures are read, which the test before holds against what is drawn.
    """
    missing = [
        f"{name}: {words!r}"
        for name, all_ in WHOLE.items()
        for words in all_
        if words not in (KEPT / f"{name}-80x24.txt").read_text(encoding="utf-8")
    ]
    assert not missing
    assert set(WHOLE) == {*WALKS, *SPLIT_WALKS, *BOX_WALKS, "running"}
