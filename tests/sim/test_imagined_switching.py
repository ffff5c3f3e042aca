"""Lights of the imagined room that no relay switches: by hand, and with the unit's screen."""

from __future__ import annotations

import pytest
from imagined_rooms import S, light, room

from controller.ports import Carry, NewSheet, Switch
from sim.actinic import actinic
from sim.world import ImaginedWorld

PLAIN = {"kind": "variable", "order_effect": 0.0}
LIGHTS = {"bench": light("red"), "door": light("white"), "clock": light("digits")}


def lux(world: ImaginedWorld) -> float:
    return world.light_at_sensor_lux(0, "easel")


def test_a_hand_switches_what_no_relay_does() -> None:
    """By name, or every one of them at once; a light on a relay stays as its relay has it."""
    world = ImaginedWorld(room(LIGHTS), lit={"bench": True})
    seen = [lux(world)]
    for job in (
        Switch((), lit=False),
        Switch(("door",), lit=True),
        Switch(("bench", "door"), lit=False),
        Switch(("nowhere",), lit=True),
    ):
        world.do(0, job)
        seen.append(lux(world))
    assert seen == pytest.approx([3.0, 1.0, 2.0, 1.0, 1.0])


def test_the_units_screen_goes_black_with_the_curtain_and_not_by_hand() -> None:
    """A light called screen is lit while the screen is shown, and at no other time."""
    world = ImaginedWorld(room({"screen": light("screen"), "door": light("white")}))
    world.do(0, Switch((), lit=False))
    seen = [lux(world)]
    for shown in (False, True):
        world.screen(0, shown=shown)
        seen.append(lux(world))
    assert seen == pytest.approx([1.0, 0.0, 1.0])


def test_in_the_developer_a_sheet_has_had_its_light() -> None:
    """Lights that come back later are no part of it."""
    world = ImaginedWorld(room({"a": light("leak", 0.01, relay="a")}, paper=PLAIN))
    world.do(0, NewSheet("K1", 20.0, 20.0))
    world.do(100 * S, Carry("developer"))
    (sheet,) = world.develop(10_000 * S)
    assert sheet.patches[0].exposure_lux_s == pytest.approx(1.0, rel=1e-3)


def test_hours_in_dim_light_are_one_step_where_it_counts_less() -> None:
    """An hour of failing reciprocity is the closed form of it, however it is stepped."""
    paper = {"kind": "graded", "reciprocity": 0.9, "order_effect": 0.0}
    settings = room({"a": light("leak", 1e-3, relay="a")}, paper=paper)
    world = ImaginedWorld(settings)
    sees = 1e-3 * float(actinic(settings.lights["a"], settings)[0])  # right above, at 1 m
    world.do(0, NewSheet("K1", 20.0, 20.0))
    world.switch(3600 * S, "a", False)
    (sheet,) = world.develop(3700 * S)
    counted = sees * (sees / 0.5) ** (1 / 0.9 - 1) * 3600.0
    assert sheet.patches[0].exposure_lux_s == pytest.approx(counted, rel=1e-3)
