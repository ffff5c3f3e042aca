"""Edge errors in figures: percentiles, how they are printed, and how far they can be trusted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

GOAL_US = 500.0  # the keeper's p99.9
GOAL_TIMES = 10.0  # better than a plain script


@dataclass(frozen=True, slots=True)
class Errors:
    """Percentiles of |measured on-time - asked on-time| in microseconds (nearest rank)."""

    p50_us: float
    p99_us: float
    p999_us: float
    max_us: float
    count: int


def errors_of(values_us: Sequence[float]) -> Errors:
    """Give the percentiles of some errors. Raises ValueError when there are none."""
    if not values_us:
        raise ValueError("there is no percentile of nothing")
    ranked = sorted(values_us)

    def rank(part: float) -> float:
        return round(ranked[max(0, math.ceil(part * len(ranked)) - 1)], 1)

    return Errors(rank(0.5), rank(0.99), rank(0.999), round(ranked[-1], 1), len(ranked))


def histogram_of(text: str) -> list[float]:
    """Read the latencies, in µs, out of what ``cyclictest -q -h N`` prints.

    What exceeds its histogram counts as its greatest latency.
    """
    values: list[float] = []
    overflows, greatest = 0, 0.0
    for line in text.splitlines():
        label, _, rest = line.partition(":")
        if label == "# Max Latencies":
            greatest = float(rest)
        elif label == "# Histogram Overflows":
            overflows = int(rest)
        elif line[:1].isdigit():
            bucket_us, count = line.split()[:2]
            values += [float(bucket_us)] * int(count)
    return values + [greatest] * overflows


@dataclass(frozen=True, slots=True)
class Ticks:
    """What /proc/stat counts since the boot (proc(5)): all of the processors' time, in ticks."""

    total: int
    stolen: int

    @staticmethod
    def now() -> Ticks:
        """Read the counters."""
        fields = [int(f) for f in Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:9]]
        return Ticks(sum(fields), fields[7])

    def stolen_percent_since(self, before: Ticks) -> float:
        """How much of the time did the host of a virtual machine give to others?"""
        total = self.total - before.total
        return round(100 * (self.stolen - before.stolen) / total, 2) if total else 0.0


@dataclass(frozen=True, slots=True)
class TimingReport:
    """The outcome of one run."""

    keeper: Errors
    gpiozero_script: Errors
    asyncio: Errors
    cyclictest: Errors | None
    missed: int  # pulses that the keeper refused or cut, and that were made again
    pulses: int
    on_ms: float
    load: bool
    redraws_per_s: float
    stolen_percent: float
    processors: int
    notes: tuple[str, ...]

    @property
    def times_better(self) -> float:
        """How many times better than the plain script the keeper is, at p99.9."""
        return round(self.gpiozero_script.p999_us / max(self.keeper.p999_us, 0.1), 1)

    @property
    def goal_met(self) -> bool:
        """Is p99.9 below 0.5 ms, and ten times better than the plain script?"""
        return self.keeper.p999_us < GOAL_US and self.times_better >= GOAL_TIMES

    def to_json(self) -> dict[str, object]:
        """Give everything as plain data; ``cyclictest`` is None where it can't run."""
        return {**asdict(self), "times_better": self.times_better, "goal_met": self.goal_met}

    def table(self) -> str:
        """Print as a person reads it."""
        rows = [
            ("keeper", self.keeper),
            ("plain script, gpiozero", self.gpiozero_script),
            ("asyncio beside the screen", self.asyncio),
            ("cyclictest (latency)", self.cyclictest),
        ]
        lines = [
            f"edge error in µs{'p50':>18}{'p99':>10}{'p99.9':>10}{'worst':>10}{'pulses':>9}",
        ]
        for name, errors in rows:
            if errors is None:
                lines.append(f"{name:<26}  not measured")
                continue
            figures = (errors.p50_us, errors.p99_us, errors.p999_us, errors.max_us)
            lines.append(
                f"{name:<26}" + "".join(f"{f:>10.1f}" for f in figures)[2:] + f"{errors.count:>9}"
            )
        busy = (
            f"a screen redrawing {self.redraws_per_s:.0f} times a second"
            if self.load
            else "an idle screen"
        )
        lines += [
            "",
            f"pulses of {self.on_ms:g} ms beside {busy}, on {self.processors} processors",
            f"at p99.9 the keeper is {self.times_better:g} times better than the plain script; "
            f"goal (below {GOAL_US:g} µs and {GOAL_TIMES:g} times better): "
            f"{'met' if self.goal_met else 'not met'}",
        ]
        if self.cyclictest and self.cyclictest.p999_us >= GOAL_US:
            lines.append(
                "the machine itself wakes no program up better than "
                f"{self.cyclictest.p999_us:g} µs at p99.9 (cyclictest), so the goal can't be "
                "judged here and now"
            )
        if self.stolen_percent:
            lines.append(
                f"this is a virtual machine: its host gave {self.stolen_percent:g} % of the time "
                "to others, which no program in it can help"
            )
        if self.missed:
            lines.append(
                f"{self.missed} pulses were refused or cut by the keeper, since the machine stood "
                "still for too long, and were made again"
            )
        return "\n".join([*lines, *self.notes])
