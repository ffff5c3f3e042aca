"""The terminal's end of the unit: attaches without holding up the screen, hears, and speaks."""

from __future__ import annotations

import asyncio
import time
import uuid
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from controller.desk.orders import Ordered
from controller.events import RunBegun, RunEnded
from controller.exposing.bench import PaperView, ProvingView, State, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press, Run, Wish
from controller.ports import Cue, PortFault
from controller.trays.clock import TraysView
from drivers.clock import Clock
from drivers.engine_words import (
    Arrange,
    DeskIs,
    FromEngine,
    Hello,
    Please,
    Refusal,
    Shines,
    ToEngine,
)
from ui.attach import EngineClient, EngineFault, attach, connect
from ui.pedal_key import REPEAT_S, PedalKey

if TYPE_CHECKING:
    from controller.desk.desk import Desk
    from controller.plan import Plan
    from controller.score.model import Score
    from sim.sheet import DevelopedSheet
    from ui.imagined_hands import ImaginedHands
    from ui.unit import Unit

APART_S = REPEAT_S + 0.05  # taps that are made up for are this far apart, or as they were


class UnitLink:
    """What the terminal knows of the unit, kept up to date; ``changed`` is called after news.

    ``unit`` may be what loads it (``load``): that takes longer than a first picture may.
    ``lower`` is asked to make the screen black, or to lift the curtain.
    """

    def __init__(
        self,
        unit: Unit | Callable[[], Unit],
        *,
        changed: Callable[[FromEngine], None],
        lower: Callable[[bool], None],
        gone: Callable[[str], None],
    ) -> None:
        self._unit = unit
        self._changed = changed
        self._lower = lower
        self._gone = gone
        self._client: EngineClient | None = None
        self._begun: RunBegun | None = None  # what runs, or ran last
        self._hands: ImaginedHands | None = None
        self._early: list[FromEngine] = []  # what was heard before the unit was loaded
        self._late: deque[tuple[float, Callable[[], object]]] | None = deque()  # and when asked
        self._stranger = False  # the engine has another rig: only its curtain matters
        self.hello: Hello | None = None
        self.view = View()
        self.plan: Plan | None = None
        self.desk: Desk | None = None
        self.prints = 0  # how often another print was laid ready here
        self.cue = Cue()
        self.ended: RunEnded | None = None
        self.paper: PaperView | None = None
        self.proving = ProvingView()
        self.trays = TraysView()
        self.pedal = PedalKey(
            lambda down: self.send(Press(down)),
            lambda seconds, do: asyncio.get_running_loop().call_later(seconds, do),
            time.monotonic,
        )
        self.densities: dict[str, float] = {}  # of the last imagined strip, by letter
        self.imagined: dict[str, list[float]] = {}  # of calibration sheets, by mark

    @property
    def unit(self) -> Unit:
        """The unit; nobody may ask before it is loaded."""
        assert not callable(self._unit), "the unit is not loaded yet"
        return self._unit

    @property
    def clock(self) -> Clock:
        """The unit's time; the plain one while there is none."""
        return Clock(self.hello.pace) if self.hello else Clock()

    @property
    def loaded(self) -> bool:
        """Is it known which unit this is?"""
        return not callable(self._unit)

    @property
    def attached(self) -> bool:
        """Is there an engine that hears?"""
        return self._client is not None

    @property
    def running(self) -> bool:
        """Is a plan being carried out?"""
        return self.plan is not None and self.ended is None

    async def find(self, run: Path) -> None:
        """Attach to an engine that runs already, before anything else is loaded.

        Paper may be out: from now on this screen goes black when it is asked to.
        """
        self._run = run
        self._hear_from(await asyncio.to_thread(connect, run, screen=True))

    async def load(self) -> None:
        """Load the unit, and what its words need, beside the screen. Raises BadInput."""
        if callable(self._unit):
            self._unit = await asyncio.to_thread(_loaded, self._unit)

    async def attach(self, run: Path) -> None:
        """Attach to the unit's engine, starting one if need be. Raises EngineFault."""
        self._run = run
        unit, found = self.unit, self._client
        digest = unit.rig.digest()
        if found is None or found.hello.digest != digest:
            self._let_go()
            self._early.clear()
            try:
                client = await asyncio.to_thread(
                    attach, run, unit.asked, unit.settings, digest, screen=True, found=found
                )
            except EngineFault:
                if found is not None and found.fileno() >= 0:
                    self._stranger = True
                    self._hear_from(found)
                raise
            self._hear_from(client)
        self.hello = self._client.hello if self._client else None

    async def find_again(self) -> bool:
        """Attach to an engine that was brought since the last one ended; False where none runs.

        None is started from here: whoever brought the first, a service manager or a command, brings
        the next, and one that nobody asked for would stand in its way. What was asked for meanwhile
        is forgotten, so that no light follows from it. An engine with another rig is heard for its
        curtain alone.
        """
        client = await asyncio.to_thread(connect, self._run, screen=True)
        if client is None:
            return False
        self.view, self.plan, self.ended = View(), None, None
        self._stranger = client.hello.digest != self.unit.rig.digest()
        self.hello = None if self._stranger else client.hello
        self._hear_from(client)
        self.listen()
        return True

    @property
    def stranger(self) -> bool:
        """Has the engine that is heard another rig than this screen?"""
        return self._stranger

    def begin(self) -> None:
        """Take what was heard meanwhile, and do what was asked for meanwhile."""
        early, self._early = self._early, []
        for message in early:
            self._news(message)
        self.listen()
        self._do_late()

    def give_up(self) -> None:
        """There will be no unit: nothing waits for it any more."""
        self._late = None
        if not self._stranger:
            self.close()

    def _do_late(self) -> None:
        if not self._late:
            self._late = None
            return
        asked_s, do = self._late.popleft()
        do()
        # taps keep apart as they were: two of them are not one
        gap_s = min(APART_S, self._late[0][0] - asked_s) if self._late else APART_S
        asyncio.get_running_loop().call_later(gap_s, self._do_late)

    def close(self) -> None:
        """Leave; the unit goes on."""
        client = self._let_go()
        if client is not None:
            client.close()

    def _hear_from(self, client: EngineClient | None) -> None:
        self._client = client
        if client is not None:
            asyncio.get_running_loop().add_reader(client.fileno(), self.listen)

    def _let_go(self) -> EngineClient | None:
        client, self._client = self._client, None
        if client is not None:
            asyncio.get_running_loop().remove_reader(client.fileno())
        return client

    def when_there(self, do: Callable[[], object]) -> None:
        """Do something now, or as soon as the unit is there; a press is not to be lost."""
        if self._late is None:
            do()
        else:
            self._late.append((time.monotonic(), do))

    def send(self, message: ToEngine) -> None:
        """Tell the engine something, as soon as there is one; nothing happens when it has gone."""
        if isinstance(message, CurtainIs):
            self._tell(message)  # an answer to one that is there
        elif not self._stranger:
            self.when_there(lambda: self._tell(message))

    def _tell(self, message: ToEngine) -> None:
        if self._client is not None:
            self._client.send(message)

    # -- the foot, and wishes ----------------------------------------------------------------

    def wish(self, wish: Wish) -> None:
        """Ask for something without a pedal."""
        self.send(Please(wish.value))

    def shines(self, percent: int) -> None:
        """Tell how bright this screen is: paper can see it."""
        self.send(Shines(percent))

    def order(self, order: str, choice: str = "") -> None:
        """Order something from the desk."""
        self.send(Ordered(order, choice))

    def run(self, plan: Plan, spec: str) -> None:
        """Have a plan carried out that is not on the desk."""
        self.send(Run(uuid.uuid4().hex, plan, spec, self.unit.rig.name))

    def arrange(self, desk: Desk) -> None:
        """Lay something else ready."""
        self.desk = desk
        self.send(Arrange(desk.model_dump_json()))

    def lay_print(
        self, score: Score | None, kept_as: str = "", *, sheets: int = 1, edition: str = ""
    ) -> None:
        """Lay another print ready, or none; what was typed for the one before goes with it.

        ``edition`` is the one that its sheets are for.
        """
        if self.desk is None:
            return
        self.prints += 1
        update: dict[str, object] = {"score": score, "kept_as": kept_as, "sheets": sheets}
        update["edition"] = edition
        if score is not None:
            update["judged"] = score.judged
        self.arrange(self.desk.model_copy(update=update))

    # -- hearing -----------------------------------------------------------------------------

    def listen(self) -> None:
        """Take everything that the engine said."""
        if self._client is None:
            return
        for message in self._client.receive():
            if isinstance(message, LowerCurtain) or self.hello is not None:
                self._news(message)
            elif not self._stranger:
                self._early.append(message)
        if self._client is not None and self._client.closed:
            self.close()
            if self.hello is None and not self._stranger:
                return  # one that ends before it is known whose it is: another will be found
            self._gone("the unit has ended; its lamp is off. What was done is in the book")

    def _news(self, message: FromEngine) -> None:
        self._take(message)
        self._changed(message)

    def _take(self, message: FromEngine) -> None:
        if self._hands:
            self._hands.hear(message)
        match message:
            case View():
                self.view = message
            case PaperView():
                self.paper = message
            case ProvingView():
                self.proving = message
            case TraysView():
                self.trays = message
            case Cue(text=text) if text:
                self.cue = message
            case DeskIs(desk=desk):
                from controller.desk.desk import Desk

                self.desk = Desk.model_validate_json(desk)
            case LowerCurtain(down=down):
                self._lower(down)
            case RunBegun(plan=plan):
                from controller.plan import Plan

                self.plan = Plan.from_json(plan)
                self.ended = None
                self.densities = {}
                self._begun = message
                self._imagine(message)
            case RunEnded():
                self.ended = message
                self._develop()
            case Refusal(why=why):
                self.cue = Cue(why)
            case _:
                pass

    # -- an imagined room --------------------------------------------------------------------

    def _imagine(self, begun: RunBegun) -> None:
        """On an imagined rig the hands do as they are told; the foot is the terminal's."""
        if not self.unit.imagined or self.plan is None:
            return
        from controller.exposing.told import Run
        from ui.imagined_hands import ImaginedHands

        run = Run(begun.record_id, self.plan, begun.spec)
        self._hands = ImaginedHands(self.unit, run, self._run / "wire", by_hand=True)

    def _develop(self) -> None:
        if self._hands is None or self._begun is None:
            return
        hands, self._hands = self._hands, None
        self._developing = asyncio.create_task(self._in_the_tray(hands, self._begun))

    async def _in_the_tray(self, hands: ImaginedHands, begun: RunBegun) -> None:
        # in a thread: what it loads would hold up the screen for a second
        sheets = await asyncio.to_thread(hands.develop)
        if sheets:
            self.imagined |= await asyncio.to_thread(_read, begun, sheets)
            self.densities = {patch.letter: patch.density for patch in sheets[-1].patches}
            self._changed(self.view)


def _loaded(unit: Callable[[], Unit]) -> Unit:
    """Load a unit, in a thread; the desk too, of which its engine will tell."""
    import controller.desk.desk  # noqa: F401 - on the screen's thread it would hold up the screen

    return unit()


def _read(begun: RunBegun, sheets: Sequence[DevelopedSheet]) -> dict[str, list[float]]:
    """Give what the patches of calibration sheets became, by mark; a print's tones go to the book.

    What cannot be kept is not: the imagined paper tells more than any printer is told.
    """
    from controller.boxes.sheet import KIND, PaperSheet
    from controller.errors import DrysideError
    from ui.exposing import keep_imagined_tones
    from ui.read_sheet import on_paper
    from ui.unit import open_book

    if begun.kind == KIND:
        count = len(PaperSheet.model_validate_json(begun.spec).labels())
        return {sheet.mark: on_paper(sheet, count) for sheet in sheets}
    if begun.kind == "print":
        with suppress(DrysideError, PortFault), open_book() as book:
            page = book.record(begun.record_id)
            if page is not None:
                keep_imagined_tones(book, page, begun.spec, sheets)
    return {}


def seconds_left(view: View, now_ns: int) -> float | None:
    """Give what a screen counts down to, in seconds; None where nothing is counted."""
    if view.state in (State.LIT, State.LEAD_IN, State.GAP) and view.until_ns is not None:
        return max(0.0, (view.until_ns - now_ns) / 1e9)
    if view.state is State.PAUSED:
        return view.left_s
    return None
