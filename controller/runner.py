"""The runner: takes one plan and carries it out. The only state machine of exposing; sans-I/O.

``step(now, input)`` gives what is to be done and when to step again. It never sleeps and never
counts an exposure itself: a whole pulse is handed to the keeper, which answers with measured
edges. Nothing in here knows whether time is real.
"""

from __future__ import annotations

from collections.abc import Callable

from controller import events
from controller.bench import LIGHT, MOVES, Bench, State, View
from controller.exposure import Exposing
from controller.foot import Foot, FootTimes, Gesture
from controller.keeper import Cause, Cut, Edge, Ended, Pulse, Put, Refused
from controller.lamp import Calibration, LampLimits, ns
from controller.plan import Action, Confirm, Curtain, Expose, Go, Lights, Say, Sheet, Shine
from controller.ports import Cue, Lens, NewSheet, Sound, Wants
from controller.told import Choice, CurtainIs, Input, LowerCurtain, Noted, Output, Press, Run, Wish

CURTAIN_WAIT_S = 0.15  # not black by then: no light, the paper is kept
OUTPUT_WAIT_S = 1.0  # a light that has not answered by then is not trusted
_INTENDED = frozenset({State.NOTING, State.LEAD_IN, State.LIT, State.GAP})  # not yet Made
BOOK_WAIT_S = 3.0  # exposing works with the book down
LATE_S = 0.1  # a pulse that reaches the keeper later than this is a fault


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
    ) -> None:
        self.run = run
        self.bench = bench
        self.state = State.READY
        self._lamp = lamp
        self._limits = limits
        self._times = foot
        self._foot = Foot(foot)
        self._next_mark = next_mark
        self._out: list[Output] = []
        self._begun = False
        self._at = 0  # the action in hand
        self._go_at: int | None = None  # where a stopped lead-in goes back to
        self._until_ns: int | None = None  # when the present state has lasted long enough
        self._ready_ns = 0  # no light before this: the lead-in since the tap
        self._said = Cue()  # the last prompt
        self._mark = run.mark
        self._number = run.number
        self._exposing: Exposing | None = None
        self._pulse: Pulse | None = None
        self._lit_ns: int | None = None
        self._ends_ns = 0
        self._abandoning = False
        self._last_label = ""
        self._wanted: dict[str, bool] = {}  # lights that have not answered yet
        self._choices: list[Choice] = []
        self._chosen_from = State.ASKING
        self._ticks_ns: list[int] = []
        self._curtain = False
        self._fate: events.Fate | None = None

    # -- outside -----------------------------------------------------------------------------

    @property
    def over(self) -> bool:
        """Has everything been done, the tidying up included?"""
        return self.state is State.OVER and self._pulse is None

    @property
    def fate(self) -> events.Fate | None:
        """How it came out; None while it runs."""
        return self._fate

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again, whatever happens."""
        times = [self._until_ns, self._foot.next_ns, *self._ticks_ns[:1]]
        return min((t for t in times if t is not None), default=None)

    def step(self, now_ns: int, heard: Input | None = None) -> list[Output]:
        """Take the time, and perhaps something heard; gives what is to be done, in order."""
        if not self._begun:
            self._begin()
            self._advance(now_ns)
        match heard:
            case Press(down=down):
                self._gesture(now_ns, self._foot.edge(now_ns, down, light=self._light))
            case CurtainIs():
                self._curtain_is(now_ns, heard.down)
            case Noted(number=number):
                if self.state is State.NOTING and number == self._number:
                    self._lead_in(now_ns)
            case Edge():
                self._edge(now_ns, heard)
            case Ended():
                self._ended(now_ns, heard)
            case Refused():
                self._refused(now_ns, heard)
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
        exposing = self._exposing
        return View(
            state=self.state,
            wants=self._said.wants if self.state not in LIGHT else Wants.NOTHING,
            text=self._said.text,
            mark=self._mark,
            label=exposing.asked.label if exposing else self._last_label,
            dose_s=exposing.asked.dose_s if exposing else 0.0,
            left_s=exposing.left_s if exposing else 0.0,
            lit_ns=self._lit_ns,
            until_ns=self._ends_ns if self._lit_ns is not None else self._until_ns,
            action=self._at,
            lit=dict(self.bench.lit),
            curtain=self._curtain,
        )

    # -- moving on ---------------------------------------------------------------------------

    @property
    def _light(self) -> bool:
        return self._pulse is not None or (self.state in LIGHT and self._go_at is not None)

    def _go(self, state: State) -> None:
        if state is not State.OVER and state not in MOVES[self.state]:
            raise AssertionError(f"no way from {self.state.value} to {state.value}")
        self.state = state
        self._until_ns = None

    def _begin(self) -> None:
        self._begun = True
        run = self.run
        self._out.append(
            events.RunBegun(
                run.record_id,
                run.plan.kind,
                run.plan.title,
                run.spec,
                run.plan.to_json(),
                {
                    "cold_lag_s": self._lamp.cold_lag_s,
                    "warm_gain_s2": self._lamp.warm_gain_s2,
                },
                run.rig,
                continues=bool(run.mark),
            )
        )

    def _advance(self, now_ns: int) -> None:
        """Take up actions from the present one until one of them has to wait."""
        while self.state is State.READY:
            if self._at >= len(self.run.plan.actions):
                self._finish(events.Fate.DONE)
                return
            self._take_up(now_ns, self.run.plan.actions[self._at])

    def _next(self, now_ns: int) -> None:
        self._at += 1
        self._go(State.READY)
        self._advance(now_ns)

    def _take_up(self, now_ns: int, action: Action) -> None:
        match action:
            case Sheet():
                self._mark = self._next_mark()
                sheet = NewSheet(self._mark, action.width_mm, action.height_mm)
                text = f"{action.say}, mark {self._mark}"
                self._prompt(now_ns, State.ASKING, Cue(text, None, Wants.CONFIRM, sheet))
            case Confirm():
                if action.once_open and not self.bench.lens_open:
                    self._at += 1
                    return
                cue = Cue(action.say, None, Wants.CONFIRM, action.hands)
                self._prompt(now_ns, State.ASKING, cue)
            case Go():
                self._go_at = self._at
                self._prompt(now_ns, State.WAITING, Cue(action.say, None, Wants.GO, action.hands))
                if action.after_s is not None:
                    self._until_ns = now_ns + ns(action.after_s)
            case Curtain():
                self._take_curtain(now_ns, down=action.down)
            case Lights():
                self._take_lights(now_ns, action)
            case Expose():
                self._exposing = Exposing(action, self._lamp)
                self._intend(now_ns, resumed=False)
            case Shine():
                self._lead_in(now_ns)
            case Say():
                self._out.append(Cue(action.text, action.sound))
                self._at += 1

    def _prompt(self, now_ns: int, state: State, cue: Cue) -> None:
        self._go(state)
        self._said = cue
        self._out.append(cue)
        self._foot.deafen(now_ns)

    def _taken(self, now_ns: int) -> None:
        """A tap at a prompt."""
        action = self.run.plan.actions[self._at]
        if self.state is State.ASKING:
            self._out.append(Cue(sound=Sound.PRESS))
            if isinstance(action, Sheet):
                self._out.append(
                    events.SheetBegun(
                        self.run.record_id, self._mark, action.width_mm, action.height_mm
                    )
                )
            elif isinstance(action, Confirm) and isinstance(action.hands, Lens):
                self.bench.lens_open = action.hands.aperture == "open"
            self._next(now_ns)
        elif isinstance(action, Go):
            self._out.append(Cue(sound=Sound.GO))
            self._ready_ns = now_ns + ns(action.lead_in_s)
            self._next(now_ns)

    # -- before the light --------------------------------------------------------------------

    def _take_curtain(self, now_ns: int, *, down: bool) -> None:
        self._out.append(LowerCurtain(down))
        if not down:
            self._curtain = False
            self._at += 1
            return
        self._go(State.CURTAIN)
        self._until_ns = now_ns + ns(CURTAIN_WAIT_S)

    def _curtain_is(self, now_ns: int, down: bool) -> None:
        self._curtain = down
        if self.state is State.CURTAIN:
            if down:
                self._next(now_ns)
            else:
                self._keep_paper(now_ns, "the screen did not go black; no light was lit")

    def _take_lights(self, now_ns: int, action: Lights) -> None:
        self._wanted = {n: lit for n, lit in action.lit.items() if self.bench.lit.get(n) != lit}
        self._out += [Put(name, lit) for name, lit in self._wanted.items()]
        if not self._wanted:
            self._at += 1
            return
        self._go(State.SETTLING)
        self._until_ns = now_ns + ns(OUTPUT_WAIT_S)

    def _edge(self, now_ns: int, edge: Edge) -> None:
        self.bench.lit[edge.output] = edge.lit
        if self._pulse and edge.output == self._pulse.output and edge.lit:
            self._lit_ns = edge.at_ns
            self._ends_ns = edge.at_ns + self._pulse.duration_ns
            self._until_ns = self._ends_ns + ns(OUTPUT_WAIT_S)
            self._set_ticks(edge.at_ns)
        if self.state is State.SETTLING and edge.output in self._wanted:
            if edge.lit is not self._wanted[edge.output]:
                self._keep_paper(now_ns, f"{edge.output} does not answer; no light was lit")
                return
            del self._wanted[edge.output]
            if not self._wanted:
                action = self.run.plan.actions[self._at]
                settle_s = action.settle_s if isinstance(action, Lights) else 0.0
                self._until_ns = now_ns + ns(settle_s)

    def _intend(self, now_ns: int, *, resumed: bool) -> None:
        assert self._exposing is not None
        asked = self._exposing.asked
        self._exposing.begin_stretch()
        self._number += 1
        self._out.append(
            events.Intended(
                self.run.record_id,
                self._number,
                self._mark,
                asked.label,
                self._exposing.left_s,
                asked.pulses,
                self.bench.pulses + 1,
                resumed,
            )
        )
        self._go(State.NOTING)
        self._until_ns = now_ns + ns(BOOK_WAIT_S)

    def _lead_in(self, now_ns: int) -> None:
        self._go(State.LEAD_IN)
        rested_ns = 0
        if self.bench.lamp_off_ns is not None:
            rested_ns = self.bench.lamp_off_ns + ns(self._limits.rest_s)
        self._until_ns = max(self._ready_ns, rested_ns, now_ns)

    def _light_up(self, now_ns: int) -> None:
        """Hand a whole pulse to the keeper."""
        action = self.run.plan.actions[self._at]
        if self._exposing:
            off_ns = self.bench.lamp_off_ns
            gap_s = None if off_ns is None else (now_ns - off_ns) / 1e9
            output, duration_ns = self._exposing.asked.output, self._exposing.next_pulse(gap_s)
        else:
            assert isinstance(action, Shine)
            output, duration_ns = action.output, ns(action.limit_s)
            self._said = Cue(action.say)
        self._go(State.LIT)
        self.bench.pulses += 1
        self._pulse = Pulse(self.bench.pulses, output, duration_ns, now_ns + ns(LATE_S))
        self._out.append(self._pulse)
        self._until_ns = now_ns + duration_ns + ns(2 * OUTPUT_WAIT_S)

    def _set_ticks(self, on_ns: int) -> None:
        if self._exposing and self._exposing.asked.ticks and self._pulse:
            end_ns = self._ends_ns
            self._ticks_ns = [end_ns - ns(s) for s in range(60, 0, -1) if end_ns - ns(s) > on_ns]

    def _keep_paper(self, now_ns: int, why: str) -> None:
        """Light will not fall now: say why, and go back to the prompt."""
        self._out.append(Cue(why, Sound.ATTENTION))
        self._step_back(now_ns)

    def _step_back(self, now_ns: int) -> None:
        """Leave the way to the light; nothing has fallen since the last tap."""
        if self._exposing and self.state in _INTENDED:
            self._close_stretch()
        if self._exposing and self._exposing.touched:
            self._pause(now_ns)
            return
        self._exposing = None
        self._wanted = {}
        assert self._go_at is not None
        self._at = self._go_at
        action = self.run.plan.actions[self._at]
        assert isinstance(action, Go)
        self._prompt(now_ns, State.WAITING, Cue(action.say, None, Wants.GO, action.hands))

    # -- light, and after it -----------------------------------------------------------------

    def _refused(self, now_ns: int, refused: Refused) -> None:
        if not self._pulse or self._pulse.id != refused.id:
            return
        self._pulse = None
        self._out.append(Cue(f"no light: {refused.why}", Sound.FAULT))
        if self._abandoning:
            self._finish(events.Fate.ABANDONED, refused.why)
        else:
            self._step_back(now_ns)

    def _ended(self, now_ns: int, ended: Ended) -> None:
        if not self._pulse or self._pulse.id != ended.id:
            return
        self._pulse = None
        self._lit_ns = None
        self._ticks_ns = []
        self.bench.lamp_off_ns = ended.off_ns
        self._foot.deafen(now_ns)
        if self._exposing is None:
            self._shone(now_ns)
            return
        self._exposing.ended(ended)
        if ended.cause not in (Cause.DEADLINE, Cause.CUT):
            text = f"the lamp was put off by itself ({ended.cause.value})"
            self._out.append(Cue(text, Sound.FAULT))
        if self._exposing.full:
            self._complete(now_ns)
        elif self._abandoning:
            self._finish(events.Fate.ABANDONED)
        elif ended.cause is Cause.DEADLINE:
            self._go(State.GAP)
            self._until_ns = ended.off_ns + ns(self._exposing.asked.gap_s)
        else:
            self._close_stretch()
            self._pause(now_ns)

    def _shone(self, now_ns: int) -> None:
        action = self.run.plan.actions[self._at]
        if isinstance(action, Shine) and action.opens_lens:
            self.bench.lens_open = True
        if self._abandoning:
            self._finish(events.Fate.ABANDONED)
        else:
            self._next(now_ns)

    def _close_stretch(self) -> None:
        exposing = self._exposing
        assert exposing is not None
        self._last_label = exposing.asked.label
        self._out.append(
            events.Made(
                self.run.record_id,
                self._number,
                tuple(exposing.pulses),
                exposing.stretch_s,
                exposing.full,
            )
        )

    def _complete(self, now_ns: int) -> None:
        self._close_stretch()
        self._exposing = None
        if self._abandoning:
            self._finish(events.Fate.ABANDONED)
        else:
            self._out.append(Cue(sound=Sound.END))
            self._next(now_ns)

    def _pause(self, now_ns: int) -> None:
        assert self._exposing is not None
        self._go(State.PAUSED)
        left_s = self._exposing.left_s
        self._said = Cue(f"paused, {left_s:.1f} left", Sound.PAUSED, Wants.GO)
        # with the foot still down a rising tone says what keeping it there will do
        rising = Cue("", Sound.RISING) if self._foot.down else self._said
        self._out.append(rising)
        self._until_ns = now_ns + ns(self._times.paused_reminder_s)

    # -- the foot, and wishes ----------------------------------------------------------------

    def _gesture(self, now_ns: int, gesture: Gesture | None) -> None:
        if gesture is None or self.state is State.OVER:
            return
        match gesture:
            case Gesture.STOP:
                self._out.append(Cue(sound=Sound.PRESS))
                self._stop(now_ns)
            case Gesture.LET_GO:
                if self.state is State.PAUSED:
                    self._out.append(self._said)
            case Gesture.KEPT:
                self._abandon()
            case Gesture.TAP:
                self._tap(now_ns)
            case Gesture.LONG:
                self._offer(now_ns)
            case Gesture.NOT_TAKEN:
                self._out.append(Cue(sound=Sound.NOT_TAKEN))
            case Gesture.STUCK:
                self._out.append(
                    Cue("the pedal is stuck; nothing is lit until it is free", Sound.FAULT)
                )
            case Gesture.FREE:
                self._foot.deafen(now_ns)
                self._out.append(Cue("pedal free", Sound.ATTENTION))

    def _stop(self, now_ns: int) -> None:
        """The foot went down while light fell, or was about to."""
        if self._pulse:
            self._out.append(Cut(self._pulse.id))
        elif self.state is State.GAP:
            self._close_stretch()
            self._pause(now_ns)
        else:
            self._step_back(now_ns)
            self._out.append(Cue(sound=Sound.RISING))

    def _tap(self, now_ns: int) -> None:
        match self.state:
            case State.ASKING | State.WAITING:
                self._taken(now_ns)
            case State.PAUSED:
                self._resume(now_ns)
            case State.CHOOSING:
                self._choose(now_ns)
            case _:
                self._out.append(Cue(sound=Sound.NOT_TAKEN))

    def _resume(self, now_ns: int) -> None:
        self._out.append(Cue(sound=Sound.GO))
        self._ready_ns = now_ns + ns(self._times.lead_in_s)
        self._intend(now_ns, resumed=True)

    def _offer(self, now_ns: int) -> None:
        if self.state not in (State.ASKING, State.WAITING, State.PAUSED):
            return
        self._chosen_from = self.state
        self._go(State.CHOOSING)
        self._choices = [c for c in Choice if c is not Choice.UNSURE or self._last_label]
        self._speak_choice(now_ns)

    def _speak_choice(self, now_ns: int) -> None:
        if not self._choices:
            self._back_from_choice(now_ns)  # silence changes nothing
            return
        self._said = Cue(self._choices[0].value, None, Wants.CHOICE)
        self._out.append(self._said)
        self._until_ns = now_ns + ns(self._times.choice_s)

    def _back_from_choice(self, now_ns: int) -> None:
        if self._chosen_from is State.PAUSED:
            self._pause(now_ns)
            self._foot.deafen(now_ns)
        else:
            self._go(State.READY)
            self._advance_same(now_ns)

    def _advance_same(self, now_ns: int) -> None:
        """Give the present prompt again; a sheet keeps the mark it was given."""
        action = self.run.plan.actions[self._at]
        if isinstance(action, Sheet):
            sheet = NewSheet(self._mark, action.width_mm, action.height_mm)
            text = f"{action.say}, mark {self._mark}"
            self._prompt(now_ns, State.ASKING, Cue(text, None, Wants.CONFIRM, sheet))
        else:
            self._advance(now_ns)

    def _choose(self, now_ns: int) -> None:
        choice = self._choices[0]
        self._out.append(Cue(sound=Sound.PRESS))
        match choice:
            case Choice.GO_ON:
                self._back_from_choice(now_ns)
            case Choice.UNSURE:
                self._unsure()
                self._back_from_choice(now_ns)
            case Choice.SPOILED:
                self._spoiled(now_ns)
            case Choice.END:
                self._finish(events.Fate.ABANDONED)

    def _unsure(self) -> None:
        if self._last_label:
            text = "unsure: the card moved late"
            self._out.append(events.Remark(self.run.record_id, text, self._last_label))

    def _spoiled(self, now_ns: int) -> None:
        """This sheet is lost: begin again on a new one, where the plan lays one."""
        actions = self.run.plan.actions
        sheets = [i for i, a in enumerate(actions) if isinstance(a, Sheet) and i <= self._at]
        if not sheets:
            self._finish(events.Fate.SPOILED)
            return
        self._end_sheet(events.Fate.SPOILED)
        self._exposing = None
        self._last_label = ""
        self._at = sheets[-1]
        self._go_at = None
        self._out += [LowerCurtain(False)]
        self._curtain = False
        self._go(State.READY)
        self._advance(now_ns)

    def _abandon(self) -> None:
        if self._pulse:
            self._abandoning = True
            self._out.append(Cut(self._pulse.id))
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
                if self._pulse is None and self.state not in LIGHT:
                    self._spoiled(now_ns)
            case Wish.UNSURE:
                self._unsure()

    # -- time, and the end -------------------------------------------------------------------

    def _time(self, now_ns: int) -> None:
        while self._ticks_ns and now_ns >= self._ticks_ns[0]:
            left_ns = self._ends_ns - self._ticks_ns.pop(0)
            last = left_ns <= ns(3.5)
            self._out.append(Cue(sound=Sound.LAST_TICK if last else Sound.TICK))
        if self._until_ns is None or now_ns < self._until_ns:
            return
        match self.state:
            case State.WAITING:
                if self._foot.down:
                    self._until_ns = now_ns + ns(0.1)  # never light under a foot
                else:
                    self._taken(now_ns)
            case State.CURTAIN:
                self._keep_paper(now_ns, "the screen did not go black; no light was lit")
            case State.SETTLING:
                if self._wanted:
                    names = ", ".join(self._wanted)
                    self._keep_paper(now_ns, f"{names} does not answer; no light was lit")
                else:
                    self._next(now_ns)
            case State.NOTING:
                text = "the book does not answer; exposing goes on without it"
                self._out.append(Cue(text, Sound.ATTENTION))
                self._lead_in(now_ns)
                self._time(now_ns)
            case State.LEAD_IN | State.GAP:
                self._light_up(now_ns)
            case State.PAUSED:
                self._out.append(self._said)
                self._until_ns = now_ns + ns(self._times.paused_reminder_s)
            case State.CHOOSING:
                self._choices.pop(0)
                self._speak_choice(now_ns)
            case State.LIT:
                self._until_ns = None
                self._out.append(
                    Cue("the keeper does not answer; cut the lamp's supply", Sound.FAULT)
                )
            case _:
                self._until_ns = None

    def _end_sheet(self, fate: events.Fate) -> None:
        if self._mark:
            self._out.append(events.SheetEnded(self.run.record_id, self._mark, fate))

    def _finish(self, fate: events.Fate, reason: str = "") -> None:
        """Be over: lights and screen as the plan leaves them, and the book closed."""
        if self._exposing and self.state in _INTENDED:
            self._close_stretch()
        self._exposing = None
        self._go(State.OVER)
        self._fate = fate
        self._ticks_ns = []
        for action in self.run.plan.after:
            if isinstance(action, Lights):
                self._out += [Put(name, lit) for name, lit in action.lit.items()]
            else:
                self._out.append(LowerCurtain(action.down))
                self._curtain = action.down
        self._end_sheet(fate)
        self._out.append(events.RunEnded(self.run.record_id, fate, reason))
        done = fate is events.Fate.DONE
        text = "done" if done else fate.value
        self._said = Cue(text, Sound.END if done else Sound.ATTENTION)
        self._out.append(self._said)
