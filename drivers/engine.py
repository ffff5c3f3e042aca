"""The engine: the unit without a screen; ``drivers.engine_process`` runs it.

It holds the runner, the pedals, the sounder and the book's writer, starts the keeper and
watches over it. Terminals and commands are clients that come and go: none of them can cost an
exposure. The loop itself beats for the keeper: if it ever hangs, the lamp goes off.
"""

from __future__ import annotations

import contextlib
import gc
import os
import selectors
from collections import deque
from collections.abc import Iterable
from pathlib import Path
from time import time_ns

from controller.desk.menu import Said
from controller.desk.orders import Order, Ordered
from controller.enlarger.rests import Rests
from controller.errors import DrysideError
from controller.events import Event, Intended, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.exposing.bench import Bench, State, View
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
    Run,
    Wish,
)
from controller.keeper import AllSafe, Beat, Cut, Edge, Ended, Pulse, Put, Refused, Reply
from controller.ports import Cue, NewSheet, Sound, Sounder
from controller.rig.model import Rig
from drivers.book_writer import BookWriter
from drivers.clock import Clock
from drivers.desk_store import DeskStore
from drivers.engine_clients import Clients
from drivers.engine_counters import EngineCounters
from drivers.engine_desk import EngineDesk
from drivers.engine_keeper import Change, EngineKeeper, Taken
from drivers.engine_pedals import Back, EnginePedals, Gone, Moved
from drivers.engine_room import EngineRoom, Hands
from drivers.engine_senses import Senses
from drivers.engine_trays import EngineTrays
from drivers.engine_words import (
    ENGINE_SOCKET,
    Arrange,
    Attach,
    DeskIs,
    Hello,
    Leave,
    OfTrays,
    Play,
    Please,
    Refusal,
    Say,
    Shines,
    Talk,
    ToEngine,
)
from drivers.found import BOX, find_sounder
from drivers.service.notify import ServiceManager
from drivers.talk import TalkingBook

ALONE = (
    "no service manager stands behind this unit: if all of it is killed at once, a line keeps its "
    "level (dtparam=strict_gpiod in config.txt, and a pull resistor at the relay, help)"
)
KEPT = (
    "the unit that starts by itself keeps its rig; for another one stop it first "
    "(systemctl stop dryside), or set DRYSIDE_HOME to a folder of its own"
)


class Engine:
    """The loop and what it holds."""

    def __init__(
        self, rig: Rig, *, run: Path, book: Path, room: Path, linger_s: float | None
    ) -> None:
        self._rig = rig
        self._clock = clock = Clock(rig.pace)
        self._manager = ServiceManager.of(os.environ, os.getpid())
        self._run = run
        self._linger_ns = None if linger_s is None else clock.at_ns(int(linger_s * 1e9))
        self._runner: Runner | None = None
        self._inbox: deque[Input | None] = deque()
        self._busy = False
        # numbers that no earlier engine gave to a pulse: the journal is matched by them
        self._bench = Bench(pulses=time_ns() // 1_000_000)
        self._wake_r, self._wake_w = os.pipe()
        os.set_blocking(self._wake_r, False)
        os.set_blocking(self._wake_w, False)
        self._ending = False
        self._over_told = True
        self._begun: RunBegun | None = None
        self._notes: list[str] = []
        self._alone_ns: int | None = self._clock.now_ns()
        self._selector = selectors.DefaultSelector()
        self._clients = Clients(run / ENGINE_SOCKET, self._selector)
        self._selector.register(self._wake_r, selectors.EVENT_READ)
        self._writer = BookWriter(book, run, self._wake)
        self._writer.start()
        self._rests = Rests(rig.least_off_ns())
        self._store = DeskStore(book.parent, self._wake)
        self._desk = EngineDesk(rig, self._writer, self._store)
        self._notes += [self._desk.notice] if self._desk.notice else []
        self._sounder: Sounder = find_sounder(rig.sounder.driver).open(rig.sounder_options())
        self._senses = Senses(rig, run, self._wake)
        self._notes += [self._senses.notice] if self._senses.notice else []
        self._keeper = EngineKeeper(rig, clock, self._selector, run=run)
        self._notes += self._keeper.notes
        if not rig.imagined and not self._manager.listens:
            self._notes.append(ALONE)
        self._bench.lit.update({rule.name: rule.safe_lit for rule in rig.rules()})
        self._counters = EngineCounters(
            rig, self._store, book.parent, now_ns=self._clock.now_ns(), lit=self._bench.lit
        )
        self._notes += self._counters.notes
        self._room = EngineRoom(
            rig,
            self._bench,
            self._store,
            Hands(self._do_all, self._tell, self._hear, self._clients.make_dirty),
            run=run,
            room_file=room,
            folder=book.parent,
            wake=self._wake,
        )
        self._notes += self._room.notices
        self._pedals = EnginePedals(rig, self._wake)
        self._trays = EngineTrays(
            rig, self._writer, self._store, folder=book.parent, wake=self._wake
        )
        self._start_lights()
        self._pedals.open()
        self._talk = TalkingBook.of(rig, run, book.parent)  # last: the keeper comes first

    # -- beginning and end -------------------------------------------------------------------

    def _start_lights(self) -> None:
        for name, lit in self._rig.lights_at_start().items():
            if self._bench.lit.get(name) != lit:
                self._keeper.send(Put(name, lit))
        self._room.lights_anew()

    def _wake(self) -> None:
        with contextlib.suppress(BlockingIOError):
            os.write(self._wake_w, b"\0")

    def end(self, *_: object) -> None:
        """End as soon as the loop comes round (a signal handler too)."""
        self._ending = True
        self._wake()

    def close(self) -> None:
        """Lamp off, outputs as they are to be left, everything let go."""
        now_ns = self._clock.now_ns()
        self._manager.stopping()
        if self._at_work:
            self._keeper.send(AllSafe())
            self._take(self._keeper.take(now_ns))
        for name, lit in self._rig.lights_at_stop().items():
            self._keeper.send(Put(name, lit))
        self._keeper.close()
        self._pedals.close()
        self._talk.close()
        self._senses.close()
        self._sounder.close()
        self._clients.close()
        self._room.close()
        for remark in self._trays.close(self._clock.now_ns()):
            self._writer.write(remark)
        self._counters.close(self._clock.now_ns())
        self._store.close()
        self._writer.close()
        self._manager.close()

    # -- the loop ----------------------------------------------------------------------------

    def run(self) -> None:
        """Go round until asked to end, or alone for long enough."""
        self._manager.ready()  # the keeper holds the lines since the beginning
        while not self._ending:
            now_ns = self._clock.now_ns()
            self._manager.alive(self._clock.real_ns(now_ns))
            self._keeper.beat(now_ns)
            self._take(self._keeper.take(now_ns))
            self._take_pedals(now_ns)
            self._take_book()
            self._take_clients()
            self._take_time()
            self._show()
            if self._left_alone(now_ns):
                return
            self._wait()

    @property
    def _at_work(self) -> bool:
        return self._runner is not None and not self._runner.over

    def _take_time(self) -> None:
        for reading in self._senses.readings():
            self._hear(reading)
        now_ns = self._clock.now_ns()
        due_ns = self._runner.next_ns if self._runner else None
        if due_ns is not None and now_ns >= due_ns:
            self._hear(None)
        self._take(self._keeper.try_again(now_ns))
        for put in self._rests.due(now_ns):
            self._keeper.send(put)
        self._room.step(now_ns)
        self._do_all(self._trays.step(now_ns))
        due_ns = self._desk.next_ns
        if due_ns is not None and now_ns >= due_ns:
            self._menu(self._desk.step(now_ns, self._room.offers))

    def _wait(self) -> None:
        times = [self._keeper.next_ns]
        if self._runner and self._runner.next_ns is not None:
            times.append(self._runner.next_ns)
        more = (
            self._desk.next_ns,
            self._rests.next_ns,
            self._room.next_ns,
            self._trays.next_ns,
        )
        times += [t for t in more if t is not None]
        bounce_ns = self._pedals.next_ns  # contacts bounce in real time
        if bounce_ns is not None:
            times.append(self._clock.at_ns(bounce_ns))
        for key, _ in self._selector.select(self._clock.left_s(min(times))):
            if key.fd == self._wake_r:
                with contextlib.suppress(BlockingIOError):
                    os.read(self._wake_r, 4096)

    def _left_alone(self, now_ns: int) -> bool:
        if self._linger_ns is None:
            return False
        # with neither client nor pedal nobody can ever answer a prompt; light is never cut short
        served = self._at_work and (self._pedals or self._lamp_is_lit)
        if self._clients or served or self._trays.is_busy:
            self._alone_ns = None
            return False
        if self._alone_ns is None:
            self._alone_ns = now_ns
        return now_ns - self._alone_ns > self._linger_ns

    @property
    def _lamp_is_lit(self) -> bool:
        # unknown counts as lit
        return any(self._bench.lit.get(r.name) is not False for r in self._rig.rules() if r.lamp)

    # -- keeper ------------------------------------------------------------------------------

    def _take(self, taken: Iterable[Taken]) -> None:
        """Do what the keeper's news lead to, one by one."""
        for each in taken:
            match each:
                case Cue():
                    self._tell(each)
                case Change.LOST:
                    self._disturb(lit=False)
                case Change.NEW:
                    self._start_lights()
                case _:
                    self._reply(each)

    def _reply(self, reply: Reply) -> None:
        if isinstance(reply, Edge):
            self._warn_of_unknown(reply)
            self._bench.lit[reply.output] = reply.lit
            self._clients.dirty = True
            self._rests.edge(reply)
            self._counters.edge(reply)
            self._room.edge(reply)
        if isinstance(reply, Ended | Refused):
            self._disturb(lit=False)
        if isinstance(reply, Input.__args__):
            self._hear(reply)

    def _warn_of_unknown(self, edge: Edge) -> None:
        """Say it once when a lamp is no longer known to be dark, such as when a cable is pulled."""
        if edge.lit is None and self._bench.lit.get(edge.output, False) is not None:
            lamps = [rule.name for rule in self._rig.rules() if rule.lamp]
            if edge.output in lamps:
                words = "is not known to be off: look at it, and use the switch in its lead"
                self._tell(Cue(f"{edge.output} {words}", Sound.FAULT))

    # -- runner ------------------------------------------------------------------------------

    def _hear(self, heard: Input | None) -> None:
        """Let the runner hear it, after all that it has asked for already has been done."""
        if self._runner is None:
            return
        self._inbox.append(heard)
        if self._busy:
            return
        self._busy = True
        try:
            while self._inbox and self._runner is not None:
                for output in self._runner.step(self._clock.now_ns(), self._inbox.popleft()):
                    self._do(output)
        finally:
            self._busy = False
        self._clients.dirty = True
        if self._runner and self._runner.over and not self._over_told:
            self._over_told = True
            run, mark = self._runner.run, self._runner.view().mark
            self._desk.over(run, mark, self._runner.number, self._runner.fate)
            self._room.over(run, mark, self._runner.fate)
            self._clients.say(self._desk_is())
            self._clients.say(self._room.views()[1])

    def _do(self, output: Output) -> None:
        match output:
            case Cue():
                self._tell(output)
                if isinstance(output.hands, NewSheet):
                    self._room.hear(output)
            case Put() if self._room.keeps_back(output):
                pass
            case Pulse():
                self._disturb(lit=True)
                self._keeper.send(output)
            case Put():
                allowed = self._rests.ask(self._clock.now_ns(), output)
                if allowed:
                    self._keeper.send(allowed)
            case Beat() | Cut() | AllSafe():
                self._keeper.send(output)
            case LowerCurtain():
                if not self._clients.lower(output.down):
                    self._hear(CurtainIs(output.down))
            case _:
                self._record(output)

    def _disturb(self, *, lit: bool) -> None:
        """While the lamp is lit neither the collector nor the disk may hold up a pause."""
        self._store.hold(lit=lit)
        self._senses.lit(lit=lit)
        self._trays.lit(lit=lit)
        if lit:
            gc.disable()
        else:
            gc.enable()

    def _do_all(self, outputs: Iterable[Output]) -> None:
        for output in outputs:
            self._do(output)

    def _record(self, event: Event) -> None:
        self._writer.write(event)
        self._do_all(self._trays.hear(self._clock.now_ns(), event))
        if isinstance(event, RunBegun | SheetBegun | SheetEnded | RunEnded):
            self._room.hear(event)
        if isinstance(event, RunBegun):
            self._begun = event
        if not isinstance(event, Intended):
            self._clients.say(event)

    def _tell(self, cue: Cue) -> None:
        self._talk.under(cue)
        if cue.sound is not None:
            self._sounder.play(cue.sound)
        if cue.text:
            self._sounder.say(cue.text)
        self._clients.say(cue)

    def _begin(self, run: Run) -> str | None:
        """Begin a plan; gives the sentence if that can't be."""
        if self._at_work:
            return "a plan is running already: `dryside` shows it, `dryside abandon` ends it"
        why = self._room.why_not_begin()
        if why is not None:
            return why
        unknown = {e.output for _, e in run.plan.exposures()} - set(self._bench.lit)
        if unknown:
            return f"the rig has no output {', '.join(sorted(unknown))}"
        self._runner = Runner(
            run,
            self._bench,
            lamp=self._rig.calibration(),
            limits=self._rig.limits(),
            foot=self._rig.foot_times(self._clock.pace),
            next_mark=self._writer.next_mark,
            foot_down=self._pedals.foot_down,
            seen=self._senses.seen,
            wait_s=self._trays.wait_s,
        )
        self._over_told = False
        gc.collect()
        gc.freeze()
        self._hear(None)
        return None

    # -- the desk ----------------------------------------------------------------------------

    def _desk_is(self) -> DeskIs:
        return DeskIs(self._desk.desk.model_dump_json())

    def _menu(self, said: list[Said]) -> None:
        for each in said:
            if isinstance(each, Cue):
                self._tell(each)
            else:
                why = self._order(each)
                if why:
                    self._tell(Cue(why, Sound.ATTENTION))

    def _order(self, ordered: Ordered) -> str | None:
        """Carry an order out; gives the sentence if that can't be."""
        order = Order(ordered.order)
        if self._room.takes(order):
            return self._order_of_room(ordered)
        if self._at_work:
            return "a plan is running already: `dryside` shows it, `dryside abandon` ends it"
        try:
            if order is Order.ROOM_TEST:
                return self._begin(self._room.test(ordered.choice))
            done = self._desk.order(ordered)
        except (DrysideError, ValueError) as error:
            return str(error)
        if isinstance(done, Run):
            return self._begin(done)
        self._tell(Cue(done, Sound.END))
        self._clients.say(self._desk_is())
        return None

    def _order_of_room(self, ordered: Ordered) -> str | None:
        try:
            said = self._room.order(ordered)
        except DrysideError as error:
            return str(error).rstrip(".")
        self._tell(Cue(said, Sound.END))
        self._clients.say(self._room.views()[1])
        if Order(ordered.order) is Order.READ_TEST:  # the next question is put at once
            self._menu(self._desk.offer(self._clock.now_ns(), self._room.offers, Order.READ_TEST))
        return None

    # -- pedals, book, clients -----------------------------------------------------------------

    def _take_pedals(self, now_ns: int) -> None:
        for taken in self._pedals.take(self._clock.real_ns(now_ns)):
            match taken:
                case Moved(name, down) if name == BOX:
                    self._room.box_is(BoxIs(not down))  # a closed contact is a shut lid
                case Moved(name, down) if name in self._pedals.wet:
                    # it belongs to the trays, and never reaches what could light a lamp
                    self._do_all(self._trays.pedal(now_ns, name, down))
                case Moved(_, down):
                    self._press(down)
                case Gone():
                    self._pedal_gone(now_ns, taken)
                case Back(name):
                    self._tell(Cue(f"{self._pedals.words(name)} back", Sound.ATTENTION))

    def _pedal_gone(self, now_ns: int, gone: Gone) -> None:
        """Light that nobody could stop any more goes off, and it is told what is missing."""
        if gone.name == BOX:
            self._room.box_is(BoxIs(True))  # who knows?
        elif gone.name in self._pedals.wet:
            self._trays.pedal_gone(gone.name)
        elif self._at_work:
            self._hear(PedalGone(gone.was_down, gone.last))
        elif gone.was_down:
            self._menu(self._desk.pedal_gone(now_ns, self._room.offers))
        self._tell(Cue(f"{self._pedals.words(gone.name)} gone", Sound.ATTENTION))

    def _press(self, down: bool | None) -> None:
        if down is None:
            return
        if self._at_work:
            self._hear(Press(down))
            return
        now_ns = self._clock.now_ns()
        said = self._desk.step(now_ns, self._room.offers, down)
        if self._trays.owns_pedal and said == [Cue(sound=Sound.NOT_TAKEN)]:
            # a tap that chooses nothing here is about what the trays called last
            self._do_all(self._trays.tap(now_ns))
        else:
            self._menu(said)

    def _take_book(self) -> None:
        sources = (self._writer, self._store, self._talk, self._senses)
        for sentence in (said for source in sources for said in source.notices()):
            self._notes.append(sentence)
            self._tell(Cue(sentence, Sound.ATTENTION))
        for cue in self._desk.hear_book():
            self._tell(cue)
            self._clients.say(self._desk_is())
        for number in self._writer.noted():
            self._hear(Noted(number))

    def _take_clients(self) -> None:
        for client, message in self._clients.take():
            self._client_says(client, message)
        if self._clients.curtain_failed:
            self._clients.curtain_failed = False
            self._hear(CurtainIs(True))  # the screen that had not answered is gone: nothing shines
        self._room.screens_are(self._clients.percent)

    def _client_says(self, client: int, message: ToEngine) -> None:
        now_ns = self._clock.now_ns()
        match message:
            case Attach(screen=screen):
                running = ""
                if self._runner and self._at_work:
                    running = self._runner.run.record_id
                self._clients.introduce(
                    client,
                    Hello(
                        os.getpid(),
                        self._rig.name,
                        self._rig.digest(),
                        tuple(self._notes),
                        running,
                        self._rig.pace,
                    ),
                    screen=screen,
                )
                self._clients.answer(client, self._desk_is())
                self._clients.answer(client, self._room.views()[1])
                self._clients.answer(client, self._trays.view())
                if self._begun and self._at_work:
                    self._clients.answer(client, self._begun)
                self._clients.dirty = True
            case Run() | Ordered():
                why = self._begin(message) if isinstance(message, Run) else self._order(message)
                if why is not None:
                    self._clients.answer(client, Refusal(why))
            case Arrange(desk=desk):
                try:
                    self._desk.arrange(desk)
                except DrysideError as error:
                    self._clients.answer(client, Refusal(str(error)))
                self._clients.say(self._desk_is())
            case OfTrays():
                try:
                    self._do_all(self._trays.asked(now_ns, message))
                except DrysideError as error:
                    self._clients.answer(client, Refusal(str(error)))
            case Press(down=down):
                self._press(self._pedals.space_bar(self._clock.real_ns(now_ns), down))
            case Please(wish=wish):
                with contextlib.suppress(ValueError):
                    self._hear(Wish(wish))
            case CurtainIs():
                if self._clients.curtain_is(client, message.down):
                    self._hear(message)
            case Shines(percent=percent):
                self._clients.shines(client, percent)
            case Play() | Leave() if self._at_work:
                self._clients.answer(client, Refusal("a plan is running"))
            case Play(sound=sound):
                with contextlib.suppress(ValueError):
                    self._tell(Cue(sound=Sound(sound)))
            case Say(text=text):
                self._tell(Cue(text, Sound.ATTENTION))
            case Talk(on=on):
                self._talk.turn(on=on)
            case Leave() if self._manager.listens:
                self._clients.answer(client, Refusal(KEPT))
            case Leave():
                self._ending = True

    def _show(self) -> None:
        if (trays := self._trays.news()) is not None:
            self._clients.say(trays)
        if self._clients.dirty:
            idle = View(state=State.OVER, lit=dict(self._bench.lit))
            view = self._runner.view() if self._runner else idle
            self._clients.show(view, self._room.views()[0])
        self._clients.dirty = False
