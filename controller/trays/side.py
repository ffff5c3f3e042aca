"""The wet side of a unit: hears what the runner does, keeps the clock of the trays, writes it down.

Sans-I/O, and the same in real and in counted time. A sheet is counted in from its last lamp-off,
where a process is chosen; without one nothing is counted. What became of a sheet is given as a
remark, and never while light falls.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.events import Event, Fate, Made, RunBegun, SheetBegun, SheetEnded
from controller.ports import Cue, Sound
from controller.trays.clock import Through, TraysView, WetClock, WetTimes
from controller.trays.emerge import by_factor, method
from controller.trays.process import (
    PRINTS,
    PROCESSES,
    STANDARD_C,
    Process,
    process_named,
    short_beside,
    warmth_words,
)

SHORT = "strip"
TO_TRAYS, TO_BENCH = "pedal to the trays", "pedal to the bench"


class Chosen(msgspec.Struct, frozen=True):
    """What prints go through: a process by its name (empty: none), at a temperature.

    ``factor`` develops by the first image; None leaves that to the process.
    """

    process: str = ""
    celsius: float = STANDARD_C
    factor: float | None = None

    def found(self, known: Mapping[str, Process] = PROCESSES) -> Process | None:
        """Give the process as it is at that temperature. Raises BadInput."""
        if not self.process:
            return None
        return by_factor(process_named(self.process, known).at(self.celsius), self.factor)


class WetSide:
    """The trays. ``shares_pedal``: the one pedal serves bench and trays in turn."""

    def __init__(
        self,
        chosen: Chosen | None = None,
        known: Mapping[str, Process] = PROCESSES,
        *,
        shares_pedal: bool = False,
        times: WetTimes | None = None,
    ) -> None:
        self.clock = WetClock(times)
        self.chosen = chosen or Chosen()
        self._shares_pedal = shares_pedal
        self._known = known
        self._process = self.chosen.found(known)
        self._methods: dict[str, str] = {}  # how prints were developed, by their record
        self._kind = ""  # of the plan in hand
        self._mark = ""  # the newest sheet
        self._off_ns = 0  # when its last light went off
        self._is_tray_s = False  # whose is the one pedal?
        self._is_lit = False
        self.changed = True  # there is something new to show

    # -- asked ---------------------------------------------------------------------------------

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        return self.clock.next_ns

    @property
    def mark(self) -> str:
        """The sheet that a note is of: the one that was moved last, else the newest."""
        return self.clock.last_mark if self.clock.marks else self._mark

    @property
    def owns_pedal(self) -> bool:
        """Is the one pedal the trays' now?"""
        return self._is_tray_s

    def view(self) -> TraysView:
        """Show the trays."""
        clock, chosen = self.clock, self.chosen
        factor = self._process.steps[0].factor if self._process else None
        lines, warnings = clock.views(), clock.warnings()
        free = clock.free(0) if clock.marks else ()  # the first from now on, whenever that is
        return TraysView(
            chosen.process, chosen.celsius, lines, warnings, factor, free, chosen.factor
        )

    def wait_s(self, now_ns: int, busy_s: float) -> int:
        """Say how long light should wait so as not to outlast the next move; 0: not."""
        return self.clock.wait_s(now_ns, busy_s)

    # -- told ----------------------------------------------------------------------------------

    def choose(self, chosen: Chosen) -> list[Cue]:
        """Choose what prints go through from now on.

        Raises BadInput, also where that changes how prints are developed while some are under way.
        """
        found = chosen.found(self._known)
        if found is not None:
            self._keep_to_method(method(found))
        self._process = found
        self.chosen, self.changed = chosen, True
        if self._process is None:
            return [Cue("trays not counted", Sound.END)]
        first = self._process.steps[0]
        said = f"{chosen.process.replace('-', ' ')} at {chosen.celsius:g}, "
        said += f"{first.name} {first.time_s:.0f} seconds" if first.time_s else first.name
        if first.factor is not None:
            said += f" or {first.factor:g} times the first image: tap when it appears"
        said = "; ".join(filter(None, [said, warmth_words(chosen.celsius)]))
        return [Cue(said, Sound.END)]

    def lit(self, *, lit: bool) -> None:
        """Light falls, or is over: nothing is written down in between."""
        self._is_lit = lit

    def hear(self, now_ns: int, event: Event) -> list[Cue]:
        """Take note of what the runner did; gives what is heard of it."""
        match event:
            case RunBegun(kind=kind, mark=mark):
                self._kind = kind
                if mark and self.clock.take_off(now_ns, mark):  # it gets more light
                    self.changed = True
                    return self.clock.settle_dry(now_ns) + self._owned(trays=False)
            case SheetBegun(mark=mark):
                self._mark = mark
                return self._owned(trays=False)
            case Made(pulses=pulses) if pulses:
                self._off_ns = pulses[-1].off_ns
            case SheetEnded(record_id=record_id, mark=mark, fate=Fate.DONE):
                return self._ended(now_ns, record_id, mark)
            case SheetEnded():
                return self._owned(trays=bool(self.clock.marks))
        return []

    def tap(self, now_ns: int) -> list[Cue]:
        """A tap that is the trays'."""
        self.changed = True
        return self.clock.tap(now_ns)

    def put_in(self, now_ns: int, mark: str) -> list[Cue]:
        """A sheet goes in now: a dry one that is counted, or any that a terminal names."""
        self.changed = True
        if mark in self.clock.marks:
            return self.clock.put_in(now_ns, mark)
        if self._process is None:
            raise BadInput("no process is chosen", "trays", "a process first, such as fibre")
        cues = self.clock.start(now_ns, mark, "", self._process)
        return cues + self.clock.put_in(now_ns, mark)

    def take_off(self, now_ns: int, mark: str) -> list[Cue]:
        """Count a sheet no more."""
        self.changed = True
        is_off = self.clock.take_off(now_ns, mark)
        said = f"{mark} off the clock" if is_off else f"{mark or 'that sheet'} is not counted"
        told = Cue(said, Sound.END if is_off else Sound.ATTENTION)
        return [told, *(self.clock.settle_dry(now_ns) if is_off else [])]

    def step(self, now_ns: int) -> list[Cue]:
        """Let time pass; gives what is called."""
        cues = self.clock.step(now_ns)
        if cues:
            self.changed = True
            if not self.clock.marks:
                cues += self._owned(trays=False)
        return cues

    def through(self, now_ns: int | None = None) -> list[Through]:
        """Give the sheets that came through and are to be written down; all without a time."""
        return [] if self._is_lit else self.clock.through(now_ns)

    # -- inside --------------------------------------------------------------------------------

    def _ended(self, now_ns: int, record_id: str, mark: str) -> list[Cue]:
        if self._process is None:
            return []
        process = self._process
        if self._kind not in PRINTS:
            whole, short = (process_named(e, self._known) for e in (self.chosen.process, SHORT))
            beside = short_beside(short, whole).at(self.chosen.celsius)
            process = by_factor(beside, process.steps[0].factor)
        self.changed = True
        off_ns = self._off_ns if now_ns - self._off_ns < ns(60.0) else now_ns
        cues = self.clock.start(off_ns, mark, record_id, process)
        if self._kind in PRINTS:
            cues += self._told_of_method(mark, record_id, method(process))
        return cues + self._owned(trays=True)

    def _keep_to_method(self, new: str) -> None:
        """Refuse another way of developing while sheets are on theirs: all keep to one."""
        others = {mark: old for mark, old in self.clock.methods().items() if old != new}
        if others:
            marks, (old, *_) = ", ".join(others), others.values()
            raise BadInput(
                f"{marks} on the way, developed {old}; one edition keeps to one method",
                "trays",
                f"{old} until none is under way",
            )

    def _told_of_method(self, mark: str, record_id: str, new: str) -> list[Cue]:
        """Tell of a print that is developed another way than those before it of its record."""
        old = self._methods.setdefault(record_id, new) if record_id else new
        if old == new:
            return []
        self._methods[record_id] = new
        said = f"{mark} is developed {new}, the prints before it {old}: they will differ"
        return [Cue(said, Sound.ATTENTION)]

    def _owned(self, *, trays: bool) -> list[Cue]:
        if not self._shares_pedal or trays is self._is_tray_s:
            return []
        self._is_tray_s = trays
        return [Cue(TO_TRAYS if trays else TO_BENCH)]
