"""Strips and the curve of a print as block graphics."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from controller.record_sheet.model import CrossFigure, Curve, StripFigure, StripPatch, ToneMark
from tests.controller.imagined_scene import SCENE
from ui.terminal.widgets.curve_blocks import curve_lines
from ui.terminal.widgets.strip_blocks import strips_lines

PATCHES = tuple(StripPatch(c, 8.0 + k, c == "C") for k, c in enumerate("ABCDE"))
STRIP = StripFigure("K4", "filter 00, cloud", "C", PATCHES)
CROSS = CrossFigure("K5", "00 by 5", "B2", (8.0, 10.0), (4.0, 5.0), ((1, 1),))
TONES = tuple(ToneMark(n, k / 10, k / 10, k / 10) for k, n in enumerate(SCENE.regions.values()))
CURVE = Curve("pearl", tuple((k / 10, k**2 / 200) for k in range(20)), TONES)


def test_a_strip_shows_its_patches_and_the_picked_one() -> None:
    """Letters beneath their patches, lighter ones first, the choice in the head."""
    head, drawn, again, letters = strips_lines([STRIP], {}, 30, 20)
    assert head == "K4 filter 00, cloud: C"
    assert drawn == again
    assert len(drawn) == 30
    assert letters.split() == ["A", "B", "[C]", "D", "E"]
    assert drawn[0] == "█"
    assert drawn[-1] == "░"


def test_a_strip_shows_its_own_picture(tmp_path: Path) -> None:
    """The tones of the dry strip, from end to end."""
    image = Image.new("L", (500, 60), 255)
    image.paste(0, (250, 0, 500, 60))
    image.save(tmp_path / "K4.png")
    _, drawn, *_ = strips_lines([STRIP], {"K4": tmp_path / "K4.png"}, 30, 20)
    assert drawn[:14] == "█" * 14
    assert drawn[16:].strip() == ""
    gone = strips_lines([STRIP], {"K4": tmp_path / "gone.png"}, 30, 20)
    assert gone == strips_lines([STRIP], {}, 30, 20)


@pytest.mark.parametrize("rows", [3, 9, 17, 40])
def test_strips_keep_to_their_room(rows: int) -> None:
    """Four strips and a cross: no more lines than there are, and none too wide."""
    lines = strips_lines([STRIP, CROSS, STRIP, STRIP, STRIP], {}, 24, rows)
    assert len(lines) <= rows
    assert all(len(line) <= 24 for line in lines)


@pytest.mark.parametrize(("columns", "rows"), [(32, 18), (20, 12), (60, 30)])
def test_a_curve_keeps_to_its_room_and_names_its_regions(columns: int, rows: int) -> None:
    """Each region by its letter of the sketch, with its density as far as there is room."""
    lines = curve_lines(CURVE, SCENE, columns, rows)
    assert 0 < len(lines) <= rows
    assert all(len(line) <= columns for line in lines)
    letters = {letter for letter in SCENE.regions if any(f"{letter} " in line for line in lines)}
    assert letters


def test_without_a_curve_or_room_nothing_is_drawn() -> None:
    """The page says instead why there is none."""
    assert curve_lines(None, SCENE, 60, 30) == []
    assert curve_lines(CURVE, SCENE, 10, 30) == []
