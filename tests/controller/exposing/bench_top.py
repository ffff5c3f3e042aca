"""A world for tests that only does what it is told: presses at set times, and keeps a diary."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.events import Event
from controller.exposing.bench import Bench
from controller.exposing.foot import FootTimes
from controller.exposing.runner import Runner
from controller.exposing.told import Run
from controller.keeper import Keeper, OutputRule
from controller.plan import Plan
from controller.ports import Cue, Wants
from controller.virtual import VirtualUnit

RULES = (
    OutputRule("lamp", safe_lit=False, lamp=True, longest_ns=ns(180)),
    OutputRule("ceiling", safe_lit=True),
)


@dataclass
class ScriptedWorld:
    """Taps every prompt after ``tap_after_s`` unless it is None; presses are (s, down)."""

    tap_after_s: float | None = 1.3
    presses: Sequence[tuple[float, bool]] = ()
    switched: list[tuple[int, str, bool]] = field(default_factory=list)
    heard: list[tuple[int, Cue]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._coming: list[tuple[int, bool]] = [(ns(s), down) for s, down in self.presses]
        heapq.heapify(self._coming)

    def switch(self, now_ns: int, name: str, lit: bool) -> None:
        self.switched.append((now_ns, name, lit))

    def screen(self, now_ns: int, *, shown: bool) -> None:
        pass  # a screen gives no light here

    def hear(self, now_ns: int, cue: Cue) -> None:
        self.heard.append((now_ns, cue))
        if cue.wants in (Wants.CONFIRM, Wants.GO) and self.tap_after_s is not None:
            down_ns = now_ns + ns(self.tap_after_s)
            heapq.heappush(self._coming, (down_ns, True))
            heapq.heappush(self._coming, (down_ns + ns(0.2), False))

    def next_ns(self) -> int | None:
        return self._coming[0][0] if self._coming else None

    def act(self, now_ns: int) -> Sequence[bool]:
        edges = []
        while self._coming and self._coming[0][0] <= now_ns:
            edges.append(heapq.heappop(self._coming)[1])
        return edges

    def lamp_times(self) -> list[tuple[int, int]]:
        """Give each on-time of the lamp, from and to."""
        edges = [(t, lit) for t, name, lit in self.switched if name == "lamp"]
        assert [lit for _, lit in edges] == [True, False] * (len(edges) // 2)
        return [(a, b) for (a, _), (b, _) in zip(edges[::2], edges[1::2], strict=True)]

    def words(self) -> list[str]:
        return [cue.text for _, cue in self.heard if cue.text]


@dataclass
class Set:
    """A unit on the bench, and what it wrote down."""

    unit: VirtualUnit
    world: ScriptedWorld
    runner: Runner
    events: list[Event]


def set_up(
    plan: Plan,
    world: ScriptedWorld | None = None,
    *,
    lamp: Calibration = Calibration(),
    limits: LampLimits = LampLimits(),
    bench: Bench | None = None,
    mark: str = "",
) -> Set:
    world = world or ScriptedWorld()
    marks = (f"K{n}" for n in itertools.count(7))
    runner = Runner(
        Run("r1", plan, mark=mark),
        bench if bench is not None else Bench(),
        lamp=lamp,
        limits=limits,
        foot=FootTimes(),
        next_mark=lambda: next(marks),
    )
    events: list[Event] = []
    unit = VirtualUnit(runner, Keeper(RULES), world, record=events.append)
    return Set(unit, world, runner, events)


def run(plan: Plan, world: ScriptedWorld | None = None, **more: object) -> Set:
    made = set_up(plan, world, **more)  # type: ignore[arg-type]
    made.unit.run()
    return made
