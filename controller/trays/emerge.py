"""Developing by factor (the factorial method): the time that the image takes to appear, times it.

It takes in by itself how warm and how tired the developer is. The factor is found for each paper
and developer; 4 to 8 is usual for prints (common practice, no source).
"""

from __future__ import annotations

import msgspec

from controller.errors import BadInput
from controller.trays.process import FACTORS, Process, Step

SOONEST_S = 6.0  # a tap sooner than this after "in" says late: no image is there yet (as above)
LATEST_PART = 0.5  # of the fixed time; an image that is not there by then was not told


def developing_s(emerged_s: float, factor: float, least_s: float = 0.0) -> float:
    """Give the whole time in the developer, draining included: factor x emergence, or the least.

    The factorial method as trade books have it: 20 s x 6 = 120 s.
    """
    return max(factor * emerged_s, least_s)


def may_emerge(step: Step, inside_s: float) -> bool:
    """Can a tap so long after "in" tell of the first image in this tray?"""
    if step.factor is None or step.time_s is None:
        return False
    return SOONEST_S <= inside_s <= LATEST_PART * step.time_s


def emerged(step: Step, emerged_s: float) -> Step:
    """Give the step with the time that this sheet needs, by its factor."""
    assert step.factor is not None
    least_s = max(step.least_s, step.drain_s + SOONEST_S)
    time_s = developing_s(emerged_s, step.factor, least_s)
    return msgspec.structs.replace(step, time_s=time_s, most_s=None)  # that is exact, no range


def by_factor(process: Process, factor: float | None) -> Process:
    """Give the process with its developer, the first step, by this factor. Raises BadInput."""
    if factor is None:
        return process
    least, most = FACTORS
    if not least <= factor <= most:
        right = f"{least:g} to {most:g}; 4 to 8 is usual"
        raise BadInput(f"no print is developed by factor {factor:g}", "factor", right)
    developer, *others = process.steps
    return msgspec.structs.replace(
        process, steps=(msgspec.structs.replace(developer, factor=factor), *others)
    )


def method(process: Process) -> str:
    """Say how its developing is timed."""
    factor = process.steps[0].factor
    return "by the clock" if factor is None else f"by factor {factor:g}"
