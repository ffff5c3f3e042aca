"""The sheets in the trays, a line for each: where it is, what comes next and when."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import Static

from controller.trays.clock import LineView, TraysView
from controller.trays.process import Process, Step

DRY = "dry"  # where a sheet is that has not come into any tray


class TraysClock(Static):
    """Shows the lines; it is told what time it is."""

    def __init__(self, **more: str) -> None:
        super().__init__("", markup=False, **more)  # type: ignore[arg-type]

    def show(self, lines: Sequence[LineView], now_ns: int) -> None:
        """Show these, as they are at a monotonic time."""
        self.update("\n".join(line_of(line, now_ns) for line in lines))


def headline(trays: TraysView, now_ns: int) -> str:
    """Say what prints go through, and what comes next."""
    if not trays.process:
        return "The trays are not counted: p chooses a process"
    said = f"{trays.process} at {trays.celsius:g} C"
    if trays.factor is not None:
        said += f", factor {trays.factor:g}"
    due = [line for line in trays.lines if line.due_ns is not None]
    if due:
        said += f"; next {due[0].mark} {due[0].then} in {_left(due[0], now_ns)}"
    return said


def line_of(line: LineView, now_ns: int) -> str:
    """Write one line: mark, where it is, time left, the next move, and how late it is."""
    left = _left(line, now_ns)
    then = f"then {line.then}" if line.then else "stays there"
    late = f"late {line.late_s:.0f} s" if line.late_s >= 1.0 else ""
    return f"{line.mark:4} {line.where:18} {left:>5}  {then:20} {late}".rstrip()


def steps_of(process: Process) -> str:
    """Write a process in a line."""
    return ", ".join(
        step.name if step.time_s is None else f"{step.name} {_clock(step.time_s)}{_most(step)}"
        for step in process.steps
    )


def _most(step: Step) -> str:
    return "" if step.most_s is None else f"-{_clock(step.most_s)}"


def _left(line: LineView, now_ns: int) -> str:
    return "" if line.due_ns is None else _clock(max(0.0, (line.due_ns - now_ns) / 1e9))


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"
