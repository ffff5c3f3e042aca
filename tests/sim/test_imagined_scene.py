"""The generated negative: its named regions, and pieces of paper laid on them."""

from __future__ import annotations

import numpy as np
import pytest

from controller.ports import Move, NewSheet, Shade
from sim.projected import ProjectedScene
from sim.scene import COLUMNS, REGIONS, ROWS, scene, scene_regions
from sim.settings import SimulatorSettings
from sim.world import ImaginedWorld

S = 1_000_000_000
ROOM = SimulatorSettings(negative="scene", lamp="led", relay="ideal", soft_start_s=0.0)
WHOLE = NewSheet("K1", 254.0, 203.2)


def even(count: int) -> np.ndarray:
    return (np.arange(count) + 0.5) / count


PICTURE = scene(even(320), even(240))


def cells_of(area) -> np.ndarray:
    """Give the places of PICTURE that an area covers."""
    grid = np.array([[text == "#" for text in row] for row in area])
    return np.kron(grid, np.ones((240 // ROWS, 320 // COLUMNS))) > 0


def developed(laid: NewSheet, *jobs, settings: SimulatorSettings = ROOM, on_s: float = 10.0):
    world = ImaginedWorld(settings)
    world.do(0, laid)
    world.do(1, Shade("card", "", held=False))
    for job in jobs:
        world.do(2, job)
    world.switch(S, "lamp", True)
    world.switch(S + round(on_s * S), "lamp", False)
    return world.develop(60 * S)[0]


def test_every_region_has_its_tone_and_its_area():
    """Ten names; an area is 12 rows of 16, no two share a cell, and none is empty."""
    regions = scene_regions()
    assert tuple(regions) == REGIONS
    taken = np.zeros((240, 320))
    for region in regions.values():
        assert [len(row) for row in region.area] == [COLUMNS] * ROWS
        assert any("#" in row for row in region.area)
        taken += cells_of(region.area)
    assert taken.max() == 1


@pytest.mark.parametrize("name", REGIONS)
def test_the_median_of_an_area_is_its_regions_tone(name):
    """Within 0.04 of density, and three quarters of its places are that region."""
    area = cells_of(scene_regions()[name].area)
    region = PICTURE.region == REGIONS.index(name)
    there, tone = np.median(PICTURE.density[area]), np.median(PICTURE.density[region])
    assert there == pytest.approx(tone, abs=0.04)
    assert region[area].mean() > 0.75


def test_the_tones_ask_for_burning_and_dodging():
    """From a dark door to a bright cloud, in the order of nature, within 0.05 and 1.75."""
    tone = {
        name: float(np.median(PICTURE.density[PICTURE.region == number]))
        for number, name in enumerate(REGIONS)
    }
    order = ["door", "rock", "house", "quay", "water", "sky", "tower", "cloud"]
    assert sorted(order, key=tone.__getitem__) == order
    assert tone["door"] < 0.25
    assert tone["cloud"] > 1.4
    assert PICTURE.density.min() >= 0.05
    assert PICTURE.density.max() <= 1.75


def test_the_picture_does_not_depend_on_where_it_is_looked_at():
    """A part seen alone is the same as that part of the whole, and no two calls differ."""
    part = scene(even(320)[100:140], even(240)[30:90])
    assert np.array_equal(part.density, PICTURE.density[30:90, 100:140])
    assert np.array_equal(part.region, PICTURE.region[30:90, 100:140])


def test_eight_by_ten_is_filled():
    """At the usual magnification the negative of 70 x 56 mm makes 254 x 203.2 mm."""
    lie = ProjectedScene(ROOM, 1.0).lie(WHOLE)
    assert lie[:4] == pytest.approx((0.0, 0.0, 254.0, 203.2))


@pytest.mark.parametrize("name", REGIONS)
def test_a_piece_lies_on_its_place(name):
    """A piece of 16 mm shows the tone of its region; most of what lies under it is that."""
    sheet = developed(NewSheet("K1", 16.0, 16.0, name))
    level = ProjectedScene(ROOM, 4.0).levels_lux
    region = PICTURE.density[PICTURE.region == REGIONS.index(name)]
    exposure = sheet.patches[0].exposure_lux_s / 10.0
    low, high = (10.0 ** -np.quantile(region, q) * level[0] for q in (0.98, 0.02))
    assert low < exposure < high


def test_a_piece_is_a_window_of_the_whole_at_true_scale():
    """Cell by cell, a piece on the tower has the densities of the whole sheet there."""
    whole, piece = developed(WHOLE), developed(NewSheet("K2", 60.0, 60.0, "Tower"))
    left, top = round(piece.lie.left_mm), round(piece.lie.top_mm)
    tower = scene_regions()["tower"]
    assert piece.lie.left_mm + 30 == pytest.approx(tower.middle[0] * 254.0)
    there = whole.density[top : top + 60, left : left + 60]
    assert np.median(np.abs(piece.density - there)) < 0.02


def test_a_piece_at_the_rim_is_laid_wholly_in_the_picture():
    """The cloud is near the upper edge: a tall piece begins there."""
    lie = ProjectedScene(ROOM, 1.0).lie(NewSheet("K1", 60.0, 120.0, "cloud"))
    assert lie.top_mm == 0.0
    assert lie.left_mm > 0.0


@pytest.mark.parametrize("place", ["", "the moon"])
def test_a_piece_without_a_known_place_lies_in_the_middle(place):
    """As without a place."""
    lie = ProjectedScene(ROOM, 1.0).lie(NewSheet("K1", 54.0, 103.2, place))
    assert lie[:2] == pytest.approx((100.0, 50.0))


def test_a_larger_sheet_sees_all_and_a_white_border():
    """Beyond the negative's edge no light falls, whatever place was named."""
    sheet = developed(NewSheet("K1", 274.0, 223.2, "door"), on_s=120.0)
    assert sheet.lie[:2] == pytest.approx((-10.0, -10.0))
    paper_white = sheet.density[0, 0]
    border = np.ones(sheet.density.shape, bool)
    border[10:-10, 10:-10] = False
    assert np.all(sheet.density[border] == paper_white)
    assert np.all(sheet.density[11:-11, 11:-11] > paper_white + 0.02)


def test_a_higher_head_makes_the_same_piece_show_less():
    """At twice the magnification the picture is twice as large, and half of it on the sheet."""
    settings = ROOM.model_copy(update={"magnification": 2 * ROOM.magnification})
    lie = ProjectedScene(settings, 1.0).lie(WHOLE)
    assert lie[:4] == pytest.approx((127.0, 101.6, 508.0, 406.4))


def test_a_trial_piece_sees_the_part_of_an_area_that_lies_on_it():
    """A wand over the sky shades what a piece on the tower has of it, cell by cell."""
    sky = scene_regions()["sky"].area
    wand = Shade("wand", "sky", sky)
    whole = developed(WHOLE, wand)
    piece = developed(NewSheet("K2", 60.0, 60.0, "tower"), wand)
    shaded, open_ = piece.within(sky), piece.within(scene_regions()["tower"].area)
    assert shaded.any()
    assert open_.any()
    assert not piece.delivered_s["none"][shaded].any()
    assert piece.delivered_s["none"][open_] == pytest.approx(10.0)
    left, top = round(piece.lie.left_mm), round(piece.lie.top_mm)
    there = whole.delivered_s["none"][top : top + 60, left : left + 60]
    assert np.abs(piece.delivered_s["none"] - there).mean() < 0.3


def test_the_same_spot_comes_under_every_patch():
    """Paper slid under a window that stays: each patch shows one tone, also from top to bottom."""
    for edge in ("left", "top"):
        world = ImaginedWorld(ROOM)
        world.do(0, NewSheet("K1", 60.0, 60.0, "sky"))
        for position in range(4):
            now_ns = (position + 1) * 20 * S
            world.do(now_ns - S, Move("paper", position, 4, edge))
            world.switch(now_ns, "lamp", True)
            world.switch(now_ns + 10 * S, "lamp", False)
        patches = world.develop(200 * S)[0].patches
        exposures = [patch.exposure_lux_s for patch in patches]
        assert exposures == pytest.approx([exposures[0]] * 4, rel=0.02)


def test_with_variable_paper_and_reciprocity_failure_a_sheet_still_prints():
    """Every light path at once: levels, parts and dim light."""
    settings = SimulatorSettings(
        negative="scene", lamp="led", paper={"kind": "variable", "reciprocity": 0.95}
    )
    sheet = developed(NewSheet("K1", 127.0, 101.6), settings=settings, on_s=20.0)
    assert np.isfinite(sheet.density).all()
    assert np.ptp(sheet.density) > 1.0
