"""The printer: hears cues, moves things with human delays, and taps the pedal.

Knows nothing of paper or lamp physics, only what a person in the dark hears and sees; so the
same hands serve in virtual time and beside the real keeper. Repeatable by a seed.
"""

from __future__ import annotations

import heapq
import random
from typing import TypeAlias

import msgspec

from controller.ports import Cue, Filter, Hands, Move, NewSheet, Shade, Sound, Wants
from sim.settings import HandsSettings, Range

# The printer has learned that the pedal is deaf for a second after a prompt and after light.
DEAF_S = 1.1
LONG_S = (1.8, 2.4)  # a press that is long beyond doubt: the manual says a second and a half


class PedalEdge(msgspec.Struct, frozen=True, tag="pedal"):
    """The pedal's contact changed."""

    at_ns: int
    down: bool


class Done(msgspec.Struct, frozen=True, tag="done"):
    """Something was done by hand: card moved, sheet laid, lens or filter set, wand held."""

    at_ns: int
    hands: Hands


Happening: TypeAlias = PedalEdge | Done


class Press(msgspec.Struct, frozen=True):
    """The foot comes down on a burning lamp: the printer pauses."""

    at_ns: int


class Operator:
    """The printer at the bench. Calls come with times that never run backwards."""

    def __init__(
        self, settings: HandsSettings | None = None, *, seed: int = 1, lamp: str = "lamp"
    ) -> None:
        self._s = settings or HandsSettings()
        self._rng = random.Random(seed)
        self._lamp = lamp
        self._coming: list[tuple[int, int, Happening]] = []
        self._count = 0
        # what is waited for, and the tap that will answer it (down, up)
        self._wants = Wants.NOTHING
        self._answered = Wants.NOTHING
        self._tap: tuple[int, int] | None = None
        self._busy_until_ns = 0
        self._moves = 0
        self._last_job: Hands | None = None
        self._forgotten: list[Hands] = []
        self._wands: set[str] = set()  # in the beam, or on their way there
        self._wand_ns: dict[str, int] = {}  # when each was last moved
        self._lit_since_ns: int | None = None
        self._lit_ns = 0  # over the whole run, without the pulse in hand
        self._dark_since_ns: int | None = None
        self._pulse_since_sheet = False
        self._last_go_ns: int | None = None
        self._lead_in_ns = 0  # from tap to light, as it was the last time
        self._pauses = sorted(self._s.pause_at)
        self._choosing = sorted(self._s.choose_at)
        self._pause: Press | None = None

    # -- what is heard and seen --------------------------------------------------------------

    def hear(self, now_ns: int, cue: Cue) -> None:
        """Hear a cue; jobs and taps that follow from it are planned."""
        if cue.hands is not None:
            self._plan_job(now_ns, cue.hands)
        match cue.wants:
            case Wants.CONFIRM | Wants.GO:
                asked_anew = self._tap is None or cue.wants is not self._wants
                self._wants = cue.wants
                if asked_anew or cue.hands is not None:
                    self._plan_tap(now_ns, self._answer_after_s(now_ns))
                else:
                    self._put_off_tap(now_ns)  # a reminder: the foot is already on its way
            case Wants.CHOICE:
                self._wants, self._tap = Wants.NOTHING, None
                if any(word in cue.text for word in self._s.take):
                    self._plan_tap(now_ns, self._draw(self._s.reaction_s))
            case Wants.NOTHING:
                if cue.sound is Sound.NOT_TAKEN and self._tap is None and self._unanswered():
                    self._wants = self._answered
                    self._plan_tap(now_ns, self._draw(self._s.reaction_s))

    def saw(self, now_ns: int, name: str, lit: bool) -> None:
        """See the lamp go on or off."""
        if name != self._lamp or lit == (self._lit_since_ns is not None):
            return
        if lit:
            self._lit_since_ns = now_ns
            if self._last_go_ns is not None:
                self._lead_in_ns = now_ns - self._last_go_ns
            self._last_go_ns = None
            self._wants = self._answered = Wants.NOTHING
            self._tap = None  # a tap now would put the light out
            for job in self._forgotten:
                self._put(Done(now_ns + round(self._s.late_by_s * 1e9), job))
            self._forgotten = []
            self._plan_pause(now_ns)
        else:
            assert self._lit_since_ns is not None
            self._lit_ns += now_ns - self._lit_since_ns
            self._lit_since_ns = None
            self._dark_since_ns = now_ns
            self._pulse_since_sheet = True
            self._pause = None
            self._put_wands_down(now_ns)
            self._put_off_tap(now_ns)

    # -- what is done ------------------------------------------------------------------------

    def next_ns(self) -> int | None:
        """When will the printer next do something?"""
        times = [self._coming[0][0]] if self._coming else []
        if self._tap:
            times.append(self._tap[0])
        if self._pause:
            times.append(self._pause.at_ns)
        return min(times, default=None)

    def act(self, now_ns: int) -> list[Happening]:
        """Do what is due, in the order of its time."""
        done: list[Happening] = []
        while (due_ns := self.next_ns()) is not None and due_ns <= now_ns:
            if self._pause and self._pause.at_ns == due_ns:
                self._press_to_pause(self._pause.at_ns)
            elif self._tap and self._tap[0] == due_ns:
                down_ns, up_ns = self._tap
                self._tap = None
                self._press(down_ns, up_ns)
                if self._wants is Wants.GO:
                    self._last_go_ns = up_ns
                self._answered, self._wants = self._wants, Wants.NOTHING
            else:
                done.append(heapq.heappop(self._coming)[2])
        return done

    # -- inside ------------------------------------------------------------------------------

    def _draw(self, between: Range) -> float:
        return self._rng.uniform(*between)

    def _put(self, happening: Happening) -> None:
        self._count += 1
        heapq.heappush(self._coming, (happening.at_ns, self._count, happening))

    def _unanswered(self) -> bool:
        return self._answered in (Wants.CONFIRM, Wants.GO) and self._lit_since_ns is None

    def _plan_job(self, now_ns: int, job: Hands) -> None:
        if isinstance(job, Shade) and job.tool == "wand":
            self._plan_wand(now_ns, job)
            return
        if job == self._last_job:
            return  # asked again, and it lies as asked (or was forgotten, and still is)
        self._last_job = job
        takes_s = self._draw(self._time_for(job))
        if isinstance(job, NewSheet):
            self._pulse_since_sheet = False
        if isinstance(job, Move):
            self._moves += 1
            if self._moves in self._s.late_moves:
                self._forgotten.append(job)
                return
        begin_ns = max(now_ns + round(self._draw(self._s.reaction_s) * 1e9), self._busy_until_ns)
        self._busy_until_ns = begin_ns + round(takes_s * 1e9)
        self._put(Done(self._busy_until_ns, job))

    def _time_for(self, job: Hands) -> Range:
        if isinstance(job, NewSheet):
            return self._s.sheet_s
        return self._s.filter_s if isinstance(job, Filter) else self._s.move_s

    def _plan_wand(self, now_ns: int, job: Shade) -> None:
        """Bring a wand in or out: at once in the light, else when the hands are free."""
        if self._lit_since_ns is not None:
            at_ns = now_ns + round(self._draw(self._s.handwork_s) * 1e9)
        else:
            at_ns = max(now_ns + round(self._draw(self._s.reaction_s) * 1e9), self._busy_until_ns)
            self._busy_until_ns = at_ns
        at_ns = max(at_ns, self._wand_ns.get(job.name, at_ns))  # never out before it is in
        self._wand_ns[job.name] = at_ns
        if job.held:
            self._wands.add(job.name)
        else:
            self._wands.discard(job.name)
        self._put(Done(at_ns, job))

    def _put_wands_down(self, now_ns: int) -> None:
        """Take wands out of the beam after the light, when nothing glows any more."""
        for name in sorted(self._wands):
            self._plan_wand(now_ns, Shade("wand", name, held=False))

    def _answer_after_s(self, now_ns: int) -> float:
        """Say how long after now the tap should be over, were the printer free to choose."""
        if self._wants is Wants.GO and self._pulse_since_sheet and self._dark_since_ns is not None:
            # between pulses of a strip: aim at a gap, knowing how long light takes to follow
            dark_s = (now_ns - self._dark_since_ns) / 1e9
            lead_s = self._lead_in_ns / 1e9
            low_s, high_s = self._s.gap_s
            soonest_s = dark_s + DEAF_S + self._s.tap_s[1] + lead_s
            aimed_s = self._draw((max(low_s, min(soonest_s, high_s)), high_s))
            return aimed_s - dark_s - lead_s
        return DEAF_S + self._draw((0.2, 1.5))

    def _plan_tap(self, now_ns: int, after_s: float) -> None:
        held_ns = round(self._draw(self._held_for()) * 1e9)
        down_ns = max(now_ns + round(after_s * 1e9) - held_ns, self._free_ns(now_ns))
        self._tap = (down_ns, down_ns + held_ns)

    def _held_for(self) -> Range:
        """Say how long the pedal is to be held at this prompt: to hear choices, or for a tap."""
        lit_s = self._lit_ns / 1e9
        prompted = self._wants in (Wants.GO, Wants.CONFIRM)
        if not (prompted and self._choosing and lit_s >= self._choosing[0]):
            return self._s.tap_s
        self._choosing.pop(0)
        return LONG_S

    def _put_off_tap(self, now_ns: int) -> None:
        if self._tap:
            down_ns, up_ns = self._tap
            later_ns = max(down_ns, self._free_ns(now_ns))
            self._tap = (later_ns, later_ns + up_ns - down_ns)

    def _free_ns(self, now_ns: int) -> int:
        """From when may the foot tap: hands done, and the pedal no longer deaf."""
        heard_ns = now_ns + round(DEAF_S * 1e9)
        return max(heard_ns, self._busy_until_ns + 50_000_000)

    def _press(self, down_ns: int, up_ns: int) -> None:
        for at_ns, down in ((down_ns, True), (up_ns, False)):
            self._put(PedalEdge(at_ns, down))
            if self._s.bounce:
                bounce_ns = at_ns
                for _ in range(self._rng.randint(1, 3)):
                    for still in (not down, down):
                        bounce_ns += round(self._rng.uniform(0.3e6, 1.8e6))
                        self._put(PedalEdge(bounce_ns, still))

    def _plan_pause(self, now_ns: int) -> None:
        if self._pauses:
            wait_ns = round(self._pauses[0] * 1e9) - self._lit_ns
            self._pause = Press(now_ns + max(wait_ns, 1_000_000))

    def _press_to_pause(self, at_ns: int) -> None:
        self._pause = None
        self._pauses.pop(0)
        self._press(at_ns, at_ns + round(self._draw(self._s.tap_s) * 1e9))
        # light goes out on that edge; resume whether or not it is then asked for
        self._wants = Wants.GO
        self._plan_tap(at_ns, self._draw(self._s.pause_for_s))
