"""The sheets that prove a room, on imagined paper that knows nothing of safe times."""

from __future__ import annotations

import itertools
import random

import pytest

from controller.enlarger.lamp import ns
from controller.exposing.bench import Bench
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.plan import Plan
from controller.ports import Carrier, NewSheet
from controller.rig.file import load_rig
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.room.fog_sheets import (
    REFERENCE,
    CoinCheck,
    FogTest,
    WhichLight,
    plan_coin,
    plan_fog_test,
    plan_which_light,
)
from controller.room.reading import darkest, fog_by_density
from controller.room.steps import GREY_LEAST, GREY_MOST, JUST_SEEN
from controller.virtual import VirtualUnit
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld

NAMES = ("ceiling", "bench", "sink")
FLASH_S = 0.6
STEPS_S = (30.0, 60.0, 120.0, 240.0, 480.0, 960.0)


def rig_with(lights: dict[str, dict[str, object]]) -> Rig:
    """Give the rig with three safelights, each as strong as asked; others do not shine."""
    rig = load_rig("bad-room")
    table = {**rig.simulator, "lights": lights, "cell_mm": 1.0}
    return rig.model_copy(update={"simulator": table})


def light(kind: str, lux: float, x_m: float = 0.0) -> dict[str, object]:
    return {"kind": kind, "lux_at_1m": lux, "at_m": (x_m, 0.2, 1.2), "relay": ""}


def made(rig: Rig, plan: Plan) -> DevelopedSheet:
    lit = {rule.name: rule.safe_lit for rule in rig.rules() if not rule.lamp}
    settings = SimulatorSettings.model_validate(rig.simulator)
    world = ImaginedWorld(settings, lit=lit, begun_ns=ns(3600))
    marks = (f"K{n}" for n in itertools.count(1))
    runner = Runner(
        Run("r", plan),
        Bench(),
        lamp=rig.calibration(),
        limits=rig.limits(),
        foot=rig.foot_times(),
        next_mark=lambda: next(marks),
    )
    unit = VirtualUnit(
        runner, Keeper(rig.rules()), world, record=lambda _event: None, now_ns=ns(3600)
    )
    unit.run()
    return world.develop(unit.now_ns)[-1]


def densities(test: FogTest | WhichLight, sheet: DevelopedSheet) -> dict[str, float]:
    return {name: p.density for name, p in zip(test.names(), sheet.patches, strict=True)}


def fog_sheet(rig: Rig, lights: tuple[str, ...]) -> tuple[FogTest, dict[str, float]]:
    test = FogTest(lights=lights, flash_s=FLASH_S, steps_s=STEPS_S)
    dark = around(rig, safelights_off=True)
    plan = plan_fog_test(test, rig.calibration(), rig.limits(), dark, {n: n for n in NAMES})
    return test, densities(test, made(rig, plan))


def true_time_s(rig: Rig, names: tuple[str, ...]) -> float:
    """Find when these lights first show on the flashed grey, by the simulated paper alone."""
    settings = SimulatorSettings.model_validate(rig.simulator)

    def change(time_s: float) -> float:
        grey = []
        for lit in (False, True):
            world = ImaginedWorld(settings, lit=dict.fromkeys(NAMES, False))
            world.do(0, NewSheet("K1", 203.0, 25.0))
            world.do(ns(0.5), Carrier(False))
            world.switch(ns(1), "lamp", True)
            world.switch(ns(1 + FLASH_S + 0.061), "lamp", False)
            for name in names if lit else ():
                world.switch(ns(10), name, True)
                world.switch(ns(10 + time_s), name, False)
            sheet = world.develop(ns(20 + time_s))[0]
            grey.append(float(sheet.density[:, sheet.density.shape[1] // 2].mean()))
        return grey[1] - grey[0]

    low_s, high_s = 1.0, 40_000.0
    for _ in range(20):
        middle_s = (low_s * high_s) ** 0.5
        low_s, high_s = (low_s, middle_s) if change(middle_s) >= JUST_SEEN else (middle_s, high_s)
    return high_s


def test_the_flash_is_a_light_grey() -> None:
    """What the tests below stand on: 0.15 to 0.40 above the paper, with every light out."""
    _, found = fog_sheet(rig_with({}), NAMES)
    assert GREY_LEAST <= found[REFERENCE] - 0.06 <= GREY_MOST
    assert max(found.values()) - min(found.values()) < 0.005


@pytest.mark.parametrize("seed", range(4))
def test_a_fog_test_brackets_the_time_at_which_paper_really_changes(seed: int) -> None:
    """For a light of random strength and colour the two steps hold the true time between them.

    A patch at a step may be a little nearer to the light than the middle: a tenth is allowed.
    """
    chance = random.Random(seed)
    kind = chance.choice(["light-amber", "amber", "white"])
    lux = {"light-amber": 1.0, "amber": 6.0, "white": 2e-4}[kind] * chance.uniform(0.7, 3.0)
    rig = rig_with({"bench": light(kind, lux)})
    test, found = fog_sheet(rig, ("bench",))
    _, after = fog_by_density(test, found)
    true_s = true_time_s(rig, ("bench",))
    assert after.clean_s is None or after.clean_s <= true_s * 1.1, (kind, lux, true_s)
    assert after.changed_s is None or after.changed_s >= true_s / 1.1, (kind, lux, true_s)
    assert after.clean_s is not None or after.changed_s is not None


def test_after_the_image_is_stricter_than_before_it() -> None:
    """The same light fogs a grey that is there already sooner."""
    test, found = fog_sheet(rig_with({"bench": light("light-amber", 1.5)}), ("bench",))
    before, after = fog_by_density(test, found)
    assert before.changed_s is not None
    assert after.changed_s is not None
    assert after.changed_s < before.changed_s
    for step in range(1, len(STEPS_S) + 1):
        assert found[f"after {step}"] >= found[f"before {step}"] - 1e-6


def test_the_guilty_light_is_named_in_every_room() -> None:
    """Thirty rooms of three lights, of which one gives ten times what the others do."""
    chance = random.Random(7)
    for _ in range(30):
        guilty = chance.choice(NAMES)
        lights = {
            name: light(
                "light-amber", (2.0 if name == guilty else 0.2) * chance.uniform(0.8, 1.25), x_m
            )
            for name, x_m in zip(NAMES, (-0.3, 0.0, 0.3), strict=True)
        }
        rig = rig_with(lights)
        test = WhichLight(lights=NAMES, flash_s=FLASH_S, time_s=600.0)
        dark = around(rig, safelights_off=True)
        plan = plan_which_light(test, rig.calibration(), rig.limits(), dark, {n: n for n in NAMES})
        found = densities(test, made(rig, plan))
        order = darkest({name: d - found[REFERENCE] for name, d in found.items()})
        assert order[0] == guilty


def test_a_coin_passes_a_room_that_the_fog_test_fails() -> None:
    """Four minutes leave white paper as it was, and show on a light grey."""
    rig = rig_with({"bench": light("light-amber", 1.5)})
    coin = CoinCheck(lights=("bench",), time_s=240.0)
    dark = around(rig, safelights_off=True)
    white = made(rig, plan_coin(coin, dark, {n: n for n in NAMES})).patches[0].density
    assert white - 0.06 < JUST_SEEN
    test, found = fog_sheet(rig, ("bench",))
    _, after = fog_by_density(test, found)
    assert after.changed_s is not None
    assert after.changed_s <= 240.0
