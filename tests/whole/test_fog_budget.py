"""The fog budget against the imagined room's own integral of light, over random hours of work."""

from __future__ import annotations

import itertools
import random
from datetime import date, datetime

import pytest

from controller.desk.orders import Order, Ordered
from controller.enlarger.lamp import ns
from controller.events import Event, Fate, SheetEnded
from controller.exposing.bench import Bench
from controller.exposing.runner import Runner
from controller.exposing.told import Run, Wish
from controller.keeper import Keeper, Put
from controller.ports import Cue, NewSheet
from controller.rig.file import load_rig
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.room.model import Kind, Light, Place, Result, ResultKind, Room
from controller.room.room_watch import RoomWatch
from controller.strips.strip import Strip, plan_strip
from controller.virtual import VirtualUnit
from sim.settings import SimulatorSettings
from sim.world import ImaginedWorld

NAMES = ("ceiling", "bench", "sink")
SAFE_S = 900.0  # of the light that is the worst at the easel; any figure would do
PLACES = {Place.EASEL: "easel", Place.TRAYS: "trays"}
BEGIN_NS = ns(3600)


def bad_room() -> Rig:
    """Give the rig of three lights, each of which paper can see."""
    rig = load_rig("bad-room", ["foot.lead_in_s=1"])
    lights = {
        name: {"kind": "light-amber", "lux_at_1m": lux, "at_m": at_m}
        for name, lux, at_m in (
            ("ceiling", 1.0, (0.6, -0.8, 1.6)),
            ("bench", 1.5, (-1.0, 0.3, 0.6)),
            ("sink", 0.4, (1.6, 0.2, 1.0)),
        )
    }
    return rig.model_copy(update={"simulator": {**rig.simulator, "lights": lights}})


def lux_of(rig: Rig, name: str, place: Place) -> float:
    """Give what one light is to paper at a place, as the imagined room has it."""
    settings = SimulatorSettings.model_validate(rig.simulator)
    world = ImaginedWorld(settings, lit=dict.fromkeys(NAMES, False) | {name: True})
    world.actinic_lux_s(0, PLACES[place])
    return world.actinic_lux_s(ns(100), PLACES[place]) / 100


def typed_room(rig: Rig, safe_lux_s: float) -> Room:
    """Give a room in which each light's safe time is what the imagined room makes of it."""
    tests = tuple(
        Result(
            lights=(name,),
            at=place,
            paper="",
            date=datetime(2025, 3, 1, 20, 0),
            kind=ResultKind.HAND,
            safe_s=safe_lux_s / lux_of(rig, name, place),
        )
        for name, place in itertools.product(NAMES, Place)
    )
    lights = tuple(Light(name=name, kind=Kind.SAFELIGHT, relay=name) for name in NAMES)
    return Room(lights=lights, tests=tests)


class Hour:
    """An evening's work at random, with the imagined room keeping an account of its own."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.rig = bad_room()
        self.safe_lux_s = SAFE_S * max(lux_of(self.rig, name, Place.EASEL) for name in NAMES)
        settings = SimulatorSettings.model_validate({**self.rig.simulator, "seed": seed})
        lit = {rule.name: rule.safe_lit for rule in self.rig.rules() if not rule.lamp}
        self.world = ImaginedWorld(settings, lit=lit, begun_ns=BEGIN_NS)
        self.keeper = Keeper(self.rig.rules())
        self.bench = Bench()
        self.watch = RoomWatch(
            self.rig,
            typed_room(self.rig, self.safe_lux_s),
            now_ns=BEGIN_NS,
            day=date(2025, 3, 1),
            outputs=self.keeper.lit,
        )
        self.now_ns = BEGIN_NS
        self.marks = (f"K{n}" for n in itertools.count(1))
        self.had: dict[str, float] = {}  # light that each sheet collected, by the room itself
        self.out: dict[str, tuple[Place, float]] = {}  # where it lies, and the room's sum then
        self.since_ns: dict[str, int] = {}

    # -- the room's own account ----------------------------------------------------------------

    def sum_now(self, place: Place) -> float:
        return self.world.actinic_lux_s(self.now_ns, PLACES[place])

    def lies(self, mark: str, place: Place | None) -> None:
        if mark in self.out:
            before, at_lux_s = self.out.pop(mark)
            self.had[mark] = self.had.get(mark, 0.0) + self.sum_now(before) - at_lux_s
        if place is not None:
            self.out[mark] = (place, self.sum_now(place))
            self.since_ns[mark] = self.now_ns

    # -- an hour ---------------------------------------------------------------------------------

    def work(self) -> None:
        run = 0
        while self.now_ns < BEGIN_NS + ns(3600):
            run += 1
            self.expose(f"r{run}")
            for _ in range(self.random.randint(0, 4)):
                self.something_else()
        for mark in list(self.out):
            self.lies(mark, None)
        self.watch.step(self.now_ns)

    def expose(self, record_id: str) -> None:
        dark = around(self.rig, safelights_off=self.random.random() < 0.5)
        strip = Strip(base_s=self.random.uniform(2, 12), patches=self.random.randint(2, 5))
        plan = plan_strip(strip, self.rig.calibration(), self.rig.limits(), dark)
        runner = Runner(
            Run(record_id, plan),
            self.bench,
            lamp=self.rig.calibration(),
            limits=self.rig.limits(),
            foot=self.rig.foot_times(),
            next_mark=lambda: next(self.marks),
        )
        unit: list[VirtualUnit] = []

        def record(event: Event) -> None:
            self.now_ns = unit[0].now_ns if unit else self.now_ns
            if isinstance(event, SheetEnded):
                self.lies(event.mark, Place.TRAYS if event.fate is Fate.DONE else None)

        def tell(cue: Cue) -> None:
            self.now_ns = unit[0].now_ns if unit else self.now_ns
            if isinstance(cue.hands, NewSheet) and cue.hands.mark not in self.out:
                self.lies(cue.hands.mark, Place.EASEL)

        made = VirtualUnit(
            runner,
            self.keeper,
            self.world,
            record=record,
            tell=tell,
            now_ns=self.now_ns,
            watch=self.watch,
        )
        unit.append(made)
        while not runner.over:
            next_ns = made.next_ns
            assert next_ns is not None
            made.run_until(next_ns + ns(self.random.uniform(0, 8)))
            chance = self.random.random()
            if chance < 0.05:
                made.press(True)
                made.run_until(made.now_ns + ns(0.2))
                made.press(False)
            elif chance < 0.07:
                made.wish(Wish.SPOILED)
            elif chance < 0.08:
                made.wish(Wish.ABANDON)
        self.now_ns = made.now_ns

    def something_else(self) -> None:
        self.now_ns += ns(self.random.uniform(1, 200))
        self.watch.step(self.now_ns)
        at_trays = [m for m, (place, _) in self.out.items() if place is Place.TRAYS]
        old = [m for m in at_trays if self.now_ns - self.since_ns[m] > ns(900)]
        if old:  # before the unit takes them for developed
            self.order(Order.IN_STOP, old[0])
            self.lies(old[0], None)
            return
        put_away = self.watch.paper.choices(Order.OUT_AGAIN)
        match self.random.randrange(5):
            case 0 if at_trays:
                mark = self.random.choice(at_trays)
                self.order(Order.PUT_AWAY, mark)
                self.lies(mark, None)
            case 1 if put_away:
                mark = self.random.choice(put_away)
                self.order(Order.OUT_AGAIN, mark)
                self.lies(mark, Place.TRAYS)
            case 2 if at_trays:
                mark = self.random.choice(at_trays)
                self.order(Order.IN_STOP, mark)
                self.lies(mark, None)
            case _:
                name = self.random.choice(NAMES)
                self.switch(Put(name, self.random.random() < 0.5))

    def order(self, order: Order, mark: str) -> None:
        self.watch.order(self.now_ns, Ordered(order.value, mark))

    def switch(self, put: Put) -> None:
        step = self.keeper.step(self.now_ns, put)
        for write in step.writes:
            self.world.switch(self.now_ns, write.output, write.lit)
            for reply in self.keeper.wrote(self.now_ns, write).replies:
                self.watch.step(self.now_ns, reply)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(6))
def test_the_budget_is_the_rooms_own_integral(seed: int) -> None:
    """Over an hour of strips, pauses, spoiled and re-boxed sheets they agree within 1 %."""
    hour = Hour(seed)
    hour.work()
    assert len(hour.had) >= 8
    for mark, lux_s in hour.had.items():
        used = hour.watch.paper.account(mark).used
        assert used == pytest.approx(lux_s / hour.safe_lux_s, rel=0.01, abs=1e-4), mark
