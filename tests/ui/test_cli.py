"""The command line: what it makes, what it refuses, and how it says so."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from controller.rig.file import example_rig
from tests.ui.command import Told


def test_a_strip_leaves_a_table_a_picture_and_a_record(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """The main job on the simulator, from the command to the book."""
    code, out, _ = dryside("strip", "--base", "8", "--picture", "strip.png")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()[2:7]] == list("ABCDE")
    assert (tmp_path / "strip.png").read_bytes().startswith(b"\x89PNG")
    code, out, _ = dryside("book", "list", "--json")
    assert code == 0
    [record] = json.loads(out)
    assert (record["kind"], record["fate"]) == ("strip", "done")
    code, out, _ = dryside("book", "show", record["marks"][0])
    assert code == 0
    assert "done" in out


def test_the_json_of_a_strip_holds_what_programs_are_promised(
    dryside: Callable[..., Told],
) -> None:
    """Letters, stops, planned and delivered dose, on-times, densities, lamp, record."""
    code, out, _ = dryside("strip", "--base", "4", "--step", "1/2", "--patches", "4", "--json")
    assert code == 0
    result = json.loads(out)
    assert set(result["lamp"]) == {"cold_lag_s", "warm_gain_s2"}
    assert result["record_id"]
    assert [p["letter"] for p in result["patches"]] == list("ABCD")
    assert [p["stops"] for p in result["patches"]] == pytest.approx([0, 0.5, 1, 1.5])
    for number, patch in enumerate(result["patches"], start=1):
        assert len(patch["on_times_s"]) == number  # the card uncovers nothing: pulses add up
        assert patch["delivered_dose_s"] == pytest.approx(patch["planned_dose_s"], rel=0.007)
    densities = [p["density"] for p in result["patches"]]
    assert densities == sorted(densities)


def test_pick_keeps_the_exposure_and_warns_of_an_unsure_patch(
    dryside: Callable[..., Told],
) -> None:
    """Between C and D, half-way in stops; C was marked unsure."""
    dryside("strip", "--base", "8")
    assert dryside("unsure", "C")[0] == 0
    code, out, err = dryside("pick", "between", "C", "and", "D", "--judged", "dry")
    assert code == 0
    assert "14.3 s" in out
    assert "unsure" in err
    assert "dry-down" not in out


def test_strips_are_counted_from_the_sheet_and_run_out(dryside: Callable[..., Told]) -> None:
    """A sheet gives ten; each strip takes one; the last ones are told of."""
    _, _, err = dryside("strip")
    assert "strip" not in err, "who has not counted strips in is not reminded"
    code, out, _ = dryside("cut", "--strips", "2", "--count-in")
    assert code == 0
    assert "2 strips now" in out
    _, _, err = dryside("strip")
    assert "1 strip left" in err
    _, _, err = dryside("strip")
    assert "last strip" in err


def test_a_lag_strip_is_read_in_two_runs(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """Long gaps, then short ones, give both numbers, kept in the rig file with its comments."""
    rig = tmp_path / "rig.toml"
    rig.write_text(
        "# my rig\n[lamp]\ndriver = 'sim'\naddress = 'lamp'\ncold_lag_s = 0.0 # found by eye\n"
        "[simulator]\nlamp = 'halogen'\n"
    )
    for gap, lighter, darker in (("4s", "D", "F"), ("1s", "D", "E")):
        code, out, err = dryside("lag", "strip", "--rig", str(rig), "--gap", gap)
        assert code == 0, err
        assert "pulsed" in out
        code, out, err = dryside(
            "lag", "set", "--rig", str(rig), "--lighter", lighter, "--darker", darker
        )
        assert code == 0, err
    assert "kept in" in out
    text = rig.read_text()
    assert "# my rig" in text
    assert "# found by eye" in text
    # readings of 120 and 105 ms at 4 and 1 s: cold 125 ms, warm gain 0.02
    assert "cold_lag_s = 0.125" in text
    assert "warm_gain_s2 = 0.02" in text


def test_focus_and_warm_up_end_by_themselves(dryside: Callable[..., Told]) -> None:
    """The focus light has a limit; a longer one than the lamp's is refused."""
    code, out, _ = dryside("focus", "--limit", "20")
    assert code == 0
    assert out.strip().endswith("done")
    assert dryside("focus", "--warm-up")[0] == 0
    code, _, err = dryside("focus", "--limit", "10m")
    assert code == 2
    assert "limit" in err


BAD = [
    (("strip", "--base", "-3"), "--base"),
    (("strip", "--base", "2h"), "--base"),
    (("strip", "--base", "0"), "--base"),
    (("strip", "--step", "pear"), "--step"),
    (("strip", "--step", "-1/3"), "--step"),
    (("strip", "--patches", "1"), "--patches"),
    (("strip", "--patches", "many"), "--patches"),
    (("strip", "--mode", "pear"), "--mode"),
    (("strip", "--side", "inside"), "--side"),
    (("strip", "--size", "8x"), "--size"),
    (("strip", "--advance", "1s"), "--advance"),
    (("strip", "--picture", "nowhere/strip.png"), "--picture"),
    (("strip", "--rig", "nowhere.toml"), "nowhere.toml"),
    (("strip", "--rig", "wrong-pin.toml"), "wrong-pin.toml, lamp.address"),
    (("rig", "check", "--rig", "wrong-pin.toml"), "wrong-pin.toml, lamp.address"),
    (("strip", "--rig", "no-toml.toml"), "no-toml.toml, line 1"),
    (("strip", "--set", "lamp.cold=1"), "lamp.cold_lag_s"),
    (("strip", "--set", "simulator.lamp=candle"), "simulator.lamp"),
    (("strip", "--base", "8", "--step", "1/12", "--patches", "12", "--base", "2"), "window"),
    (
        (
            "strip",
            "--bogus",
        ),
        "--bogus",
    ),
    (("stripe",), "stripe"),
    (("pick", "C"), "no strip"),
    (("book", "show", "K7"), "K7"),
    (("book", "rest"), "nothing was interrupted"),
    (("lag", "set", "--lighter", "C", "--darker", "D"), "lag strip"),
    (("lag", "strip", "--gap", "0.1s"), "--gap"),
    (("cut", "--strips", "0"), "--strips"),
]


@pytest.mark.parametrize(
    ("words", "named"), BAD, ids=lambda each: " ".join(each) if isinstance(each, tuple) else ""
)
def test_bad_input_gets_one_sentence_and_exit_code_2(
    dryside: Callable[..., Told], tmp_path: Path, words: tuple[str, ...], named: str
) -> None:
    """What, where and what would be right, on one line, and nothing else."""
    (tmp_path / "wrong-pin.toml").write_text(example_rig().replace("address = 17", "address = 99"))
    (tmp_path / "no-toml.toml").write_text("lamp = = 3")
    code, out, err = dryside(*words)
    assert code == 2
    assert out == ""
    assert len(err.strip().splitlines()) == 1, err
    assert named in err
    assert "Traceback" not in err


def test_an_unwritable_home_gets_its_sentence(
    dryside: Callable[..., Told], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A folder that cannot be made is named, with what would be right."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "file" / "home"))
    code, _, err = dryside("strip")
    assert code == 2
    assert "DRYSIDE_HOME" in err
    assert len(err.strip().splitlines()) == 1


def test_help_loads_nothing_heavy() -> None:
    """What a command needs is imported when it runs, so that help is there at once."""
    code = (
        "import sys; sys.argv = ['dryside', '--help']\n"
        "from ui.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'pydantic', 'sqlalchemy', 'textual', 'PIL', 'rich'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], check=True, capture_output=True, text=True
    )
    assert done.stderr.strip() == "[]"


def test_a_plan_can_be_read_before_it_is_carried_out(dryside: Callable[..., Told]) -> None:
    """``--plan`` tells every step, and uses no paper."""
    code, out, _ = dryside("strip", "--plan", "--patches", "3", "--mode", "window")
    assert code == 0
    assert "window on C; tap to go" in out
    assert json.loads(dryside("book", "list", "--json")[1]) == []


def test_the_terminal_is_refused_where_there_is_none(dryside: Callable[..., Told]) -> None:
    """In a pipe nothing is painted: one sentence, and exit code 2."""
    code, out, err = dryside("terminal")
    assert (code, out) == (2, "")
    assert "a terminal to be at" in err
    assert "\x1b" not in err


def test_a_rig_that_is_not_there_is_refused_before_anything_is_painted(
    dryside: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where there is a terminal to paint on."""
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    code, out, err = dryside("terminal", "--rig", "nope")
    assert (code, out) == (2, "")
    assert "nope" in err


def test_safe_names_a_safelight_as_one(dryside: Callable[..., Told]) -> None:
    """The safelight "ceiling" is no ceiling light that was left on over paper."""
    code, out, _ = dryside("safe")
    assert code == 0
    assert "lit: safelight ceiling" in out
