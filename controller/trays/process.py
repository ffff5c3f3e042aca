"""A process as the clock of the trays needs it: steps, each with its time and its draining.

The shipped ones are common practice (the table of process times in trade books; class C unless a
figure says otherwise) and yield to what the maker's data sheet says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Literal

import msgspec

from controller.errors import BadInput

FACTORS = 2.0, 20.0  # what a developer's factor may be (no source; 4 to 8 is usual for prints)
STANDARD_C, COLDEST_C, WARM_C = 20.0, 15.0, 24.0
CountsFrom = Literal["in", "lift", "light"]
PRINTS = ("print", "trial piece")  # what goes the whole way; anything else goes the short one
FIXER = "fix"  # what every fixing bath is called, with more around it
SOONEST_LIFT_S = 1.0  # no sheet is lifted sooner after it came in, whatever warmth makes of it
HOTTEST_C = 35.0  # as in a rig file; above it no coefficient holds (no source)


class Step(msgspec.Struct, frozen=True):
    """A tray: ``time_s`` in all, of which the last ``drain_s`` are draining over it.

    Without ``time_s`` the sheet stays there, and nothing more is called. ``q10`` is by how much
    10 C quicken it (1: not at all); warmth never shortens it below ``least_s``. ``holds`` is how
    many sheets the tray holds at once (None: as many as come). With a ``factor`` (of a developer)
    the time is factor x the time to the first image, where that is told; else ``time_s`` holds.
    ``agitation`` is how it is moved, in words; nothing is counted by it. With ``most_s`` the time
    is a range: lifted from ``time_s`` on, and late only after ``most_s``. ``counts_from`` is what
    starts its time: the sheet's coming "in", the "lift" before (that draining is inside), or the
    last "light" (the way to the first tray is inside).
    """

    name: str
    time_s: float | None = None
    drain_s: float = 0.0
    q10: float = 1.0
    least_s: float = 0.0
    holds: int | None = None
    factor: float | None = None
    agitation: str = ""
    most_s: float | None = None
    counts_from: CountsFrom = "in"

    @property
    def slack_s(self) -> float:
        """How much longer than its time it may have."""
        return 0.0 if self.time_s is None or self.most_s is None else self.most_s - self.time_s

    @property
    def lift_s(self) -> float | None:
        """When the sheet is lifted, counted from when it came in."""
        return None if self.time_s is None else self.time_s - self.drain_s


class Process(msgspec.Struct, frozen=True):
    """A way through the trays."""

    name: str
    steps: tuple[Step, ...]
    base: Literal["fibre", "resin-coated"] = "fibre"  # what its paper is coated on

    def at(self, celsius: float) -> Process:
        """Give the same at a temperature. Raises BadInput outside 15 to 35 C."""
        if celsius < COLDEST_C:
            raise BadInput(
                f"{celsius:g} C is too cold: hydroquinone nearly stops",
                "temperature",
                f"{COLDEST_C:g} C or more; warm the trays",
            )
        if not celsius <= HOTTEST_C:
            raise BadInput(
                f"{celsius:g} C is too warm for trays", "temperature", f"{HOTTEST_C:g} C or less"
            )
        return msgspec.structs.replace(self, steps=tuple(_step_at(s, celsius) for s in self.steps))

    def in_trays(self, count_in_s: float) -> Process:
        """Give the same with times counted from each coming in.

        What has gone by then is taken off: the draining before a step that counts from the lift,
        the count-in before one that counts from the light.
        """
        gone_s = [
            {"in": 0.0, "light": count_in_s, "lift": before.drain_s if before else 0.0}[
                step.counts_from
            ]
            for before, step in zip((None, *self.steps), self.steps, strict=False)
        ]
        steps = tuple(_less(step, by_s) for step, by_s in zip(self.steps, gone_s, strict=True))
        return msgspec.structs.replace(self, steps=steps)


def warmth_words(celsius: float) -> str:
    """Say what warm trays do to a print; empty where they are not warm."""
    return "warm: blacks first, then fog, so keep to the time" if celsius > WARM_C else ""


def _step_at(step: Step, celsius: float) -> Step:
    if step.time_s is None:
        return step
    # t = t20 * Q10^((20 - T) / 10), the usual rule; 120 s at Q10 2.5 and 24 C are 83.2 s
    slower: float = step.q10 ** ((STANDARD_C - celsius) / 10.0)
    time_s = max(step.time_s * slower, step.least_s, _soonest_s(step))
    most_s = None if step.most_s is None else max(step.most_s * slower, time_s)
    return msgspec.structs.replace(step, time_s=time_s, most_s=most_s)


def _less(step: Step, by_s: float) -> Step:
    """Take off a step's time what has gone of it when its sheet comes in."""
    if step.time_s is None or not by_s:
        return step
    time_s = max(step.time_s - by_s, _soonest_s(step))
    most_s = None if step.most_s is None else max(step.most_s - by_s, time_s)
    least_s = max(step.least_s - by_s, 0.0)
    return msgspec.structs.replace(step, time_s=time_s, most_s=most_s, least_s=least_s)


def _soonest_s(step: Step) -> float:
    return step.drain_s + SOONEST_LIFT_S


# How many prints a tray holds at once so that each is still covered and moved: common practice, no
# source. Holding bath, water and wash hold as many as come.
_DEVELOPER_HOLDS, _STOP_HOLDS, _FIXER_HOLDS = 2, 2, 4
_STRIPS_HOLD = 4  # strips are small
# common practice, no source
_ROCKED = "rocked all the time, from one side and then the other"
_TURNED = "rocked now and then; several sheets are turned, the lowest to the top"


def _developer(time_s: float, drain_s: float, least_s: float, holds: int) -> Step:
    # Q10 2.5 lies between 1.9 and 2.8, from memory of what is quoted for metol-hydroquinone; no
    # print is to be snatched sooner than least_s (common practice, no source)
    return Step("developer", time_s, drain_s, 2.5, least_s, holds, agitation=_ROCKED)


def _stop(time_s: float, drain_s: float, holds: int) -> Step:
    # some time more in there does no harm (common practice, no source)
    return Step("stop", time_s, drain_s, holds=holds, agitation=_ROCKED, most_s=2 * time_s)


_FIX_Q10 = 2.0  # fixing takes twice as long 10 C colder: a published rule for below 20 C


def _fixer(time_s: float, drain_s: float, least_s: float, holds: int, name: str = "fixer") -> Step:
    return Step(name, time_s, drain_s, _FIX_Q10, least_s, holds, agitation=_TURNED)


# Fixer of film strength, or a rapid one, fixes fibre paper in 1 to 3 min; a plain one wants 5 to 10
# (class C), and equal halves of the total in two baths (a published rule). Developers of that
# kind are given 2 to 3 min (common practice, no source).
PROCESSES: dict[str, Process] = {
    process.name: process
    for process in (
        Process(
            "fibre",
            (
                _developer(120.0, 15.0, 75.0, _DEVELOPER_HOLDS),
                _stop(30.0, 10.0, _STOP_HOLDS),
                _fixer(120.0, 15.0, 120.0, _FIXER_HOLDS),
                Step("holding bath"),
            ),
        ),
        Process(
            "two-bath",
            (
                _developer(120.0, 15.0, 75.0, _DEVELOPER_HOLDS),
                _stop(30.0, 10.0, _STOP_HOLDS),
                _fixer(60.0, 15.0, 60.0, _FIXER_HOLDS, "first fixer"),
                _fixer(60.0, 15.0, 60.0, _FIXER_HOLDS, "second fixer"),
                Step("holding bath"),
            ),
        ),
        Process(
            "resin-coated",
            (
                _developer(75.0, 10.0, 50.0, _DEVELOPER_HOLDS),
                _stop(20.0, 8.0, _STOP_HOLDS),
                _fixer(60.0, 10.0, 50.0, _FIXER_HOLDS),
                Step("wash"),
            ),
            "resin-coated",
        ),
        Process(
            "fibre-plain",
            (
                _developer(180.0, 15.0, 75.0, _DEVELOPER_HOLDS),
                _stop(30.0, 10.0, _STOP_HOLDS),
                _fixer(300.0, 15.0, 300.0, _FIXER_HOLDS),
                Step("holding bath"),
            ),
        ),
        Process(
            "two-bath-plain",
            (
                _developer(180.0, 15.0, 75.0, _DEVELOPER_HOLDS),
                _stop(30.0, 10.0, _STOP_HOLDS),
                _fixer(150.0, 15.0, 150.0, _FIXER_HOLDS, "first fixer"),
                _fixer(150.0, 15.0, 150.0, _FIXER_HOLDS, "second fixer"),
                Step("holding bath"),
            ),
        ),
        # a strip is developed in full, fixed as long as looking at it takes, and thrown away
        Process(
            "strip",
            (
                _developer(120.0, 15.0, 75.0, _STRIPS_HOLD),
                _stop(20.0, 8.0, _STRIPS_HOLD),
                _fixer(40.0, 10.0, 30.0, _STRIPS_HOLD),
                Step("water"),
            ),
        ),
    )
}


def process_named(name: str, known: Mapping[str, Process] = PROCESSES) -> Process:
    """Find a process. Raises BadInput."""
    found = known.get(name)
    if found is None:
        near = get_close_matches(name, known, 1)
        right = near[0] if near else "one of " + ", ".join(known)
        raise BadInput(f"there is no process {name!r}", "process", right)
    return found


def spans(process: Process) -> Iterator[tuple[Step, float, float]]:
    """Give each timed step with when the sheet comes in and is lifted, from the first "in"."""
    at_s = 0.0
    for step in process.steps:
        if step.time_s is None or step.lift_s is None:
            return
        yield step, at_s, at_s + step.lift_s
        at_s += step.time_s


def short_beside(short: Process, whole: Process) -> Process:
    """Let a strip's way go through the trays that stand there for prints, both as at 20 C.

    A strip is fixed in the first fixer of two, and so on: the trays are called as the prints'
    process calls them, or no bath would know of the strip. The shipped one goes by what is in
    them, too: it is developed as prints are, or it would tell another exposure, and a fixer that
    takes longer with prints takes as much longer with it. One of your own keeps its times.
    """
    here = [step.name for step in whole.steps]
    is_own = short != PROCESSES[short.name]

    def tray(step: Step) -> Step:
        found = next((name for name in here if step.name in name), step.name)
        return msgspec.structs.replace(step, name=found)

    steps = tuple(tray(step) for step in (short.steps if is_own else _as_strong(short, whole)))
    return msgspec.structs.replace(short, base=whole.base, steps=steps)


def _as_strong(short: Process, whole: Process) -> tuple[Step, ...]:
    """Give a shipped short way the prints' developing, and time enough in their fixer."""
    developer, *others = short.steps
    as_prints = msgspec.structs.replace(whole.steps[0], holds=developer.holds)
    slower = max(_fixing_s(whole) / _fixing_s(PROCESSES["fibre"]), 1.0)
    fixed = (
        msgspec.structs.replace(step, time_s=step.time_s * slower, least_s=step.least_s * slower)
        if FIXER in step.name and step.time_s is not None
        else step
        for step in others
    )
    return (as_prints, *fixed)


def _fixing_s(process: Process) -> float:
    return sum(step.time_s or 0.0 for step in process.steps if FIXER in step.name)
