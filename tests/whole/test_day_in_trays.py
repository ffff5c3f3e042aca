"""A day of prints through overlapping processes: book, chemistry and the imagined room agree.

The imagined printer goes by ear alone and is late now and then; what lay where is seen in the
imagined room and compared with what the unit wrote down.
"""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from controller.book import wet as wet_book
from controller.book.book import Book
from controller.chemistry.product import find_product, load_products
from controller.chemistry.shelf import bath_of, made, set_of_two, standing
from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.exposing.bench import Bench
from controller.exposing.foot import FootTimes
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue
from controller.trays.clock import APART, Through
from controller.trays.full import TOO_FULL
from controller.trays.kept import keep_through
from controller.trays.process import PROCESSES
from controller.trays.side import Chosen, WetSide
from controller.virtual import VirtualUnit
from sim.settings import SimulatorSettings
from sim.wet_hands import REACTION_S, TrayHands
from sim.wet_settings import WetSettings
from sim.world import ImaginedWorld
from tests.controller.exposing.bench_top import RULES

BEGUN = datetime(2026, 5, 1, 18, tzinfo=UTC)
BEGUN_NS = ns(3600)
TO_THE_EAR_S = 0.01  # the two sides' times may differ by so much
SIZES = ((203, 254), (240, 300), (127, 178))


class HeardWorld(ImaginedWorld):
    """The imagined room, and all that was heard in it."""

    def __init__(self, hands: TrayHands) -> None:
        settings = SimulatorSettings(wet=WetSettings())
        super().__init__(settings, begun_ns=BEGUN_NS, wet_hands=hands)
        self.heard: list[tuple[int, str]] = []

    def hear(self, now_ns: int, cue: Cue) -> None:
        self.heard.append((now_ns, cue.text))
        super().hear(now_ns, cue)


@dataclass
class Day:
    """What a day left."""

    book: Book
    world: HeardWorld
    process: str
    kept: dict[str, Through] = field(default_factory=dict)
    of_baths: list[str] = field(default_factory=list)
    areas: dict[str, float] = field(default_factory=dict)
    came: dict[str, datetime] = field(default_factory=dict)

    def announced(self) -> str:
        return "\n".join(text for _, text in self.world.heard if APART in text or TOO_FULL in text)


def at(now_ns: int) -> datetime:
    return BEGUN + timedelta(seconds=(now_ns - BEGUN_NS) / 1e9)


def random_day(folder: Path, seed: int, prints: int, *, late: float) -> Day:
    """Let so many sheets be exposed, a few of them strips, and go through the trays meanwhile."""
    chance = random.Random(seed)
    process = chance.choice(("fibre", "two-bath", "resin-coated"))
    book = Book.open(folder / "book.db", now=lambda: BEGUN)
    products = load_products(folder)
    fixer = find_product(products, "fixer in two baths", "test")
    baths = [
        bath_of(find_product(products, name, "test"), 2000, BEGUN)
        for name in ("paper developer", "stop bath")
    ]
    two = process == "two-bath"
    baths += set_of_two(fixer, 2000, BEGUN) if two else [bath_of(fixer, 2000, BEGUN)]
    made(book, *baths)
    hands = TrayHands(late=late, seed=seed)
    world = HeardWorld(hands)
    wet, keeper, bench = WetSide(Chosen(process)), Keeper(RULES), Bench()
    day = Day(book, world, process)
    now_ns = BEGUN_NS

    def said(cues: list[Cue], now: int) -> None:
        for cue in cues:
            world.hear(now, cue)

    def tap_and_keep(now: int) -> None:
        hands_ns = hands.next_ns()
        if hands_ns is not None and hands_ns <= now and hands.act(now):
            said(wet.tap(now), now)
        for sheet in wet.through(now):
            assert sheet.ended_ns is not None
            day.kept[sheet.mark] = sheet
            day.came[sheet.mark] = at(sheet.ended_ns)
            day.of_baths += keep_through(book, sheet, at(sheet.ended_ns), wet.chosen.celsius)

    def wait_until(until: int | None, now: int) -> int:
        """Stand at the trays."""
        while True:
            dues = [ns_ for ns_ in (wet.next_ns, hands.next_ns()) if ns_ is not None]
            due = min(dues, default=None)
            if due is None or (until is not None and due > until):
                break
            now = max(now, due)
            said(wet.step(now), now)
            tap_and_keep(now)
        now = max(now, until or now)
        tap_and_keep(now)
        return now

    for number in range(prints):
        kind = "strip" if chance.random() < 0.2 else "print"
        width, height = chance.choice(SIZES)
        exposure_s = chance.uniform(4.0, 40.0)
        actions = (Sheet(width, height), Go("print", lead_in_s=1.0), Expose("print", exposure_s))
        runner = Runner(
            Run(f"r{number}", Plan(kind, "t", actions)),
            bench,
            lamp=Calibration(0.0, 0.0),
            limits=LampLimits(),
            foot=FootTimes(),
            next_mark=book.next_mark,
            wait_s=wet.wait_s,
        )
        unit = VirtualUnit(
            runner,
            keeper,
            world,
            record=book.write,
            now_ns=now_ns,
            wet=wet,
        )
        while not runner.over:
            dues = [ns_ for ns_ in (unit.next_ns, hands.next_ns()) if ns_ is not None]
            unit.run_until(min(dues))
            tap_and_keep(unit.now_ns)
        page = book.record(f"r{number}")
        assert page is not None
        mark = page.sheets[-1].mark
        day.areas[mark] = width * height / 1e6
        now_ns = unit.now_ns
        if chance.random() < 0.1:  # one is thrown away wet, before its end
            now_ns = wait_until(now_ns + ns(chance.uniform(20.0, 200.0)), now_ns)
            if mark in wet.clock.marks:
                hands.throw_away(mark, now_ns)
                said(wet.take_off(now_ns, mark), now_ns)
        now_ns = wait_until(now_ns + ns(chance.uniform(5.0, 150.0)), now_ns)
    now_ns = wait_until(None, now_ns)
    wait_until(now_ns + ns(60.0), now_ns)
    world.develop(now_ns)
    return day


def disagreements(day: Day) -> list[str]:
    """Compare what was seen in the imagined room with what the unit wrote down."""
    found: list[str] = []
    seen: dict[str, list[tuple[str, float, datetime]]] = defaultdict(list)
    through: dict[str, float] = defaultdict(float)
    sheets: dict[str, int] = defaultdict(int)
    for visit in day.world.wet_hands.visits:
        if visit.out_ns is None:
            continue  # in the holding bath, for good
        seen[visit.mark].append((visit.tray, visit.seconds, at(visit.in_ns)))
        through[visit.tray] += day.areas[visit.mark]
        sheets[visit.tray] += 1
    for mark in day.areas:
        told = [
            (step.tray, step.actual_s, step.at)
            for wet in wet_book.sheets_wet(day.book, mark)
            for step in wet.steps
            if step.actual_s > 0
        ]
        if [tray for tray, _, _ in told] != [tray for tray, _, _ in seen[mark]]:
            found.append(f"{mark}: trays {told} for {seen[mark]}")
            continue
        for (tray, got_s, got_at), (_, was_s, was_at) in zip(told, seen[mark], strict=True):
            # a tap that would be taken for another call is not made: both were told to collide
            near_s = REACTION_S[1] if f"{mark} " in day.announced() else TO_THE_EAR_S
            if abs(got_s - was_s) > near_s:
                found.append(f"{mark}: {tray} {got_s:.1f} s for {was_s:.1f} s")
            if abs((got_at - was_at).total_seconds()) > near_s:
                found.append(f"{mark}: {tray} at {got_at} for {was_at}")
    for bath in standing(day.book, BEGUN):
        tray = next((t for t in through if bath.tray.startswith(t)), bath.tray)
        if abs(bath.area_m2 - through[tray]) > 1e-9 or bath.sheets != sheets[tray]:
            found.append(f"{bath.tray}: {bath.sheets}, {bath.area_m2} for {through[tray]}")
    trays = day.world.trays
    assert trays is not None
    fixer = next(tray for tray in through if "fix" in tray)
    for got, tray in ((trays.developed_m2, "developer"), (trays.fixed_m2, fixer)):
        if abs(got - through[tray]) > 1e-9:
            found.append(f"imagined {tray}: {got} for {through[tray]}")
    return found


def unannounced(day: Day) -> list[str]:
    """Give the moves that came too close together or to a full tray without a word."""
    told = day.announced()
    calls = [
        (at_ns, text)
        for at_ns, text in sorted(day.world.heard)
        if text.endswith(" lift") or (" in, " in text and APART not in text)
        if not text.split(" ")[1].startswith(("waits", "will"))
    ]
    found = []
    for (a_ns, a), (b_ns, b) in pairwise(calls):
        are_close = b_ns - a_ns < ns(7.99) and a.split()[0] != b.split()[0]
        if are_close and f"{a} and {b}" not in told:
            found.append(f"{a} and {b} at {a_ns / 1e9}")
    return found


def judged(folder: Path, seed: int, prints: int) -> None:
    day = random_day(folder, seed, prints, late=0.1)
    assert len(day.kept) >= prints - 3
    assert disagreements(day) == []
    assert unannounced(day) == []
    whole = [step.name for step in PROCESSES[day.process].steps]
    for mark, sheet in day.kept.items():
        if not sheet.left_out:
            called = [v.tray for v in day.world.wet_hands.visits if v.mark == mark]
            assert called[:-1] == [lay.tray for lay in sheet.lay]
            assert called == whole or sheet.process == "strip"


def test_book_chemistry_and_the_imagined_room_agree(tmp_path: Path) -> None:
    """Thirty sheets, one in ten moves late, some thrown away wet: same areas, same times."""
    judged(tmp_path, 7, 30)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(1, 31))
def test_many_days_agree(tmp_path: Path, seed: int) -> None:
    """The same for many days."""
    judged(tmp_path, seed, 30)
