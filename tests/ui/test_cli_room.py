"""The room on the command line: lights, tests that prove it, and what follows from them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from controller.room.file import load_room
from tests.ui.command import Told

BAD = ("--rig", "bad-room")


def test_a_bad_room_is_found_cured_and_proved(dryside: Callable[..., Told]) -> None:
    """The flash, which light it is, each light's own time, and the room without the guilty one."""
    code, out, err = dryside("room", "test", "flash", *BAD, "--json")
    assert code == 0
    assert "clear the floor" in err
    patches = json.loads(out)["patches"]
    flash = next(p for p in patches if 0.15 <= p["density"] - 0.06 <= 0.40)
    grey = ("--flash", f"{flash['dose_s']:.2f}s", *BAD)

    code, out, _ = dryside("room", "test", "which", *grey, "--keep")
    assert code == 0
    assert "the darkest column is that of bench" in out
    for name in ("ceiling", "bench", "sink"):
        assert dryside("room", "test", "fog", *grey, "--lights", name, "--keep")[0] == 0
    assert dryside("room", "test", "fog", *grey, "--keep")[0] == 0

    code, out, _ = dryside("room", "advise", *BAD, "--json")
    assert code == 0
    report = json.loads(out)
    shares = {one["name"]: one["share"] for one in report["lights"]}
    assert max(shares, key=shares.__getitem__) == "bench"
    assert report["rule"] == "half-clean"
    assert report["advice"][0]["light"] == "bench"
    assert set(report["lights"][0]) >= {"name", "safe_time_s", "low_s", "high_s", "share"}
    all_on_s = report["all_on_safe_time_s"]

    _, out, _ = dryside("room", "predict", "ceiling", "sink", *BAD, "--json")
    assert json.loads(out)["safe_time_s"] >= 2 * all_on_s
    # cured: the guilty light stays out, and the rest is proved together
    dryside("room", "test", "fog", *grey, "--lights", "ceiling,sink", "--keep")
    _, out, _ = dryside("room", "predict", "ceiling", "sink", *BAD, "--json")
    assert json.loads(out)["how"] == "tested as a set"


def test_a_sheet_that_does_not_tell_says_what_would(dryside: Callable[..., Told]) -> None:
    """Too short to see anything: a longer time; two columns alike: both are named."""
    grey = ("--flash", "0.6s", *BAD)
    _, out, _ = dryside("room", "test", "which", *grey, "--time", "5s")
    assert "no column differs" in out
    assert "another sheet may tell more: --time 20" in out
    two = ("--time", "240m", "--lights", "ceiling,sink")
    _, out, _ = dryside("room", "test", "which", *grey, *two)
    assert "cannot be told apart: ceiling and sink" in out


def test_a_light_is_found_by_its_relay_whatever_it_is_called(dryside: Callable[..., Told]) -> None:
    """The unit switches it, and no hand is asked to."""
    dryside("room", "light", "add", "corner lamp", "--relay", "bench", *BAD)
    plan = ("room", "test", "fog", "--flash", "0.6s", "--plan", *BAD)
    _, out, _ = dryside(*plan, "--lights", "corner lamp")
    assert "under bench" in out
    assert "by hand" not in out
    dryside("room", "light", "add", "door", "--kind", "door", *BAD)
    _, out, _ = dryside(*plan, "--lights", "door")
    assert out.index("card over all of it") < out.index("door on, by hand")


def test_a_sheet_is_read_by_eye(dryside: Callable[..., Told]) -> None:
    """First steps that could be told: the total allowed is half the last clean one after."""
    dryside("room", "test", "fog", "--flash", "0.6s", "--lights", "bench", *BAD)
    code, out, _ = dryside("room", "read", "K1", "--before", "4", "--after", "3", *BAD)
    assert code == 0
    assert "about 1 min" in out
    _, out, _ = dryside("room", "predict", "bench", *BAD, "--json")
    told = json.loads(out)
    assert (told["safe_time_s"], told["rule"]) == (60.0, "half-clean")


def test_a_safe_time_that_is_known_is_entered_by_hand(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Eight minutes each for two lights are four together; a changed bulb makes tests old."""
    dryside("room", "light", "add", "ceiling", "--safe-time", "8m", *BAD)
    dryside("room", "light", "add", "bench", "--safe-time", "8m", "--easel-m", "1.2", *BAD)
    _, out, _ = dryside("room", "predict", "ceiling", "bench", *BAD, "--json")
    assert json.loads(out)["safe_time_s"] == pytest.approx(240.0)
    assert dryside("room", "light", "changed", "bench", "bulb", *BAD)[0] == 0
    _, out, _ = dryside("room", "predict", "bench", *BAD)
    assert "old" in out
    assert dryside("room", "light", "drop", "bench", *BAD)[0] == 0
    _, out, _ = dryside("room", "show", *BAD)
    assert "bench" not in out
    written = next((tmp_path / "home").rglob("room.toml"))
    assert [one.name for one in load_room(written).lights] == ["ceiling", "sink"]


def test_whatever_is_wrong_with_a_print_the_safelights_come_first(
    dryside: Callable[..., Told],
) -> None:
    """A pale line along an edge leads to the fog test, with a caution for who walks in the dark."""
    code, out, _ = dryside("room", "wrong", "pale", "line")
    assert code == 0
    first = out.index("1. ")
    assert "safelight fog" in out[first : first + 40]
    assert "caution" in out
    code, out, _ = dryside("room", "wrong")
    assert "grey whites" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("test", "smoke"), "flash or fog or which or coin or cycle"),
        (("test", "fog"), "a flash strip finds it (dryside room test flash)"),
        (("test", "fog", "--flash", "1s", "--lights", "moon"), "no light 'moon'"),
        (("test", "fog", "--flash", "1s", "--steps", "2m,1m"), "do not grow"),
        (("test", "fog", "--flash", "1s", "--at", "sink"), "easel or trays"),
        (("read", "Z9"), "room test made"),
        (("predict", "moon"), "moon"),
        (("light", "add", "x", "--kind", "lamp"), "safelight"),
        (("light", "add", "x", "--safe-time", "soon"), "--safe-time"),
        (("light", "changed", "ceiling", "colour"), "bulb, filter or place"),
        (("advise", "--wanted", "0"), "--wanted"),
        (("wrong", "unlucky"), "unlucky"),
    ],
)
def test_bad_input_is_one_sentence(
    words: tuple[str, ...], said: str, dryside: Callable[..., Told]
) -> None:
    """What, where, what would be right; exit code 2, and no traceback."""
    rig = () if words[0] == "wrong" else BAD
    code, _, err = dryside("room", *words, *rig)
    assert code == 2
    assert len(err.strip().splitlines()) == 1, err
    assert said in err
