"""The clock of the trays: says when each sheet is to be moved, and hears when it was not.

Sans-I/O: time comes in, cues come out. No taps are needed: a move counts as done when it is
called. A tap says that it was not: just after a call "late" (done only now), just before one
"not yet". Where a developer goes by factor, the first tap while a sheet is in there says that its
image appears, before anything else. Two sheets never ask for the same hands at once, and no tray
gets more sheets than it holds, where that can be avoided: a dry sheet waits, since that costs
nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import msgspec

from controller.enlarger.lamp import ns
from controller.events import Remark
from controller.ports import Cue, Sound
from controller.trays.emerge import method
from controller.trays.free import Free, free_spans
from controller.trays.full import OverFull, has_room, over_full
from controller.trays.happened import is_fixed_short
from controller.trays.line import Kind, Lay, Line, Move
from controller.trays.process import FIXER, Process

WORTH_TELLING_S = 5.0  # a dry sheet that could go in so little sooner is left as it was told
APART = "seconds apart"  # as two moves are told that lie too close
# silver that is left stains in selenium: common practice, no source
UNDER_FIXED = "not fixed in full: fix it again, and wash, before any toning"


class WetTimes(msgspec.Struct, frozen=True):
    """What the clock goes by, all in seconds (common practice, no source)."""

    count_in_s: float = 10.0  # from the last lamp-off to the first tray
    apart_s: float = 8.0  # two moves of one person need so much
    late_for_s: float = 15.0  # so long after a call a tap is about that call
    soon_s: float = 10.0  # so long before one it says "not yet", and gives so much more
    longest_wait_s: float = 600.0  # no dry sheet is made to wait for longer


class Through(msgspec.Struct, frozen=True):
    """A sheet has been through: what is to be written down."""

    mark: str
    record_id: str
    process: str
    base: str
    lay: tuple[Lay, ...]
    left_out: bool = False  # taken off the clock before its end
    missed: tuple[Lay, ...] = ()  # fixers that it never came into, as far as is known
    ended_ns: int | None = None  # when it left the last of ``lay``

    @property
    def is_under_fixed(self) -> bool:
        """Was it taken away before all of its fixing?"""
        return bool(self.missed) or is_fixed_short(
            (lay.planned_s, lay.actual_s) for lay in self.lay if FIXER in lay.tray
        )

    @property
    def remark(self) -> Remark | None:
        """Give what the book is to hold; None for a sheet of no record."""
        return Remark(self.record_id, self.words, mark=self.mark) if self.record_id else None

    @property
    def words(self) -> str:
        """Say it in a line."""
        parts = [lay.words for lay in self.lay]
        end = "; taken off the clock" if self.left_out else ""
        if self.is_under_fixed:
            end += f"; {UNDER_FIXED}"
        return f"trays, {self.process}: {', '.join(parts) or 'nothing'}{end}"


class LineView(msgspec.Struct, frozen=True):
    """One sheet for a screen, which counts down to ``due_ns`` itself."""

    mark: str
    process: str
    where: str
    then: str
    due_ns: int | None
    late_s: float


class TraysView(msgspec.Struct, frozen=True, tag="trays-view"):
    """The trays for a screen. ``process`` is empty where none is chosen: nothing is counted."""

    process: str = ""
    celsius: float = 20.0
    lines: tuple[LineView, ...] = ()
    warnings: tuple[str, ...] = ()
    factor: float | None = None  # of the developer
    free: tuple[Free, ...] = ()  # for light, as the moves lie now
    factor_asked: float | None = None  # what was chosen beside the process


class WetClock:
    """Several sheets on their way."""

    def __init__(self, times: WetTimes | None = None) -> None:
        self._times = times or WetTimes()
        self._lines: list[Line] = []
        self._ended: list[Line] = []
        self._told: set[tuple[str, str]] = set()  # what is too close or full, and was told
        self._last: Line | None = None  # whose move was called last

    # -- asked ---------------------------------------------------------------------------------

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        return min((line.due_ns for line in self._lines if not line.is_over), default=None)

    @property
    def marks(self) -> list[str]:
        """Give the sheets that are on their way."""
        return [line.mark for line in self._lines if not line.is_over]

    @property
    def last_mark(self) -> str:
        """Give the sheet that was moved last; empty before any was."""
        return self._last.mark if self._last else ""

    def moves(self) -> list[Move]:
        """Give all that is still to be done, in its order."""
        return sorted(
            (move for line in self._lines for move in line.moves()), key=lambda move: move.at_ns
        )

    def collisions(self) -> list[tuple[Move, Move]]:
        """Give moves of two sheets that lie too close together for one pair of hands."""
        return _too_close(self.moves(), ns(self._times.apart_s))

    def too_full(self) -> list[OverFull]:
        """Give the sheets that will come into a tray which is full by then."""
        return over_full(stay for line in self._lines for stay in line.stays())

    def earliest_start_ns(self, now_ns: int, exposure_s: float) -> int:
        """Say from when an exposure ends before the next move."""
        light_ns = ns(exposure_s)
        return next(
            span.from_ns
            for span in self.free(now_ns)
            if span.until_ns is None or span.until_ns - span.from_ns >= light_ns
        )

    def free(self, now_ns: int) -> tuple[Free, ...]:
        """Give when the hands are free for light, from now on."""
        moves = (move.at_ns for move in self.moves())
        return free_spans(moves, now_ns, ns(self._times.apart_s) // 2)

    def wait_s(self, now_ns: int, exposure_s: float) -> int:
        """Say how long an exposure should wait so as not to outlast the next move; 0: not."""
        next_ns = self.next_ns
        if next_ns is None or next_ns >= now_ns + ns(exposure_s):
            return 0
        return math.ceil((self.earliest_start_ns(now_ns, exposure_s) - now_ns) / 1e9)

    def views(self) -> tuple[LineView, ...]:
        """Show every sheet, the next to be moved first."""
        alive = sorted((e for e in self._lines if not e.is_over), key=lambda line: line.due_ns)
        over = [line for line in self._lines if line.is_over]
        return tuple(_view(line) for line in (*alive, *over))

    def warnings(self) -> tuple[str, ...]:
        """Say what will be too close together, and which tray too full."""
        return tuple(self._warned().values())

    # -- told ----------------------------------------------------------------------------------

    def start(self, now_ns: int, mark: str, record_id: str, process: Process) -> list[Cue]:
        """A sheet got its last light: count it in, when hands are free at all of its moves."""
        self._lines = [e for e in self._lines if e.mark != mark and not e.is_over]
        ready_ns = now_ns + ns(self._times.count_in_s)
        way = process.in_trays(self._times.count_in_s)
        line = Line(mark, record_id, way, ready_ns, ready_ns=ready_ns)
        found_ns = self._free_ns(line, ready_ns, self._lines)
        line.due_ns = ready_ns if found_ns is None else found_ns
        wait_s = round((line.due_ns - ready_ns) / 1e9)
        self._lines.append(line)
        return self._warn([Cue(f"{mark} waits, in {wait_s + self._count_in_s}")] if wait_s else [])

    def tap(self, now_ns: int) -> list[Cue]:
        """A tap: an image appears, or the last move was late, or the next one comes too soon."""
        times, line = self._times, self._last
        if images := [each for each in self._lines if each.may_emerge(now_ns)]:
            image = min(images, key=lambda line: line.in_ns or 0)
            lift_s = image.emerge(now_ns)
            text = f"{image.mark} emerged at {image.emerged_s:.0f}, lift at {lift_s:.0f}"
            return self._warn([Cue(text, Sound.PRESS), *self.settle_dry(now_ns)])
        if line is not None and line.may_be_late(now_ns, ns(times.late_for_s)):
            late_s = line.late(now_ns)
            said = f"late {late_s:.0f}" if late_s else "now, within its time"
            cues = [Cue(f"{line.mark} {said}", Sound.PRESS)]
            return self._warn(cues + self.settle_dry(now_ns))
        due = min((e for e in self._lines if not e.is_over), key=lambda e: e.due_ns, default=None)
        if due is not None and due.due_ns - now_ns <= ns(times.soon_s):
            due.put_off(ns(times.soon_s))
            text = f"{due.mark} not yet, {times.soon_s:.0f} more"
            return self._warn([Cue(text, Sound.PRESS), *self.settle_dry(now_ns)])
        return [Cue(sound=Sound.NOT_TAKEN)]

    def put_in(self, now_ns: int, mark: str) -> list[Cue]:
        """A dry sheet comes in now, by its printer's will. An unknown one changes nothing."""
        for line in self._lines:
            if line.mark == mark and line.is_dry:
                line.due_ns = now_ns
        return self._warn([*self.step(now_ns), *self.settle_dry(now_ns)])

    def methods(self) -> dict[str, str]:
        """Say how each sheet that is on its way is developed, strips and all."""
        return {e.mark: method(e.process) for e in self._lines if not e.is_over}

    def take_off(self, now_ns: int, mark: str) -> bool:
        """Count a sheet no more: it was taken away, or gets more light. Tells if there was one.

        The tray in which it lies has had it until now.
        """
        for line in self._lines:
            if line.mark == mark and not line.is_over:
                if not line.is_dry:
                    line.take_away(now_ns)
                    self._ended.append(line)
                self._lines.remove(line)
                return True
        return False

    def step(self, now_ns: int) -> list[Cue]:
        """Let time pass; gives what is called."""
        out: list[Cue] = []
        while (line := self._due(now_ns)) is not None:
            move = line.next_move()
            assert move is not None
            line.call(move)
            self._last = line
            out.append(Cue(move.words, Sound.ATTENTION))
            if line.is_over:
                self._ended.append(line)
        return out

    def through(self, now_ns: int | None = None) -> list[Through]:
        """Give the sheets that came through since the last call.

        With a time, only those of which no tap can say any more that the last move was late.
        """
        late_ns = ns(self._times.late_for_s)
        settled = [e for e in self._ended if now_ns is None or now_ns > e.done_ns + late_ns]
        self._ended = [line for line in self._ended if line not in settled]
        return [_through(line) for line in settled]

    # -- inside --------------------------------------------------------------------------------

    @property
    def _count_in_s(self) -> int:
        return round(self._times.count_in_s)

    def _due(self, now_ns: int) -> Line | None:
        due = [e for e in self._lines if not e.is_over and e.due_ns <= now_ns]
        return min(due, key=lambda line: line.due_ns, default=None)

    def _free_ns(self, line: Line, from_ns: int, others: Sequence[Line]) -> int | None:
        """Find when a dry sheet can come in such that no move meets another's and no tray is full.

        None where no time within the longest wait is such.
        """
        beside = [stay for other in others for stay in other.stays()]
        shift_ns = from_ns - line.due_ns
        stays = [stay.later(shift_ns) for stay in line.stays()]
        theirs = [move.at_ns for other in others for move in other.moves()]
        mine = [move.at_ns + shift_ns for move in line.moves()]
        apart_ns = ns(self._times.apart_s)
        for wait_s in range(int(self._times.longest_wait_s) + 1):
            wait_ns = ns(wait_s)
            if not all(abs(a + wait_ns - b) >= apart_ns for a in mine for b in theirs):
                continue
            if has_room([stay.later(wait_ns) for stay in stays], beside):
                return from_ns + wait_ns
        return None

    def settle_dry(self, now_ns: int) -> list[Cue]:
        """Let dry sheets wait for longer where another is in their way, or for less where none is.

        They keep their order, and none is called sooner than its hands hear of it beforehand.
        """
        cues = []
        told_ns = now_ns + ns(self._times.count_in_s)
        dry = [e for e in self._lines if e.is_dry and not e.is_over]
        settled = [e for e in self._lines if e not in dry]
        before_ns = now_ns
        for line in sorted(dry, key=lambda line: line.due_ns):
            from_ns = max(min(line.due_ns, max(line.ready_ns, told_ns)), before_ns)
            found_ns = self._free_ns(line, from_ns, settled)
            if found_ns is not None and self._is_worth(line, found_ns, before_ns, settled):
                word = "waits" if found_ns > line.due_ns else "sooner"
                line.due_ns = found_ns
                cues.append(Cue(f"{line.mark} {word}, in {math.ceil((found_ns - now_ns) / 1e9)}"))
            settled.append(line)
            before_ns = line.due_ns
        return cues

    def _is_worth(self, line: Line, found_ns: int, before_ns: int, others: Sequence[Line]) -> bool:
        """Is a dry sheet's time to be changed? Not for a little, while it can stay as it is."""
        if abs(found_ns - line.due_ns) >= ns(WORTH_TELLING_S):
            return True
        stays = line.due_ns >= before_ns and self._free_ns(line, line.due_ns, others) == line.due_ns
        return found_ns != line.due_ns and not stays

    def _warn(self, cues: list[Cue]) -> list[Cue]:
        """Add what now comes too close together, or fills a tray too much, once."""
        warned = self._warned()
        fresh = [words for key, words in warned.items() if key not in self._told]
        self._told = set(warned)
        return cues + [Cue(words, Sound.ATTENTION) for words in fresh]

    def _warned(self) -> dict[tuple[str, str], str]:
        """Give what is to be told, by what it is about: that stays, its figures may change."""
        close = {(a.words, b.words): _words((a, b)) for a, b in self.collisions()}
        return close | {(each.mark, each.tray): each.words for each in self.too_full()}


def _too_close(moves: Iterable[Move], apart_ns: int) -> list[tuple[Move, Move]]:
    return [(a, b) for a, b in pairwise(moves) if a.mark != b.mark and b.at_ns - a.at_ns < apart_ns]


def _words(pair: tuple[Move, Move]) -> str:
    first, second = pair
    apart_s = (second.at_ns - first.at_ns) / 1e9
    return f"{first.words} and {second.words} will be {int(apart_s)} {APART}"


def _through(line: Line) -> Through:
    return Through(
        line.mark,
        line.record_id,
        line.process.name,
        line.process.base,
        tuple(line.lay),
        left_out=not line.is_over,
        missed=tuple(
            Lay(step.name, step.time_s, 0.0, 0.0)
            for step in line.process.steps[len(line.lay) :]
            if FIXER in step.name and step.time_s is not None
        ),
        ended_ns=line.in_ns,
    )


def _view(line: Line) -> LineView:
    move = line.next_move()
    if line.is_dry:
        where = "dry"
    elif line.tray.factor and not line.is_lifted:
        told_s = line.emerged_s
        where = f"{line.tray.name}, " + ("no image" if told_s is None else f"{told_s:.0f} s")
    else:
        where = f"over {line.tray.name}" if line.is_lifted else line.tray.name
    then = ""
    if move is not None:
        then = "lift" if move.kind is Kind.LIFT else f"in, {move.tray}"
    due_ns = None if line.is_over else line.due_ns
    return LineView(line.mark, line.process.name, where, then, due_ns, line.late_s)
