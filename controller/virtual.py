"""The whole unit in virtual time: runner and keeper around an imagined world, in one process.

Time is only counted: an hour passes in milliseconds. The cores are the same ones that the real
processes carry, and neither knows the difference.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from controller.events import Event, Intended
from controller.exposing.foot import Contact
from controller.exposing.runner import Runner
from controller.exposing.told import (
    BoxIs,
    CurtainIs,
    Input,
    LowerCurtain,
    Noted,
    Output,
    PedalGone,
    Press,
    Wish,
)
from controller.keeper import AllSafe, Beat, Cut, Edge, Ended, Keeper, Pulse, Put, Refused, Step
from controller.ports import Cue, Eye, NewSheet, Reading, World
from controller.room.room_watch import RoomWatch
from controller.room.watch import Heard
from controller.trays.clock import Through
from controller.trays.side import WetSide

AFTERGLOW_NS = 2_000_000_000


class VirtualUnit:
    """One run in virtual time, from ``now_ns`` on.

    ``record`` keeps each event (and has kept it when it returns); ``tell`` is given each cue
    for a screen or a log. ``watch`` counts what paper has of its safe time. ``eye`` is a sensor
    that sees the lamp: it looks while the lamp is lit and for ``AFTERGLOW_NS`` after that.
    ``wet`` are the trays; the runner should ask them (``WetSide.wait_s``).
    """

    def __init__(
        self,
        runner: Runner,
        keeper: Keeper,
        world: World,
        *,
        record: Callable[[Event], None],
        tell: Callable[[Cue], None] = lambda _cue: None,
        bounce_s: float = 0.02,
        now_ns: int = 0,
        watch: RoomWatch | None = None,
        eye: Eye | None = None,
        saw: Callable[[Reading], None] = lambda _reading: None,
        wet: WetSide | None = None,
    ) -> None:
        self.runner = runner
        self.now_ns = now_ns
        self._keeper = keeper
        self._world = world
        self._record = record
        self._tell = tell
        self._contact = Contact(bounce_s)
        self._watch = watch
        self._eye = eye
        self._saw = saw
        self._wet = wet
        self.through: list[Through] = []  # what came out of the trays
        self._eye_ns: int | None = None  # when it looks next
        self._pulse_lit = False
        self._eye_until_ns = now_ns
        self._keeper_ns: int | None = None
        self._inbox: deque[Input | None] = deque()
        self._busy = False
        runner.bench.lit.update(keeper.lit)
        self._hear(None)

    @property
    def next_ns(self) -> int | None:
        """When something happens next; None: never, unless a pedal is pressed."""
        times = [self._keeper_ns, self.runner.next_ns, self._world.next_ns(), self._contact.next_ns]
        times += [self._watch.next_ns if self._watch else None, self._eye_ns]
        times.append(self._wet.next_ns if self._wet else None)
        return min((t for t in times if t is not None), default=None)

    def run(self) -> None:
        """Go on until the plan is over, or nobody will ever do anything any more."""
        while not self.runner.over:
            next_ns = self.next_ns
            if next_ns is None:
                return
            self.run_until(next_ns)

    def run_until(self, until_ns: int) -> None:
        """Let everything happen that is due by then, and set the time to it."""
        while not self.runner.over:
            next_ns = self.next_ns
            if next_ns is None or next_ns > until_ns:
                break
            self.now_ns = max(self.now_ns, next_ns)
            self._step()
        self.now_ns = max(self.now_ns, until_ns)

    def look_on(self) -> None:
        """Let the eye see the lamp's afterglow, when all else is over."""
        while self._eye and self._eye_ns is not None:
            self.now_ns = max(self.now_ns, self._eye_ns)
            self._look(self._eye)

    def go_on_to_trays(self) -> list[tuple[int, Cue]]:
        """Let what was exposed go through its trays, when the plan is over; gives what is said."""
        said: list[tuple[int, Cue]] = []
        while self._wet and self._wet.next_ns is not None:
            self.now_ns = max(self.now_ns, self._wet.next_ns)
            said += [(self.now_ns, cue) for cue in self._tend_trays(self._wet)]
        self.through = self._wet.through() if self._wet else []
        for sheet in self.through:
            if sheet.remark:
                self._record(sheet.remark)
        return said

    def press(self, down: bool) -> None:
        """Let the pedal go down or come up now."""
        self._pedal(self._contact.edge(self.now_ns, down))

    def wish(self, wish: Wish) -> None:
        """Ask for something without a pedal."""
        self._hear(wish)

    def pedal_gone(self, *, last: bool = True) -> None:
        """The world's pedal is unplugged; ``last``: no other can stop light."""
        self._hear(PedalGone(self._contact.gone(), last))

    def box_is(self, heard: BoxIs) -> None:
        """Let the box of paper be opened or shut now."""
        self.runner.bench.box_open = heard.open
        self._hear(heard)
        self._watched(heard)

    # -- inside ------------------------------------------------------------------------------

    def _step(self) -> None:
        if self._keeper_ns is not None and self.now_ns >= self._keeper_ns:
            # a heartbeat whenever the keeper would else have missed one: none is ever late here
            self._keep(self._keeper.step(self.now_ns, Beat(self.now_ns)))
        self._pedal(self._contact.settle(self.now_ns))
        world_ns = self._world.next_ns()
        if world_ns is not None and self.now_ns >= world_ns:
            for down in self._world.act(self.now_ns):
                self._pedal(self._contact.edge(self.now_ns, down))
        watch_ns = self._watch.next_ns if self._watch else None
        if watch_ns is not None and self.now_ns >= watch_ns:
            self._watched(None)
        if self._eye and self._eye_ns is not None and self.now_ns >= self._eye_ns:
            self._look(self._eye)
        if self._wet and self._wet.next_ns is not None and self.now_ns >= self._wet.next_ns:
            self._tend_trays(self._wet)
        runner_ns = self.runner.next_ns
        if runner_ns is not None and self.now_ns >= runner_ns:
            self._hear(None)

    def _tend_trays(self, wet: WetSide) -> list[Cue]:
        said = wet.step(self.now_ns)
        for cue in said:
            self._do(cue)
        return said

    def _look(self, eye: Eye) -> None:
        looks_on = self._pulse_lit or self.now_ns < self._eye_until_ns
        self._eye_ns = self.now_ns + eye.every_ns if looks_on else None
        reading = eye.look(self.now_ns)
        if reading is not None:
            self._saw(reading)
            self._hear(reading)

    def _pedal(self, down: bool | None) -> None:
        if down is not None:
            self._hear(Press(down))

    def _hear(self, heard: Input | None) -> None:
        """Let the runner hear it, after all that it has asked for already has been done."""
        self._inbox.append(heard)
        if self._busy:
            return
        self._busy = True
        try:
            while self._inbox:
                for output in self.runner.step(self.now_ns, self._inbox.popleft()):
                    self._do(output)
        finally:
            self._busy = False

    def _do(self, output: Output) -> None:
        match output:
            case Cue():
                self._world.hear(self.now_ns, output)
                self._tell(output)
                if isinstance(output.hands, NewSheet):
                    self._watched(output)
            case Put() if self._watch and self._watch.keeps_back(output):
                pass
            case Pulse():
                if self._eye:
                    self._pulse_lit, self._eye_ns = True, self.now_ns
                self._keep(self._keeper.step(self.now_ns, Beat(self.now_ns)))
                self._keep(self._keeper.step(self.now_ns, output))
            case Beat() | Cut() | Put() | AllSafe():
                self._keep(self._keeper.step(self.now_ns, output))
            case LowerCurtain():
                self._world.screen(self.now_ns, shown=not output.down)
                self._hear(CurtainIs(output.down))
            case Intended():
                self._record(output)
                self._hear(Noted(output.number))
            case _:
                self._record(output)
                self._watched(output)
                for cue in self._wet.hear(self.now_ns, output) if self._wet else ():
                    self._do(cue)

    def _watched(self, heard: Heard | None) -> None:
        """Let the watch over paper hear it, and do what follows."""
        if self._watch is not None:
            for output in self._watch.step(self.now_ns, heard):
                self._do(output)

    def _keep(self, step: Step) -> None:
        self._keeper_ns = step.next_ns
        for reply in step.replies:
            if isinstance(reply, Ended | Refused):
                self._pulse_lit, self._eye_until_ns = False, self.now_ns + AFTERGLOW_NS
            if isinstance(reply, Edge):
                self._watched(reply)
            self._hear(reply)
        for write in step.writes:
            self._world.switch(self.now_ns, write.output, write.lit)
            self._keep(self._keeper.wrote(self.now_ns, write))
