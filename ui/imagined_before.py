"""What an imagined sheet had already got, done again from the book: hands, tools and light."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple, TypeAlias

from controller.book.entries import ExposureEntry, Page, PulseEntry
from controller.enlarger.lamp import ns
from controller.plan import SAME_S, Confirm, Expose, Go, Handwork, Plan, Sheet
from controller.ports import Hands, NewSheet, Shade
from sim.world import ImaginedWorld

LAID_S = 5.0  # between the sheet's being laid and its first light
HAND_S = 0.5  # what is done for an exposure is done so long before its light
AWAY_S = 0.3  # a tool stays until the lamp is dark
# Pulses of another evening are told by another clock: nobody knows how long it took.
BETWEEN_S = 60.0

Done: TypeAlias = Hands | bool  # what the hands do, or the lamp's being lit or not


class _Asked(NamedTuple):
    """What stood at the enlarger for an exposure, and the handwork in it."""

    hands: dict[type, Hands]
    handwork: tuple[Handwork, ...]


def expose_before(world: ImaginedWorld, page: Page, mark: str, until_ns: int) -> None:
    """Give an imagined sheet what its record says that it has got, so that it ends then."""
    done = sorted(done_before(page, mark), key=lambda each: each[0])
    if not done:
        return
    shift_ns = until_ns - done[-1][0]
    for at_ns, what in done:
        if isinstance(what, bool):
            world.switch(at_ns + shift_ns, "lamp", what)
        else:
            world.do(at_ns + shift_ns, what)


def done_before(page: Page, mark: str) -> Iterator[tuple[int, Done]]:
    """Give what was done for a sheet, each with its time, counted from its first light.

    Nothing where no light fell, or where nobody knows how large the sheet is.
    """
    sheet = next((s for s in page.sheets if s.mark == mark), None)
    if sheet is None or sheet.width_mm is None or sheet.height_mm is None:
        return
    plans = [Plan.from_json(run.plan) for run in page.runs]
    asked = {label: one for plan in plans for label, one in _asked(plan)}
    lit = [(e, pulse) for e in page.exposures if e.mark == mark for pulse in e.pulses]
    place = next((a.place for plan in plans for a in plan.actions if isinstance(a, Sheet)), "")
    standing: dict[type, Hands] = {}
    had_s: dict[str, float] = {}
    off_ns = last_ns = 0
    for number, (entry, pulse) in enumerate(lit):
        if number == 0:
            laid = NewSheet(mark, sheet.width_mm, sheet.height_mm, place)
            yield -ns(LAID_S), laid
            on_ns, gap_ns = 0, ns(LAID_S)
        else:
            gap_ns = pulse.on_ns - last_ns
            if not 0 < gap_ns < ns(BETWEEN_S):
                gap_ns = ns(BETWEEN_S)
            on_ns = off_ns + gap_ns
        off_ns, last_ns = on_ns + pulse.off_ns - pulse.on_ns, pulse.off_ns
        ready_ns = on_ns - min(ns(HAND_S), gap_ns // 2)
        wanted = asked.get(entry.label, _Asked({}, ()))
        # what stands already is not done again: a card that is laid anew lies otherwise
        for kind, hands in wanted.hands.items():
            if standing.get(kind) != hands:
                yield ready_ns, hands
        standing |= wanted.hands
        before_s = had_s.get(entry.label, 0.0)
        after_s = had_s[entry.label] = before_s + _share_s(entry, pulse)
        for work in wanted.handwork:
            yield from _tool(work, before_s, after_s, ready_ns, off_ns)
        yield on_ns, True
        yield off_ns, False
    if lit:
        yield off_ns + ns(2 * AWAY_S), Shade("card", "", held=False)


def _asked(plan: Plan) -> Iterator[tuple[str, _Asked]]:
    """Give what stands at the enlarger for each exposure of a plan."""
    standing: dict[type, Hands] = {}
    for action in plan.actions:
        if isinstance(action, Confirm | Go) and action.hands is not None:
            standing[type(action.hands)] = action.hands
        elif isinstance(action, Expose):
            yield action.label, _Asked(dict(standing), action.handwork)


def _share_s(entry: ExposureEntry, pulse: PulseEntry) -> float:
    """Give the dose of one pulse of an exposure, in seconds."""
    lit_ns = sum(each.off_ns - each.on_ns for each in entry.pulses)
    return entry.bounds_s[0] * (pulse.off_ns - pulse.on_ns) / lit_ns if lit_ns else 0.0


def _tool(
    work: Handwork, before_s: float, after_s: float, ready_ns: int, off_ns: int
) -> Iterator[tuple[int, Done]]:
    """Give when a tool comes into a pulse and leaves it.

    Counted back from the pulse's end: a second of light is a second of dose by then, while at
    its beginning the lamp's lag lies between.
    """
    if work.end_s <= before_s + SAME_S or work.begin_s >= after_s - SAME_S:
        return
    comes_ns = ready_ns
    if work.begin_s > before_s + SAME_S:
        comes_ns = off_ns - ns(after_s - work.begin_s)
    goes_ns = off_ns - ns(after_s - work.end_s) if work.end_s < after_s else off_ns + ns(AWAY_S)
    away = Shade("wand", work.shade.name, held=False)
    yield comes_ns, work.shade
    yield goes_ns, away
