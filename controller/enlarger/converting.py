"""Converting an exposure: another size, aperture, filter, lamp or paper. Pure arithmetic.

Every change gives a ``Factor`` by which a dose is multiplied, or is ``Unsettled`` where no
arithmetic can know and a strip must. ``combine`` puts them together and tells them one by one.
Nothing here is better than a strip: lines say what is an estimate, and the last asks for one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from controller.enlarger.filter_table import STARTING_POINTS, FilterTable
from controller.errors import BadInput
from controller.stops import (
    MOST_STOPS,
    Stops,
    aperture_stops,
    aperture_value,
    factor_to_stops,
    format_stops,
    stops_to_factor,
)

LEAST_MAGNIFICATION, MOST_MAGNIFICATION = 0.01, 100.0  # beyond is a slip of the pen
LEAST_PUPIL, MOST_PUPIL = 0.2, 5.0  # likewise
LONG_FACTOR = 4.0  # from here on much longer exposures are warned of (common practice, no source)

STRIP_SETTLES = "a strip on the highlight must settle it"
ADVICE = "make one strip on the highlight before the first sheet"
LONG_ADVICE = (
    "exposures so much longer can need more still: rather open the lens and keep the time near "
    "what it was"
)

# --- what a change gives ----------------------------------------------------------------------


class Change(Enum):
    """What is changed."""

    MAGNIFICATION = "magnification"
    DISTANCE = "distance"
    READING = "reading"
    APERTURE = "aperture"
    FILTER = "filter"
    LAMP = "lamp"
    PAPER = "paper"
    TOLD = "told"  # by the printer, from a strip


@dataclass(frozen=True)
class Factor:
    """A change whose factor of exposure is known: new dose = ``value`` times old dose.

    ``why`` names the change in words, ``source`` where its arithmetic comes from; ``caution``
    is in what an estimate can depart from the truth, and empty where it is none.
    """

    change: Change
    value: float
    why: str
    source: str
    caution: str = ""

    def __post_init__(self) -> None:
        factor_to_stops(self.value)  # refuses what is no factor

    @property
    def stops(self) -> float:
        """Give the factor in stops, ``log2 f``; positive is more exposure."""
        return factor_to_stops(self.value)

    @property
    def estimate(self) -> bool:
        """Can the truth depart from it?"""
        return bool(self.caution)

    @property
    def line(self) -> str:
        """Tell the change: ``magnification 2 to 4: x 2.78, +1.47 stops (estimate: ...)``."""
        told = f"{self.why}: {_told(self.value)}"
        return f"{told} (estimate: {self.caution})" if self.caution else told


@dataclass(frozen=True)
class Unsettled:
    """A change that no arithmetic settles; ``why`` names it and ``reason`` says what does."""

    change: Change
    why: str
    reason: str = STRIP_SETTLES

    @property
    def line(self) -> str:
        """Tell the change: ``another lamp: a strip on the highlight must settle it``."""
        return f"{self.why}: {self.reason}"


@dataclass(frozen=True)
class Conversion:
    """All changes together: the factor of those that are known, and what is left to a strip.

    ``lines`` tell the changes in the order given, then their sum, then what to do.
    """

    factor: float
    lines: tuple[str, ...]
    unsettled: tuple[Unsettled, ...]

    @property
    def stops(self) -> float:
        """Give the factor in stops."""
        return factor_to_stops(self.factor)


def combine(changes: Sequence[Factor | Unsettled]) -> Conversion:
    """Multiply the factors of all changes of one exposure, and tell them.

    Raises BadInput where nothing is changed, or where the same change would be counted twice:
    lens to paper is magnification by another name, and a light reading on the easel holds
    both, and the aperture.
    """
    if not changes:
        raise BadInput("nothing is changed", "convert", "one change or more, such as another size")
    _require_apart([one.change for one in changes if one.change is not Change.TOLD])
    factors = [one for one in changes if isinstance(one, Factor)]
    total = math.prod(one.value for one in factors)
    lines = [one.line for one in changes]
    if len(factors) > 1:
        lines.append(f"together: {_told(total)}")
    if total >= LONG_FACTOR:
        lines.append(LONG_ADVICE)
    unsettled = tuple(one for one in changes if isinstance(one, Unsettled))
    return Conversion(total, (*lines, ADVICE), unsettled)


# --- size -------------------------------------------------------------------------------------


def magnification_factor(from_m: float, to_m: float, *, pupil: float = 1.0) -> Factor:
    """Give the factor of another magnification m with the same lens and aperture.

    ``((1 + m2/P) / (1 + m1/P))**2``, m being length on the easel over length on the negative.
    P is the lens's pupil magnification *as mounted and as the light goes*, exit over entrance:
    the width of the aperture as seen from the paper over its width as seen from the negative.
    A lens with its front to the paper is used the other way about than on a camera, so that
    its P is then one over what is told of it for a camera.

    Derivation: by Newton the paper lies f*m and the exit pupil f*P from the same focal point,
    on either side of it, so that they are f*(m + P) apart, and light falls off with the square
    of that. The negative is taken as an even, diffuse source. With P = 1 it is the common
    formula for a thin lens (derived; two textbooks have the same example). That P comes in as
    m/P is from memory of optics texts; a trace of rays in the tests agrees.
    Taking 1 for 0.8 makes an error of 0.08 stop from 2 to 4 (derived).

    Raises BadInput naming the option.
    """
    _require_magnification(from_m, "--from-magnification")
    _require_magnification(to_m, "--to-magnification")
    _require(pupil, "--pupil", LEAST_PUPIL, MOST_PUPIL, "a pupil magnification")
    lens = "" if pupil == 1 else f", pupil magnification {pupil:g}"
    return Factor(
        Change.MAGNIFICATION,
        ((1 + to_m / pupil) / (1 + from_m / pupil)) ** 2,
        f"magnification {from_m:g} to {to_m:g}{lens}",
        "thin-lens derivation" if pupil == 1 else "derived from the pupils of a thick lens",
        "" if from_m == to_m else "diffusion and condenser heads can depart from it",
    )


def distance_factor(from_mm: float, to_mm: float) -> Factor:
    """Give the factor of another distance from lens to paper: its square.

    From the aperture as it is seen from the paper (the exit pupil); then it is the formula of
    ``magnification_factor`` for any lens. Not the height of the head, which moves less or more
    than the lens does. Raises BadInput naming the option.
    """
    for value, where in ((from_mm, "--from-distance-mm"), (to_mm, "--to-distance-mm")):
        _require(value, where, 10, 20_000, "a distance from lens to paper in mm")
    return Factor(
        Change.DISTANCE,
        (to_mm / from_mm) ** 2,
        f"lens to paper {from_mm:g} to {to_mm:g} mm",
        "inverse square of the distance from lens to paper",
        "" if from_mm == to_mm else "diffusion and condenser heads can depart from it",
    )


def magnification_from_print(negative_mm: float, image_mm: float) -> float:
    """Give the magnification: the length of something on the easel over that on the negative.

    Raises BadInput naming the option.
    """
    for value, where in ((negative_mm, "--negative-mm"), (image_mm, "--image-mm")):
        _require(value, where, 0.1, 10_000, "a length in mm")
    found = image_mm / negative_mm
    if not LEAST_MAGNIFICATION <= found <= MOST_MAGNIFICATION:
        what = f"{image_mm:g} mm from {negative_mm:g} mm would be a magnification of {found:g}"
        raise BadInput(what, "--image-mm", "the same thing measured in both, in mm")
    return found


def magnification_at(
    reading: float, readings: Sequence[tuple[float, float]], *, where: str = "--to-column"
) -> float:
    """Give the magnification at a reading of the column, from (reading, magnification) noted.

    Linear between two notes. The true curve is that of the head's height, f*(2 + m + 1/m): with
    notes one magnification apart the exposure is then right within 0.02 stop from 2 upwards,
    but only within 1/4 stop from 1 to 2, where notes should be closer (derived).

    Nothing is made up beyond the notes. Raises BadInput for that, with the remedy, and for
    notes that contradict each other.
    """
    if not math.isfinite(reading):
        raise BadInput(f"{reading} is no reading", where, "a number on the column's scale")
    noted = _in_order(readings, where)
    for at, magnification in noted:
        if at == reading:
            return magnification
    for (low, low_m), (high, high_m) in pairwise(noted):
        if low < reading < high:
            return low_m + (high_m - low_m) * ((reading - low) / (high - low))
    what = "no magnification is noted for any reading"
    if noted:
        span = " to ".join(dict.fromkeys(f"{at:g}" for at in (noted[0][0], noted[-1][0])))
        what = f"{reading:g} lies outside the readings noted, {span}"
    right = (
        f"a reading between those noted; or note the magnification at {reading:g}, a length on "
        "the easel over the same on the negative"
    )
    raise BadInput(what, where, right)


# --- light and paper --------------------------------------------------------------------------


def aperture_factor(from_n: str | float, to_n: str | float, *, thirds: bool = False) -> Factor:
    """Give the factor of another aperture, by what the engraved numbers stand for.

    Engraved numbers are rounded powers of the root of two: 8 to 11 is 2 exactly, not 1.89.
    ``thirds`` as for ``controller.stops.aperture_value``. Raises BadInput naming the option.
    """
    aperture_value(from_n, thirds=thirds, where="--from-aperture")
    aperture_value(to_n, thirds=thirds, where="--to-aperture")
    names = [f"f/{_bare(n)}" for n in (from_n, to_n)]
    return Factor(
        Change.APERTURE,
        stops_to_factor(aperture_stops(from_n, to_n, thirds=thirds)),
        f"aperture {' to '.join(names)}",
        "engraved numbers as powers of the root of two",
    )


def reading_factor(from_lux: float, to_lux: float) -> Factor:
    """Give the factor of two easel light readings: ``from / to``, without any geometry.

    Both at the same place of the same image, through the same filter, under the same lamp, all
    else dark: a meter weighs light as the eye does and not as paper does, so that a reading
    compares amounts of one light only. Raises BadInput naming the option.
    """
    for value, where in ((from_lux, "--from-lux"), (to_lux, "--to-lux")):
        _require(value, where, 1e-4, 1e5, "a reading in lux")
    return Factor(
        Change.READING,
        from_lux / to_lux,
        f"easel light {from_lux:g} to {to_lux:g} lux",
        "exposure is light times time",
        "" if from_lux == to_lux else "same place, same filter and same lamp in both readings",
    )


def paper_factor(from_speed_p: float | None, to_speed_p: float | None) -> Factor | Unsettled:
    """Give the factor of another paper's ISO speed P; unsettled where a speed is not known.

    ``P = 1000 / Hm``, with Hm in lux seconds for a density of 0.60 above the base (from memory
    of ISO 6846): so the factor is from / to. Raises BadInput naming the option.
    """
    given = ((from_speed_p, "--from-speed"), (to_speed_p, "--to-speed"))
    for value, where in given:
        if value is not None:
            _require(value, where, 1, 10_000, "an ISO speed P")
    if from_speed_p is None or to_speed_p is None:
        names = " to ".join("unknown" if v is None else f"P{v:g}" for v, _ in given)
        return Unsettled(Change.PAPER, f"paper speed {names}")
    same = from_speed_p == to_speed_p
    caution = "of the mid-tone, rounded to a third of a stop; another ISO range moves the highlight"
    return Factor(
        Change.PAPER,
        from_speed_p / to_speed_p,
        f"paper speed P{from_speed_p:g} to P{to_speed_p:g}",
        "P = 1000 / Hm, from memory of ISO 6846",
        "" if same else caution,
    )


def another_lamp(from_lamp: str = "", to_lamp: str = "") -> Unsettled:
    """Say what another lamp does to exposure: nothing that arithmetic could know.

    Power is no measure of the blue and green that paper sees, and contrast can change as well.
    """
    named = from_lamp.strip() and to_lamp.strip()
    why = f"lamp {from_lamp.strip()} to {to_lamp.strip()}" if named else "another lamp"
    return Unsettled(Change.LAMP, why)


def told_factor(stops: Stops, why: str = "as a strip told") -> Factor:
    """Give a change that the printer has found: what a strip has settled, in stops.

    Raises BadInput naming the option.
    """
    value = stops_to_factor(stops)
    if abs(float(stops)) > MOST_STOPS:
        right = f"-{MOST_STOPS} to {MOST_STOPS} stops"
        raise BadInput(f"{float(stops):g} stops are too many", "--stops", right)
    return Factor(Change.TOLD, value, why, "the printer")


# --- filters ----------------------------------------------------------------------------------


def filter_factor(from_filter: str, to_filter: str, table: FilterTable = STARTING_POINTS) -> Factor:
    """Give the factor of another filter: its factor over no filter, over that of the first.

    It holds a mid-tone where it was; contrast changes, and so the highlight moves (derived).
    Raises BadInput naming the option for a filter that the table does not have.
    """
    before = table.entry(from_filter, "--from-filter")
    after = table.entry(to_filter, "--to-filter")
    cautions = []
    if not (before.own and after.own):
        cautions.append("a starting point, sets and heads differ")
    cautions.append("it holds the mid-tone, the highlight moves with the contrast")
    sources = dict.fromkeys(one.source for one in (before, after))
    same = before.name == after.name
    return Factor(
        Change.FILTER,
        after.factor / before.factor,
        f"filter {before.name} to {after.name}",
        "; ".join(sources),
        "" if same else "; ".join(cautions),
    )


# --- inside -----------------------------------------------------------------------------------

_GEOMETRY = (Change.MAGNIFICATION, Change.DISTANCE)
_HELD = {Change.READING: (*_GEOMETRY, Change.APERTURE), Change.DISTANCE: (Change.MAGNIFICATION,)}
_NAMES = {Change.READING: "an easel light reading", Change.DISTANCE: "the distance lens to paper"}


def _require_apart(changes: Sequence[Change]) -> None:
    for one in Change:
        if changes.count(one) > 1:
            raise BadInput(f"the {one.value} is changed twice", "convert", "one change of each")
    for one, held in _HELD.items():
        for other in held:
            if one in changes and other in changes:
                what = f"{_NAMES[one]} already holds the change of {other.value}"
                raise BadInput(what, "convert", "one of the two")


def _require(value: float, where: str, low: float, high: float, what: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise BadInput(f"{value:g} is not {what}", where, f"{low:g} to {high:g}")


def _require_magnification(value: float, where: str) -> None:
    what = "a magnification, length on the easel over length on the negative"
    _require(value, where, LEAST_MAGNIFICATION, MOST_MAGNIFICATION, what)


def _in_order(readings: Iterable[tuple[float, float]], where: str) -> list[tuple[float, float]]:
    """Sort the notes by reading; magnification must go one way along the column."""
    noted = sorted(set(readings))
    for at, magnification in noted:
        if not math.isfinite(at):
            raise BadInput(f"{at} is no reading", where, "a number on the column's scale")
        _require_magnification(magnification, where)
    rising = [after[1] > before[1] for before, after in pairwise(noted)]
    for (before, after), up in zip(pairwise(noted), rising, strict=True):
        if before[0] == after[0] or before[1] == after[1] or up != rising[0]:
            pair = f"{before[1]:g} at {before[0]:g} and {after[1]:g} at {after[0]:g}"
            right = "magnifications that only grow, or only shrink, along the column"
            raise BadInput(f"the notes contradict each other: {pair}", where, right)
    return noted


def _bare(engraved: str | float) -> str:
    text = engraved if isinstance(engraved, str) else f"{engraved:g}"
    return re.sub(r"^[fF]? ?/? ?", "", text.strip())


def _told(factor: float) -> str:
    """Tell a factor in both ways, three figures of it: ``x 2.78, +1.47 stops``."""
    stops = factor_to_stops(factor)
    if abs(stops) < 0.005:
        return "no change"
    unit = "stop" if abs(stops) < 1.005 else "stops"
    places = max(0, 2 - math.floor(math.log10(factor)))
    figure = f"{factor:.{places}f}"
    if "." in figure:
        figure = figure.rstrip("0").rstrip(".")
    return f"x {figure}, {format_stops(stops)} {unit}"
