"""A bad room found, cured and proved in one sitting, by pedal alone and by an imagined eye."""

from __future__ import annotations

import itertools
from datetime import date
from pathlib import Path

from controller.desk.menu import Menu, Together
from controller.desk.orders import Order, Ordered
from controller.enlarger.lamp import ns
from controller.events import Fate
from controller.exposing.bench import Bench
from controller.exposing.foot import FootTimes
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.ports import Cue
from controller.rig.file import load_rig
from controller.room.change import flash_of
from controller.room.file import load_room
from controller.room.fog_sheets import REFERENCE, FlashStrip, FogTest, WhichLight
from controller.room.model import Kind, Light, Place, Room
from controller.room.reading import sheet_of
from controller.room.results import predict
from controller.room.room_watch import RoomWatch
from controller.room.steps import GREY_LEAST, JUST_SEEN
from controller.virtual import VirtualUnit
from drivers.desk_store import DeskStore
from drivers.engine_proving import EngineProving
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld

NAMES = ("ceiling", "bench", "sink")
TODAY = date.today()
WHITE = 0.06


class NoDesk:
    """Nothing lies ready but the room itself."""

    def orders(self) -> list[Order]:
        return []

    def choices(self, order: Order) -> list[str]:
        return []


class Sitting:
    """The unit without its processes: menu, tests of the room, and plans in virtual time."""

    def __init__(self, folder: Path) -> None:
        self.rig = load_rig("bad-room")
        self.path = folder / "room.toml"
        lights = tuple(Light(name=n, kind=Kind.SAFELIGHT, relay=n) for n in NAMES)
        self.watch = RoomWatch(
            self.rig, Room(lights=lights), now_ns=0, day=TODAY, outputs=dict.fromkeys(NAMES, True)
        )
        self.store = DeskStore(folder, lambda: None)
        self.proving = EngineProving(
            self.rig, self.watch, self.store, room_file=self.path, changed=self.room_is
        )
        self.menu = Menu(FootTimes())
        self.offers = Together(self.proving, NoDesk())
        self.now_ns = ns(3600)
        self.marks = (f"K{n}" for n in itertools.count(1))
        self.said: list[str] = []
        self.sheet: DevelopedSheet | None = None
        self.spec: FlashStrip | FogTest | WhichLight | None = None

    def room_is(self, room: Room) -> None:
        self.watch.with_room(self.now_ns, room, TODAY)

    # -- the foot ----------------------------------------------------------------------------

    def step(self, after_s: float, down: bool | None = None) -> None:
        self.now_ns += ns(after_s)
        for said in self.menu.step(self.now_ns, self.offers, down):
            if isinstance(said, Cue):
                self.said.append(said.text)
            else:
                self.ordered(said)

    def long_press(self) -> None:
        self.step(2.0, True)
        self.step(1.6)
        self.step(0.1, False)

    def take(self, word: str) -> None:
        """Wait until a word is spoken, and tap."""
        for _ in range(200):
            if self.menu.cue is not None and self.menu.cue.text == word:
                self.step(0.6, True)
                self.step(0.1, False)
                return
            self.step(0.1)
        raise AssertionError(f"{word!r} was never spoken: {self.said[-20:]}")

    # -- what the engine does with an order ----------------------------------------------------

    def ordered(self, order: Ordered) -> None:
        if order.order == Order.ROOM_TEST.value:
            self.expose(self.proving.run(order.choice))
            return
        if order.order == Order.LEAVE_OUT.value:
            self.said.append(self.proving.leave_out(order.choice))
            return
        assert order.order == Order.READ_TEST.value
        self.said.append(self.proving.answer(order.choice))
        self.menu.offer(self.now_ns, self.offers, Order.READ_TEST)

    def expose(self, run: Run) -> None:
        settings = SimulatorSettings.model_validate(self.rig.simulator)
        lit = {rule.name: rule.safe_lit for rule in self.rig.rules() if not rule.lamp}
        world = ImaginedWorld(settings, lit=lit, begun_ns=self.now_ns)
        runner = Runner(
            run,
            Bench(),
            lamp=self.rig.calibration(),
            limits=self.rig.limits(),
            foot=self.rig.foot_times(),
            next_mark=lambda: next(self.marks),
        )
        keeper = Keeper(self.rig.rules())
        unit = VirtualUnit(
            runner, keeper, world, record=lambda _: None, now_ns=self.now_ns, watch=self.watch
        )
        unit.run()
        self.now_ns = unit.now_ns
        assert runner.fate is Fate.DONE
        self.sheet = world.develop(self.now_ns)[-1]
        self.spec = sheet_of(run.plan.kind, run.spec)  # type: ignore[assignment]
        self.proving.over(run, runner.view().mark, runner.fate)

    # -- the eye -----------------------------------------------------------------------------

    def densities(self) -> dict[str, float]:
        assert self.sheet
        assert isinstance(self.spec, FogTest | WhichLight)
        names = self.spec.names()
        return {n: p.density for n, p in zip(names, self.sheet.patches, strict=True)}

    def differs(self, name: str) -> bool:
        found = self.densities()
        return abs(found[name] - found[REFERENCE]) >= JUST_SEEN

    def prove(self, test: str) -> None:
        self.long_press()
        self.take(Order.ROOM_TEST.value)
        self.take(test)
        self.long_press()
        self.take(Order.READ_TEST.value)
        if isinstance(self.spec, FlashStrip):
            assert self.sheet
            greys = [p.density - WHITE >= GREY_LEAST for p in self.sheet.patches]
            self.take("ABCDEFGH"[greys.index(True)])
        elif isinstance(self.spec, FogTest):
            for side in ("before", "after"):
                steps = range(1, len(self.spec.steps_s) + 1)
                first = next((n for n in steps if self.differs(f"{side} {n}")), None)
                self.take(f"{side}, step {first}" if first else f"{side}, none")
        elif isinstance(self.spec, WhichLight):
            for name in self.spec.names():
                if name != REFERENCE and self.differs(name):
                    self.take(f"{name} differs")
            self.take("no other")


def test_a_bad_room_is_found_cured_and_proved_by_pedal(tmp_path: Path) -> None:
    """Flash, which light, its own time, the cure, and the room without it: all by foot and ear."""
    sitting = Sitting(tmp_path)
    sitting.prove("flash strip")
    assert flash_of(sitting.watch.paper.room)

    sitting.prove("which light")
    changed = {
        test.lights[0]
        for test in sitting.watch.paper.room.tests
        if len(test.lights) == 1 and test.after and test.after.changed_s
    }
    assert changed == {"bench"}

    sitting.prove("fog test of bench")
    assert any(text.startswith("bench: safe ") for text in sitting.said)
    bad = predict(sitting.watch.paper.room, NAMES, at=Place.EASEL, today=TODAY).safe
    sitting.long_press()
    sitting.take(Order.LEAVE_OUT.value)
    sitting.take("bench")
    assert "bench stays dark while paper is out" in sitting.said
    sitting.prove("fog test")
    good = predict(sitting.watch.paper.room, ("ceiling", "sink"), at=Place.EASEL, today=TODAY)
    assert bad
    assert good.safe
    assert good.whole
    assert good.safe.value_s >= 120 > bad.value_s, "cured by putting the bench light out"

    sitting.store.close()
    kept = load_room(sitting.path)
    assert kept.tests == sitting.watch.paper.room.tests, "and all of it is in the room's file"
