"""Random rooms, the sheets that prove them, and when simulated paper really just changes."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from scipy.optimize import brentq

from controller.enlarger.lamp import ns
from controller.exposing.bench import Bench
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.plan import Plan
from controller.ports import Hands, Switch
from controller.rig.file import load_rig
from controller.rig.lights import around
from controller.rig.model import Rig, Safelight
from controller.room.fog_sheets import (
    SCREEN,
    CoinCheck,
    FogTest,
    Place,
    WhichLight,
    plan_coin,
    plan_fog_test,
    plan_which_light,
)
from controller.room.model import Kind, Light, Room
from controller.room.steps import JUST_SEEN
from controller.virtual import VirtualUnit
from sim.actinic import actinic
from sim.fog import Fog
from sim.rays import lux_at
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.tungsten import Floats
from sim.world import ImaginedWorld, paper_of

FLASH_S = 0.6
WIDTH_MM = 203.0
TODAY = date(2025, 6, 1)
BEGUN_NS = ns(3600)
ON_RELAYS = ("ceiling", "bench", "sink", "shelf")
BY_HAND = ("door", "clock")
RELAY_KINDS = ("deep-red", "red", "amber", "light-amber")
HAND_KINDS = {"door": "white", "clock": "digits"}


@dataclass(frozen=True)
class RoomToProve:
    """A rig, and the lights of its room; ``broken`` are lights dark over some columns."""

    rig: Rig
    lights: tuple[str, ...]
    outputs: dict[str, str] = field(default_factory=dict)

    @property
    def settings(self) -> SimulatorSettings:
        return SimulatorSettings.model_validate(self.rig.simulator)

    def room(self) -> Room:
        """Give the room as its file would tell it, with no test yet."""
        kinds = {SCREEN: Kind.SCREEN, "door": Kind.DOOR, "clock": Kind.INDICATOR}
        lights = tuple(
            Light(name=n, kind=kinds.get(n, Kind.SAFELIGHT), relay=self.outputs.get(n, ""))
            for n in self.lights
        )
        return Room(paper="pearl", lights=lights)


def room_with(
    lights: Mapping[str, Mapping[str, object]], *, reciprocity: float = 1.0, seed: int = 1
) -> RoomToProve:
    """Make a room; lights of ``ON_RELAYS`` are on relays, the screen is the unit's own."""
    safelights = [
        Safelight(name="way", address="way", contact="normally-closed", nominated=True),
        *(Safelight(name=name, address=name) for name in ON_RELAYS),
    ]
    rig = load_rig("bad-room")
    table = {
        **rig.simulator,
        "lights": {name: dict(light) for name, light in lights.items()},
        "cell_mm": 1.5,
        "seed": seed,
        "paper": {"kind": "variable", "reciprocity": reciprocity},
    }
    rig = rig.model_copy(update={"simulator": table, "safelight": safelights})
    return RoomToProve(rig, tuple(lights), {n: n for n in lights if n in ON_RELAYS})


def random_room(
    chance: random.Random, times_s: Iterable[float], *, reciprocity: float = 1.0
) -> RoomToProve:
    """Make a room with a light for each time at which it alone should fog the grey at the easel.

    Colour and place are random. One in four burns by hand, one in six is the unit's screen.
    """
    times_s = list(times_s)
    lights: dict[str, dict[str, object]] = {}
    for _ in times_s:
        pick = chance.random()
        wanted = (SCREEN,) if pick < 1 / 6 else BY_HAND if pick < 5 / 12 else ON_RELAYS
        free = [n for n in (*wanted, *ON_RELAYS, *BY_HAND, SCREEN) if n not in lights]
        name = chance.choice([n for n in free if n in wanted] or free)
        kind = "screen" if name == SCREEN else HAND_KINDS.get(name) or chance.choice(RELAY_KINDS)
        at_m = chance.uniform(-1.8, 1.8), chance.uniform(-0.8, 1.5), chance.uniform(0.6, 2.2)
        lights[name] = {"kind": kind, "lux_at_1m": 1.0, "at_m": at_m}
    plain = Truth(room_with(lights, reciprocity=reciprocity))
    for name, time_s in zip(lights, times_s, strict=True):
        # of light at which the paper fails, brighter counts for more than its part
        at_one_s = plain.time_s([name])
        lights[name]["lux_at_1m"] = (at_one_s / time_s) ** (reciprocity if reciprocity < 1 else 1)
    return room_with(lights, reciprocity=reciprocity, seed=chance.randrange(10**6))


class Truth:
    """When lights first show, by the simulated paper alone, whatever any test says."""

    def __init__(self, room: RoomToProve) -> None:
        self._settings = s = room.settings
        self._paper = paper_of(s)
        self._sees = {name: actinic(one, s) for name, one in s.lights.items()}
        lux_s = FLASH_S * s.easel_lux * self._paper.unfiltered
        self._grey: Floats = lux_s[:, None, None]

    def grey(self) -> float:
        """Give the density of the flashed grey."""
        return float(self._paper.developed(self._grey)[0, 0])

    def rate(self, names: Iterable[str], place: str = "easel", x_m: float = 0.0) -> float:
        """Give the lights' lux as the paper sees it on the average, at a place."""
        return float(self._lux(names, place, x_m) @ self._paper.shares)

    def time_s(
        self,
        names: Iterable[str],
        *,
        place: str = "easel",
        before: bool = False,
        just_seen: float = JUST_SEEN,
        x_m: float = 0.0,
    ) -> float:
        """Find the time at which these lights change the grey by what is just seen."""
        lux = self._lux(names, place, x_m)
        nothing = np.zeros_like(self._grey)
        safe = np.zeros((self._paper.parts, 1))
        was = self.grey()

        def excess(log_s: float) -> float:
            fog = Fog(self._paper, np.ones(1))
            fog.field = lux[:, None, None]
            fog.wait(10.0**log_s, 0.0, self._paper.unfiltered, safe)
            image = nothing if before else self._grey
            fog.spread(np.ones((1, 1)), np.zeros((1, 1), dtype=np.intp), image, image)
            return float(self._paper.developed(self._grey + fog.lux_s)[0, 0]) - was - just_seen

        return 10.0 ** float(brentq(excess, -8.0, 14.0, xtol=1e-4))

    def _lux(self, names: Iterable[str], place: str, x_m: float) -> Floats:
        at_m = (x_m, 0.0, 0.0) if place == "easel" else self._settings.trays_m
        lux: Floats = np.zeros(self._paper.parts)
        for name in names:
            lux = lux + self._sees[name] * lux_at(self._settings.lights[name], at_m)
        return lux


class BrokenWorld(ImaginedWorld):
    """A room in which some lights do not burn the first time, or the second, that they should.

    ``dark`` gives by name which times these are, from 1.
    """

    dark: Mapping[str, tuple[int, ...]] = {}

    def switch(self, now_ns: int, name: str, lit: bool) -> None:
        super().switch(now_ns, name, lit and not self._fails(name, lit))

    def do(self, at_ns: int, hands: Hands) -> None:
        if isinstance(hands, Switch) and hands.lit:
            left = tuple(n for n in hands.lights if not self._fails(n, True))
            if not left:
                return  # the hand forgot it
            hands = Switch(left, lit=True)
        super().do(at_ns, hands)

    def _fails(self, name: str, lit: bool) -> bool:
        if not lit or name not in self.dark:
            return False
        self._asked = getattr(self, "_asked", dict.fromkeys(self.dark, 0))
        self._asked[name] += 1
        return self._asked[name] in self.dark[name]


def made(
    room: RoomToProve, plan: Plan, *, dark: Mapping[str, tuple[int, ...]] | None = None
) -> DevelopedSheet:
    """Carry a plan out in virtual time; ``dark`` are lights that fail."""
    rig = room.rig
    lit = {rule.name: rule.safe_lit for rule in rig.rules() if not rule.lamp}
    world = BrokenWorld(room.settings, lit=lit, begun_ns=BEGUN_NS)
    world.dark = dark or {}
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
        runner, Keeper(rig.rules()), world, record=lambda _event: None, now_ns=BEGUN_NS
    )
    unit.run()
    return world.develop(unit.now_ns)[-1]


def fog_sheet(
    room: RoomToProve, names: tuple[str, ...], steps_s: tuple[float, ...], place: Place = "easel"
) -> tuple[FogTest, dict[str, float]]:
    """Make a fog test of some lights, and measure it."""
    test = FogTest(lights=names, flash_s=FLASH_S, steps_s=steps_s, place=place, paper="pearl")
    dark = around(room.rig, safelights_off=True)
    plan = plan_fog_test(test, room.rig.calibration(), room.rig.limits(), dark, room.outputs)
    return test, _densities(test, made(room, plan))


def which_sheet(
    room: RoomToProve, time_s: float, *, dark: Mapping[str, tuple[int, ...]] | None = None
) -> tuple[WhichLight, dict[str, float]]:
    """Make the sheet that finds the guilty light, and measure it."""
    test = WhichLight(lights=room.lights, flash_s=FLASH_S, time_s=time_s, paper="pearl")
    off = around(room.rig, safelights_off=True)
    plan = plan_which_light(test, room.rig.calibration(), room.rig.limits(), off, room.outputs)
    return test, _densities(test, made(room, plan, dark=dark))


def coin_density(room: RoomToProve, time_s: float) -> float:
    """Give the density of white paper that lay in the light of the room beside a coin."""
    test = CoinCheck(lights=room.lights, time_s=time_s)
    plan = plan_coin(test, around(room.rig, safelights_off=True), room.outputs)
    return made(room, plan).patches[0].density


def middle_m(test: FogTest | WhichLight, name: str) -> float:
    """Give where the middle of a patch lies: metres right of the easel's middle."""
    return ((test.names().index(name) + 0.5) / test.patches - 0.5) * WIDTH_MM / 1e3


def _densities(test: FogTest | WhichLight, sheet: DevelopedSheet) -> dict[str, float]:
    return {name: p.density for name, p in zip(test.names(), sheet.patches, strict=True)}
