"""Plans run in an imagined room without a book: what the whole-job tests stand on."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from controller.enlarger.lamp import ns
from controller.events import Event
from controller.exposing.bench import Bench
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.plan import Plan
from controller.ports import Cue, NewSheet
from controller.rig.file import load_rig
from controller.strips.strip import Strip, patches_of, plan_strip
from controller.virtual import VirtualUnit
from sim.eye import Eye, EyeSettings, WorldEye
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld


@dataclass
class Made:
    """What a virtual run left."""

    sheets: list[DevelopedSheet]
    events: list[Event]
    runner: Runner
    cues: list[Cue]


def carry_out(plan: Plan, rig_name: str, *settings: str) -> Made:
    rig = load_rig(rig_name, settings)
    simulated = SimulatorSettings.model_validate(rig.simulator)
    world = ImaginedWorld(simulated)
    sensor = rig.lamp_sensor()
    eye = None
    if sensor is not None:
        eye = WorldEye(world, Eye(EyeSettings.model_validate(sensor.options), simulated.seed))
    marks = (f"K{n}" for n in itertools.count(1))
    runner = Runner(
        Run("r", plan),
        Bench(),
        lamp=rig.calibration(),
        limits=rig.limits(),
        foot=rig.foot_times(),
        next_mark=lambda: next(marks),
        seen=rig.seen_lamp(),
    )
    events: list[Event] = []
    cues: list[Cue] = []
    unit = VirtualUnit(
        runner,
        Keeper(rig.rules()),
        world,
        record=events.append,
        tell=cues.append,
        now_ns=ns(3600),
        eye=eye,
    )
    unit.run()
    return Made(world.develop(unit.now_ns), events, runner, cues)


def strip_errors_stops(strip: Strip, rig_name: str, *settings: str) -> list[float]:
    """Give by how many stops each patch of a strip missed its dose."""
    rig = load_rig(rig_name, settings)
    plan = plan_strip(strip, rig.calibration(), rig.limits())
    made = carry_out(plan, rig_name, *settings)
    sheet = made.sheets[-1]
    return [
        math.log2(got.delivered_s / wanted.dose_s)
        for got, wanted in zip(sheet.patches, patches_of(strip), strict=True)
    ]


def net_lag_s(rig_name: str, gap_s: float | None) -> float:
    """Measure in the imagined room alone what a pulse of 3 s loses after such a gap."""
    world = ImaginedWorld(SimulatorSettings.model_validate(load_rig(rig_name).simulator))
    at = 10**12
    world.do(at, NewSheet("K1", 100, 20))
    starts = [at + 10**9]
    if gap_s is not None:
        starts.append(starts[0] + 3 * 10**9 + round(gap_s * 1e9))
    for start in starts:
        world.switch(start, "lamp", True)
        world.switch(start + 3 * 10**9, "lamp", False)
    sheet = world.develop(starts[-1] + 4 * 10**9)[0]
    lost = 3.0 * len(starts) - sheet.patches[0].delivered_s if sheet.patches else 0.0
    return lost if gap_s is None else lost - net_lag_s(rig_name, None)
