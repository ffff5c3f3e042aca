"""The engine's side that has to do with the room: paper, its tests, stray light, and the box.

It hears what the engine does and answers through the engine's own hands (``Hands``): what is to
be done goes the same way as what a runner asks for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from controller.desk.orders import OF_LIGHT, OF_PAPER, Order, Ordered
from controller.events import Fate
from controller.exposing.bench import Bench, PaperView, ProvingView
from controller.exposing.told import BoxIs, Input, Output, Run, Wish
from controller.keeper import Edge, Put
from controller.ports import Cue, Sound
from controller.rig.model import Rig
from controller.room.asking import CAUTION
from controller.room.model import Room
from controller.room.stray import Began
from controller.room.watch import Heard, ScreenIs
from drivers.clock import Clock
from drivers.desk_store import DeskStore
from drivers.engine_paper import EnginePaper
from drivers.engine_proving import EngineProving
from drivers.engine_stray import EngineStray


@dataclass(frozen=True)
class Hands:
    """What the engine does for its sides."""

    do: Callable[[Iterable[Output]], None]
    tell: Callable[[Cue], None]
    hear: Callable[[Input], None]
    dirty: Callable[[], None]  # there is something new to show


class EngineRoom:
    """Paper, tests of the room, stray light and the box, for one engine."""

    def __init__(
        self,
        rig: Rig,
        bench: Bench,
        store: DeskStore,
        hands: Hands,
        *,
        run: Path,
        room_file: Path,
        folder: Path,
        wake: Callable[[], None],
    ) -> None:
        self._bench = bench
        self._clock = Clock(rig.pace)
        self._hands = hands
        self._percent = 0  # of the brightest screen
        self._paper = EnginePaper(
            rig,
            store,
            room_file=room_file,
            folder=folder,
            now_ns=self._clock.now_ns(),
            outputs=bench.lit,
        )
        self._watch = self._paper.watch
        self.offers = EngineProving(
            rig, self._watch, store, room_file=room_file, changed=self._room_is
        )
        self._stray = EngineStray(rig, run, wake)
        bench.box_open = rig.box is not None  # until a switch tells: it may be unplugged

    # -- what happens ------------------------------------------------------------------------

    @property
    def notices(self) -> list[str]:
        """Give what could not be read at the start."""
        return [self._paper.notice] if self._paper.notice else []

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        return self._watch.next_ns

    def step(self, now_ns: int) -> None:
        """Take the time, and what sensors have seen."""
        due_ns = self.next_ns
        if due_ns is not None and now_ns >= due_ns:
            self._hands.do(self._paper.step(now_ns))
        self._take_stray()

    def edge(self, edge: Edge) -> None:
        """A light was switched."""
        self._hands.do(self._paper.step(edge.at_ns, edge))
        self._look_about()

    def hear(self, heard: Heard) -> None:
        """Let the watch over paper hear something."""
        self._hands.do(self._paper.step(self._clock.now_ns(), heard))
        self._look_about()
        self._hands.dirty()

    def box_is(self, heard: BoxIs) -> None:
        """The switch on the box has moved."""
        if heard.open is self._watch.box_open and heard.open is self._bench.box_open:
            return
        self._bench.box_open = heard.open
        self._hands.hear(heard)
        self.hear(heard)

    def screens_are(self, percent: int) -> None:
        """Take note of how bright the brightest screen is."""
        if percent != self._percent:
            self._percent = percent
            self.hear(ScreenIs(percent))

    def lights_anew(self) -> None:
        """Choose the lights once more, after something else has switched them."""
        self._hands.do(self._watch.lights_anew())

    def keeps_back(self, put: Put) -> bool:
        """Is this a light that a plan would bring back, and that its group leaves dark?"""
        return self._watch.keeps_back(put)

    def why_not_begin(self) -> str | None:
        """Say why nothing may be begun now."""
        return self._watch.why_not_begin()

    def over(self, run: Run, mark: str, fate: Fate | None) -> None:
        """Take note of a run that is over: a sheet that can be read waits for it."""
        self.offers.over(run, mark, fate)

    def views(self) -> tuple[PaperView, ProvingView]:
        """Show what sheets have had, and what is asked of the room."""
        return self._watch.view(), self.offers.view()

    def close(self) -> None:
        """Keep what sheets have had, and let go of the sensors."""
        self._paper.close(self._clock.now_ns())
        self._stray.close()

    # -- what is ordered -----------------------------------------------------------------------

    def takes(self, order: Order) -> bool:
        """Is this an order for here, whether or not a plan is running?"""
        return order in OF_PAPER or order in OF_LIGHT or order in (Order.READ_TEST, Order.LEAVE_OUT)

    def order(self, ordered: Ordered) -> str:
        """Carry out one that ``takes``; gives what is told. Raises BadInput."""
        if Order(ordered.order) is Order.READ_TEST:
            return self.offers.answer(ordered.choice)
        if Order(ordered.order) is Order.LEAVE_OUT:
            return self.offers.leave_out(ordered.choice)
        box_open = self._watch.box_open
        said, done = self._paper.order(self._clock.now_ns(), ordered)
        self._hands.do(done)
        if self._watch.box_open is not box_open:
            self._bench.box_open = self._watch.box_open
        self._hands.dirty()
        return said

    def test(self, choice: str) -> Run:
        """Make the run of a test of the room, and say its caution. Raises BadInput or Refused."""
        run = self.offers.run(choice)
        self._hands.tell(Cue(CAUTION))
        return run

    # -- inside ------------------------------------------------------------------------------

    def _room_is(self, room: Room) -> None:
        self._hands.do(self._paper.changed(self._clock.now_ns(), room))

    def _take_stray(self) -> None:
        """Tell stray light, write it down, and pause for it where the room is set so."""
        paper = self._watch.paper
        for seen in self._stray.take():
            self._hands.do(paper.note(seen.words))
            if isinstance(seen, Began):
                self._hands.tell(Cue(seen.words, Sound.ATTENTION))
                if paper.room.stray_light == "pause":
                    self._hands.hear(Wish.PAUSE)
        for sentence in self._stray.faults():
            self._hands.tell(Cue(sentence, Sound.ATTENTION))

    def _look_about(self) -> None:
        """Watch for stray light while paper is out, and know what belongs to the room."""
        lit = {name for name, state in self._bench.lit.items() if state is not False}
        screen = {"screen"} if self._percent else set()
        now_ns = self._clock.real_ns(self._clock.now_ns())  # sensors tell real time
        self._stray.switched(now_ns, frozenset(lit | screen))
        self._stray.turn(on=self._watch.paper.paper_out)
