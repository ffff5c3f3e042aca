"""The imagined printer beside a real engine: a client that hears what terminals hear."""

from __future__ import annotations

from pathlib import Path

from controller.exposing.bench import View
from controller.exposing.told import Press, Run
from controller.ports import Cue
from drivers.clock import Clock
from drivers.engine_words import FromEngine
from sim.hands import Done, Operator
from sim.replay import read_wire, replay
from sim.room_settings import SCREEN
from sim.sheet import DevelopedSheet
from sim.world import Switched
from ui.attach import EngineClient
from ui.simulator import simulator_of
from ui.unit import Unit


class ImaginedHands:
    """The imagined printer beside a real engine; keeps what was done."""

    def __init__(self, unit: Unit, run: Run, wire: Path, *, by_hand: bool) -> None:
        self._settings = simulator_of(unit, run)
        self._wire = wire
        self._clock = Clock(unit.rig.pace)
        self._operator: Operator | None = None
        self.done: list[Done] = []
        self._stood = False  # is it known what stood at the enlarger before?
        self._screen: list[Switched] = []  # the unit's own screen is a light as well
        if not by_hand:
            hands = self._settings.hands.where_time_runs(unit.rig.pace)
            self._operator = Operator(hands, seed=self._settings.seed)

    @property
    def due_s(self) -> float:
        """How long until the printer does something by itself."""
        next_ns = self._operator.next_ns() if self._operator else None
        return 0.1 if next_ns is None else self._clock.left_s(next_ns)

    def hear(self, message: FromEngine) -> None:
        """Hear what the engine tells."""
        now_ns = self._clock.now_ns()
        if isinstance(message, Cue):
            if self._operator:
                self._operator.hear(now_ns, message)
            elif message.hands is not None:  # somebody else presses; the hands do as told
                self.done.append(Done(now_ns, message.hands))
        elif isinstance(message, View):
            self._stand(now_ns, message)
            if not self._screen or self._screen[-1].lit == message.curtain:
                self._screen.append(Switched(now_ns, SCREEN, not message.curtain))
            if self._operator:
                self._operator.saw(now_ns, "lamp", bool(message.lit.get("lamp")))

    def _stand(self, now_ns: int, view: View) -> None:
        """Take over what stands at the enlarger from a run before: nobody asks for it again."""
        if self._stood or not view.standing:  # an idle unit tells nothing of it
            return
        self._stood = True
        first_ns = min(now_ns, self.done[0].at_ns) if self.done else now_ns
        self.done[:0] = [Done(first_ns, hands) for hands in view.standing]

    def act(self, client: EngineClient) -> None:
        """Do what is due."""
        if self._operator is None:
            return
        for happening in self._operator.act(self._clock.now_ns()):
            if isinstance(happening, Done):
                self.done.append(happening)
            else:
                client.send(Press(happening.down))

    def develop(self) -> list[DevelopedSheet]:
        """Develop what the edges and the hands made."""
        at_ns = self._clock.at_ns
        wire = [edge._replace(at_ns=at_ns(edge.at_ns)) for edge in read_wire(self._wire)]
        edges = [*wire, *self._screen]
        since_ns = self.done[0].at_ns if self.done else 0
        return replay(
            self._settings,
            [edge for edge in edges if edge.at_ns >= since_ns],
            self.done,
            lit={edge.output: edge.lit for edge in edges if edge.at_ns < since_ns},
        )
