"""A calibration sheet read by eye: three things an eye can tell, with honest uncertainty. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from controller.boxes.measured import Given
from controller.boxes.model import Point
from controller.boxes.sheet import PaperSheet
from controller.errors import BadInput, quoted

LEAST_SEEN = 0.03  # over white, that an eye tells in good light (common practice, no source)
GREY_UNCERTAIN = 0.06  # of a match of two greys by eye (common practice, no source)
USUAL_WHITE, USUAL_BLACK = 0.06, 2.05  # where nobody measured them: from memory of glossy papers


@dataclass(frozen=True, slots=True)
class Seen:
    """What an eye tells of a wedge, by the names of patches; empty is not looked for.

    ``first_grey`` is the first that can be told from white, ``first_black`` the first that
    cannot be told from black, ``grey`` the one that matches a reference of ``grey_density``.
    """

    first_grey: str
    first_black: str
    grey: str = ""
    grey_density: float = 0.0
    white: float = USUAL_WHITE
    black: float = USUAL_BLACK


@dataclass(frozen=True, slots=True)
class SeenRange:
    """The log exposure range by eye: its bounds, in hundredths as ISO R has them."""

    least: int
    most: int

    def tell(self) -> str:
        """Say it, with why the lower end is likelier."""
        return (
            f"by eye the range is R{self.least} to R{self.most}; the shadow point (90 % of black) "
            "is a little lighter than what looks black, so the lower end is likelier"
        )


def points_seen(
    sheet: PaperSheet, patches: Sequence[Given], seen: Seen
) -> tuple[tuple[Point, ...], SeenRange]:
    """Turn what was seen into points with honest uncertainty. Raises BadInput."""
    if sheet.kind == "mixed":
        raise BadInput("a mixed sheet has no order", "--by-eye", "a wedge of one filter")
    if not 0.0 <= seen.white < seen.black <= 4.0:
        what = f"white {seen.white:g} and black {seen.black:g} are no densities of paper"
        raise BadInput(what, "--by-eye", f"such as {USUAL_WHITE:g} and {USUAL_BLACK:g}")
    labels = [one.label for one in patches]

    def place(name: str, what: str) -> int:
        if name.upper() not in labels:
            right = f"a patch from {labels[0]} to {labels[-1]}"
            raise BadInput(f"there is no patch {quoted(name)} for the {what}", "--by-eye", right)
        return labels.index(name.upper())

    light = place(seen.first_grey, "first grey")
    dark = place(seen.first_black, "first black")
    if dark < light + 2:
        right = "the first that is no white, then one at least two patches darker"
        raise BadInput("black comes no later than the first grey", "--by-eye", right)
    if not light:
        what = f"already patch {labels[0]} can be told from white"
        raise BadInput(what, "--by-eye", "a sheet that begins with less, with a white patch")
    logs = [sheet.log_h(dict(one.doses_s)) for one in patches]
    step = (logs[dark] - logs[light]) / (dark - light)
    net = seen.black - seen.white
    steep = net / max(logs[dark] - logs[light], 1e-6)  # what half a step is worth in density

    def point(index: int, density: float, uncertain: float) -> Point:
        one = patches[index]
        return Point(one.label, logs[index], density, uncertain, dict(one.doses_s))

    toe = math.hypot(LEAST_SEEN / 2, 0.1 * steep * step)
    points = [point(light, seen.white + LEAST_SEEN, toe)]
    if seen.grey:
        middle = place(seen.grey, "grey")
        if not light <= middle <= dark or not seen.white < seen.grey_density < seen.black:
            right = "a patch and a density between white and black"
            raise BadInput(f"the grey at {quoted(seen.grey)} is none", "--by-eye", right)
        off = math.hypot(GREY_UNCERTAIN, steep * step / 12**0.5)
        points.append(point(middle, seen.grey_density, off))
    points.append(point(dark, seen.black - 0.02 * net, math.hypot(0.03, 0.03 * net)))
    least = round(100 * (logs[dark - 1] - logs[light]))
    most = round(100 * (logs[dark] - logs[light - 1]))
    return tuple(points), SeenRange(least, most)
