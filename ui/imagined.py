"""A plan carried out in an imagined room, as fast as time can be counted."""

from __future__ import annotations

from controller.bench import Bench
from controller.book.book import Book
from controller.book.entries import Page
from controller.keeper import Keeper
from controller.lamp import ns
from controller.plan import Expose, Go
from controller.ports import Move, NewSheet
from controller.runner import Runner
from controller.told import Run
from controller.virtual import VirtualUnit
from sim.world import ImaginedWorld
from ui.simulator import simulator_of
from ui.unit import Outcome, Unit

EVENING_NS = ns(3600)  # virtual time begins here: nothing was lit for an hour


def carry_out_imagined(unit: Unit, run: Run, book: Book) -> Outcome:
    """Run a plan in virtual time, and write the book."""
    lit = {rule.name: rule.safe_lit for rule in unit.rig.rules() if not rule.lamp}
    world = ImaginedWorld(simulator_of(unit, run), lit=lit, begun_ns=EVENING_NS)
    if run.mark:
        page = book.record(run.record_id)
        if page:
            expose_before(world, page, run)
    bench = Bench()
    runner = Runner(
        run,
        bench,
        lamp=unit.rig.calibration(),
        limits=unit.rig.limits(),
        foot=unit.rig.foot_times(),
        next_mark=book.next_mark,
    )
    keeper = Keeper(unit.rig.rules())
    virtual = VirtualUnit(runner, keeper, world, record=book.write, now_ns=EVENING_NS)
    virtual.run()
    return Outcome(run.record_id, world.develop(virtual.now_ns))


def expose_before(world: ImaginedWorld, page: Page, run: Run) -> None:
    """Give an imagined sheet what its record says that it had already got."""
    from controller.plan import Plan

    plan = Plan.from_json(page.record.plan)
    moves: dict[str, Move] = {}
    move = None
    for action in plan.actions:
        if isinstance(action, Go) and isinstance(action.hands, Move):
            move = action.hands
        elif isinstance(action, Expose) and move:
            moves[action.label] = move
    sheet = next(s for s in page.sheets if s.mark == run.mark)
    pulses = [(p, e.label) for e in page.exposures if e.mark == run.mark for p in e.pulses]
    if not pulses or sheet.width_mm is None or sheet.height_mm is None:
        return
    shift_ns = EVENING_NS // 2 - pulses[-1][0].off_ns
    world.do(
        pulses[0][0].on_ns + shift_ns - ns(5), NewSheet(sheet.mark, sheet.width_mm, sheet.height_mm)
    )
    for pulse, label in pulses:
        if label in moves:
            world.do(pulse.on_ns + shift_ns - ns(0.5), moves[label])
        world.switch(pulse.on_ns + shift_ns, "lamp", True)
        world.switch(pulse.off_ns + shift_ns, "lamp", False)
