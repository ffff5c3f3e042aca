"""How soon the terminal is there, beside an empty Textual program; and what it costs when idle."""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from time import monotonic
from typing import NamedTuple

from controller.ports import PortFault
from drivers import pid_files
from drivers.places import HOME_VARIABLE
from ui.measure.frame import Frame
from ui.measure.watched import Watched, processor_ns

GOAL_RATIO = 1.5
GOAL_IDLE_PERCENT = 2.0  # of one core
FIRST_S, ATTACHED_S = 30.0, 60.0  # a small computer with a cold memory card
TITLE = 3  # the row that says what runs
SETTLE_S = 2.0  # after the start, before it counts as idle
ENGINE_END_S = 5.0
BESIDE = ("TERM", "COLORTERM", "NO_COLOR", "COLUMNS", "LINES", HOME_VARIABLE)


class Start(NamedTuple):
    """One start: until the first whole picture, and the processor time used by then."""

    time_s: float
    processor_s: float


@dataclass(frozen=True, slots=True)
class Starts:
    """Times from the start of a program to its first whole picture, in seconds.

    ``processor_s``: the median of the processor time that it had used by then, which other
    programs on the machine disturb less.
    """

    median_s: float
    least_s: float
    most_s: float
    processor_s: float
    count: int

    @classmethod
    def of(cls, starts: Sequence[Start]) -> Starts:
        """Sum up some starts."""
        times_s = [start.time_s for start in starts]
        return cls(
            round(statistics.median(times_s), 4),
            round(min(times_s), 4),
            round(max(times_s), 4),
            round(statistics.median(start.processor_s for start in starts), 4),
            len(starts),
        )


@dataclass(frozen=True, slots=True)
class TerminalReport:
    """The outcome of one run. Idle figures are percent of one core."""

    empty: Starts
    terminal: Starts
    ratio: float  # of the medians
    processor_ratio: float  # the same, of processor time
    pair_ratio: float  # median of the ratios within the pairs
    ratio_least: float
    ratio_most: float
    attached_s: float  # until the terminal knows of its unit, when an engine has to be started
    idle_percent: dict[str, float]  # by process: terminal, engine, keeper
    idle_s: float

    def to_json(self) -> dict[str, object]:
        """Give everything as plain data."""
        return {**asdict(self), "goal_ratio": GOAL_RATIO, "goal_idle_percent": GOAL_IDLE_PERCENT}

    def table(self) -> str:
        """Print as a person reads it."""
        lines = [
            f"start to first whole picture{'median':>10}{'least':>10}{'most':>10}{'processor':>11}"
        ]
        for name, starts in (("empty Textual program", self.empty), ("terminal", self.terminal)):
            figures = (starts.median_s, starts.least_s, starts.most_s, starts.processor_s)
            lines.append(f"{name:<28}" + "".join(f"{figure:>8.3f} s" for figure in figures))
        lines += [
            f"{'ratio of the medians':<28}{self.ratio:>8.2f}{self.processor_ratio:>30.2f}",
            f"{'ratio within a pair':<28}{self.pair_ratio:>8.2f}{self.ratio_least:>10.2f}"
            f"{self.ratio_most:>10.2f}",
            "",
            f"{self.terminal.count} pairs in alternation; goal: a ratio of {GOAL_RATIO:g} at most",
            f"with its unit, which had to be started: after {self.attached_s:.2f} s",
            "",
        ]
        lines += [
            f"idle, {name:<22}{percent:>8.2f} % of one core"
            for name, percent in self.idle_percent.items()
        ]
        lines.append(
            f"over {self.idle_s:g} s with nothing running; goal: below {GOAL_IDLE_PERCENT:g} %"
        )
        return "\n".join(lines)


def measure_terminal(
    *, pairs: int = 7, idle_s: float = 10.0, progress: Callable[[str], None] | None = None
) -> TerminalReport:
    """Start an empty program and the terminal in turns, then let the terminal be idle.

    In a home of its own, with an imagined rig. A first pair, not counted, warms the machine up
    and starts the engine. Raises PortFault.
    """
    if pairs < 1 or idle_s <= 0:
        raise PortFault(
            f"{pairs} pairs and {idle_s:g} idle seconds can't be measured; 7 and 10 would be right"
        )
    with tempfile.TemporaryDirectory() as home:
        environment = _environment(home)
        run = Path(home) / "run"
        empty: list[Start] = []
        terminal: list[Start] = []
        try:
            _start_empty(environment)
            attached_s = _attach(environment)
            for pair in range(pairs):
                if progress:
                    progress(f"{pair} of {pairs} pairs measured")
                empty.append(_start_empty(environment))
                terminal.append(_start_terminal(environment))
            idle_percent = _idle(environment, run, idle_s)
        finally:
            _end_engine(run)
    ratios = [ours.time_s / theirs.time_s for ours, theirs in zip(terminal, empty, strict=True)]
    theirs, ours = Starts.of(empty), Starts.of(terminal)
    return TerminalReport(
        empty=theirs,
        terminal=ours,
        ratio=round(ours.median_s / theirs.median_s, 3),
        processor_ratio=round(ours.processor_s / theirs.processor_s, 3),
        pair_ratio=round(statistics.median(ratios), 3),
        ratio_least=round(min(ratios), 3),
        ratio_most=round(max(ratios), 3),
        attached_s=round(attached_s, 3),
        idle_percent=idle_percent,
        idle_s=idle_s,
    )


def bench_is_drawn(frame: Frame) -> bool:
    """Is it the whole bench: every cell, the doors above, what runs, and the keys below?"""
    told = "the unit is starting" in frame.row(TITLE) or unit_is_known(frame)
    return frame.whole and told and "1 Bench" in frame.row(0) and "space" in frame.row(-1)


def unit_is_known(frame: Frame) -> bool:
    """Does the bench know what runs?"""
    return "nothing runs" in frame.row(TITLE)


def _environment(home: str) -> dict[str, str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in BESIDE and not name.startswith("TEXTUAL")
    }
    return {**kept, "TERM": "xterm-256color", "COLORTERM": "truecolor", HOME_VARIABLE: home}


EMPTY = (sys.executable, "-P", "-m", "ui.measure.empty_screen")
TERMINAL = (sys.executable, "-P", "-m", "ui.start")


def _start_empty(environment: dict[str, str]) -> Start:
    with Watched(EMPTY, environment) as program:
        took_s = program.wait_for(lambda frame: frame.whole, FIRST_S)
        return Start(took_s, processor_ns(program.pid) / 1e9)


def _start_terminal(environment: dict[str, str]) -> Start:
    with Watched(TERMINAL, environment) as program:
        took_s = program.wait_for(bench_is_drawn, FIRST_S)
        start = Start(took_s, processor_ns(program.pid) / 1e9)
        program.press("q")
        program.wait_for_end()
        return start


def _attach(environment: dict[str, str]) -> float:
    with Watched(TERMINAL, environment) as program:
        took_s = program.wait_for(unit_is_known, ATTACHED_S)
        program.press("q")
        program.wait_for_end()
        return took_s


def _idle(environment: dict[str, str], run: Path, idle_s: float) -> dict[str, float]:
    with Watched(TERMINAL, environment) as program:
        program.wait_for(unit_is_known, ATTACHED_S)
        program.watch(SETTLE_S)
        pids = {"terminal": program.pid}
        for name, file in (("engine", pid_files.ENGINE_FILE), ("keeper", pid_files.KEEPER_FILE)):
            process = pid_files.find(run / file)
            if process is None:
                raise PortFault(f"the {name} of the terminal that is measured does not run")
            pids[name] = process.pid
            process.close()
        began_s, before = monotonic(), {name: processor_ns(pid) for name, pid in pids.items()}
        program.watch(idle_s)
        after = {name: processor_ns(pid) for name, pid in pids.items()}
        lasted_ns = (monotonic() - began_s) * 1e9
        return {name: round(100 * (after[name] - before[name]) / lasted_ns, 2) for name in pids}


def _end_engine(run: Path) -> None:
    engine = pid_files.find(run / pid_files.ENGINE_FILE)
    if engine is not None:
        engine.stop(ENGINE_END_S)
        engine.close()
