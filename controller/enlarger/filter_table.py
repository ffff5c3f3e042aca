"""Filters and their factors of exposure over no filter: a table that the printer corrects."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace

from controller.errors import BadInput, quoted
from controller.ports import NO_FILTER

LEAST_FACTOR, MOST_FACTOR = 0.1, 1000.0  # beyond is a slip of the pen


@dataclass(frozen=True)
class FilterEntry:
    """A filter's factor of exposure over no filter, and where that comes from."""

    name: str
    factor: float
    source: str
    own: bool = False  # found by the printer

    def __post_init__(self) -> None:
        if not LEAST_FACTOR <= self.factor <= MOST_FACTOR:
            right = f"{LEAST_FACTOR:g} to {MOST_FACTOR:g}"
            raise BadInput(f"{self.factor:g} is not a factor", f"filter {self.name}", right)


@dataclass(frozen=True)
class FilterTable:
    """Filters by name, with their factors over no filter. ``none`` is in every table, and 1."""

    name: str
    entries: tuple[FilterEntry, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Name the filters that are known, none first."""
        return (NO_FILTER, *(one.name for one in self.entries))

    def entry(self, name: str, where: str = "--to-filter") -> FilterEntry:
        """Give a filter's entry, however its half is written; an empty name is none.

        Raises BadInput that names those known: an unknown filter is a strip's to settle.
        """
        wanted = filter_name(name)
        if wanted == NO_FILTER:
            return FilterEntry(NO_FILTER, 1.0, "no filter, by definition", own=True)
        for one in self.entries:
            if filter_name(one.name) == wanted:
                return one
        right = f"one of {', '.join(self.names)}; or a strip on the highlight, which settles it"
        raise BadInput(f"no factor is known of filter {quoted(name)}", where, right)

    def with_own(self, name: str, factor: float) -> FilterTable:
        """Give a table in which the printer's own factor stands for this filter.

        Raises BadInput for a factor that is none, and for ``none``, which is 1.
        """
        wanted = filter_name(name)
        if wanted == NO_FILTER:
            right = "the name of a filter: factors are counted from no filter, which is 1"
            raise BadInput("no filter has no factor of its own", "--filter", right)
        own = FilterEntry(wanted, factor, "your own", own=True)
        if any(filter_name(one.name) == wanted for one in self.entries):
            kept = (own if filter_name(one.name) == wanted else one for one in self.entries)
            return replace(self, entries=tuple(kept))
        return replace(self, entries=(*self.entries, own))


def filter_name(name: str) -> str:
    """Bring a filter's name to one spelling: ``3½``, ``3.5`` and ``3 1/2`` are ``3 1/2``.

    An empty name is ``none``.
    """
    spelled = "".join(
        f" {unicodedata.normalize('NFKC', char)}"
        if unicodedata.decomposition(char).startswith("<fraction>")
        else char
        for char in name
    ).replace("\u2044", "/")
    plain = " ".join(spelled.split())
    half = re.fullmatch(r"(?:([0-9]) 1/2|([0-9]?)\.5|1/2)", plain)
    if half:
        whole = (half[1] or half[2] or "").removeprefix("0")
        return f"{whole} 1/2".strip()
    return NO_FILTER if plain.lower() in ("", NO_FILTER) else plain


def _starting_points() -> FilterTable:
    # One stop up to 3 1/2 and two from 4 to 5: NAVEDTRA 14209, seen in an excerpt (V). It does
    # not name 00; sets are made with it at the speed of 0 (seen without its source, so: from
    # memory). No word of either is the standard of anything.
    manual = "NAVEDTRA 14209 (an excerpt of it seen)"
    soft = ("0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2")
    return FilterTable(
        "starting points",
        (
            FilterEntry("00", 2.0, "from memory of common filter sets"),
            *(FilterEntry(name, 2.0, manual) for name in soft),
            *(FilterEntry(name, 4.0, manual) for name in ("4", "4 1/2", "5")),
        ),
    )


STARTING_POINTS = _starting_points()
