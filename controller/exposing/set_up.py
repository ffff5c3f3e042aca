"""What an exposure needs to stand at the enlarger, and how it is asked for. Pure.

A plan asks for all of it where a sheet begins, and for what changes on the way; the runner passes
over what stands there already (``Bench.stands``). So a sheet that was spoiled half-way begins with
the right filter, and a strip after a print does not get the print's.
"""

from __future__ import annotations

from typing import NamedTuple

from controller.exposing.bench import WORKING
from controller.plan import Confirm
from controller.ports import NO_FILTER, Carrier, Filter, Hands, Lens

NEGATIVE_IN = "negative in, as it was"
NEGATIVE_OUT = "negative out, even light on the easel"


class Needs(NamedTuple):
    """Filter (or a colour head's settings), aperture as engraved, and the negative in or out.

    No aperture means the working one, whatever that is.
    """

    filter: str = NO_FILTER
    aperture: str = ""
    yellow: float = 0.0
    magenta: float = 0.0
    negative: bool = True


def ask_for(needs: Needs, before: Needs | None = None) -> list[Confirm]:
    """Ask for what is needed and was not before; for all of it where a sheet begins."""
    return [
        Confirm(said, hands, unless_so=True)
        for said, hands in _told(needs)
        if before is None or (said, hands) not in _told(before)
    ]


def _told(needs: Needs) -> list[tuple[str, Hands]]:
    negative = (
        "negative in, as it was" if needs.negative else "negative out, even light on the easel"
    )
    name = needs.filter or NO_FILTER
    light = "filter away" if name == NO_FILTER else f"filter {name}"
    where = needs.aperture or "the working aperture"
    return [
        (f"lens to {where}", Lens(needs.aperture or WORKING)),
        (negative, Carrier(needs.negative)),
        (light, Filter(name, needs.yellow, needs.magenta)),
    ]
