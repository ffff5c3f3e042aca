"""A set of filters over one paper: range, speed and factor of each, and what does not fit. Pure.

A factor is how many times the exposure of a reference filter another one needs for the speed
point, 0.60 over white; lux being metered without a filter for all. Filters whose speed points lie
within a twelfth of a stop (or within what the fits can tell) share them: the middle tone stays
when one takes the other's place. The highlight does not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from controller.errors import BadInput, quoted
from controller.paper import iso
from controller.paper.fit import Fit

SHARED_STOPS = 1.0 / 12.0  # the least step that a printer can see (common practice, no source)
SAME_RANGE = 0.04  # log exposure range: less is no difference between filters
FAR_WHITE = 0.05  # densities that one paper in one developer would not differ by
FAR_BLACK = 0.15
ODD_STOPS = 2.5  # filters of one set are hardly further apart in speed


@dataclass(frozen=True)
class FilterFigures:
    """One filter of a set; ``stops`` more light than the reference needs."""

    name: str
    ler: float
    log_hm: float
    stops: float
    ler_error: float  # standard errors
    stops_error: float

    @property
    def factor(self) -> float:
        """How many times the reference's exposure it needs."""
        return float(2.0**self.stops)


@dataclass(frozen=True)
class FilterSet:
    """All filters, softest first, groups that share a speed point, and hints."""

    filters: tuple[FilterFigures, ...]
    shared: tuple[tuple[str, ...], ...]
    hints: tuple[str, ...]


def compare(fits: Mapping[str, Fit], reference: str) -> FilterSet:
    """Compare filters; the names are in the order from soft to hard that is believed of them.

    Raises BadInput if the reference is none of them, ValueError for a paper too pale.
    """
    if reference not in fits:
        raise BadInput(f"there is no filter {quoted(reference)}", "--against", " or ".join(fits))
    log_reference = iso.points_of(fits[reference].curve).log_hm
    found = []
    for name, fit in fits.items():
        points = iso.points_of(fit.curve)
        error = fit.error_of(lambda curve: iso.points_of(curve).log_hm)
        found.append(
            FilterFigures(
                name,
                points.ler,
                points.log_hm,
                (points.log_hm - log_reference) / math.log10(2.0),
                fit.error_of(lambda curve: iso.points_of(curve).ler),
                error / math.log10(2.0),
            )
        )
    softest_first = sorted(found, key=lambda each: -each.ler)
    return FilterSet(
        tuple(softest_first),
        tuple(tuple(each.name for each in group) for group in _groups(found) if len(group) > 1),
        tuple(_hints(fits, found)),
    )


def _groups(found: Sequence[FilterFigures]) -> list[list[FilterFigures]]:
    """Put filters together whose speeds lie within the limit of the group's fastest."""
    groups: list[list[FilterFigures]] = []
    for each in sorted(found, key=lambda one: one.stops):
        if groups:
            fastest = groups[-1][0]
            told = 2.0 * math.hypot(each.stops_error, fastest.stops_error)
            if each.stops - fastest.stops <= max(SHARED_STOPS, told):
                groups[-1].append(each)
                continue
        groups.append([each])
    return groups


def _hints(fits: Mapping[str, Fit], found: Sequence[FilterFigures]) -> list[str]:
    hints = []
    for soft, hard in pairwise(found):
        told = 2.0 * math.hypot(soft.ler_error, hard.ler_error)
        fall = soft.ler - hard.ler
        if fall < -max(told, SAME_RANGE):
            hints.append(
                f"{hard.name} is softer than {soft.name}, which was named before it: are the "
                "files in order, or two filters exchanged?"
            )
        elif abs(fall) < max(told, SAME_RANGE):
            hints.append(f"{soft.name} and {hard.name} cannot be told apart by their range")
    whites = {name: fit.curve.d_min for name, fit in fits.items() if fit.white_seen}
    blacks = {name: fit.curve.d_max for name, fit in fits.items() if fit.black_seen}
    for kind, values, limit in (("white", whites, FAR_WHITE), ("black", blacks, FAR_BLACK)):
        if values and max(values.values()) - min(values.values()) > limit:
            low, high = min(values, key=values.__getitem__), max(values, key=values.__getitem__)
            hints.append(
                f"the {kind} of {low} is {values[low]:.2f} and that of {high} {values[high]:.2f}: "
                "another paper, fog, or another development?"
            )
    stops = [each.stops for each in found]
    if max(stops) - min(stops) > ODD_STOPS:
        hints.append(
            f"the speeds lie {max(stops) - min(stops):.1f} stops apart: was all light metered in "
            "the same way, without a filter?"
        )
    return hints
