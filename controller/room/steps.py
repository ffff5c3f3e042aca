"""The steps of a fog test: what a card adds up to, and how the sheet is read.

Steps are numbered from the shortest; the reference, which no safelight saw, is none of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise

from controller.errors import BadInput
from controller.room.limits import Reading

# Density above that of paper to which it is flashed first (Publication K-4).
GREY_LEAST, GREY_MOST = 0.15, 0.40
# The smallest difference on a light grey that is called a change: common practice, no source.
JUST_SEEN = 0.02


def card_totals(pulses_s: Sequence[float]) -> tuple[float, ...]:
    """Give what the steps got, shortest first, when a card covers one more after each pulse.

    All are open at first: the totals are the running sums of the pulses. Raises BadInput for
    a pulse that is none.
    """
    for pulse_s in pulses_s:
        if not 0.0 < pulse_s < math.inf:
            raise BadInput(f"{pulse_s:g} s is no pulse", "pulses", "seconds above 0")
    return tuple(accumulate(pulses_s))


def grey_is_right(above_paper: float) -> bool:
    """Tell whether a flashed grey is in the range in which fog shows first (K-4)."""
    return GREY_LEAST <= above_paper <= GREY_MOST


def read_by_eye(totals_s: Sequence[float], first_changed: int | None) -> Reading:
    """Make a reading of the step that can first be told from the reference; None: no step can.

    ``first_changed`` counts from 1. Raises BadInput.
    """
    _require_steps(totals_s)
    if first_changed is None:
        return Reading(totals_s[-1], None)
    if not 1 <= first_changed <= len(totals_s):
        right = f"1 to {len(totals_s)}, or none"
        raise BadInput(f"there is no step {first_changed}", "first changed", right)
    clean_s = totals_s[first_changed - 2] if first_changed > 1 else None
    return Reading(clean_s, totals_s[first_changed - 1])


def read_densities(
    totals_s: Sequence[float],
    densities: Sequence[float],
    reference: float,
    *,
    just_seen: float = JUST_SEEN,
) -> Reading:
    """Read the steps by their densities: changed is what differs from the reference.

    The first step that differs counts, even where a longer one does not: the cautious reading.
    Lighter counts as well: red light can take from an image (the Herschel effect, from memory).
    Raises BadInput.
    """
    if len(densities) != len(totals_s):
        what = f"{len(densities)} densities for {len(totals_s)} steps"
        raise BadInput(what, "densities", "one for each step, shortest first")
    for density in (*densities, reference):
        if not 0.0 <= density <= 5.0:
            raise BadInput(f"{density:g} is no density of a print", "densities", "0 to 5")
    if not 0.0 < just_seen <= 1.0:
        raise BadInput(f"{just_seen:g} is no difference", "just seen", "such as 0.02")
    # two decimals are what a densitometer gives, and 0.22 - 0.20 is a hair below 0.02
    changed = [abs(one - reference) >= just_seen - 1e-9 for one in densities]
    first = changed.index(True) + 1 if any(changed) else None
    return read_by_eye(totals_s, first)


def _require_steps(totals_s: Sequence[float]) -> None:
    if not totals_s:
        raise BadInput("there are no steps", "steps", "one or more, in seconds")
    if any(one >= two for one, two in pairwise(totals_s)):
        raise BadInput("the steps do not grow", "steps", "their seconds of light, shortest first")
