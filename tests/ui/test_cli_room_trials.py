"""The room on the command line: pictures, scans, and what is wrong with a print."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from tests.ui.command import Told

BAD = ("--rig", "bad-room")
GREY = ("--flash", "0.6s", *BAD)


def test_a_fog_test_leaves_its_picture_which_can_be_read_as_a_scan(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """The picture of the sheet holds what the paper shows: the room keeps it as read by scan."""
    dryside("room", "test", "fog", "--lights", "bench", "--picture", "fog.png", *GREY)
    code, out, _ = dryside("room", "read", "K1", "--scan", "fog.png", "--json", *BAD)
    assert code == 0
    told = json.loads(out)
    assert told["results"][0]["read"] == "scan"
    changed = {one["name"]: one["changed"] for one in told["parts"]}
    assert changed["after 4"]
    assert not changed["before 1"]
    _, out, _ = dryside("room", "predict", "bench", "--json", *BAD)
    assert json.loads(out)["safe_time_s"] == 60.0
    code, _, err = dryside("room", "read", "K1", "--scan", "nothing.png", *BAD)
    assert code == 2
    assert "nothing.png" in err
    assert len(err.strip().splitlines()) == 1


def test_a_layout_is_drawn_before_any_paper_is_used(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """With --plan the picture is what lies where, and nothing is exposed."""
    code, out, _ = dryside("room", "test", "which", "--plan", "--picture", "lay.png", *GREY)
    assert code == 0
    assert "layout: lay.png" in out
    with Image.open(tmp_path / "lay.png") as image:
        assert image.getpixel((0, 0)) == 255
    assert "room test made" in dryside("room", "read", *BAD)[2]


def test_the_map_of_the_room_is_a_picture(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """Both show and advise draw it where they are asked to, at the easel and at the trays."""
    dryside("room", "light", "add", "bench", "--safe-time", "4m", "--easel-m", "1.2", *BAD)
    for words in (("show", "--at", "trays"), ("advise",)):
        name = f"{words[0]}.png"
        code, out, _ = dryside("room", *words, "--picture", name, *BAD)
        assert code == 0
        assert f"picture: {name}" in out
        with Image.open(tmp_path / name) as image:
            assert image.size[0] > image.size[1]
    assert "such as strip.png" in dryside("room", "show", "--picture", "map.pdf", *BAD)[2]


def test_the_pale_line_comes_and_goes_with_its_light(dryside: Callable[..., Told]) -> None:
    """Under all lights a line lies along the left, where the bench light is; without it, none."""
    code, out, _ = dryside("room", "test", "blades", "--picture", "line.png", "--json", *GREY)
    assert code == 0
    sides = [one["side"] for one in json.loads(out)["measured"]["lines"]]
    assert "left" in sides
    assert "right" not in sides
    _, out, _ = dryside("room", "test", "blades", "--lights", "ceiling,sink", *GREY)
    assert "no pale line" in out
    assert "the darkest column is that of bench" in dryside("room", "test", "which", *GREY)[1]
    code, out, _ = dryside("room", "read", "K1", "--changed", "left", *BAD)
    assert "comes in from the left" in out


def test_alignment_waits_until_likelier_causes_are_ruled_out(dryside: Callable[..., Told]) -> None:
    """Sent to the fog test, then to the leak test, then to evenness; then it is guided."""
    code, _, err = dryside("room", "test", "alignment", *BAD)
    assert code == 2
    assert "the lights of the room are not proved" in err
    assert "room test fog" in err
    for name in ("ceiling", "bench", "sink"):
        dryside("room", "light", "add", name, "--safe-time", "20m", *BAD)
    assert "room test leak" in dryside("room", "test", "alignment", *BAD)[2]
    assert "ruled out" in dryside("room", "test", "leak", "--keep", *GREY)[1]
    assert "room test evenness" in dryside("room", "test", "alignment", *BAD)[2]
    dryside("room", "test", "evenness", "--keep", "--flash", "1.2s", *BAD)
    code, out, err = dryside("room", "test", "alignment", *BAD)
    assert code == 0
    assert "caution: switch the lamp off at its plug" in err
    _, out, _ = dryside("room", "wrong", "pale", "line", *BAD)
    assert "1. negative, lens and easel" in out
    assert "ruled out by your tests: safelight fog test, lens-cap leak test" in out


def test_a_leak_of_the_enlarger_is_found_and_told(dryside: Callable[..., Told]) -> None:
    """Light through a gap of the head shows beside the card, from the sheet or from its scan."""
    gap = 'simulator.lights.gap={kind="leak",lux_at_1m=0.002,at_m=[0.3,0.3,0.8]}'
    words = ("--keep", "--picture", "leak.png", "--json", "--set", gap)
    code, out, _ = dryside("room", "test", "leak", *words, *GREY)
    assert code == 0
    told = json.loads(out)
    assert told["found"]
    assert told["measured"]["open"] > told["measured"]["covered"]
    _, out, _ = dryside("room", "read", told["mark"], "--scan", "leak.png", *BAD)
    assert "open: +" in out
    assert "light add leak --kind enlarger-leak" in out
    dryside("room", "light", "add", "leak", "--kind", "enlarger-leak", *BAD)
    dryside("room", "read", told["mark"], "--changed", "yes", *BAD)
    _, known, _ = dryside("room", "predict", "leak", *BAD)
    assert "unsafe, less than 1 min" in known
    assert "misses the lens" in out
    _, out, _ = dryside("room", "wrong", "pale", "--json", *BAD)
    leak = next(c for c in json.loads(out)["causes"] if "leak" in c["cause"])
    assert leak["command"].startswith("dryside room test leak")
    assert not leak["ruled_out"]


def test_an_uneven_grey_is_told_by_side_and_stops(dryside: Callable[..., Told]) -> None:
    """Five densities of one sheet, or ten of two that lay turned; or what the eye says."""
    dryside("room", "test", "evenness", "--anyway", "--flash", "1.2s", *BAD)
    five = "0.60,0.72,0.60,0.72,0.66"
    words = ("room", "read", "K2", "--iso-range", "100", *BAD)
    code, out, _ = dryside(*words, "--densities", five)
    assert code == 0
    assert "right darker than left by 0.12, 0.23 stop at most" in out
    _, out, _ = dryside(*words, "--densities", f"{five},0.72,0.60,0.72,0.60,0.66")
    assert "the paper, or how it was developed" in out
    assert "ruled out" in dryside("room", "read", "K2", "--changed", "none", *BAD)[1]


@pytest.mark.parametrize("kind", ["fix", "dark"])
def test_what_needs_no_grey_is_guided_and_read(kind: str, dryside: Callable[..., Told]) -> None:
    """Prompts and waits to the end, and a verdict that the room keeps."""
    code, out, err = dryside("room", "test", kind, "--json", *BAD)
    assert code == 0
    assert "caution: " in err
    told = json.loads(out)
    assert told["fate"] == "done"
    key = told["mark"] or told["record_id"]
    _, out, _ = dryside("room", "read", key, "--changed", "no", "--json", *BAD)
    assert json.loads(out) == {"test": kind, "found": False} | {"lines": json.loads(out)["lines"]}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("test", "leak"), "test flash finds it"),
        (("test", "agitation", "--anyway"), "mid grey"),
        (("test", "dark", "--time", "5s"), "no one time"),
        (("test", "blades", "--flash", "1s", "--lights", "moon"), "no light 'moon'"),
        (("test", "leak", "--flash", "1s", "--time", "40m"), "its limit"),
        (("test", "evenness", "--flash", "1s"), "comes later"),
        (("test", "blades", "--flash", "1s", "--picture", "no/where.png"), "no folder"),
    ],
)
def test_bad_input_is_one_sentence(
    words: tuple[str, ...], said: str, dryside: Callable[..., Told]
) -> None:
    """What, where, what would be right; exit code 2, and no traceback."""
    code, _, err = dryside("room", *words, *BAD)
    assert code == 2
    assert len(err.strip().splitlines()) == 1, err
    assert said in err
