"""The whole terminal as a person has it: a real pseudo-terminal, a real engine, keys."""

from __future__ import annotations

import json
import os
import signal
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from controller.book.book import Book
from controller.boxes.sheet import PaperSheet
from controller.desk.desk import Desk
from controller.events import Fate
from controller.rig.file import load_rig
from controller.strips.strip import Strip
from drivers import pid_files
from drivers.all_safe import safe_now
from drivers.places import board_options, run_folder
from tests.drivers.unit_on_bench import is_alive
from tests.ui.terminal.boxes import write_sheet
from tests.ui.terminal.pseudo import TERMS, Pseudo
from tests.ui.terminal.sgr import offences

pytestmark = pytest.mark.real

SETTINGS = ("foot.deaf_s=0.05", "foot.lead_in_s=0.1", "foot.long_press_s=0.5")
ROOMS = {
    "2": "it lies ready on the bench",
    "3": "dry-down",
    "4": "ceiling",
    "5": "Tongs",
    "6": "Selenium",
    "7": "came out",
    "1": "strip from",
}

PAGES_WALK = (  # every page and question about scores, and a refusal on each that can refuse
    (("3", "o"), "none yet"),
    (("d",), "burn quay"),
    (("/", "x", "\r"), "is not understood"),
    (("escape", "v"), "as it will hang"),
    (("t",), "on the easel"),
    (("escape", "d"), "no box of paper has a curve yet"),
    (("escape", "c", "x"), "is no number"),
    (("\x7f", "7"), "held back"),
    (("escape", "o", "k", "h", "\r"), "kept as h"),
    (("n",), "no print lies ready"),
    (("o", "d"), "burn quay"),
    (("o", "n"), "kept nowhere"),
    (("escape", "escape", "1", "k"), "9 exposures"),
    (("x",), "is not a time"),
    (("escape", "t"), "on which place"),
    (("escape", "+"), "no print lies there"),
    (("3",), "burn quay"),
    (("6",), "No bath is kept"),
    (("m",), "as you type"),
    (("x",), "has no unit"),
    (("\x7f", "5", "0", "0"), "Water first"),
    (("\x13",), "12 fibre/25"),
    (("r",), "no two fixing baths"),
    (("\r",), "in a full bottle now"),
    (("escape", "5"), "not counted: p"),
    (("t",), "a process first"),
    (("p",), "second fixer"),
    (("\r",), "fibre at 20 C"),
    (("t",), "17 C: developer 2:38"),
    (("escape", "i"), "no such sheet now"),
    (("p", "\x1b[A", "\r"), "not counted: p"),
    (("3",), "burn quay"),
    (("7", "p"), "No box of paper"),
    (("a",), "what you call the paper"),
    (("x", "/"), "is no name"),
    (("\x7f", "\x7f", *"kest", "\x13"), "kest is written down"),
    (("m",), "no other box"),
    (("g",), "no curve yet"),
    (("c",), "neither control strips"),
    (("escape", "d"), "no sheet that was read in lux"),
    (("escape", "v"), "kest has no curve"),
    (("escape", "s"), "21 exposures"),
    (("\t", "x"), "is not a time"),
    (("escape", "r"), "which sheet of kest"),
    (("\r",), "5 steps of 1"),
    (("x",), "is no number"),
    (("escape", "i"), "which sheet of kest"),
    (("\r",), "where the scan lies"),
    (("x", "\x13"), "it cannot be read"),
    (("escape", "escape", "e"), "no edition yet"),
    (("escape", "5", "b"), "No batch yet"),
    (("escape", "3"), "burn quay"),
)


@contextmanager
def terminal(
    home: Path, term: str = "full", *, columns: int = 80, rows: int = 24, base_s: float = 0.5
) -> Iterator[Pseudo]:
    """The terminal, from when it knows the unit; a short strip lies ready."""
    home.mkdir(exist_ok=True)
    desk = Desk(strip=Strip(base_s=base_s, step="1", patches=2))
    (home / "desk.json").write_text(desk.model_dump_json())
    command = [sys.executable, "-P", "-c", "from ui.cli import main; main()", "terminal"]
    for setting in SETTINGS:
        command += ["--set", setting]
    environ = {**TERMS[term], "DRYSIDE_HOME": str(home)}
    made = Pseudo(command, environ, columns=columns, rows=rows)
    try:
        made.wait_for(b"strip from", limit_s=60)
        made.settle()
        yield made
    finally:
        made.close()
        before = os.environ.get("DRYSIDE_HOME")
        os.environ["DRYSIDE_HOME"] = str(home)
        rig = load_rig("tungsten", SETTINGS)
        safe_now(rig.lines(), "sim", board_options(rig, run_folder()), run=run_folder())
        if before is None:
            del os.environ["DRYSIDE_HOME"]


def until(made: Pseudo, true: Callable[[str], bool], limit_s: float = 20) -> str:
    """Wait until the screen shows something; gives it."""
    end_s = time.monotonic() + limit_s
    while not true(shown := made.screen()):
        assert time.monotonic() < end_s, f"it never showed:\n{shown}"
        made.more(0.05)
    return shown


@pytest.mark.parametrize(
    "term", ["console", *(pytest.param(each, marks=pytest.mark.long) for each in ("full", "cube"))]
)
def test_every_room_dialog_and_run_is_red_to_the_last_byte(term: str, tmp_path: Path) -> None:
    """Through all rooms, help, palette, brightness, a strip and an error: nothing but red."""
    (tmp_path / "home").mkdir()
    before = datetime.now(UTC) - timedelta(days=3)  # or it would wait for the trays
    with Book.open(tmp_path / "home" / "book.sqlite", now=lambda: before) as book:
        write_sheet(book, PaperSheet(paper="kest", base_s=1.0, patches=5, step="1"), "R1")
    with terminal(tmp_path / "home", term) as made:
        for key, word in ROOMS.items():
            made.press(key)
            until(made, lambda text, word=word: word in text)  # type: ignore[misc]
        for key, word, away in (("?", "any key closes", "x"), ("palette", "Search", "escape")):
            made.press(key)
            until(made, lambda text, word=word: word in text)  # type: ignore[misc]
            made.press(away)
            until(made, lambda text, word=word: word not in text)  # type: ignore[misc]
        for keys, word in PAGES_WALK:
            for key in keys:
                shown = made.screen()
                made.press(key)
                if key == "escape":  # what comes too soon after it would be one key with it
                    until(made, lambda text, shown=shown: text != shown)  # type: ignore[misc]
            until(made, lambda text, word=word: word in text)  # type: ignore[misc]
        made.press("escape", "1", "b", "b", "l", "n", "s")
        for _ in range(4):
            time.sleep(0.4)
            made.press(" ")
        made.press("2", "1")
        for key in ("q", "2"):  # what comes after the key to leave is for nobody
            made.type(key)
        assert made.end() == 0
        assert offences(made.received, TERMS[term]["TERM"]) == []


@pytest.mark.parametrize(
    ("columns", "rows"),
    [(80, 24), *(pytest.param(*each, marks=pytest.mark.long) for each in ((100, 30), (160, 48)))],
)
def test_every_room_fits(columns: int, rows: int, tmp_path: Path) -> None:
    """At each size every room shows what it is for, its keys, and where one is."""
    with terminal(tmp_path / "home", columns=columns, rows=rows) as made:
        for key, word in ROOMS.items():
            made.press(key)
            until(made, lambda text, word=word: word in text and whole(text))  # type: ignore[misc]


def whole(text: str) -> bool:
    """Are the row of doors and the row of keys on the screen to their ends?"""
    lines = text.splitlines()
    return "7 Book" in lines[0] and "^p" in lines[-1]


def test_an_evening_with_the_keyboard_alone(tmp_path: Path) -> None:
    """Focus, lens, strip, pick, print, pause and go on, and one abandoned: keys and eyes."""
    home = tmp_path / "home"
    with terminal(home, base_s=3) as made:  # long enough to be abandoned in the light
        made.press("f")
        until(made, lambda text: "tap to go" in text)
        made.press(" ")
        until(made, lambda text: "focusing" in text)
        time.sleep(0.8)
        made.press(" ")
        until(made, lambda text: "tap when it is done" in text)
        time.sleep(0.8)
        made.press(" ")
        until(made, lambda text: "focus light, 2:00 at most: done" in text.replace("\n", " "))
        begin(made, "s")
        follow(made)
        until(made, lambda text: "pick from" in text)
        made.press("enter")
        until(made, lambda text: "n  print" in text)
        begin(made, "n")
        follow(made)
        begin(made, "n")
        until(made, lambda text: "mark" in text and "tap when" in text)
        time.sleep(0.8)
        made.press(" ")
        until(made, lambda text: "tap to go" in text)
        time.sleep(0.8)
        made.press(" ")
        until(made, lambda text: "exposing print" in text)
        made.press("a", "a")
        until(made, lambda text: "abandoned" in text)
        made.press("q")
        assert made.end() == 0
    with Book.open(home / "book.sqlite", now=lambda: datetime.now(UTC)) as book:
        fates = [(r.kind, r.fate) for r in book.records(20)[::-1]]
    assert fates == [
        ("focus", Fate.DONE),
        ("strip", Fate.DONE),
        ("print", Fate.DONE),
        ("print", Fate.ABANDONED),
    ]


def begin(made: Pseudo, key: str) -> None:
    """Order something, and wait until it has begun: what was done before is shown until then."""
    made.press(key)
    until(made, lambda text: ": done" not in text.replace("\n", " "))


def follow(made: Pseudo) -> None:
    """Tap at every prompt until nothing runs."""
    end_s = time.monotonic() + 60
    while True:
        assert time.monotonic() < end_s, made.screen()
        shown = made.screen()
        if ": done" in shown.replace("\n", " "):
            return
        if "tap when it is done" in shown or "tap to go" in shown:
            made.press(" ")
            time.sleep(0.75)  # a key that comes sooner counts as held
        time.sleep(0.05)


@pytest.mark.parametrize("way", [signal.SIGTERM, signal.SIGHUP, "q"])
def test_each_way_to_leave_leaves_the_terminal_as_it_was(
    way: signal.Signals | str, tmp_path: Path
) -> None:
    """The line's modes and the first screen come back, code 0, and the unit goes on without it."""
    with terminal(tmp_path / "home") as made:
        engine = pid_of(tmp_path / "home", pid_files.ENGINE_FILE)
        made.type(way) if isinstance(way, str) else made.process.send_signal(way)
        assert made.end() == 0
        assert termios.tcgetattr(made.slave) == made.modes
        assert b"\x1b[?1049l" in made.received
        assert b"Traceback" not in made.received
        assert offences(made.received, TERMS["full"]["TERM"]) == []
        assert is_alive(engine)


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (pid_files.KEEPER_FILE, "its lines were taken over and are safe"),
        (pid_files.ENGINE_FILE, "the unit has ended; its lamp is off"),
    ],
)
def test_a_process_that_dies_under_the_light_is_one_sentence(
    file: str, words: str, tmp_path: Path
) -> None:
    """kill -9 of keeper or engine: what was done about the lamp, no traceback, keys work."""
    with terminal(tmp_path / "home") as made:
        made.press("f")
        until(made, lambda text: "tap to go" in text)
        made.press(" ")
        until(made, lambda text: "focusing" in text)
        os.kill(pid_of(tmp_path / "home", file), signal.SIGKILL)
        until(made, lambda text: words in " ".join(text.split()))
        made.press("?")
        until(made, lambda text: "any key closes" in text)
        made.press("x", "q")
        assert made.end() == 0
        assert b"Traceback" not in made.received
        assert offences(made.received, TERMS["full"]["TERM"]) == []


def pid_of(home: Path, name: str) -> int:
    return int(json.loads(next(home.rglob(name)).read_text())["pid"])
