"""Pictures of the sheets that prove a room: every step and column named, in its place."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from controller.pictures.ink import PX_PER_MM
from controller.pictures.room_sheets import labels_of, room_sheet
from controller.room.fog_sheets import CoinCheck, FlashStrip, FogTest, WhichLight, WholeCycle
from controller.room.sheet_parts import AnySheet, parts_of
from controller.room.trial_sheets import LeakSheet
from tests.controller.pictures.test_strips import grey

LIGHTS = ("ceiling", "bench")
EACH: list[AnySheet] = [
    FogTest(lights=LIGHTS, flash_s=0.6),
    WhichLight(lights=LIGHTS, flash_s=0.6),
    WholeCycle(lights=LIGHTS, flash_s=0.6),
    CoinCheck(lights=LIGHTS),
    FlashStrip(),
    LeakSheet(flash_s=0.6),
]


@pytest.mark.parametrize("test", EACH, ids=lambda one: type(one).__name__)
def test_the_parts_of_a_sheet_fill_it(test: AnySheet) -> None:
    """From its left edge to its right, without a gap, each with a name of its own."""
    parts = parts_of(test)
    assert parts[0].from_mm == 0.0
    assert parts[-1].to_mm == pytest.approx(test.width_mm)
    assert len({part.name for part in parts}) == len(parts)
    for one, two in pairwise(parts):
        assert one.to_mm == pytest.approx(two.from_mm)


def test_steps_are_named_by_side_and_time_and_columns_by_light() -> None:
    """Before, longest first; the reference; after. Columns have the names of their lights."""
    rows = [[text for text, _ in label.rows()] for label in labels_of(EACH[0])]
    assert rows[0] == ["4", "before", "8 min"]
    assert rows[4] == ["ref", "flash", "alone"]
    assert rows[-1] == ["4", "after", "8 min"]
    told = [text for label in labels_of(EACH[1]) for text, _ in label.rows()]
    assert {"ref", "ceiling", "bench", "together", "4 min"} <= set(told)


@pytest.mark.parametrize("test", EACH, ids=lambda one: type(one).__name__)
def test_a_layout_is_white_and_a_developed_sheet_has_its_tones(
    test: AnySheet, tmp_path: Path
) -> None:
    """The layout invents no tone; the picture shows the paper's own, on the bench."""
    room_sheet(test, tmp_path / "layout.png")
    layout = grey(tmp_path / "layout.png")
    assert layout[0, 0] == 255
    density = np.full((round(test.height_mm), round(test.width_mm)), 0.3)
    room_sheet(test, tmp_path / "sheet.png", mark="K7", density=density)
    image = grey(tmp_path / "sheet.png")
    tone = round(255 * (1.055 * (10**-0.3) ** (1 / 2.4) - 0.055))
    area = test.width_mm * test.height_mm * PX_PER_MM**2
    assert (image == tone).sum() == pytest.approx(area, rel=0.02)
