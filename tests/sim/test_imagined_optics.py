"""The light on the easel, against what trade-facts section 2 gives, and against rays."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.ports import NewSheet
from sim.optics import EnlargingLens, light_at
from sim.settings import SimulatorSettings
from sim.world import ImaginedWorld

S = 1_000_000_000
magnifications = st.floats(0.5, 20.0)
pupils = st.floats(0.5, 2.0)


@pytest.mark.parametrize(
    ("before", "after", "factor"),
    [(2, 4, 2.7778), (4, 8, 3.24), (3, 5, 2.25), (8, 11.2, 1.8375), (10, 5, 0.2975), (6, 6, 1.0)],
)
def test_a_larger_picture_needs_as_much_more_time_as_is_published(before, after, factor):
    """2x to 4x is 2.78 times (two textbooks, second-hand); the others by the same derivation."""
    assert 1.0 / light_at(after, before, 1.0) == pytest.approx(factor, abs=5e-5)


def test_a_lens_of_150_mm_stands_where_the_worked_example_has_it():
    """450 mm to the paper at 2x and 750 mm at 4x, and the squares of these give the same 2.78."""
    lens = EnlargingLens(150.0, 8.0)
    near_mm, far_mm = (lens.image_distance_mm(m) for m in (2.0, 4.0))
    assert (near_mm, far_mm) == pytest.approx((450.0, 750.0))
    assert lens.solid_angle(2.0) / lens.solid_angle(4.0) == pytest.approx((far_mm / near_mm) ** 2)


def traced_slope(magnification: float, pupil: float) -> float:
    """Trace the ray from the negative's middle over the rim of the entrance pupil to the easel.

    Two thin lenses' worth of algebra: principal planes at 0, focal length 1, entrance pupil of
    radius 1/16 where its image is ``pupil`` times as large. Gives the slope at the easel.
    """
    object_at = -(1.0 + 1.0 / magnification)
    entrance_at = -(1.0 - 1.0 / pupil) if pupil != 1.0 else 0.0
    slope = (1.0 / 16.0) / (entrance_at - object_at)
    height = -object_at * slope  # where the ray meets the principal plane
    return slope - height  # refracted by a lens of focal length 1


@given(magnifications, pupils)
def test_rays_find_the_same_light(magnification, pupil):
    """The cone that reaches the easel, ray by ray, fills the exit pupil's solid angle."""
    by_rays = math.pi * traced_slope(magnification, pupil) ** 2
    lens = EnlargingLens(1.0, 8.0, pupil)
    assert lens.solid_angle(magnification) == pytest.approx(by_rays, rel=1e-9)


@given(magnifications, magnifications, pupils)
def test_there_and_back_is_where_one_was(one, other, pupil):
    """Up the column and down again."""
    assert light_at(one, other, pupil) * light_at(other, one, pupil) == pytest.approx(1.0)


def exposure_of(**fields) -> float:
    world = ImaginedWorld(SimulatorSettings(lamp="led", **fields))
    world.do(0, NewSheet("K1", 20.0, 20.0))
    world.switch(S, "lamp", True)
    world.switch(11 * S, "lamp", False)
    return world.develop(20 * S)[0].patches[0].exposure_lux_s


def test_the_room_dims_as_the_head_goes_up():
    """easel_lux holds at its own magnification; without one, at whatever there is."""
    there = exposure_of(magnification=4.0)
    assert exposure_of(magnification=9.0) == there
    assert exposure_of(magnification=4.0, easel_magnification=4.0) == pytest.approx(there)
    higher = exposure_of(magnification=4.0, easel_magnification=2.0)
    assert there / higher == pytest.approx(2.7778, abs=1e-4)
    tele = exposure_of(magnification=4.0, easel_magnification=2.0, pupil=0.8)
    assert there / tele == pytest.approx(((0.8 + 4) / (0.8 + 2)) ** 2)
