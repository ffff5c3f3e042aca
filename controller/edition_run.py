"""What the prints of an edition really got, and how far apart they are, in stops. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from controller.book.whole import WholePrint
from controller.score.differences import spread_stops


class CopyGot(msgspec.Struct, frozen=True):
    """One print: what is written beneath it, and what it really got in all, in seconds of dose."""

    written: str
    mark: str
    got_s: float
    by_filter_s: dict[str, float]


class EditionGot(msgspec.Struct, frozen=True):
    """What the copies got. ``spread_stops`` is log2 of the most over the least; None for one."""

    copies: tuple[CopyGot, ...]
    spread_stops: float | None
    by_filter_stops: dict[str, float | None]


def edition_got(prints: Sequence[WholePrint], edition: str) -> EditionGot:
    """Give what each print of an edition got, and the spread within it."""
    copies = []
    for one in prints:
        by_filter: dict[str, float] = {}
        for exposure in one.exposures:
            dose_s = exposure.bounds_s[0]
            by_filter[exposure.filter] = by_filter.get(exposure.filter, 0.0) + dose_s
        written = next((p.written for p in one.editions if p.edition == edition), "")
        copies.append(CopyGot(written, one.print.mark, sum(by_filter.values()), by_filter))
    lights = dict.fromkeys(light for copy in copies for light in copy.by_filter_s)
    return EditionGot(
        tuple(copies),
        spread_stops(copy.got_s for copy in copies),
        {light: spread_stops(c.by_filter_s.get(light, 0.0) for c in copies) for light in lights},
    )
