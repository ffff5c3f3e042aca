"""Where a grey that should be even is not: which side or corner, and by how many stops. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from controller.errors import BadInput

SPOTS = ("upper left", "upper right", "lower left", "lower right", "centre")
# Below this a slow change over a whole sheet is not seen: common practice, no source.
EVEN = 0.05
# Of glossy papers, 2.0 to 2.2: from memory of data sheets.
D_MAX = 2.0
LIGHT, PAPER = "the enlarger's light", "the paper, or how it was developed"


@dataclass(frozen=True, slots=True)
class Uneven:
    """One kind of unevenness: ``side`` is darker, by so much density; ``of`` is what makes it."""

    side: str
    than: str
    by: float
    of: str

    def line(self, iso_range: float | None = None) -> str:
        """Tell it, in stops too where the paper's ISO range is known."""
        head = f"{self.side} darker than {self.than} by {self.by:.2f}"
        if iso_range is not None:
            head += f", {stops_of(self.by, iso_range):.2f} stop at most"
        return f"{head}: {self.of}"


def stops_of(density: float, iso_range: float, d_max: float = D_MAX) -> float:
    """Give the stops of light that a difference of density stands for, at most.

    ``density (R/100) / (0.9 Dmax - 0.04) / lg 2``: the mean slope of a paper of ISO range R
    (ISO 6846, from memory: R is 100 times the log exposure from 0.04 to 0.9 of Dmax). A mid
    grey lies where the curve is steeper, so that the true difference is smaller. Raises
    BadInput.
    """
    if not 30.0 <= iso_range <= 250.0:
        raise BadInput(f"{iso_range:g} is no ISO range", "--iso-range", "such as 100, up to 250")
    return density * (iso_range / 100.0) / (0.9 * d_max - 0.04) / math.log10(2.0)


def uneven(first: Sequence[float], second: Sequence[float] = ()) -> list[Uneven]:
    """Find what is uneven in the densities of one sheet, or of two that lay turned by half.

    Densities in the order of ``SPOTS``, as each sheet lay **on the easel**: what is at the same
    place on both is the light, what has changed sides is the paper or its development. From
    one sheet alone these two are not told apart, nor is it ever told for a centre that differs
    from the corners. The largest comes first; nothing below 0.05. Raises BadInput.
    """
    for sheet in (first, second) if second else (first,):
        _require(sheet)
    found = []
    if second:
        light = [(a + b) / 2 for a, b in zip(first, second, strict=True)]
        paper = [(a - b) / 2 for a, b in zip(first, second, strict=True)]
        found += [*_tilts(light, LIGHT), *_tilts(paper, PAPER)]
        found += _centre(light, f"{LIGHT}, or its development")
    else:
        either = f"{LIGHT}, {PAPER}; a second sheet, turned round by half, tells"
        found += [*_tilts(first, either), *_centre(first, either)]
    return sorted((one for one in found if one.by >= EVEN - 1e-9), key=lambda one: -one.by)


def uneven_lines(found: Sequence[Uneven], iso_range: float | None = None) -> list[str]:
    """Tell what is uneven, and what helps."""
    if not found:
        return [f"even within {EVEN:g}: neither light nor development makes a side darker"]
    lines = [one.line(iso_range) for one in found]
    if any(one.side == "centre" for one in found):
        lines.append("a brighter centre: close the lens by two stops, and look at the condenser")
    elif any(one.of.startswith(LIGHT) for one in found):
        lines.append("a side or corner: centre the lamp, and see that the condenser lies flat")
    if iso_range is None:
        lines.append("with --iso-range (of the paper's data sheet) it is told in stops")
    return lines


# --- inside -----------------------------------------------------------------------------------


def _tilts(spots: Sequence[float], of: str) -> list[Uneven]:
    upper_left, upper_right, lower_left, lower_right, _ = spots
    right = (upper_right + lower_right - upper_left - lower_left) / 2
    lower = (lower_left + lower_right - upper_left - upper_right) / 2
    if min(abs(right), abs(lower)) >= EVEN / 2 and max(abs(right), abs(lower)) >= EVEN:
        # both at once is one corner against the other
        down, up = ("lower", "upper") if lower > 0 else ("upper", "lower")
        dark, pale = ("right", "left") if right > 0 else ("left", "right")
        return [Uneven(f"{down} {dark}", f"{up} {pale}", abs(right) + abs(lower), of)]
    found = []
    sides = [(right, "right", "left"), (lower, "lower side", "upper side")]
    for by, dark, pale in sides:
        side, than = (dark, pale) if by > 0 else (pale, dark)
        found.append(Uneven(side, than, abs(by), of))
    return found


def _centre(spots: Sequence[float], of: str) -> list[Uneven]:
    by = spots[4] - sum(spots[:4]) / 4
    side, than = ("centre", "corners") if by > 0 else ("corners", "centre")
    return [Uneven(side, than, abs(by), of)]


def _require(spots: Sequence[float]) -> None:
    if len(spots) != len(SPOTS):
        right = f"five for each sheet: {', '.join(SPOTS)}"
        raise BadInput(f"{len(spots)} densities", "--densities", right)
    for one in spots:
        if not 0.0 <= one <= 5.0:
            raise BadInput(f"{one:g} is no density of a print", "--densities", "0 to 5")
