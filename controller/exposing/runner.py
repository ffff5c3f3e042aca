"""The runner: takes one plan and carries it out. The only state machine of exposing; sans-I/O.

``step(now, heard)`` gives what is to be done and when to step again. It never sleeps and never
counts an exposure itself: a whole pulse is handed to the keeper, which answers with measured
edges. Nothing in here knows whether time is real.
"""

from __future__ import annotations

from collections.abc import Callable

from controller import events
from controller.enlarger.integration import SeenLamp
from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.exposing.afterthoughts import unsure, wrong_filter
from controller.exposing.bench import LIGHT, MOVES, OPEN, Bench, State, View
from controller.exposing.calls import at_once, at_start
from controller.exposing.choices import Choices
from controller.exposing.dwelling import Dwelling
from controller.exposing.foot import Foot, FootTimes, Gesture
from controller.exposing.lights import LightsAndCurtain
from controller.exposing.lit import InHand, Outcome
from controller.exposing.prompts import paused, prompt_for
from controller.exposing.shown import view_of
from controller.exposing.told import (
    BoxIs,
    Choice,
    CurtainIs,
    Input,
    Noted,
    Output,
    PedalGone,
    Press,
    Run,
    Wish,
    begun,
)
from controller.exposing.trays_first import TraysFirst, WaitS
from controller.keeper import Cause, Cut, Edge, Ended, Put, Refused
from controller.plan import (
    Action,
    Confirm,
    Curtain,
    Dwell,
    Expose,
    Go,
    Lights,
    Say,
    Sheet,
    Shine,
    Wait,
    light_s,
    sheet_begins,
)
from controller.ports import Cue, Reading, Sound

CURTAIN_WAIT_S = 0.15  # not black by then: no light, the paper is kept
OUTPUT_WAIT_S = 1.0  # a light that has not answered by then is not trusted
BOOK_WAIT_S = 3.0  # exposing works with the book down
WORD_S = 0.4  # a spoken choice needs so long to be heard
BOX_OPEN = "the paper box is open"
FOOT_LOOK_S = 0.1  # how often to look whether a foot that keeps the light back has gone


class Runner:
    """Carries out one plan."""

    def __init__(
        self,
        run: Run,
        bench: Bench,
        *,
        lamp: Calibration,
        limits: LampLimits,
        foot: FootTimes,
        next_mark: Callable[[], str],
        foot_down: bool = False,
        seen: SeenLamp | None = None,
        wait_s: WaitS | None = None,
    ) -> None:
        self.run = run
        self.bench = bench
        self.state = State.READY
        self._lamp = lamp
        self._limits = limits
        self._times = foot
        self._foot = Foot(foot, down=foot_down)
        self._next_mark = next_mark
        self._trays = TraysFirst(wait_s)
        self._around = LightsAndCurtain(bench)
        self._out: list[Output] = []
        self._begun = False
        self._now_ns = 0
        self._at = 0  # the action in hand
        self._go_at: int | None = None  # where a stopped lead-in goes back to
        self._until_ns: int | None = None  # when the present state has lasted long enough
        self._ready_ns = 0  # no light before this: the lead-in since the tap
        self._said = Cue()  # the last prompt
        self._mark = run.mark
        self._hand = InHand(run.record_id, run.number, bench, lamp, seen)
        self._abandoning = False
        self._choices: Choices | None = None  # of the last long press
        self._laid = bool(run.mark)  # does a sheet lie there?
        self._stopping = False  # a foot, or a wish, has cut the pulse in hand
        self._is_deserted = False  # has the last pedal gone, with no press since?
        self._may_abandon = False  # the foot that is down stopped light: kept there, it abandons
        self._fate: events.Fate | None = None

    # -- outside -----------------------------------------------------------------------------

    @property
    def over(self) -> bool:
        """Has everything been done, the tidying up included?"""
        return self.state is State.OVER and self._hand.pulse is None

    @property
    def fate(self) -> events.Fate | None:
        """How it came out; None while it runs."""
        return self._fate

    @property
    def number(self) -> int:
        """The number of the last exposure of the record."""
        return self._hand.number

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again, whatever happens."""
        times = (self._until_ns, self._foot.next_ns, self._hand.next_ns)
        return min((t for t in times if t is not None), default=None)

    def step(self, now_ns: int, heard: Input | None = None) -> list[Output]:
        """Take the time, and perhaps something heard; gives what is to be done, in order."""
        self._now_ns = now_ns
        if not self._begun:
            self._begin()
            self._advance(now_ns)
        match heard:
            case Press(down=down):
                self._is_deserted = False
                self._gesture(now_ns, self._foot.edge(now_ns, down, light=self._light))
            case PedalGone():
                self._pedal_gone(now_ns, heard)
            case CurtainIs():
                self._curtain_is(now_ns, heard.down)
            case Noted(number=number):
                if self.state is State.NOTING and number == self._hand.number:
                    self._lead_in(now_ns)
            case Edge():
                self._edge(now_ns, heard)
            case Ended():
                self._ended(now_ns, heard)
            case Refused():
                self._refused(now_ns, heard)
            case Reading():
                self._hand.saw(heard)
            case BoxIs():
                self._box_is(now_ns, heard.open)
            case Wish():
                self._wish(now_ns, heard)
            case _:
                pass
        self._gesture(now_ns, self._foot.wake(now_ns))
        self._time(now_ns)
        out, self._out = self._out, []
        return out

    def view(self) -> View:
        """Show where the run is."""
        return view_of(
            self.state,
            self._said,
            self._hand,
            mark=self._mark,
            until_ns=self._until_ns,
            action=self._at,
            bench=self.bench,
            curtain=self._around.curtain,
        )

    # -- moving on ---------------------------------------------------------------------------

    @property
    def _light(self) -> bool:
        """Does light fall, or will it without a further tap?"""
        return self._hand.pulse is not None or (self.state in LIGHT and self._go_at is not None)

    def _go(self, state: State, until_ns: int | None = None) -> None:
        if state is not State.OVER and state not in MOVES[self.state]:
            raise AssertionError(f"no way from {self.state.value} to {state.value}")
        self.state = state
        self._until_ns = until_ns

    def _begin(self) -> None:
        self._begun = True
        self._out.append(begun(self.run, self._lamp))

    @property
    def _action(self) -> Action:
        return self.run.plan.actions[self._at]

    def _advance(self, now_ns: int) -> None:
        """Take up actions from the present one until one of them has to wait."""
        while self.state is State.READY:
            if self._at >= len(self.run.plan.actions):
                self._finish(events.Fate.DONE)
                return
            self._take_up(now_ns, self._action)

    def _next(self, now_ns: int) -> None:
        self._at += 1
        self._go(State.READY)
        self._advance(now_ns)

    def _take_up(self, now_ns: int, action: Action) -> None:
        match action:
            case Sheet():
                if self._laid:  # the sheet before has all it was to get
                    self._end_sheet(events.Fate.DONE)
                    self._hand.forget()
                    self._laid = False
                self._mark = self._next_mark()
                self._ask(now_ns)
            case Confirm(unless_so=True, hands=hands) if self.bench.stands(hands):
                self._at += 1
            case Confirm():
                self._ask(now_ns)
            case Go():
                self._go_at = self._at
                self._ask(now_ns)
                if action.after_s is not None:
                    self._until_ns = now_ns + ns(action.after_s)
            case Curtain():
                self._take_curtain(now_ns, down=action.down)
            case Lights():
                self._take_lights(now_ns, action)
            case Expose() | Dwell():
                self._hand.take(action)
                self._intend(now_ns, resumed=False)
            case Shine():
                self._lead_in(now_ns)
            case Wait(say=say, time_s=time_s):
                self._said = Cue(f"{say}, {time_s:g} seconds", Sound.PROMPT)
                self._out.append(self._said)
                self._go(State.PASSING, now_ns + ns(time_s))
            case Say():
                self._out.append(Cue(action.text, action.sound))
                self._at += 1

    def _ask(self, now_ns: int) -> None:
        """Give the prompt of the action in hand."""
        action = self._action
        assert isinstance(action, Sheet | Confirm | Go)
        self._go(State.WAITING if isinstance(action, Go) else State.ASKING)
        self._trays.forget()
        if isinstance(action, Go) and not self._goes_by_itself:
            later = self._trays.propose(now_ns, self._busy_s(action))
            self._out += [later] if later else []
        self._said = prompt_for(action, self._mark)
        self._out.append(self._said)
        self._foot.deafen(now_ns)

    def _taken(self, now_ns: int) -> None:
        """A tap at a prompt."""
        match self._action:
            case Sheet(width_mm=width_mm, height_mm=height_mm):
                record_id = self.run.record_id
                self._out.append(events.SheetBegun(record_id, self._mark, width_mm, height_mm))
                self._laid = True
            case Confirm(hands=hands):
                self.bench.told(hands)
            case Go() as go:
                if self._trays_want_hands(now_ns, self._busy_s(go)):
                    return
                self._out.append(Cue(sound=Sound.GO))
                self._ready_ns = now_ns + ns(go.lead_in_s)
            case _:
                return
        self._next(now_ns)

    @property
    def _goes_by_itself(self) -> bool:
        return isinstance(self._action, Go) and self._action.after_s is not None

    def _busy_s(self, go: Go) -> float:
        """How long would this go keep the hands?"""
        return go.lead_in_s + light_s(self.run.plan, self._at)

    def _trays_want_hands(self, now_ns: int, busy_s: float) -> bool:
        """Keep light back that would outlast the next move in the trays."""
        wait_s = self._trays.ask(now_ns, busy_s)
        if wait_s:
            self._foot.deafen(now_ns)
            self._out.append(Cue(f"wait {wait_s}", Sound.ATTENTION))
            self._until_ns = now_ns + ns(wait_s)  # then the prompt comes again
        return wait_s > 0

    # -- before the light --------------------------------------------------------------------

    def _take_curtain(self, now_ns: int, *, down: bool) -> None:
        self._out.append(self._around.lower(down))
        if down:
            self._go(State.CURTAIN, now_ns + ns(CURTAIN_WAIT_S))
        else:
            self._at += 1

    def _curtain_is(self, now_ns: int, down: bool) -> None:
        self._around.curtain = down
        if self.state is State.CURTAIN:
            if down:
                self._next(now_ns)
            else:
                self._keep_paper(now_ns, "the screen did not go black")

    def _take_lights(self, now_ns: int, action: Lights) -> None:
        self._out += self._around.ask(action)
        settled_ns = self._around.settled_ns(action)
        if self._around.awaited:
            self._go(State.SETTLING, now_ns + ns(OUTPUT_WAIT_S))
        elif settled_ns > now_ns:
            self._go(State.SETTLING, settled_ns)  # a go that was called off before
        else:
            self._at += 1

    def _edge(self, now_ns: int, edge: Edge) -> None:
        self.bench.lit[edge.output] = edge.lit
        self.bench.changed_ns[edge.output] = edge.at_ns
        if self._hand.edge(edge) and self._hand.latest_ns is not None:
            self._until_ns = self._hand.latest_ns + ns(OUTPUT_WAIT_S)
        if self.state is not State.SETTLING:
            return
        as_asked = self._around.answered(edge)
        if as_asked is False:
            self._keep_paper(now_ns, f"{edge.output} does not answer")
        elif as_asked and not self._around.awaited and isinstance(self._action, Lights):
            self._until_ns = self._around.settled_ns(self._action)

    def _intend(self, now_ns: int, *, resumed: bool) -> None:
        self._out.append(self._hand.intend(self._mark, resumed=resumed))
        self._go(State.NOTING, now_ns + ns(BOOK_WAIT_S))

    def _lead_in(self, now_ns: int) -> None:
        if self.bench.box_open:
            self._keep_paper(now_ns, BOX_OPEN)
            return
        if self._is_deserted:
            self._keep_paper(now_ns, "the pedal is gone")
            return
        if self._hand.exposing:
            self._out += at_start(self._hand.exposing)
        rested_ns = 0
        if self.bench.lamp_off_ns is not None:
            rested_ns = self.bench.lamp_off_ns + ns(self._limits.rest_s)
        self._go(State.LEAD_IN, max(self._ready_ns, rested_ns, now_ns))

    def _light_up(self, now_ns: int) -> None:
        """Hand a whole pulse to the keeper."""
        shine = self._action if isinstance(self._action, Shine) else None
        asked = self._hand.exposing.asked if self._hand.exposing else None
        self._said = Cue(shine.say if shine else f"exposing {asked.label if asked else ''}")
        pulse = self._hand.light_up(now_ns, shine)
        self._out.append(pulse)
        self._stopping = False
        self._go(State.LIT, now_ns + pulse.duration_ns + ns(2 * OUTPUT_WAIT_S))

    def _dwell(self, now_ns: int, dwelling: Dwelling) -> None:
        """Let the light of the room fall, the enlarger dark."""
        asked = dwelling.asked
        self._out += self._around.shine_on_paper(asked, lit=True)
        self._said = Cue(asked.label)
        self._go(State.DWELLING, dwelling.begin(now_ns))

    def _dark_again(self, now_ns: int, dwelling: Dwelling) -> None:
        """Put those lights off, when their time is over or a foot says so."""
        dwelling.end(now_ns)
        self._out += self._around.shine_on_paper(dwelling.asked, lit=False)
        self._out += self._hand.made()
        self._foot.deafen(now_ns)
        if dwelling.full:
            self._out.append(Cue(sound=Sound.END))
            self._hand.put_down()
            self._next(now_ns)
        else:
            self._pause(now_ns)

    def _keep_paper(self, now_ns: int, why: str) -> None:
        """Light will not fall now: say why, and go back to the prompt."""
        self._out.append(Cue(f"{why}; no light was lit", Sound.ATTENTION))
        self._step_back(now_ns)

    def _step_back(self, now_ns: int) -> None:
        """Leave the way to the light; nothing has fallen since the last tap."""
        self._out += self._hand.made()
        self._around.ask_no_more()
        if self._hand.touched:
            self._pause(now_ns)
            return
        self._hand.put_down()
        assert self._go_at is not None
        self._at = self._go_at
        self._ask(now_ns)

    # -- light, and after it -----------------------------------------------------------------

    def _refused(self, now_ns: int, refused: Refused) -> None:
        if not self._hand.refused(refused.id):
            return
        self._out.append(Cue(f"no light: {refused.why}", Sound.FAULT))
        if self._abandoning:
            self._finish(events.Fate.ABANDONED, refused.why)
        else:
            self._step_back(now_ns)

    def _ended(self, now_ns: int, ended: Ended) -> None:
        outcome = self._hand.ended(ended)
        if outcome is None:
            return
        self._foot.deafen(now_ns)
        if ended.cause not in (Cause.DEADLINE, Cause.CUT):
            why = f"the lamp was put off by itself ({ended.cause.value})"
            self._out.append(Cue(why, Sound.FAULT))
        if outcome is Outcome.MORE and self._stopping:
            outcome = Outcome.SHORT  # the press met the end of a pulse: it stops the series
        if isinstance(self._action, Shine) and self._action.opens_lens:
            self.bench.lens = OPEN
        if outcome is not Outcome.MORE:
            self._out += self._hand.made()
        if self._abandoning:
            self._finish(events.Fate.ABANDONED)
        elif outcome is Outcome.MORE:
            self._go(State.GAP, ended.off_ns + ns(self._hand.gap_s))
        elif outcome is Outcome.SHORT:
            self._pause(now_ns)
        else:
            if outcome is Outcome.FULL:
                self._out.append(Cue(sound=Sound.END))
            self._hand.put_down()
            self._next(now_ns)

    def _pause(self, now_ns: int) -> None:
        self._go(State.PAUSED, now_ns + ns(self._times.paused_reminder_s))
        self._foot.deafen(now_ns)
        self._may_abandon = self._foot.down
        tools = at_once(self._hand.exposing) if self._hand.exposing else ()
        doubtful = self._hand.left_s < self._limits.least_pulse_s
        self._said = paused(self._hand.left_s, tools, doubtful=doubtful)
        # with the foot still down a rising tone says what keeping it there will do
        self._out.append(Cue(sound=Sound.RISING) if self._foot.down else self._said)

    # -- the foot, and wishes ----------------------------------------------------------------

    def _gesture(self, now_ns: int, gesture: Gesture | None) -> None:
        if gesture is None or self.state is State.OVER:
            return
        match gesture:
            case Gesture.FELT:
                self._out.append(Cue(sound=Sound.PRESS))
                if self._choices:
                    self._choices.hold()
            case Gesture.STOP:
                self._out.append(Cue(sound=Sound.PRESS))
                self._stop(now_ns)
            case Gesture.LET_GO:
                self._may_abandon = False
                if self.state is State.PAUSED:
                    self._out.append(self._said)
            case Gesture.KEPT:
                # not where the press met the natural end: that was no stop
                if self._may_abandon or self._hand.pulse:
                    self._abandon()
            case Gesture.TAP:
                self._tap(now_ns)
            case Gesture.LONG:
                self._offer(now_ns)
            case Gesture.NOT_TAKEN:
                self._out.append(Cue(sound=Sound.NOT_TAKEN))
            case Gesture.STUCK:
                text = "the pedal is stuck; nothing is lit until it is free"
                self._out.append(Cue(text, Sound.FAULT))
            case Gesture.FREE:
                self._foot.deafen(now_ns)
                self._out.append(Cue("pedal free", Sound.ATTENTION))

    def _stop(self, now_ns: int) -> None:
        """The foot went down while light fell, or was about to."""
        if self.state is State.DWELLING and self._hand.dwelling:
            self._dark_again(now_ns, self._hand.dwelling)
            return
        if self._hand.pulse:
            self._stopping = True
            self._out.append(Cut(self._hand.pulse.id))
            return
        self._step_back(now_ns)
        if self.state is State.WAITING and self._foot.down:
            self._may_abandon = True
            self._out.append(Cue(sound=Sound.RISING))

    def _box_is(self, now_ns: int, is_open: bool) -> None:
        """No light while the box is open: what is lit is paused, what would be is kept back."""
        self.bench.box_open = is_open
        if is_open and self._light:
            self._out.append(Cue(BOX_OPEN, Sound.ATTENTION))
            self._stop(now_ns)

    def _pedal_gone(self, now_ns: int, gone: PedalGone) -> None:
        """No light goes on, or comes by itself, that no foot can stop."""
        if gone.down:
            self._gesture(now_ns, self._foot.gone(now_ns))
        if gone.last:
            self._is_deserted = True
            if self._light:
                self._stop(now_ns)

    def _tap(self, now_ns: int) -> None:
        match self.state:
            case State.ASKING | State.WAITING:
                self._taken(now_ns)
            case State.PAUSED:
                lead_in_s = self._times.lead_in_s
                if self._trays_want_hands(now_ns, lead_in_s + self._hand.left_s):
                    return
                self._out.append(Cue(sound=Sound.GO))
                self._ready_ns = now_ns + ns(self._times.lead_in_s)
                self._intend(now_ns, resumed=True)
            case State.CHOOSING if self._choices:
                self._choose(now_ns, self._choices)
            case _:
                self._out.append(Cue(sound=Sound.NOT_TAKEN))

    def _offer(self, now_ns: int) -> None:
        if self.state not in (State.ASKING, State.WAITING, State.PAUSED):
            return
        self._choices = Choices(self.state, self._hand, laid=self._laid)
        self._go(State.CHOOSING)
        self._speak_choice(now_ns, self._choices)

    def _speak_choice(self, now_ns: int, choices: Choices) -> None:
        if choices.spoken is None:
            self._back_from_choice(now_ns, choices)  # silence changes nothing
            return
        self._said = choices.cue()
        self._out.append(self._said)
        # a foot that was already on its way must not take a word that it has not heard
        self._foot.deafen(now_ns, WORD_S)
        self._until_ns = now_ns + ns(self._times.choice_s)

    def _back_from_choice(self, now_ns: int, choices: Choices) -> None:
        if choices.came_from is State.PAUSED:
            self._pause(now_ns)
            self._foot.deafen(now_ns)
        else:
            self._ask(now_ns)

    def _choose(self, now_ns: int, choices: Choices) -> None:
        match choices.take():
            case None:
                self._speak_choice(now_ns, choices)
            case Choice.SPOILED:
                self._spoiled(now_ns)
            case Choice.END:
                self._finish(events.Fate.ABANDONED)
            case taken:
                if taken is Choice.UNSURE:
                    self._unsure()
                elif taken is Choice.WRONG_FILTER:
                    self._wrong_filter()
                self._back_from_choice(now_ns, choices)

    def _unsure(self) -> None:
        self._out += unsure(self.run.record_id, self._hand.last_doubtful)

    def _wrong_filter(self) -> None:
        hand = self._hand
        self._out += wrong_filter(self.run.record_id, hand.last_label, hand.last_filter)

    def _spoiled(self, now_ns: int) -> None:
        """This sheet is lost: begin again on a new one, where the plan lays one."""
        beginning = sheet_begins(self.run.plan.actions, self._at)
        if beginning is None:
            self._finish(events.Fate.SPOILED)
            return
        self._end_sheet(events.Fate.SPOILED)
        self._hand.forget()
        self._laid = False
        self._at = beginning
        self._go_at = None
        self._out += self._around.tidy(self.run.plan.after)
        self._go(State.READY)
        self._advance(now_ns)

    def _abandon(self) -> None:
        if self._hand.pulse:
            self._abandoning = True
            self._out.append(Cut(self._hand.pulse.id))
        else:
            self._finish(events.Fate.ABANDONED)

    def _wish(self, now_ns: int, wish: Wish) -> None:
        if self.state is State.OVER:
            return
        match wish:
            case Wish.PAUSE:
                if self._light:
                    self._stop(now_ns)
            case Wish.ABANDON:
                self._abandon()
            case Wish.SPOILED:
                if self._light:
                    self._out.append(Cue("not while the lamp is lit: pause first", Sound.ATTENTION))
                elif not self._laid:
                    self._out.append(Cue("no sheet is laid yet", Sound.ATTENTION))
                else:
                    self._spoiled(now_ns)
            case Wish.UNSURE:
                self._unsure()
            case Wish.WRONG_FILTER:
                self._wrong_filter()

    # -- time, and the end -------------------------------------------------------------------

    def _time(self, now_ns: int) -> None:
        self._out += self._hand.due(now_ns)
        if self._until_ns is None or now_ns < self._until_ns:
            return
        self._until_ns = None
        match self.state:
            case State.WAITING if self._is_deserted:
                pass  # a go that would have come by itself waits for a tap
            case State.WAITING if self._trays.keep_back and not self._goes_by_itself:
                self._trays.forget()
                self._out.append(self._said)
            case State.WAITING if self._foot.down:
                self._until_ns = now_ns + ns(FOOT_LOOK_S)  # never light under a foot
            case State.WAITING:
                self._taken(now_ns)
            case State.CURTAIN:
                self._keep_paper(now_ns, "the screen did not go black")
            case State.SETTLING if self._around.awaited:
                self._keep_paper(now_ns, f"{', '.join(self._around.awaited)} does not answer")
            case State.SETTLING:
                self._next(now_ns)
            case State.NOTING:
                text = "the book does not answer; exposing goes on without it"
                self._out.append(Cue(text, Sound.ATTENTION))
                self._lead_in(now_ns)
            case State.LEAD_IN if self._hand.dwelling:
                self._dwell(now_ns, self._hand.dwelling)
            case State.LEAD_IN | State.GAP:
                self._light_up(now_ns)
            case State.DWELLING if self._hand.dwelling:
                self._dark_again(now_ns, self._hand.dwelling)
            case State.PASSING:
                self._out.append(Cue(sound=Sound.END))
                self._next(now_ns)
            case State.LIT:
                text = "the keeper does not answer; cut the lamp's supply"
                self._out.append(Cue(text, Sound.FAULT))
                self._until_ns = now_ns + ns(OUTPUT_WAIT_S)
            case State.PAUSED:
                self._trays.forget()
                self._out.append(self._said)
                self._until_ns = now_ns + ns(self._times.paused_reminder_s)
            case State.CHOOSING if self._foot.down:
                self._until_ns = now_ns + ns(FOOT_LOOK_S)  # it may mean this very word
            case State.CHOOSING if self._choices:
                self._choices.pass_on()
                self._speak_choice(now_ns, self._choices)
            case _:
                pass

    def _end_sheet(self, fate: events.Fate) -> None:
        if self._mark:
            self._out.append(events.SheetEnded(self.run.record_id, self._mark, fate))

    def _finish(self, fate: events.Fate, reason: str = "") -> None:
        """Be over: the account closed, the bench tidied, the book told."""
        if self._hand.dwelling and self._hand.dwelling.lit:
            self._hand.dwelling.end(self._now_ns)
            self._out += [Put(name, False) for name in self._hand.dwelling.asked.lit]
        self._out += self._hand.made()
        self._hand.put_down()
        self._go(State.OVER)
        self._fate = fate
        self._out += self._around.tidy(self.run.plan.after)
        self._end_sheet(fate)
        self._out.append(events.RunEnded(self.run.record_id, fate, reason))
        done = fate is events.Fate.DONE
        self._said = Cue("done" if done else fate.value, Sound.END if done else Sound.ATTENTION)
        self._out.append(self._said)
