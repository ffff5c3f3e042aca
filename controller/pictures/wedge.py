"""A scan of a calibration strip that lies beside a reflection step tablet, read as densities.

A scanner's tones are no densities. A tablet of known densities on the same glass makes them so:
strip and tablet are found, laid straight and evened out, the middles of their patches are
averaged, and the tablet's own tones say, by a monotone curve, which density each tone is. What
is darker or lighter than the tablet's ends is told as beyond them, and never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from os import PathLike
from typing import TYPE_CHECKING

from controller.errors import BadInput
from controller.pictures.scan import DARKEST, load_scan, one_of_256
from controller.pictures.wedge_find import Lying, find_lying

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from controller.pictures.ink import Grey

LEAST_STEPS = 5  # of a tablet: fewer say nothing of a scanner's curve between them
LEAST_TABLET_STEP = 0.01  # between two densities of a tablet that are to be told apart
LEAST_PX = 12  # across the middle of a patch; fewer say nothing of its noise
INNER = 0.5  # of a patch that is averaged, along and across
BLOCKS = 4  # a patch is looked at in so many blocks each way, and a speck spoils but one
SPREAD_MOST = 0.15  # of the scatter within patches, in parts of a step: more is no such wedge
ENDS_MOST = 0.03  # by so much of its length an end of a wedge may lie elsewhere than was found
CLIPPED = 0.02  # of a patch's middle at full white or full black: more is told
DUST_EDGE_PX = 4  # around a speck: a scanner blurs it
OUT_OF_ORDER = 0.04  # of -log10 light: less is the noise of nearly black steps
TILT_TOLD_DEG = 3.0
UNEVEN_TOLD = 0.04  # of the light, over the wedges
LOSSY = (".jpg", ".jpeg")
LOSSY_WARNING = "a JPEG keeps dark tones coarsely: a PNG or TIFF of the scan tells them better"
# What one of a JPEG's 256 tones may be, as density. It flattens patches that differ by less than
# a tone, so that no average tells them apart; where one is more, patches are bounds.
COARSEST = 0.025
LEAST_UNCERTAIN = 0.01  # density: what a tablet's own figures are uncertain by (common practice)


@dataclass(frozen=True, slots=True)
class Read:
    """One patch: its density, by how much that is uncertain, and whether it is only a bound.

    ``beyond`` is -1 where the patch is lighter than the tablet's first step, 1 where it is
    darker than its last, and 0 between: beyond, the density is that of the tablet's end.
    """

    density: float
    uncertain: float
    beyond: int = 0


@dataclass(frozen=True, slots=True)
class WedgeScan:
    """What a scan says: the strip's patches from its light end, and what spoke against it."""

    patches: tuple[Read, ...]
    warnings: tuple[str, ...]
    tilt_deg: float
    uneven: float  # of the light, over both wedges
    misfit: float  # density by which the tablet's own steps fit their neighbours


@dataclass(frozen=True, slots=True)
class _Middle:
    """A patch's middle in -log10 light, and what is to be said of it."""

    value: float
    noise: float
    clipped: float
    specks: int
    slope: float  # of -log10 light over one length of the wedge


def tablet_densities(values: Sequence[float], where: str) -> tuple[float, ...]:
    """Check a tablet's densities, lightest first. Raises BadInput that names the first fault."""
    right = f"{LEAST_STEPS} or more densities from the lightest up, such as 0.05,0.20,0.35"
    if len(values) < LEAST_STEPS:
        raise BadInput(f"a tablet of {len(values)} steps is too short", where, right)
    for index, value in enumerate(values):
        if not -0.05 <= value <= 5.0:
            raise BadInput(f"{value:g} is no reflection density", where, right)
        if index and value < values[index - 1] + LEAST_TABLET_STEP:
            what = f"step {index + 1} ({value:g}) is no darker than the one before it"
            raise BadInput(what, where, right)
    return tuple(float(value) for value in values)


def read_wedge(
    path: str | PathLike[str],
    *,
    patches: int,
    tablet: Sequence[float],
    strip_ratio: float | None = None,
    tablet_first: bool = True,
) -> WedgeScan:
    """Read a scan file; see ``wedge_of``. Raises BadInput."""
    lossy = str(path).lower().endswith(LOSSY)
    found = wedge_of(
        load_scan(path),
        patches=patches,
        tablet=tablet,
        strip_ratio=strip_ratio,
        tablet_first=tablet_first,
        lossy=lossy,
        where=str(path),
    )
    return replace(found, warnings=(*found.warnings, LOSSY_WARNING)) if lossy else found


def wedge_of(
    light: Grey,
    *,
    patches: int,
    tablet: Sequence[float],
    strip_ratio: float | None = None,
    tablet_first: bool = True,
    lossy: bool = False,
    where: str = "scan",
) -> WedgeScan:
    """Read a scan, in shares of light, of a strip of so many equal patches beside a tablet.

    ``strip_ratio`` is length over width of the strip, where it is known, as a check.
    ``tablet_first``: the tablet lies above the strip (left of it, where they stand upright);
    this decides only where their numbers of steps do not. ``lossy``: it was a JPEG. Raises
    BadInput with the reason where the scan cannot be read.
    """
    known = tablet_densities(tablet, "--tablet")
    found = find_lying(light, where)
    ground: tuple[str, ...] = ()
    if found.clipped_ground:
        ground = ("the lid is full white in the scan, so uneven light shows in the patches only",)
    strip, step = _which(found.lying, patches, len(known), tablet_first=tablet_first)
    if strip_ratio is not None and abs(strip.ratio / strip_ratio - 1.0) > 0.12:
        raise BadInput(
            f"the strip that was found is {strip.ratio:.1f} times as long as wide, and was made "
            f"{strip_ratio:.1f} times: one of its ends looks like what lies around it",
            where,
            "strip and tablet with a white card behind them, apart from each other by 5 mm or more",
        )
    of_tablet = _middles(step, len(known), "tablet", where)
    of_strip = _middles(strip, patches, "strip", where)
    if found.clipped_ground:
        of_tablet, of_strip, uneven = _levelled(of_tablet, of_strip)
    else:
        uneven = found.uneven
    read, misfit = _as_densities(of_tablet, of_strip, known, where, lossy=lossy)
    warnings = (*ground, *_warnings(of_tablet, of_strip, read, found.tilt_deg, uneven, known))
    return WedgeScan(tuple(read), warnings, found.tilt_deg, uneven, misfit)


# --- inside -----------------------------------------------------------------------------------


def _which(
    lying: tuple[Lying, Lying], patches: int, steps: int, *, tablet_first: bool
) -> tuple[Lying, Lying]:
    """Tell strip and tablet apart: by how well their patches fit, else by where they lie."""
    first, second = lying
    if patches != steps:
        as_told = _spread(second, patches)[0] + _spread(first, steps)[0]
        other = _spread(first, patches)[0] + _spread(second, steps)[0]
        if min(as_told, other) < 0.5 * max(as_told, other):
            return (second, first) if as_told < other else (first, second)
    return (second, first) if tablet_first else (first, second)


def _spread(lying: Lying, count: int) -> tuple[float, float, float]:
    """Find where a wedge's ends lie: scatter within patches in parts of a step, and the ends.

    The ends are in parts of the length that was found. The scatter is that of the profile along
    the wedge, over the inner seven tenths of each patch; a step is the usual (rms) one.
    """
    import numpy as np

    profile = lying.profile
    places = np.arange(count)[:, None] + np.linspace(0.15, 0.85, 15)[None, :]
    along = np.linspace(0.0, 1.0, len(profile))
    best = (9.0, 0.0, 1.0)
    tried = np.linspace(-ENDS_MOST, ENDS_MOST, 13)
    for start in tried:
        for end in 1.0 + tried:
            at = start + places / count * (end - start)
            looked = np.interp(np.clip(at, 0.0, 1.0), along, profile)
            # a little is added for ends far from what was found, or flat ends would wander
            off = 0.2 * (abs(start) + abs(end - 1.0))
            steps = np.diff(looked.mean(axis=1))
            step = max(float(np.square(steps).mean()), 1e-12)
            within = float(looked.var(axis=1).mean() / step) ** 0.5 + off
            if within < best[0]:
                best = (within, float(start), float(end))
    return best


def _middles(lying: Lying, count: int, what: str, where: str) -> list[_Middle]:
    """Average the middles of a wedge's patches, its light end first."""
    import numpy as np

    within, start, end = _spread(lying, count)
    if within > SPREAD_MOST:
        raise BadInput(
            f"the {what} shows no {count} equal patches side by side",
            where,
            f"the whole {what} flat on the glass, and the number of patches that it has",
        )
    light = lying.light
    high, wide = light.shape
    each = (end - start) / count
    rows = slice(round(high * (1 - INNER) / 2), round(high * (1 + INNER) / 2))
    middles = []
    for index in range(count):
        centre = start + (index + 0.5) * each
        left, right = (round((centre + side * each * INNER / 2) * wide) for side in (-1, 1))
        inner = light[rows, max(left, 0) : max(right, 0)]
        if min(inner.shape) < LEAST_PX:
            told = f"the middle of a patch of the {what} is {inner.shape[1]} x {inner.shape[0]}"
            raise BadInput(
                f"{told} pixels", where, f"{LEAST_PX} or more each way: scan at 300 dpi or more"
            )
        middles.append(_middle(inner, each))
    if float(np.mean([m.value for m in middles[: count // 2]])) > float(
        np.mean([m.value for m in middles[(count + 1) // 2 :]])
    ):
        middles = [
            _Middle(m.value, m.noise, m.clipped, m.specks, -m.slope) for m in reversed(middles)
        ]
    return middles


def _middle(inner: Grey, each: float) -> _Middle:
    """Average a middle; what is off by more than noise is dust, and left out with its edges."""
    import numpy as np
    from scipy import ndimage

    usual = float(np.median(inner))
    noise = 1.4826 * float(np.median(np.abs(inner - usual)))
    off = np.abs(inner - usual) > max(5.0 * noise, 0.02 * usual, DARKEST)
    # a lone pixel is noise; a scanner blurs a speck, and JPEG spreads it over eight pixels
    dust = ndimage.binary_opening(off, np.ones((2, 2)))
    dust = ndimage.binary_dilation(dust, iterations=DUST_EDGE_PX)
    means = np.full((BLOCKS, BLOCKS), np.nan)
    rows = np.array_split(np.arange(inner.shape[0]), BLOCKS)
    columns = np.array_split(np.arange(inner.shape[1]), BLOCKS)
    for y, row in enumerate(rows):
        for x, column in enumerate(columns):
            block = np.ix_(row, column)
            clean = inner[block][~dust[block]]
            if len(clean) >= dust[block].size / 3:
                means[y, x] = max(float(clean.mean()), DARKEST)
    if np.isnan(means).all():
        means[:] = max(usual, DARKEST)
    density: NDArray[np.float64] = -np.log10(means)
    value = float(np.nanmedian(density))
    scatter = float(1.4826 * np.nanmedian(np.abs(density - value)))
    at = (np.arange(BLOCKS) - (BLOCKS - 1) / 2) * (each * INNER / BLOCKS)
    filled = np.where(np.isnan(density), value, density)
    slope = float((np.median(filled, axis=0) * at).sum() / (at**2).sum())
    clipped = float(np.mean((inner > 0.998) | (inner < DARKEST)))
    return _Middle(value, scatter / BLOCKS, clipped, int(dust.any()), slope)


def _levelled(
    tablet: list[_Middle], strip: list[_Middle]
) -> tuple[list[_Middle], list[_Middle], float]:
    """Take out the slope along the wedges that all patches share (their median)."""
    import numpy as np

    shared = float(np.median([m.slope for m in (*tablet, *strip)]))

    def level(middles: list[_Middle]) -> list[_Middle]:
        count = len(middles)
        return [
            _Middle(
                m.value - shared * ((index + 0.5) / count - 0.5),
                m.noise,
                m.clipped,
                m.specks,
                m.slope - shared,
            )
            for index, m in enumerate(middles)
        ]

    return level(tablet), level(strip), abs(float(10.0**shared - 1.0))


def _as_densities(
    tablet: list[_Middle],
    strip: list[_Middle],
    known: tuple[float, ...],
    where: str,
    *,
    lossy: bool,
) -> tuple[list[Read], float]:
    """Turn the strip's tones into densities by a monotone curve through the tablet's."""
    import numpy as np
    from scipy.interpolate import PchipInterpolator

    tones = np.array([m.value for m in tablet])
    noise = float(np.median([m.noise for m in tablet]))
    steps = np.diff(tones)
    if (steps <= -max(OUT_OF_ORDER, 4.0 * noise)).any():
        number = int(np.argmin(steps)) + 1
        raise BadInput(
            f"the tablet's step {number + 1} is lighter in the scan than step {number}",
            where,
            "the tablet's densities in its own order, and nothing lying on it",
        )
    # steps that the scanner cannot tell apart end the curve: what is darker is beyond it
    last = len(tones)
    for index in range(len(steps) - 1, 0, -1):
        if steps[index] > max(3.0 * noise, 0.1 * (known[index + 1] - known[index])):
            break
        last = index + 1
    if lossy:
        last = min(last, _told_by_tones(tones, known))
    if last < LEAST_STEPS:
        raise BadInput(
            f"the scanner tells only {last} of the tablet's {len(known)} steps apart",
            where,
            "a scan without automatic exposure, in 16 bits where the scanner has them",
        )
    tones = np.maximum.accumulate(tones[:last] + np.arange(last) * 1e-9)
    densities = np.array(known[:last])
    curve = PchipInterpolator(tones, densities)
    left_out = [
        float(PchipInterpolator(np.delete(tones, i), np.delete(densities, i))(tones[i]))
        - densities[i]
        for i in range(1, last - 1)
    ]
    # a step that is left out is bridged over twice the distance: a cubic's error falls by 8
    misfit = float(np.sqrt(np.mean(np.square(left_out)))) / 2.0
    read = []
    for middle in strip:
        inside = float(np.clip(middle.value, tones[0], tones[-1]))
        steep = float(curve.derivative()(inside))
        uncertain = float(np.hypot(np.hypot(LEAST_UNCERTAIN, misfit), steep * middle.noise))
        slack = 2.0 * uncertain / max(steep, 1e-6)
        beyond = int(middle.value > tones[-1] + slack) - int(middle.value < tones[0] - slack)
        read.append(Read(float(curve(inside)), uncertain, beyond))
    return read, misfit


def _told_by_tones(tones: NDArray[np.float64], known: tuple[float, ...]) -> int:
    """How many of the tablet's steps are told apart by tones that are fine enough?"""
    import numpy as np

    rise = np.maximum(np.gradient(np.maximum.accumulate(tones)), 1e-6)
    one_tone = one_of_256(10.0**-tones) * np.gradient(np.array(known)) / rise
    coarse = np.flatnonzero(one_tone > COARSEST)
    return int(coarse[0]) if len(coarse) else len(known)


def _warnings(
    tablet: list[_Middle],
    strip: list[_Middle],
    read: list[Read],
    tilt_deg: float,
    uneven: float,
    known: tuple[float, ...],
) -> list[str]:
    told = []
    clipped = sum(m.clipped > CLIPPED for m in (*tablet, *strip))
    if clipped:
        told.append(f"{clipped} patches are clipped to full white or black: their tones are lost")
    dusty = sum(m.specks > 0 for m in (*tablet, *strip))
    if dusty:
        told.append(f"{dusty} patches have dust or scratches in their middle; those were left out")
    if abs(tilt_deg) > TILT_TOLD_DEG:
        told.append(f"strip and tablet lie {abs(tilt_deg):.1f} degrees askew; laid straight")
    if uneven > UNEVEN_TOLD:
        told.append(f"the light falls off by {100 * uneven:.0f} % over the glass; evened out")
    dark = sum(r.beyond > 0 for r in read)
    if dark:
        told.append(
            f"{dark} patches are darker than the tablet's last step that can be told "
            f"({max(r.density for r in read):.2f}): they are bounds"
        )
    if any(r.beyond < 0 for r in read):
        told.append(f"there are patches lighter than the tablet's first step ({known[0]:.2f})")
    return told
