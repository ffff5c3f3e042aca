from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from imagined_rooms import HALF_COVERED, S, lain, light, room

from controller.ports import Carrier, Carry, Move, NewSheet, Shade
from sim.actinic import actinic
from sim.rays import Opening, lux_at, lux_over
from sim.room_settings import LightKind, LightSettings
from sim.settings import SimulatorSettings
from sim.world import ImaginedWorld


def a_light(**fields) -> LightSettings:
    return LightSettings.model_validate(light(**fields))


def counts_for(kind: str, paper: str = "variable", **more) -> float:
    """One lux of a light, to the part of the paper that sees it best."""
    return float(actinic(a_light(kind=kind, **more), room(paper={"kind": paper})).max())


# -- distance and angle --------------------------------------------------------------------------


def test_light_falls_off_by_the_square_of_distance_and_the_cosine_of_the_angle():
    """From (0.3, -0.4, 1.2) m it is 1.3 m, and the cosine is 1.2 / 1.3: 5 lux give 2.731."""
    assert lux_at(a_light(lux=5.0, at=(0.3, -0.4, 1.2)), (0.0, 0.0, 0.0)) == pytest.approx(
        5.0 / 1.69 * 1.2 / 1.3
    )
    assert lux_at(a_light(lux=5.0, at=(1.8, 0.0, 2.0)), (1.8, 0.0, 0.0)) == pytest.approx(1.25)


def test_from_below_the_paper_no_light_comes():
    """A lamp under the table gives nothing, and one that is level with the paper nothing either."""
    for z in (-0.5, 0.0):
        assert lux_at(a_light(at=(0.4, 0.0, z)), (0.0, 0.0, 0.0)) == 0.0


def test_a_face_that_is_turned_away_gives_nothing_and_one_askew_its_cosine():
    """Turned by 60 degrees half of its light arrives."""
    straight, askew, away = (
        lux_at(a_light(faces_m=faces), (0.0, 0.0, 0.0))
        for faces in ((0.0, 0.0, 0.0), (math.tan(math.pi / 3), 0.0, 0.0), (0.0, 0.0, 2.0))
    )
    assert (straight, askew, away) == pytest.approx((1.0, 0.5, 0.0))


def test_a_large_face_far_away_is_a_point_and_a_near_one_gives_less():
    """Its points are further off than its middle, and stand lower."""
    for at, least in (((0.0, 0.0, 10.0), 0.999), ((0.0, 0.0, 0.5), 0.5)):
        point, face = (
            lux_at(a_light(at=at, size_m=size), (0.0, 0.0, 0.0))
            for size in ((0.0, 0.0), (0.4, 0.4))
        )
        assert least < face / point < 1.0


def test_a_face_is_as_wide_as_it_is_said_and_lies_level():
    """A strip of lamps gives the light of lamps in a row along it."""
    strip = a_light(at=(0.0, 1.0, 1.0), size_m=(0.3, 0.0), lux=6.0)
    row = [a_light(at=(0.05 * n - 0.125, 1.0, 1.0), lux=1.0) for n in range(6)]
    here = (0.2, 0.1, 0.0)
    assert lux_at(strip, here) == pytest.approx(sum(lux_at(each, here) for each in row))


# -- colour --------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["graded", "variable"])
def test_colours_stand_in_the_printers_order(paper):
    """Lux for lux deep red fogs least, then red, amber, light amber, the lamp, a white screen."""
    order = ("deep-red", "red", "amber", "light-amber", "leak", "screen")
    counted = [counts_for(kind, paper) for kind in order]
    assert np.all(np.diff(counted) > 0.0)
    if paper == "variable":
        _deep, red, amber, light_amber, *white = counted
        assert amber > 3.0 * red
        assert light_amber > 3.0 * amber
        assert min(white) > 100.0 * light_amber


def test_amber_is_for_graded_paper_and_red_for_both():
    """Graded paper sees blue only: amber counts ten times less on it than on variable contrast."""
    assert counts_for("amber", "graded") < 0.1 * counts_for("amber", "variable")
    for paper in ("graded", "variable"):
        assert counts_for("red", paper) < 1e-4


def test_one_lux_of_the_lamp_is_one_lux():
    """The leak of an opal bulb counts as the enlarger's light does, on either paper."""
    for kind in ("graded", "variable"):
        settings_ = room(paper={"kind": kind})
        shares = [1.0] if kind == "graded" else settings_.paper.part_shares
        assert actinic(a_light(kind="leak"), settings_) @ np.array(shares) == pytest.approx(1.0)


def test_the_part_that_sees_green_best_is_fogged_most():
    """So fog softens variable-contrast paper before it shows on white."""
    parts = actinic(a_light(kind="light-amber"), room())
    assert parts[0] > 3.0 * parts[1] > 9.0 * parts[2] > 0.0


def test_a_faded_filter_is_worse():
    """A thousandth of white in an amber lamp more than trebles what paper sees of it."""
    assert counts_for("amber", faded=0.001) > 3.0 * counts_for("amber")


@pytest.mark.parametrize("kind", LightKind)
def test_every_kind_of_light_shows_on_a_lux_meter_as_it_is_said(kind):
    """Strength is in lux, whatever the colour."""
    world = ImaginedWorld(room({"a": light(kind.value, 0.3, lit=True)}))
    assert world.light_at_sensor_lux(0, "easel") == pytest.approx(0.3)


# -- fog -----------------------------------------------------------------------------------------


def test_fog_adds_over_lights_and_times_without_an_order_effect():
    """Two lights together, or one after the other, or in two pieces, before or after an image."""
    a, b = light("amber", 2.0, (0.3, 0.2, 1.0)), light("screen", 3e-3, (-0.2, 0.0, 0.7))
    paper = {"kind": "variable", "order_effect": 0.0}

    def exposure(lights: dict, seconds: float, **more) -> float:
        made = lain(room(lights, paper=paper), seconds, off=tuple(lights), **more)
        return made.patches[0].exposure_lux_s

    image = exposure({}, 0.0, flash_s=5.0)
    only_a, only_b = exposure({"a": a}, 300.0), exposure({"b": b}, 300.0)
    assert exposure({"a": a, "b": b}, 300.0) == pytest.approx(only_a + only_b)
    assert exposure({"a": a}, 600.0) == pytest.approx(2.0 * only_a)
    for first in (True, False):
        both = exposure({"a": a, "b": b}, 300.0, flash_s=5.0, first=first)
        assert both == pytest.approx(image + only_a + only_b)


def test_fog_after_an_image_counts_more_than_before_it_and_nothing_more_on_white():
    """Up to 1 + effect times; before, and where there is no image, once."""
    lights = {"a": light("amber", 1.0)}

    def exposure(effect: float, **more) -> float:
        settings_ = room(lights, paper={"kind": "variable", "order_effect": effect})
        return lain(settings_, 200.0, off=("a",), **more).patches[0].exposure_lux_s

    plain = exposure(0.0, flash_s=5.0)
    fog = plain - exposure(0.0, flash_s=5.0, first=True) + exposure(0.0)
    before, after = exposure(1.0, flash_s=5.0, first=False), exposure(1.0, flash_s=5.0)
    assert before == pytest.approx(plain)
    assert 0.7 * fog < after - before < fog
    assert exposure(1.0) == pytest.approx(exposure(0.0))
    assert exposure(2.0, flash_s=5.0) - before == pytest.approx(2.0 * (after - before))


def test_a_paused_lamp_does_not_change_what_fog_counts_in_the_dark():
    """Fog between two halves of an image counts between fog before and fog after."""
    world = ImaginedWorld(room({"a": light("amber", 1.0)}), lit={"a": False})
    world.do(0, NewSheet("K1", 20.0, 20.0))
    for second, name, lit in (
        *((1, "lamp", True), (3, "lamp", False), (40, "a", True), (240, "a", False)),
        *((250, "lamp", True), (253, "lamp", False)),
    ):
        world.switch(second * S, name, lit)
    between = world.develop(300 * S)[0].patches[0].density
    settings_ = room({"a": light("amber", 1.0)})
    before, after = (
        lain(settings_, 200.0, flash_s=5.0, first=first, off=("a",)).patches[0].density
        for first in (False, True)
    )
    assert before < between < after


def test_a_light_that_burns_on_counts_once_before_the_image_and_more_after_it():
    """20 s before a short flash count once, 180 s after it by the effect of the whole flash."""
    lux, flash_s = 1e-3, 0.5
    settings_ = room(
        {"a": light("white", lux)},
        paper={"kind": "graded"},
        lamp="led",
        soft_start_s=0.0,
        easel_lux=40.0,
    )
    world = ImaginedWorld(settings_)
    world.do(0, NewSheet("K1", 20.0, 20.0))
    for second, name, lit in ((20.0, "lamp", True), (20.0 + flash_s, "lamp", False)):
        world.switch(round(second * S), name, lit)
    world.switch(round((200.0 + flash_s) * S), "a", False)
    got = world.develop(300 * S)[0].patches[0].exposure_lux_s
    image = flash_s * 40.0 * 10.0**-0.9
    unit = counts_for("white", "graded")
    carrying = 1.0 - math.exp(-image / 1.0)  # a fifth of 5 lx s
    counted = 20.0 + 180.0 * (1.0 + carrying) + flash_s * (1.0 + carrying / 2.0)
    assert got - image == pytest.approx(counted * lux * unit, rel=1e-3)


@pytest.mark.parametrize(("kind", "lux", "grey_s"), [("variable", 2.0, 5.0), ("graded", 30.0, 6.5)])
def test_a_coin_on_white_paper_passes_a_room_that_the_grey_fails(kind, lux, grey_s):
    """In the same time fog is below 0.02 on white and above 0.04 on a light grey."""
    settings_ = room({"a": light("amber", lux)}, paper={"kind": kind})
    coin = lain(settings_, 400.0, off=("a",), jobs=(HALF_COVERED,)).density[5]
    grey, clean = (
        lain(settings_, seconds, flash_s=grey_s, off=("a",)).density[5, 5]
        for seconds in (400.0, 0.0)
    )
    assert 0.15 <= clean - 0.06 <= 0.40
    assert 0.0 < coin[7] - coin[2] < 0.02
    assert grey - clean > 0.04


def test_where_dim_light_does_not_count_in_full_it_counts_beside_the_lamp():
    """By Schwarzschild's law the sum of both lights counts, (I / I0)^(1/p - 1) I in each second."""
    p, at_full, image, fog = 0.85, 5.0, 4.0 * 10.0**-0.9, 0.02
    paper = {"reciprocity": p, "reciprocity_lux": at_full, "order_effect": 0.0}
    in_lux = fog / counts_for("white", "graded")
    settings_ = room({"a": light("white", in_lux)}, paper=paper, lamp="led", soft_start_s=0.0)

    def exposure(at_s: int) -> float:
        world = ImaginedWorld(settings_, lit={"a": False})
        world.do(0, NewSheet("K1", 20.0, 20.0))
        history = [(1, "lamp", True), (11, "lamp", False), (at_s, "a", True)]
        for second, name, lit in sorted([*history, (at_s + 10, "a", False)]):
            world.switch(second * S, name, lit)
        return world.develop(60 * S)[0].patches[0].exposure_lux_s

    def counted(lux: float) -> float:
        return 10.0 * lux * (lux / at_full) ** (1.0 / p - 1.0)

    assert exposure(30) == pytest.approx(counted(image) + counted(fog))
    assert exposure(1) == pytest.approx(counted(image + fog))
    assert exposure(1) > exposure(30) + 0.02


def test_beside_a_lamp_that_warms_up_a_light_counts_as_the_lamps_own_light_does():
    """A lamp of the room as against the same actinic light from everywhere, followed closely."""
    paper = {"reciprocity": 0.85, "reciprocity_lux": 20.0, "order_effect": 0.0}
    lit_lux = 0.2
    ways = (
        room({"a": light("white", lit_lux / counts_for("white", "graded"))}, paper=paper),
        room(safelights={"a": lit_lux}, paper=paper),
    )
    exposures = []
    for settings_ in ways:
        world = ImaginedWorld(settings_)
        world.do(0, NewSheet("K1", 4.0, 4.0))
        for n in range(5):
            world.switch((5 * n + 1) * S, "lamp", True)
            world.switch((5 * n + 1) * S + S // 4, "lamp", False)
        exposures.append(world.develop(25 * S)[0].patches[0].exposure_lux_s)
    assert exposures[0] == pytest.approx(exposures[1], rel=5e-4)


# -- cards and blades ----------------------------------------------------------------------------


def test_a_card_on_the_paper_keeps_every_light_of_the_room_away():
    """What lies under it stays as it was; the rest is fogged."""
    lights = {"a": light("white", 0.02, (-0.8, 0.0, 0.3))}
    sheet = lain(room(lights), 600.0, jobs=(HALF_COVERED,), size_mm=(40.0, 20.0))
    assert np.ptp(sheet.density[:, :10]) == 0.0
    assert sheet.density[0, 0] == pytest.approx(0.06, abs=1e-3)
    assert np.all(sheet.density[:, 10:] > 0.08)


def test_a_card_with_a_hole_shields_from_the_room_and_a_wand_does_not():
    """A wand is thin and held high: light from beside reaches the paper under it."""
    lights = {"a": light("white", 0.02, (-0.8, 0.0, 0.3))}
    left = ("#.",)

    def sides(job: Shade) -> tuple[float, float]:
        made = lain(room(lights), 600.0, jobs=(job,), size_mm=(40.0, 20.0)).density
        return float(made[5, 2]), float(made[5, -3])

    through, behind = sides(Shade("card", "hole", left))
    assert behind == pytest.approx(0.06, abs=1e-3)
    assert through > behind + 0.02
    assert sides(Shade("wand", "disc", left)) == pytest.approx(sides(Shade("card", "no", ("##",))))


def test_a_tool_held_in_the_beam_does_not_lift_the_card_from_the_paper():
    """What the card covers stays clean, whatever hangs above it."""
    lights = {"a": light("white", 0.02, (-0.8, 0.0, 0.3))}
    jobs = (HALF_COVERED, Shade("wand", "disc", (".#",)))
    sheet = lain(room(lights), 600.0, jobs=jobs, size_mm=(40.0, 20.0))
    assert np.ptp(sheet.density[:, :10]) == 0.0
    assert np.all(sheet.density[:, 10:] > sheet.density[0, 0] + 0.02)


@pytest.mark.parametrize("height_mm", [2.0, 5.0, 20.0])
def test_the_blades_shadow_is_as_wide_as_geometry_makes_it(height_mm):
    """By similar triangles: past a blade's edge at height h it ends h (way across) / (z - h)."""
    across_m, z_m, border_mm = 1.2, 0.35, 8.0
    lights = {"a": light("white", 0.05, (-across_m, 0.0, z_m))}
    blades = {"height_mm": height_mm, "border_mm": border_mm}
    settings_ = room(lights, blades=blades, cell_mm=1.0, paper={"kind": "variable"})
    row = lain(settings_, 600.0, size_mm=(200.0, 160.0)).density[80]
    edge_m = -0.100 + border_mm / 1000.0
    shadow_mm = height_mm * (edge_m + across_m) / (z_m - height_mm / 1000.0)
    fogged = np.flatnonzero(row > row.max() - 0.5 * (row.max() - row.min()))
    assert fogged[0] == pytest.approx(border_mm + shadow_mm, abs=1.0)
    # under the opposite blade the same light reaches in
    far_m = 0.100 - border_mm / 1000.0
    reach_mm = height_mm * (far_m + across_m) / (z_m - height_mm / 1000.0)
    assert fogged[-1] + 1 == pytest.approx(min(200.0, 200.0 - border_mm + reach_mm), abs=1.0)


def test_light_from_one_side_leaves_a_paler_line_along_that_edge_of_an_even_grey():
    """Ten minutes under a bad light show it; without a light the grey is even to its border."""
    bad = {"a": light("light-amber", 3.0, (-1.2, 0.2, 0.35), size_m=(0.12, 0.10))}
    rows = {}
    for name, lights in (("bad", bad), ("none", {})):
        sheet = lain(
            room(lights, blades={"height_mm": 3.0, "border_mm": 8.0}, cell_mm=1.0),
            600.0,
            flash_s=5.0,
            off=tuple(lights),
            size_mm=(254.0, 203.0),
        )
        rows[name] = sheet.density[100]
    assert np.ptp(rows["none"][8:-8]) == 0.0
    assert np.all(rows["none"][:8] == rows["none"][0])
    line, beside, right = rows["bad"][9:15], rows["bad"][22:40], rows["bad"][-30:-9]
    assert np.ptp(line) < 1e-6
    assert line.max() == pytest.approx(rows["none"][20])
    assert beside.min() > line.max() + 0.05
    assert right.min() > line.max() + 0.04


def test_a_larger_lamp_gives_a_softer_line():
    """The half shadow is as wide as the face makes it."""
    x_m, y_m = np.linspace(-0.1, 0.1, 2001), np.array([-0.01, 0.01])
    opening = Opening(-0.09, 0.09, -0.09, 0.09, 0.004)
    widths = []
    for size in (0.0, 0.1, 0.3):
        lamp = a_light(at=(-1.0, 0.0, 0.5), size_m=(0.0, size))
        lux = lux_over(lamp, x_m, y_m, opening=opening)[0]
        half = lux[: len(lux) // 2]
        widths.append(int(((half > 0.02 * half.max()) & (half < 0.95 * half.max())).sum()))
    assert widths[0] < widths[1] < widths[2]


def test_small_pieces_lie_in_the_open():
    """A test strip does not go under the blades."""
    lights = {"a": light("white", 0.02, (-0.8, 0.0, 0.3))}
    strip = {"size_mm": (120.0, 30.0)}
    framed = lain(room(lights, blades={"height_mm": 5.0}), 300.0, **strip)
    assert np.array_equal(framed.density, lain(room(lights), 300.0, **strip).density)


def test_paper_that_is_slid_lies_in_other_light():
    """Under a window that stays, each patch has the light of the place where it lay."""
    lights = {"a": light("white", 3e-4, (0.0, 0.0, 0.1))}
    far = lain(room(lights), 300.0, jobs=(Move("card", 0, 3),), size_mm=(300.0, 30.0))
    slid = lain(room(lights), 300.0, jobs=(Move("paper", 0, 3),), size_mm=(300.0, 30.0))
    assert far.density[7, 25] < slid.density[7, 25] - 0.02
    assert np.all(slid.density[:, 52:] < 0.07)


# -- properties ----------------------------------------------------------------------------------

_coordinate = st.floats(-2.0, 2.0)
_lights = st.builds(
    light,
    kind=st.sampled_from([kind.value for kind in LightKind]),
    lux=st.floats(0.0, 3.0),
    at=st.tuples(_coordinate, _coordinate, st.floats(-0.2, 2.0)),
    size_m=st.sampled_from([(0.0, 0.0), (0.1, 0.2)]),
    faces_m=st.sampled_from([None, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)]),
    relay=st.sampled_from(["x", "y", "lamp"]),
    lit=st.booleans(),
)


@settings(max_examples=40, deadline=None)
@given(
    lights=st.lists(_lights, min_size=1, max_size=4),
    seconds=st.floats(0.0, 900.0),
    flash_s=st.sampled_from([0.0, 4.0]),
    first=st.booleans(),
    paper=st.sampled_from(
        [{"kind": "variable"}, {"kind": "graded", "reciprocity": 0.9, "order_effect": 3.0}]
    ),
    height_mm=st.sampled_from([0.0, 3.0]),
)
def test_one_light_more_never_lightens_any_cell(lights, seconds, flash_s, first, paper, height_mm):
    """Whatever the light is, where, and when it is lit."""

    def density(count: int):
        named = {f"l{n}": each for n, each in enumerate(lights[:count])}
        blades = {"height_mm": height_mm, "border_mm": 8.0, "from_mm": 50.0}
        settings_ = room(named, paper=paper, blades=blades, cell_mm=2.0, lamp="led")
        return lain(
            settings_, seconds, flash_s=flash_s, first=first, off=("x",), size_mm=(60.0, 60.0)
        ).density

    assert np.all(density(len(lights)) >= density(len(lights) - 1) - 1e-12)


def test_a_sheet_at_the_trays_gets_their_light_and_none_of_the_lamp() -> None:
    """Carried there it sees the light over the trays; the lamp shines on an empty easel."""
    lights = {"tray": {"kind": "white", "lux_at_1m": 3e-4, "at_m": (1.5, 0.0, 0.5)}}
    asked = SimulatorSettings.model_validate({"lights": lights})

    def density(place: Literal["easel", "trays"], *, lamp: bool) -> float:
        world = ImaginedWorld(asked)
        world.do(0, NewSheet("K1", 60.0, 25.0))
        world.do(10**9, Carry(place))
        if lamp:
            world.switch(2 * 10**9, "lamp", True)
            world.switch(12 * 10**9, "lamp", False)
        [sheet] = world.develop(3600 * 10**9)
        return float(sheet.density.mean())

    assert density("trays", lamp=False) > density("easel", lamp=False) + 0.02
    assert density("trays", lamp=True) == pytest.approx(density("trays", lamp=False), abs=1e-6)
    assert density("easel", lamp=True) > 0.5


def test_without_a_negative_the_light_is_even() -> None:
    """Out for a flash and in again: even grey first, then the picture on top of it."""
    scene = SimulatorSettings.model_validate({"negative": "scene"})

    def made(*steps: tuple[object, float]) -> np.ndarray:
        world = ImaginedWorld(scene)
        world.do(0, NewSheet("K1", 254.0, 203.2))
        at_ns = 10**9
        for hands, lit_s in steps:
            world.do(at_ns, hands)  # type: ignore[arg-type]
            world.switch(at_ns + 10**9, "lamp", True)
            world.switch(at_ns + 10**9 + round(lit_s * 1e9), "lamp", False)
            at_ns += 100 * 10**9
        [sheet] = world.develop(at_ns)
        return sheet.density

    flash = made((Carrier(False), 0.6))
    assert float(flash.std()) < 1e-9
    both = made((Carrier(False), 0.6), (Carrier(True), 8.0))
    alone = made((Carrier(True), 8.0))
    assert float(alone.std()) > 0.2
    assert bool((both >= alone - 1e-9).all())
    assert float((both - alone).max()) > 0.01
