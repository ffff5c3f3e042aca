"""Sheets that prove a room, read from scans with noise, margins and uneven light."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from controller.errors import BadInput
from controller.rig.lights import around
from controller.room.fog_sheets import (
    REFERENCE,
    CoinCheck,
    FogTest,
    WhichLight,
    WholeCycle,
    plan_fog_test,
    plan_which_light,
    plan_whole_cycle,
)
from controller.room.reading import FogSheet, fog_by_density
from controller.room.scanned import fog_by_scan
from controller.room.steps import JUST_SEEN
from sim.sheet import DevelopedSheet
from tests.whole.imagined_scan import scanned
from tests.whole.test_room_proved import (
    FLASH_S,
    NAMES,
    STEPS_S,
    densities,
    light,
    made,
    rig_with,
)
from ui.commands.room_scan import differences_of, results_of

OWN = {name: name for name in NAMES}
WAYS: list[dict[str, object]] = [
    {},
    {"margin_mm": 0.0, "uneven": 0.06},
    {"margin_mm": 40.0, "quarter_turns": -1, "colour": True},
    {"askew_deg": 1.0, "deep": True},
    {"askew_deg": -0.7, "noise": 3.0},
]


def fog(seed: int) -> tuple[FogTest, DevelopedSheet]:
    """Make the fog test of a random room."""
    chance = random.Random(seed)
    kind = chance.choice(["light-amber", "amber", "white"])
    lux = {"light-amber": 1.0, "amber": 6.0, "white": 2e-4}[kind] * chance.uniform(0.5, 4.0)
    rig = rig_with({"bench": light(kind, lux)})
    test = FogTest(lights=("bench",), flash_s=FLASH_S, steps_s=STEPS_S[2:])
    dark = around(rig, safelights_off=True)
    return test, made(rig, plan_fog_test(test, rig.calibration(), rig.limits(), dark, OWN))


def which(guilty: str) -> tuple[WhichLight, DevelopedSheet]:
    """Make the sheet of a room in which one light is guilty."""
    rig = rig_with({n: light("light-amber", 2.0 if n == guilty else 0.05) for n in NAMES})
    test = WhichLight(lights=NAMES, flash_s=FLASH_S, time_s=600.0)
    dark = around(rig, safelights_off=True)
    return test, made(rig, plan_which_light(test, rig.calibration(), rig.limits(), dark, OWN))


@pytest.mark.parametrize("seed", range(4))
def test_a_scan_is_never_kinder_than_the_paper(seed: int, tmp_path: Path) -> None:
    """In a random room, however it is scanned: no step that changed is read as clean.

    And none that is clean by half of what is just seen is read as changed.
    """
    test, sheet = fog(seed)
    found = densities(test, sheet)
    for way in WAYS:
        suffix = "tif" if way.get("deep") else "png"
        path = scanned(sheet, tmp_path / f"scan.{suffix}", seed=seed, **way)  # type: ignore[arg-type]
        told = {one.name: one for one in differences_of(test, str(path), just_seen=JUST_SEEN)}
        assert set(told) == set(found) - {REFERENCE}
        for name, one in told.items():
            true = abs(found[name] - found[REFERENCE])
            if true >= JUST_SEEN + 0.002:
                assert one.changed, (way, name, true, one)
            if true < JUST_SEEN / 2:
                assert not one.changed, (way, name, true, one)
        by_scan = fog_by_scan(test, list(told.values()))
        for scan, paper in zip(by_scan, fog_by_density(test, found), strict=True):
            if paper.changed_s is not None and scan.changed_s is not None:
                assert scan.changed_s <= 2 * paper.changed_s


@pytest.mark.parametrize("turns", [0, 2, -1, 1])
def test_the_guilty_column_is_found_however_the_sheet_lay(turns: int, tmp_path: Path) -> None:
    """Upright, upside down or as it lay: the reference is known by being the lightest."""
    test, sheet = which("ceiling")
    path = scanned(sheet, tmp_path / "scan.png", quarter_turns=turns)
    told = {one.name: one.changed for one in differences_of(test, str(path), just_seen=JUST_SEEN)}
    assert told == {
        "ceiling": True,
        "bench": False,
        "sink": False,
        "all briefly": True,
        "all together": True,
    }


@pytest.mark.parametrize("ground", [0.93, 0.02])
def test_a_strip_on_the_whole_glass_is_found(ground: float, tmp_path: Path) -> None:
    """A strip that lies somewhere on a glass of A4, under a white lid or a black one."""
    test, sheet = which("sink")
    glass = np.full((297, 210), -np.log10(ground))
    glass[120:145, 4:207] = sheet.density
    path = scanned(glass, tmp_path / "scan.png", margin_mm=0.0)
    told = {one.name: one.changed for one in differences_of(test, str(path), just_seen=JUST_SEEN)}
    assert told == {
        "ceiling": False,
        "bench": False,
        "sink": True,
        "all briefly": True,
        "all together": True,
    }


def test_a_jpeg_of_a_whole_cycle_is_read(tmp_path: Path) -> None:
    """The open half differs from the one under the card, and the result says it is from a scan."""
    rig = rig_with({"bench": light("light-amber", 2.0)})
    test = WholeCycle(lights=("bench",), flash_s=FLASH_S, time_s=600.0, height_mm=60.0)
    dark = around(rig, safelights_off=True)
    sheet = made(rig, plan_whole_cycle(test, rig.calibration(), rig.limits(), dark, OWN))
    path = scanned(sheet, tmp_path / "scan.jpg")
    told = differences_of(test, str(path), just_seen=JUST_SEEN)
    assert [one.changed for one in told] == [True]
    (result,) = results_of(test, told, date(2025, 3, 1))
    assert result.read == "scan"


@pytest.mark.parametrize("fogged", [0.0, 0.05])
def test_a_coin_in_the_middle_is_seen_where_the_paper_around_it_changed(
    fogged: float, tmp_path: Path
) -> None:
    """A pale disc in the middle of a fogged piece is the coin's; an even piece has none."""
    test = CoinCheck(lights=("bench",))
    y, x = np.mgrid[0:25, 0:60] + 0.5
    coin = (x - 31.0) ** 2 + (y - 12.0) ** 2 < 8.0**2
    density = np.where(coin, 0.10, 0.10 + fogged)
    path = scanned(density, tmp_path / "scan.png")
    (told,) = differences_of(test, str(path), just_seen=JUST_SEEN)
    assert told.changed == (fogged > 0)


def _picture(path: Path, tones: np.ndarray) -> str:
    Image.fromarray(tones.astype(np.uint8)).save(path)
    return str(path)


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        ("square", "times as long as wide"),
        ("small", "pixels"),
        ("white", "full white"),
        ("noise", "too noisy|not even"),
        ("text", "no picture that can be read"),
        ("missing", "cannot be read"),
        ("ramp", "lighter than the reference"),
    ],
)
def test_what_cannot_be_the_sheet_is_refused_in_one_sentence(
    shape: str, said: str, tmp_path: Path
) -> None:
    """A wrong shape, too few pixels, no tones, noise, another file, a sheet that is another."""
    chance = np.random.default_rng(3)
    test: FogSheet = FogTest(lights=("bench",), flash_s=FLASH_S)
    path = tmp_path / "scan.png"
    wide = np.full((150, 1218), 180.0)
    name = str(path)
    match shape:
        case "square":
            name = _picture(path, chance.uniform(0, 255, (400, 400)))
        case "small":
            name = _picture(path, np.full((16, 130), 180.0))
        case "white":
            name = _picture(path, np.full((150, 1218), 255.0))
        case "noise":
            name = _picture(path, chance.normal(150, 40, wide.shape).repeat(2, 0).repeat(2, 1))
        case "text":
            path.write_text("no picture")
        case "ramp":
            steps = np.repeat([220, 200, 180, 150, 120, 150, 180, 200, 220], 1218 // 9 + 1)
            name = _picture(path, np.tile(steps, (150, 1)))
    with pytest.raises(BadInput, match=said):
        differences_of(test, name, just_seen=JUST_SEEN)
