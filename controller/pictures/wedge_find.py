"""Finding two wedges, long and narrow, that lie side by side on a scanner's glass.

The white lid around them is fitted by a surface of second degree; what differs from it is the
wedges. Each is laid straight by its own long edges, and freed of the light's fall-off that the lid
shows. On a ground that is not white some patch of one or the other cannot be told from it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from controller.errors import BadInput

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from controller.pictures.ink import Grey

    Mask = NDArray[np.bool_]

LOOKED_AT = 700_000  # pixels in which they are looked for
WHITE = 0.60  # share of light: a darker ground hides some patch
SMOOTH_PX = 5  # noise is evened out over so many of them: paper is hardly darker than a lid
LEAST_SHARE = 0.01  # of the picture: less is no wedge
LEAST_RATIO = 2.0  # length over width
MOST_ASKEW_DEG = 12.0
APART_DEG = 2.5  # by so much the two may not be parallel
TELLS = 0.012  # of full light: by so much more than its noise the ground differs from itself
RIGHT = (
    "strip and tablet alone, side by side and 5 mm or more apart, with 5 mm of white lid or of "
    "white card all around"
)


@dataclass(frozen=True, slots=True)
class Lying:
    """One wedge, laid along the rows, in shares of light."""

    light: Grey
    profile: NDArray[np.float64]  # of -log10 light along it
    ratio: float  # length over width
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Glass:
    """The two wedges in the order in which they lie, from the top or from the left."""

    lying: tuple[Lying, Lying]
    tilt_deg: float
    uneven: float  # of the ground's light
    clipped_ground: bool


def find_lying(light: Grey, where: str) -> Glass:
    """Find two wedges in a scan. Raises BadInput with the reason where they cannot be found."""
    import numpy as np
    from scipy import ndimage

    every = max(1, math.isqrt(max(light.size // LOOKED_AT, 1)))
    coarse = _coarser(light, every)
    level = float(np.median(_ring(coarse)))
    if level < WHITE:
        what = f"the ground around them has {100 * level:.0f} % of full light"
        raise BadInput(f"{what}, and hides patches of its tone", where, RIGHT)
    smooth = ndimage.uniform_filter(coarse, SMOOTH_PX)
    ground, scatter = _ground(smooth)
    differs = np.abs(smooth - ground) > max(4.0 * scatter, TELLS)
    masks = _two(differs, where)
    boxes = [_straight(mask) for mask in masks]
    angles = [box.angle_deg for box in boxes]
    if abs(angles[0] - angles[1]) > APART_DEG:
        what = f"strip and tablet lie {abs(angles[0] - angles[1]):.1f} degrees apart"
        raise BadInput(what, where, "both laid parallel")
    # from the nearest quarter turn
    tilt = sum((a + 45.0) % 90.0 - 45.0 for a in angles) / 2.0
    if abs(tilt) > MOST_ASKEW_DEG:
        what = f"strip and tablet lie {abs(tilt):.0f} degrees askew"
        raise BadInput(what, where, f"both straight, to within {MOST_ASKEW_DEG:g} degrees")
    upright = abs(math.cos(math.radians(angles[0]))) < math.cos(math.radians(45))
    boxes.sort(key=lambda box: box.x if upright else box.y)
    clipped = float(np.mean(_ring(coarse) > 0.998)) > 0.2
    even = ground / ground.max() if not clipped else np.ones_like(ground)
    looked = _both(masks)
    fall = float(1.0 - even[looked].min() / even[looked].max())
    laid = [_lay(light, even, every, box) for box in boxes]
    return Glass((laid[0], laid[1]), tilt, fall, clipped)


# --- inside -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Box:
    """A rectangle in pixels: its middle, its length and width, and the angle of its length."""

    x: float
    y: float
    long: float
    short: float
    angle_deg: float


def _coarser(light: Grey, every: int) -> Grey:
    high, wide = (size // every * every for size in light.shape)
    cut = light[:high, :wide].reshape(high // every, every, wide // every, every)
    mean: Grey = cut.mean(axis=(1, 3))
    return mean


def _ring(light: Grey) -> Grey:
    import numpy as np

    deep = max(2, min(light.shape) // 60)
    return np.concatenate(
        [
            light[:deep].ravel(),
            light[-deep:].ravel(),
            light[:, :deep].ravel(),
            light[:, -deep:].ravel(),
        ]
    )


def _ground(light: Grey) -> tuple[Grey, float]:
    """Fit the ground by a surface of second degree; gives it, and its noise about that.

    It begins with the outermost ring and takes in what continues it.
    """
    import numpy as np

    high, wide = light.shape
    x, y = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, high))
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    deep = max(2, min(light.shape) // 60)
    keep = np.zeros(light.shape, dtype=bool)
    keep[:deep] = keep[-deep:] = True
    keep[:, :deep] = keep[:, -deep:] = True
    surface: Grey = np.full(light.shape, float(np.median(light[keep])))
    scatter = float(1.4826 * np.median(np.abs(light[keep] - surface[keep])))
    trusted = keep & (np.abs(light - surface) <= max(5.0 * scatter, 0.08))
    for turn in range(6):
        rows, values = terms[trusted], light[trusted]
        every = max(1, len(values) // 40_000)
        fit = np.linalg.lstsq(rows[::every], values[::every], rcond=None)[0]
        surface = terms @ fit
        off = np.abs(light - surface)
        scatter = float(1.4826 * np.median(off[trusted]))
        near = off <= max(3.0 * scatter, TELLS / 2)
        trusted = near if turn > 1 else near & keep
        if trusted.sum() < 100:
            break
    return surface, scatter


def _two(differs: Mask, where: str) -> list[Mask]:
    """Give the two largest things that differ from the ground."""
    import numpy as np
    from scipy import ndimage

    size = max(2, min(differs.shape) // 200)
    solid = ndimage.binary_opening(differs, np.ones((size, size)))
    solid = ndimage.binary_closing(np.pad(solid, 3 * size), np.ones((2 * size, 2 * size)))
    solid = ndimage.binary_fill_holes(solid)[3 * size : -3 * size, 3 * size : -3 * size]
    labels, count = ndimage.label(solid)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    order = [int(i) for i in np.argsort(sizes)[::-1] if sizes[i] >= LEAST_SHARE * differs.size]
    if len(order) < 2:
        what = "one thing alone lies on the glass: do strip and tablet touch?"
        raise BadInput(what if order else "nothing is found on the glass", where, RIGHT)
    if len(order) > 2 and sizes[order[2]] > 0.3 * sizes[order[1]]:
        raise BadInput(f"{len(order)} things lie on the glass, and not two", where, RIGHT)
    masks = [labels == order[0] + 1, labels == order[1] + 1]
    for mask in masks:
        if mask[0].any() or mask[-1].any() or mask[:, 0].any() or mask[:, -1].any():
            raise BadInput("strip or tablet goes over the edge of the scan", where, RIGHT)
        box = _straight(mask)
        if box.long < LEAST_RATIO * box.short:
            what = f"one thing is only {box.long / box.short:.1f} times as long as wide"
            raise BadInput(f"{what}: do strip and tablet touch?", where, RIGHT)
        full = float(mask.sum()) / (box.long * box.short)
        if not 0.85 <= full <= 1.15:
            what = "strip or tablet was not found as a whole rectangle"
            raise BadInput(f"{what}: one of its ends looks like the ground", where, RIGHT)
    return masks


def _both(masks: list[Mask]) -> Mask:
    return masks[0] | masks[1]


def _straight(mask: Mask) -> _Box:
    """Fit a rectangle: its direction by its long edges, its ends by their medians."""
    import numpy as np

    y, x = (at.astype(np.float64) for at in np.nonzero(mask))
    spread = np.cov(np.stack([x, y]))
    _, vectors = np.linalg.eigh(spread)
    angle = math.atan2(vectors[1, 1], vectors[0, 1])
    if not -math.pi / 4 < angle <= 3 * math.pi / 4:
        angle += math.pi if angle <= -math.pi / 4 else -math.pi
    mid_x, mid_y = float(x.mean()), float(y.mean())
    for _ in range(3):  # the direction by the slope of the two long edges
        along, across = _turned(x - mid_x, y - mid_y, angle)
        bins = np.round(along).astype(int)
        low, high = int(bins.min()), int(bins.max())
        upper = np.full(high - low + 1, -np.inf)
        lower = np.full(high - low + 1, np.inf)
        np.maximum.at(upper, bins - low, across)
        np.minimum.at(lower, bins - low, across)
        at = np.arange(low, high + 1, dtype=float)
        inside = np.isfinite(upper) & (np.abs(at - (low + high) / 2) < 0.45 * (high - low))
        angle += math.atan(
            (_slope(at[inside], upper[inside]) + _slope(at[inside], lower[inside])) / 2
        )
    along, across = _turned(x - mid_x, y - mid_y, angle)
    left, right = _ends(along, across)
    top, bottom = _ends(across, along)
    step_x, step_y = (left + right) / 2, (top + bottom) / 2
    return _Box(
        mid_x + step_x * math.cos(angle) - step_y * math.sin(angle),
        mid_y + step_x * math.sin(angle) + step_y * math.cos(angle),
        right - left + 1.0,
        bottom - top + 1.0,
        math.degrees(angle),
    )


def _turned(x: Grey, y: Grey, angle: float) -> tuple[Grey, Grey]:
    cos, sin = math.cos(angle), math.sin(angle)
    return x * cos + y * sin, y * cos - x * sin


def _slope(x: Grey, y: Grey) -> float:
    """Give the slope of points, specks left out: the median over pairs half the length apart."""
    import numpy as np

    half = len(x) // 2
    return float(np.median((y[half : 2 * half] - y[:half]) / (x[half : 2 * half] - x[:half])))


def _ends(along: Grey, across: Grey) -> tuple[float, float]:
    """Give the first and the last place along, by the median over lines across."""
    import numpy as np

    lines = np.round(across).astype(int)
    lines -= lines.min()
    last = np.full(lines.max() + 1, -np.inf)
    first = np.full(lines.max() + 1, np.inf)
    np.maximum.at(last, lines, along)
    np.minimum.at(first, lines, along)
    return float(np.median(first)), float(np.median(last))


def _lay(light: Grey, even: Grey, every: int, box: _Box) -> Lying:
    """Cut a wedge out, turned straight, at the scan's own fineness and freed of fall-off."""
    import numpy as np
    from scipy import ndimage

    angle = math.radians(box.angle_deg)
    long, short = round(box.long * every), round(box.short * every)
    along = (np.arange(long) + 0.5 - long / 2)[None, :]
    across = (np.arange(short) + 0.5 - short / 2)[:, None]
    middle = (every - 1) / 2  # of a coarse pixel
    x = box.x * every + middle + along * math.cos(angle) - across * math.sin(angle)
    y = box.y * every + middle + along * math.sin(angle) + across * math.cos(angle)
    cut = ndimage.map_coordinates(light, [y, x], order=1, mode="nearest")
    fall = ndimage.map_coordinates(even, [y / every, x / every], order=1, mode="nearest")
    laid = np.clip(cut / fall, 0.0, 1.0)
    rows = laid[round(0.25 * short) : round(0.75 * short)]
    profile = -np.log10(np.maximum(np.median(rows, axis=0), 1e-4))
    return Lying(laid, profile, box.long / box.short, box.angle_deg)
