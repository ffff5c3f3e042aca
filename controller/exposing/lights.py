"""Lights of the room and the screen, as a running plan has them: asked for and heard of.

Says what is to be told to keeper and screen, and what their answers mean; it waits for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable

from controller.enlarger.lamp import ns
from controller.exposing.bench import Bench
from controller.exposing.told import LowerCurtain
from controller.keeper import Edge, Put
from controller.plan import Curtain, Dwell, Lights


class LightsAndCurtain:
    """What is lit around the enlarger, and whether the screen is black."""

    def __init__(self, bench: Bench) -> None:
        self.curtain = False  # is the screen black, as far as was told?
        self._bench = bench
        self._wanted: dict[str, bool] = {}  # lights that have not answered yet

    @property
    def awaited(self) -> tuple[str, ...]:
        """Name the lights that have not answered yet."""
        return tuple(self._wanted)

    def ask(self, lights: Lights) -> list[Put]:
        """Ask for those lights that are not so yet."""
        now = self._bench.lit
        self._wanted = {n: lit for n, lit in lights.lit.items() if now.get(n) != lit}
        return [Put(name, lit) for name, lit in self._wanted.items()]

    def answered(self, edge: Edge) -> bool | None:
        """Take an edge; did the light do as it was asked? None where nothing was asked of it."""
        wanted = self._wanted.pop(edge.output, None)
        return None if wanted is None else edge.lit is wanted

    def ask_no_more(self) -> None:
        """Await no answer any more."""
        self._wanted = {}

    def settled_ns(self, lights: Lights) -> int:
        """When will the last of these lights have settled?"""
        changed = (self._bench.changed_ns.get(name, 0) for name in lights.lit)
        return max(changed, default=0) + ns(lights.settle_s)

    def lower(self, down: bool) -> LowerCurtain:
        """Ask for a black screen, which the screen itself confirms, or lift it."""
        if not down:
            self.curtain = False
        return LowerCurtain(down)

    def shine_on_paper(self, asked: Dwell, *, lit: bool) -> list[Put | LowerCurtain]:
        """Let the light of the room fall on paper, the screen's too if asked; or end it."""
        told: list[Put | LowerCurtain] = [Put(name, lit) for name in asked.lit]
        if asked.screen:
            self.curtain = not lit
            told.append(LowerCurtain(not lit))
        return told

    def tidy(self, after: Iterable[Curtain | Lights]) -> list[Put | LowerCurtain]:
        """Leave lights and screen as the plan wants them afterwards."""
        told: list[Put | LowerCurtain] = []
        for action in after:
            if isinstance(action, Lights):
                told += [Put(name, lit) for name, lit in action.lit.items()]
            else:
                self.curtain = action.down
                told.append(LowerCurtain(action.down))
        return told
