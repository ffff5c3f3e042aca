"""One sheet's way through the trays: its moves, and what became of them. Sans-I/O."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum

import msgspec

from controller.enlarger.lamp import ns
from controller.trays.emerge import emerged, may_emerge
from controller.trays.full import Stay
from controller.trays.process import SOONEST_LIFT_S, Process, Step


class Kind(Enum):
    """What hands do at a move."""

    IN = "in"
    LIFT = "lift"


class Move(msgspec.Struct, frozen=True):
    """Something that is to be done with a sheet at a time."""

    at_ns: int
    mark: str
    kind: Kind
    tray: str

    @property
    def words(self) -> str:
        """Say it."""
        return f"{self.mark} lift" if self.kind is Kind.LIFT else f"{self.mark} in, {self.tray}"


class Lay(msgspec.Struct, frozen=True):
    """A sheet lay in a tray: as long as was planned, and as it really was."""

    tray: str
    planned_s: float
    actual_s: float
    late_s: float
    emerged_s: float | None = None  # when its image appeared, counted from when it came in
    factor: float | None = None  # that its time was to be of that; None: it went by the clock

    @property
    def words(self) -> str:
        """Say it, with what its time came from where that was to be the image."""
        said = f"{self.tray} {self.actual_s:.0f} s"
        if self.late_s >= 1.0:
            said += f" ({self.late_s:.0f} late)"
        if self.emerged_s is not None:
            said += f" (image at {self.emerged_s:.0f} s, factor {self.factor:g})"
        elif self.factor is not None:
            said += " (by the clock: no image told)"
        return said


@dataclass(eq=False)
class Line:
    """A sheet on its way. ``due_ns`` is its next move's time; it is over when there is none."""

    mark: str
    record_id: str
    process: Process
    due_ns: int
    step: int = 0  # where it is, or goes next
    is_lifted: bool = False  # drains over the tray that it was in
    called: Move | None = None  # the last move that was called
    done_ns: int = 0  # when that was done, as far as is known
    late_s: float = 0.0  # in all
    late_here_s: float = 0.0  # in the tray that it lies in
    slack_s: float = 0.0  # what is left there of its range; only after that is it late
    slack_before_s: float = 0.0  # the same of the tray before
    ready_ns: int = 0  # while it is dry: no sooner than this, however free the way is
    in_ns: int | None = None  # when it came into that tray
    emerged_s: float | None = None  # when its image was told, counted from then
    lay: list[Lay] = field(default_factory=list)
    is_over: bool = False

    @property
    def tray(self) -> Step:
        """The tray that it lies in, drains over, or (still dry) comes to."""
        return self.process.steps[self.step]

    @property
    def is_dry(self) -> bool:
        """Is it still out of every tray?"""
        return self.in_ns is None

    def next_move(self) -> Move | None:
        """Give what is to be done next."""
        return next(self.moves(), None)

    def moves(self) -> Iterator[Move]:
        """Give all that is still to be done, as it is planned now."""
        if self.is_over:
            return
        at_ns = self.due_ns
        is_in = self.in_ns is not None and not self.is_lifted
        first = self.step + 1 if self.is_lifted else self.step
        for step in self.process.steps[first:]:
            if not is_in:
                yield Move(at_ns, self.mark, Kind.IN, step.name)
                if step.time_s is None or step.lift_s is None:
                    return
                at_ns += ns(step.lift_s)
            is_in = False
            yield Move(at_ns, self.mark, Kind.LIFT, step.name)
            at_ns += ns(step.drain_s)

    def stays(self) -> Iterator[Stay]:
        """Give where it lies, and will lie, as it is planned now; not where it stays for good."""
        holds = {step.name: step.holds for step in self.process.steps}
        in_ns = self.in_ns
        for move in self.moves():
            if move.kind is Kind.IN:
                in_ns = move.at_ns
            elif in_ns is not None:
                yield Stay(self.mark, move.tray, holds[move.tray], in_ns, move.at_ns)

    def call(self, move: Move) -> None:
        """The next move was called, and is taken as done in that moment."""
        self.called, self.done_ns = move, move.at_ns
        if move.kind is Kind.LIFT:
            self.is_lifted = True
            self.due_ns = move.at_ns + ns(self.tray.drain_s)
            return
        if self.in_ns is not None:
            self._leave(move.at_ns)
            self.step += 1
        self.in_ns, self.is_lifted = move.at_ns, False
        self.slack_before_s, self.slack_s = self.slack_s, self.tray.slack_s
        if self.tray.lift_s is None:
            self.is_over = True
        else:
            self.due_ns = move.at_ns + ns(self.tray.lift_s)

    def may_be_late(self, now_ns: int, for_ns: int) -> bool:
        """Can a tap say that the last move is done only now? Not once its image was seen."""
        is_in = self.called is not None and self.called.kind is Kind.IN
        range_ns = ns(self.slack_before_s if is_in else self.slack_s)
        return self.emerged_s is None and now_ns - self.done_ns <= for_ns + range_ns

    def late(self, now_ns: int) -> float:
        """The last move is done only now; gives by how much it is late, beyond a tray's range.

        All that follows is later, but for a lift whose time counts from before it came in.
        """
        by_ns = now_ns - self.done_ns
        self.done_ns = now_ns
        if self.called is not None and self.called.kind is Kind.IN:
            self.in_ns = now_ns
            self.slack_before_s, late_s = _beyond(self.slack_before_s, by_ns)
            if self.lay:  # until now it was in the tray before
                last = self.lay[-1]
                self.lay[-1] = msgspec.structs.replace(
                    last, actual_s=last.actual_s + by_ns / 1e9, late_s=last.late_s + late_s
                )
            if self.tray.counts_from == "in":
                self.due_ns += by_ns
            else:
                self.due_ns = max(self.due_ns, now_ns + ns(SOONEST_LIFT_S))
        else:
            self.slack_s, late_s = _beyond(self.slack_s, by_ns)
            self.late_here_s += late_s
            self.due_ns += by_ns
        self.late_s += late_s
        return late_s

    def may_emerge(self, now_ns: int) -> bool:
        """Can its image be told now?"""
        if self.in_ns is None or self.is_lifted or self.is_over or self.emerged_s is not None:
            return False
        return may_emerge(self.tray, (now_ns - self.in_ns) / 1e9)

    def emerge(self, now_ns: int) -> float:
        """Its image appears: its time in this tray follows; gives when it is lifted, in seconds."""
        assert self.in_ns is not None
        self.emerged_s = (now_ns - self.in_ns) / 1e9
        steps = list(self.process.steps)
        steps[self.step] = emerged(self.tray, self.emerged_s)
        self.process = msgspec.structs.replace(self.process, steps=tuple(steps))
        lift_s = self.tray.lift_s
        assert lift_s is not None
        self.due_ns = max(now_ns, self.in_ns + ns(lift_s))
        return lift_s

    def take_away(self, now_ns: int) -> None:
        """It leaves the tray in which it lies, before its time."""
        self._leave(now_ns)
        self.in_ns = now_ns

    def put_off(self, by_ns: int) -> None:
        """Let the next move, and all after it, be later."""
        self.due_ns += by_ns
        if self.is_dry:
            self.ready_ns = self.due_ns
            self.late_s += by_ns / 1e9
            return
        self.slack_s, late_s = _beyond(self.slack_s, by_ns)
        self.late_s += late_s
        if not self.is_lifted:
            self.late_here_s += late_s

    def _leave(self, now_ns: int) -> None:
        assert self.in_ns is not None
        planned_s = self.tray.time_s or 0.0
        actual_s, tray = (now_ns - self.in_ns) / 1e9, self.tray
        told_s, self.emerged_s = self.emerged_s, None
        self.lay.append(Lay(tray.name, planned_s, actual_s, self.late_here_s, told_s, tray.factor))
        self.late_here_s = 0.0


def _beyond(slack_s: float, by_ns: int) -> tuple[float, float]:
    """Give what is left of a range after so much more, and how much went beyond it."""
    by_s = by_ns / 1e9
    return max(slack_s - by_s, 0.0), max(by_s - slack_s, 0.0)
