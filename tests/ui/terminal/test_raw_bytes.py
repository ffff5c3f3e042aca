"""What a pseudo-terminal really receives from a program that shows everything."""

from __future__ import annotations

import json
import signal
import termios
import time
from pathlib import Path

import pytest

from tests.ui.terminal.pseudo import TERMS, Pseudo, demo
from tests.ui.terminal.sgr import Picture, offences, tokens

BEFORE = ("tab", "select", "palette", "escape")
AFTER = (
    *("f3", "escape", "f4", "f8"),
    *("f11", "down", "f11", "f8", "f11", "down", "f11", "f8"),
)
ERASE = b"\x1b[2J\x1b[H"


def lit(terminal: Pseudo, term: str, *, upto: int | None = None) -> int:
    picture = Picture(TERMS[term]["TERM"], terminal.columns, terminal.rows)
    return picture.take(terminal.received[:upto]).lit()


def panel_is(home: Path, state: str) -> None:
    """Wait until the panel has been switched so."""
    end_s = time.monotonic() + 20
    path = home / "panel"
    while not (path.exists() and path.read_text() == state):
        assert time.monotonic() < end_s, f"the panel was never {state}"
        time.sleep(0.01)


@pytest.mark.real
@pytest.mark.parametrize(
    "term",
    ["full", "console", *(pytest.param(each, marks=pytest.mark.long) for each in ("cube", "two"))],
)
def test_all_that_is_received_is_red(term: str, tmp_path: Path) -> None:
    """No colour with green or blue, no default colour, no reverse, from start to end."""
    with demo(tmp_path, term) as terminal:
        terminal.press(*BEFORE)
        terminal.press_until("f2", b"a notice")
        terminal.press(*AFTER, "f10")
        assert terminal.end() == 0
        assert terminal.received.count(b"a notice") >= 3
        assert offences(terminal.received, TERMS[term]["TERM"]) == []


@pytest.mark.real
@pytest.mark.parametrize("term", ["full", "console", pytest.param("cube", marks=pytest.mark.long)])
def test_without_the_filter_the_bytes_are_found_out(term: str, tmp_path: Path) -> None:
    """The same program without its filter sends colours, on every kind of terminal."""
    with demo(tmp_path, term, kind="bare") as terminal:
        terminal.press("f10")
        terminal.end()
        assert offences(terminal.received, TERMS[term]["TERM"])


@pytest.mark.real
def test_the_console_is_told_numbers_of_its_own_sixteen_and_gets_many_reds(tmp_path: Path) -> None:
    """At each brightness at least seven different reds are told, none of them by 24 bits."""
    with demo(tmp_path, "console") as terminal:
        start = 0
        for _ in range(4):
            picture = Picture("linux", terminal.columns, terminal.rows).take(terminal.received)
            reds = {colour for _, *pair in picture.cells.values() for colour in pair}
            assert len(reds) >= 7
            start = len(terminal.received)
            terminal.press("f8")
            terminal.wait_for(b"\x1b]P7", after=start)
        assert b"\x1b]P7" in terminal.received[start:], "the palette itself was dimmed"
        assert b"38;2" not in terminal.received


@pytest.mark.real
@pytest.mark.parametrize(
    ("term", "answers"),
    [("full", True), pytest.param("cube", False, marks=pytest.mark.long), ("console", False)],
)
def test_behind_the_curtain_nothing_is_lit_until_it_is_lifted(
    term: str, answers: bool, tmp_path: Path
) -> None:
    """Black stays black while something moves, notices come and dialogs open; then all is back."""
    with demo(tmp_path, term, answers=answers) as terminal:
        terminal.press("f11", "f11")
        terminal.wait_for(b"moving")
        assert lit(terminal, term) > 300
        terminal.press("f6")
        black = terminal.wait_for(ERASE)
        assert lit(terminal, term, upto=black) == 0
        terminal.press("f2", "f3", "escape", "f8")
        time.sleep(0.5)  # as long as many frames of what moves
        dark = len(terminal.received)
        assert lit(terminal, term) == 0
        behind = tokens(terminal.received[black:dark], TERMS[term]["TERM"])
        assert [token["text"] for token in behind if token["text"]] == []
        terminal.press("f7")
        terminal.wait_for(b"a notice", after=dark)
        assert lit(terminal, term) > 300
        terminal.press("f10")
        assert terminal.end() == 0
        assert offences(terminal.received, TERMS[term]["TERM"]) == []
    assert json.loads((tmp_path / "lowered").read_text()) == [True]


@pytest.mark.real
def test_a_terminal_that_has_answered_and_then_hangs_confirms_nothing(tmp_path: Path) -> None:
    """What has been written but not taken in is not said to be black."""
    with demo(tmp_path, "full", answers=True) as terminal:
        terminal.held.set()
        time.sleep(0.1)
        terminal.type("f6")
        time.sleep(1.5)  # longer than it waits for the answer
        terminal.held.clear()
        terminal.settle()
        terminal.press("f6", "f7", "f10")
        assert terminal.end() == 0
    assert json.loads((tmp_path / "lowered").read_text()) == [False, True]


@pytest.mark.real
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize(
    ("term", "palette"), [("full", b"\x1b]104\x1b\\\x1b]110"), ("console", b"\x1b]R")]
)
def test_a_signal_leaves_the_terminal_as_it_was(
    number: signal.Signals, term: str, palette: bytes, tmp_path: Path
) -> None:
    """Modes, screen, cursor, palette and panel are back after SIGTERM and SIGHUP; code 0."""
    with demo(tmp_path, term) as terminal:
        terminal.press("f6")
        terminal.wait_for(ERASE)
        panel_is(tmp_path, "off")
        assert termios.tcgetattr(terminal.slave) != terminal.modes
        terminal.process.send_signal(number)
        assert terminal.end() == 0
        assert termios.tcgetattr(terminal.slave) == terminal.modes
        first = terminal.received.rindex(b"\x1b[?1049l")
        assert b"\x1b[?25h" in terminal.received[first:]
        assert palette in terminal.received[first:]
        assert ERASE in terminal.received[first:], "left behind the curtain: wiped"
        assert (tmp_path / "panel").read_text() == "on"


@pytest.mark.real
def test_a_terminal_that_goes_away_ends_the_program_well(tmp_path: Path) -> None:
    """A lost connection leaves no process behind and is no fault; the panel is on again."""
    with demo(tmp_path, "full") as terminal:
        terminal.press("f11", "f11", "f6")
        panel_is(tmp_path, "off")
        terminal.hang_up()
        assert terminal.process.wait(10) == 0
        assert (tmp_path / "panel").read_text() == "on"
        assert (tmp_path / "terminal.log").read_text() == ""


@pytest.mark.real
@pytest.mark.parametrize("term", ["full", "console"])
def test_a_crash_is_one_plain_red_sentence(term: str, tmp_path: Path) -> None:
    """Exit code 1, no traceback on the screen, all of it in the log, and everything red."""
    with demo(tmp_path, term) as terminal:
        terminal.press("f5")
        assert terminal.end() == 1
        left = terminal.received[terminal.received.rindex(b"\x1b[?1049l") :]
        assert left.count(b"ValueError: made to fail") == 1
        assert left.count(b"\n") == 1
        assert b"Traceback" not in terminal.received
        assert offences(terminal.received, TERMS[term]["TERM"]) == []
        log = (tmp_path / "terminal.log").read_text()
        assert "Traceback" in log
        assert "action_crash" in log


@pytest.mark.real
def test_a_style_sheet_that_cannot_be_read_is_one_sentence_too(tmp_path: Path) -> None:
    """A fault before the first picture is told in the same way."""
    with demo(tmp_path, "full", kind="bad sheet", until=b"terminal.log") as terminal:
        assert terminal.end() == 1
        assert offences(terminal.received, "xterm-256color") == []
        assert terminal.received.count(b"\n") == 1
