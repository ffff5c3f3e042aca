"""``rig find`` and ``rig check --hands`` from the command line."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from drivers import pid_files
from drivers.looking import trying
from drivers.places import run_folder
from tests.ui.command import Told
from ui.commands import rig_hands

HANDS = ("rig", "check", "--hands", "--rig", "tungsten")
Run = Callable[..., Told]


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trying.click, "__kwdefaults__", {"lit_s": 0.0})


def parts(out: str) -> dict[str, dict[str, Any]]:
    return {each["part"]: each for each in json.loads(out)["findings"]}


def levels() -> dict[str, str]:
    """Give the last state (1: lit) of each imagined output that was ever switched."""
    rows = [row.split() for row in (run_folder() / "wire").read_text().splitlines()]
    return {name: lit for _, name, _, lit in rows}


def test_find_writes_a_rig_that_check_accepts_and_never_overwrites(dryside: Run) -> None:
    """The first file passes the check; a second time is refused, and the file left alone."""
    code, out, _ = dryside("rig", "find", "--write", "rig.toml", "--json")
    assert code == 0
    assert json.loads(out)["written"] == "rig.toml"
    assert dryside("rig", "check", "--rig", "rig.toml")[0] == 0
    before = Path("rig.toml").read_text()
    code, _, err = dryside("rig", "find", "--write", "rig.toml")
    assert code == 2
    assert "nothing is overwritten" in err
    assert Path("rig.toml").read_text() == before


def test_hands_run_through_on_an_imagined_rig(dryside: Run) -> None:
    """Every relay switches once, nothing is wrong, and all is safe at the end."""
    code, out, _ = dryside(*HANDS, "--yes", "--json")
    found = parts(out)
    assert code == 0
    assert found["relay lamp"]["state"] == found["relay ceiling"]["state"] == "well"
    assert found["outputs at the end"]["state"] == "well"
    assert levels() == {"lamp": "0", "ceiling": "1"}


@pytest.mark.parametrize(
    ("fail", "state", "code"),
    [("stuck", "wrong", 1), ("blind", "look", 0), ("write-fails-after=0", "wrong", 1)],
)
def test_a_board_that_fails_is_found(dryside: Run, fail: str, state: str, code: int) -> None:
    """A stuck contact and a board that does not answer are wrong; a blind one is a look."""
    told, out, _ = dryside(*HANDS, "--yes", "--json", "--set", f"board.sim.fail={fail}")
    assert told == code
    assert parts(out)["relay lamp"]["state"] == state


def test_yes_is_refused_on_real_relays(dryside: Run) -> None:
    """Nobody's hands are answered for where a real lamp may hang on the relay."""
    dryside("rig", "example")
    Path("rig.toml").write_text(dryside("rig", "example")[1])
    code, _, err = dryside("rig", "check", "--hands", "--yes", "--rig", "rig.toml")
    assert code == 2
    assert "real" in err


def test_nothing_is_switched_before_the_plug_is_out(
    dryside: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An answer that is not yes ends it, and no output was touched."""
    monkeypatch.setattr("builtins.input", lambda: "")
    code, _, err = dryside(*HANDS)
    assert code == 2
    assert "plug" in err
    assert not (run_folder() / "wire").exists()


@pytest.mark.parametrize("name", [pid_files.ENGINE_FILE, pid_files.KEEPER_FILE])
def test_it_is_refused_while_the_unit_runs(dryside: Run, name: str) -> None:
    """An engine or keeper that lives keeps its outputs."""
    dryside("rig", "find")
    pid_files.note(run_folder() / name, os.getpid())
    code, _, err = dryside(*HANDS, "--yes")
    assert code == 2
    assert "holds the outputs" in err
    assert dryside("rig", "find", "--ask", "/dev/none")[0] == 2


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_an_interruption_in_the_middle_of_a_click_leaves_all_safe(
    dryside: Run, monkeypatch: pytest.MonkeyPatch, number: signal.Signals
) -> None:
    """Ctrl-C and ends from outside, with the lamp lit, put it off and tell what was found."""
    seen: list[dict[str, str]] = []

    def interrupted(*_: object) -> None:
        seen.append(levels())
        signal.raise_signal(number)

    monkeypatch.setattr(trying, "_tend", interrupted)
    # what a shell starts in the background ignores Ctrl-C, and so would this test
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        code, out, _ = dryside(*HANDS, "--yes", "--json")
    finally:
        signal.signal(signal.SIGINT, before)
    assert code == 130
    assert seen == [{"lamp": "1"}]
    assert levels()["lamp"] == "0"
    assert json.loads(out)["whole"] is False
    assert parts(out)["outputs at the end"]["state"] == "well"


def test_answers_of_a_person_tell_swapped_relays(
    dryside: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The light that came is compared with the one that was switched."""

    def swapped(_: object, question: str, usual: str) -> str:
        return {"lamp": "ceiling", "ceiling": "none"}.get(usual, "yes")

    monkeypatch.setattr(rig_hands.AlwaysYes, "word", swapped)
    code, out, _ = dryside(*HANDS, "--yes", "--json")
    found = parts(out)
    assert code == 1
    assert "ceiling switched instead" in found["relay lamp"]["sentence"]
    assert found["relay ceiling"]["sentence"] == "nothing switched"


def test_a_pipe_that_ends_stops_it_safely(dryside: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without more answers it ends as by ctrl-C, with everything safe."""
    answers = iter(["yes"])

    def ends() -> str:
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", ends)
    code, out, _ = dryside(*HANDS, "--json")
    assert code == 130
    assert parts(out)["outputs at the end"]["state"] == "well"


def test_a_thermometer_that_is_away_is_told_once_and_covered_by_nobody(
    dryside: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The finding names its part once, and no hand is asked to leave a tray's sensor uncovered."""
    asked: list[str] = []

    def noting(_self: object, question: str, usual: str) -> str:
        asked.append(question)
        return usual or "yes"

    monkeypatch.setattr(rig_hands.AlwaysYes, "word", noting)
    Path("rig.toml").write_text(
        '[lamp]\ndriver = "sim"\naddress = "lamp"\n[[sensor]]\nname = "tray"\n'
        'driver = "one-wire"\naddress = "28-0316a2795bff"\npurpose = "tray temperature"\n'
    )
    code, out, _ = dryside("rig", "check", "--hands", "--yes", "--json", "--rig", "rig.toml")
    assert code == 1
    assert parts(out)["sensor tray"]["sentence"].startswith("there is no thermometer")
    assert not any("uncovered" in each for each in asked)
