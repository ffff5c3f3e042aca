"""A plan carried out in an imagined room, as fast as time can be counted."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from controller.book.book import Book
from controller.enlarger.lamp import ns
from controller.exposing.bench import Bench
from controller.exposing.runner import Runner
from controller.exposing.told import BoxIs, Run
from controller.keeper import Keeper
from controller.ports import Cue, Reading
from controller.room.room_watch import RoomWatch
from controller.trays.kept import keep_through
from controller.virtual import VirtualUnit
from sim.world import ImaginedWorld
from ui.imagined_before import expose_before
from ui.rooms import open_room
from ui.simulator import eye_of, simulator_of
from ui.unit import Outcome, Unit

EVENING_NS = ns(3600)  # virtual time begins here: nothing was lit for an hour
BEFORE_S = 60.0  # so long before it ends what a sheet had already got


def carry_out_imagined(
    unit: Unit,
    run: Run,
    book: Book,
    *,
    sensor: str = "",
    saw: Callable[[Reading], None] = lambda _reading: None,
    tell: Callable[[float, Cue], None] = lambda _s, _cue: None,
) -> Outcome:
    """Run a plan in virtual time, and write the book.

    ``sensor`` names one that looks at the lamp, and ``saw`` is given what it reads. ``tell`` is
    given what is said over the trays after the plan, and when, in seconds.
    """
    lit = {rule.name: rule.safe_lit for rule in unit.rig.rules() if not rule.lamp}
    settings = simulator_of(unit, run)
    world = ImaginedWorld(settings, lit=lit, begun_ns=EVENING_NS)
    if run.mark:
        page = book.record(run.record_id)
        if page:
            expose_before(world, page, run.mark, EVENING_NS - ns(BEFORE_S))
    bench = Bench()
    wet = unit.rig.wet_side()
    runner = Runner(
        run,
        bench,
        lamp=unit.rig.calibration(),
        limits=unit.rig.limits(),
        foot=unit.rig.foot_times(),
        next_mark=book.next_mark,
        seen=unit.rig.seen_lamp(),
        wait_s=wet.wait_s,
    )
    keeper = Keeper(unit.rig.rules())
    watch = RoomWatch(
        unit.rig,
        open_room(unit.rig),
        now_ns=EVENING_NS,
        day=datetime.now().astimezone().date(),
        outputs=keeper.lit,
    )
    if unit.rig.box is not None:
        watch.step(EVENING_NS, BoxIs(world.box_open(EVENING_NS)))
    virtual = VirtualUnit(
        runner,
        keeper,
        world,
        record=book.write,
        now_ns=EVENING_NS,
        watch=watch,
        eye=eye_of(unit, world, sensor, seed=settings.seed),
        saw=saw,
        wet=wet,
    )
    virtual.run()
    for at_ns, cue in virtual.go_on_to_trays():
        tell((at_ns - EVENING_NS) / 1e9, cue)
    told: set[str] = set()
    for sheet in virtual.through:
        for said in keep_through(book, sheet, datetime.now(UTC), wet.chosen.celsius, told=told):
            tell((virtual.now_ns - EVENING_NS) / 1e9, Cue(said))
    if sensor:
        virtual.look_on()
    return Outcome(run.record_id, world.develop(virtual.now_ns))
