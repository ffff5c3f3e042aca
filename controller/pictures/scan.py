"""A scan of a sheet: reading the file, finding the sheet in it, and sampling its parts.

A scan is not calibrated: what it calls a density is ``-log10`` of its own tones, taken as sRGB,
and only differences on one and the same sheet mean something. Tones that the lid shows around the
sheet, and a slope that all parts share, are taken out, since a scanner's light is never even.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from typing import TYPE_CHECKING

from controller.errors import BadInput
from controller.room.scanned import Sample

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from controller.pictures.ink import Grey

RIGHT_FILE = "a PNG, JPEG or TIFF, grey or colour, such as a scanner writes"
MOST_PIXELS = 160_000_000
ENOUGH_PIXELS = 9_000_000  # a whole glass at 300 dpi; what is finer is made coarser, for memory
LOOKED_AT = 1_000_000  # pixels in which the sheet is looked for
LEAST_PX = 10  # across the inner half of a part; fewer say nothing of its noise
ASPECT_SLACK = 0.12  # by how much a sheet's proportions may be off: cut by hand, laid askew
DARKEST = 1e-4  # below this share of light a scanner sees noise alone
BLOCKS = 4  # a part is looked at in so many blocks each way
STEP_MOST = 0.006  # of -log10 light: between two of 256 tones, at a light grey
INNER = 0.5  # of a part that is looked at, along and across: no edge of a card lies there
LID_STEP = 0.02  # of full tone: less is the lid's own noise


@dataclass(frozen=True)
class Found:
    """The sheet as it was cut out of a scan, in shares of light, its left edge at the left."""

    light: Grey
    lid: bool  # was there a border to cut away?
    turned: bool  # did it stand upright?


def load_scan(path: str | PathLike[str]) -> Grey:
    """Read a picture as shares of light, 0 to 1. Raises BadInput that names the file."""
    import numpy as np
    from PIL import Image, ImageOps, UnidentifiedImageError

    name = str(path)
    try:
        with Image.open(path) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                what = f"{opened.width} x {opened.height} pixels are too many"
                raise BadInput(what, name, "300 to 600 dpi, the sheet alone")
            image = ImageOps.exif_transpose(opened)
            image.load()
    except (UnidentifiedImageError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise BadInput("this is no picture that can be read", name, RIGHT_FILE) from None
    except OSError as error:
        reason = error.strerror or "it is cut short"
        raise BadInput(f"it cannot be read ({reason})", name, RIGHT_FILE) from None
    times = math.ceil(math.sqrt(image.width * image.height / ENOUGH_PIXELS))
    if image.mode.startswith("I"):  # sixteen bits, in Pillow's several ways to hold them
        tones = np.asarray(image)[::times, ::times].astype(np.float64) / 65535.0
    elif image.mode == "F":
        raise BadInput("its tones are floating figures of no known scale", name, RIGHT_FILE)
    elif image.mode == "1":
        raise BadInput("it has black and white alone, and no greys", name, RIGHT_FILE)
    else:
        if "A" in image.getbands() or "transparency" in image.info:
            under = Image.new("RGBA", image.size, "white")
            image = Image.alpha_composite(under, image.convert("RGBA"))
        image = image.convert("RGB").reduce(times)
        # the mean of the colours: paper is neutral, and the mean has the least noise
        tones = np.asarray(image).mean(axis=2) / 255.0
    return _light(np.clip(tones, 0.0, 1.0))


def find_sheet(light: Grey, width_mm: float, height_mm: float, where: str = "scan") -> Found:
    """Find a sheet of some proportions in a scan, and lay it with its length across.

    Where the lid's border is seen it is cut away and its unevenness taken out; a picture that
    has the sheet's proportions is the sheet. One that stands upright is turned by a quarter,
    so that its top comes to the left. Raises BadInput where no sheet can be it.
    """
    import numpy as np

    wanted = width_mm / height_mm
    every = max(1, math.isqrt(light.size // LOOKED_AT))
    coarse = light[::every, ::every]
    box = _box(coarse)
    tried = []
    if box is not None:
        top, bottom, left, right = (edge * every for edge in box)
        fall = np.repeat(np.repeat(_lid(coarse, box), every, axis=0), every, axis=1)
        part = light[top:bottom, left:right]
        levelled = part / fall[: part.shape[0], : part.shape[1]]
        tried.append((np.clip(levelled, 0.0, 1.0), True))
    tried.append((light, False))
    for part, lid in tried:
        high, wide = part.shape
        for turned in (False, True):
            has = high / wide if turned else wide / high
            if abs(has / wanted - 1.0) <= ASPECT_SLACK:
                laid = np.rot90(part) if turned else part
                return Found(laid, lid, turned)
    high, wide = tried[0][0].shape
    long, short = max(wide, high), max(1, min(wide, high))
    raise BadInput(
        f"what lies there is {long / short:.1f} times as long as wide, and the sheet is "
        f"{max(wanted, 1 / wanted):.1f} times",
        where,
        f"the whole sheet of {width_mm:g} x {height_mm:g} mm, alone on the glass or cut out",
    )


def sample_parts(
    sheet: Grey, parts_mm: Sequence[tuple[float, float]], width_mm: float, where: str = "scan"
) -> list[Sample]:
    """Sample the middle of each part: its value, and what its own unevenness makes it uncertain.

    A part is its bounds in mm from the sheet's left. Its inner half is looked at in four blocks
    each way: the value is the median of the blocks' means, so that a speck of dust counts for
    nothing, and the noise is their scatter about it. A slope that the parts share (the median
    of all) is taken out first. Raises BadInput for a scan too coarse or without tones.
    """
    import numpy as np

    high, wide = sheet.shape
    if (spent := float(np.mean((sheet > 0.998) | (sheet < DARKEST)))) > 0.25:
        what = f"{100 * spent:.0f} % of the sheet are full white or full black"
        raise BadInput(what, where, "a scan that keeps the greys: no automatic exposure")
    density = -np.log10(np.maximum(sheet, DARKEST))
    quarter = (1.0 - INNER) / 2.0
    rows = slice(round(high * quarter), round(high * (1.0 - quarter)))
    looked: list[tuple[float, NDArray[np.float64]]] = []
    tones: list[NDArray[np.float64]] = []
    for from_mm, to_mm in parts_mm:
        inset = (to_mm - from_mm) * quarter
        first, last = ((at / width_mm) * wide for at in (from_mm + inset, to_mm - inset))
        inner = density[rows, round(first) : round(last)]
        if min(inner.shape) < LEAST_PX:
            what = f"the middle of a part is {inner.shape[1]} x {inner.shape[0]} pixels"
            right = f"{LEAST_PX} or more each way: scan at 300 dpi or more"
            raise BadInput(what, where, right)
        tones.append(np.unique(inner))
        means = np.array(
            [
                [block.mean() for block in np.array_split(band, BLOCKS, axis=1)]
                for band in np.array_split(inner, BLOCKS, axis=0)
            ]
        )
        looked.append(((first + last) / 2.0 / wide * width_mm, means))
    slopes = np.array([_slope(means) for _, means in looked])
    pitch = np.array([INNER * (to - of) / BLOCKS for of, to in parts_mm])  # mm between blocks
    shared = float(np.median(slopes / pitch))  # per mm
    # what the median of so many slopes is uncertain by (of a normal scatter)
    scatter = float(1.4826 * np.median(np.abs(slopes / pitch - shared)))
    scatter *= 1.25 / len(parts_mm) ** 0.5
    steps_of_tone = np.diff(np.unique(np.concatenate(tones)))
    step = float(np.median(steps_of_tone)) if len(steps_of_tone) else STEP_MOST
    floor = min(step, STEP_MOST) / 12**0.5  # what rounding to a tone leaves (of an even scatter)
    samples: list[Sample] = []
    for at_mm, means in looked:
        each = pitch[len(samples)]
        steps = (np.arange(BLOCKS) - (BLOCKS - 1) / 2) * each * shared
        flat = means - steps[None, :]
        value = float(np.median(flat)) - shared * (at_mm - width_mm / 2)
        noise = float(1.4826 * np.median(np.abs(flat - np.median(flat))))
        samples.append(Sample(value, max(noise, floor), at_mm, scatter))
    return samples


def coin_samples(sheet: Grey, coin_mm: float, width_mm: float, height_mm: float) -> list[Sample]:
    """Sample what lay under a coin in the middle of a sheet, and the paper on both its sides.

    The paper's value comes first. The coin may lie a quarter of its size off the middle.
    """
    import numpy as np

    high, wide = sheet.shape
    density = -np.log10(np.maximum(sheet, DARKEST))
    half = coin_mm / 4  # a square that is within the coin, even if it lies off the middle
    px, py = wide / width_mm, high / height_mm
    middle = density[
        round(high / 2 - half * py) : round(high / 2 + half * py),
        round(wide / 2 - half * px) : round(wide / 2 + half * px),
    ]
    rows = slice(round(high * 0.25), round(high * 0.75))
    sides = [
        density[rows, round(wide * 0.06) : round(wide * 0.22)],
        density[rows, round(wide * 0.78) : round(wide * 0.94)],
    ]
    if min(*middle.shape, *(size for side in sides for size in side.shape)) < LEAST_PX:
        right = "scan at 300 dpi or more"
        raise BadInput("the coin's place has too few pixels", "scan", right)
    left, right_ = (_spot(side) for side in sides)
    # both sides together lie where the coin does, so that an even slope falls out
    around = Sample((left[0] + right_[0]) / 2, max(left[1], right_[1]), width_mm / 2, 0.0)
    value, noise = _spot(middle)
    return [around, Sample(value, noise, width_mm / 2, 0.0)]


# --- inside -----------------------------------------------------------------------------------


def _light(tones: Grey) -> Grey:
    """Undo the transfer function of sRGB (IEC 61966-2-1, its numbers from memory of it)."""
    import numpy as np

    high = ((tones + 0.055) / 1.055) ** 2.4
    return np.asarray(np.where(tones <= 0.04045, tones / 12.92, high), dtype=np.float64)


def one_of_256(light: Grey) -> Grey:
    """Say how much -log10 light one of 256 tones is there, in the transfer function of sRGB.

    From its upper branch alone: what is darker is told by few tones in any case.
    """
    import numpy as np

    tones = 1.055 * np.asarray(light) ** (1.0 / 2.4)  # of 1, and 0.055 above the tone itself
    return np.asarray(2.4 / np.log(10.0) / 255.0 / tones, dtype=np.float64)


def _border(light: Grey) -> tuple[Grey, Grey, Grey]:
    """Give places (0 to 1) and light of the outermost one per cent of a picture."""
    import numpy as np

    high, wide = light.shape
    deep_y, deep_x = max(2, high // 100), max(2, wide // 100)
    edge = np.zeros(light.shape, dtype=bool)
    edge[:deep_y] = edge[-deep_y:] = True
    edge[:, :deep_x] = edge[:, -deep_x:] = True
    y, x = np.nonzero(edge)
    few = slice(None, None, max(1, len(y) // 20_000))
    return x[few] / wide, y[few] / high, light[y[few], x[few]]


def _plane(x: Grey, y: Grey, value: Grey) -> tuple[NDArray[np.float64], float]:
    """Fit a plane, what does not belong to it left out; gives it, and the scatter about it."""
    import numpy as np

    table = np.stack([np.ones_like(x), x, y], axis=1)
    keep = np.ones(len(x), dtype=bool)
    fit: NDArray[np.float64] = np.zeros(3)
    scatter = 0.0
    for _ in range(6):
        fit = np.asarray(np.linalg.lstsq(table[keep], value[keep], rcond=None)[0], np.float64)
        off = value - table @ fit
        scatter = float(1.4826 * np.median(np.abs(off[keep] - np.median(off[keep]))))
        keep = np.abs(off) <= max(3.0 * scatter, 0.01)
        if keep.sum() < 100:
            break
    return fit, scatter


def _box(light: Grey) -> tuple[int, int, int, int] | None:
    """Find the rectangle that differs from the border: top, bottom, left, right; None of none."""
    import numpy as np

    x, y, value = _border(light)
    fit, scatter = _plane(x, y, value)
    high, wide = light.shape
    ground = (
        fit[0]
        + fit[1] * np.arange(wide)[None, :] / wide
        + fit[2] * (np.arange(high)[:, None] / high)
    )
    other = np.abs(light - ground) > max(4.0 * scatter, LID_STEP)
    rows = _run(other.mean(axis=1))
    if rows is None:
        return None
    columns = _run(other[rows[0] : rows[1]].mean(axis=0))
    if columns is None:
        return None
    rows = _run(other[:, columns[0] : columns[1]].mean(axis=1))
    if rows is None or (
        rows[1] - rows[0] >= 0.98 * high and columns[1] - columns[0] >= 0.98 * wide
    ):
        return None
    return rows[0], rows[1], columns[0], columns[1]


def _run(share: Grey) -> tuple[int, int] | None:
    """Give the longest run in which more than half of the most is covered."""
    import numpy as np

    if share.max() <= 0.01:
        return None
    inside = share > share.max() / 2
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(np.int8), [0]])))
    runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    best = max(runs, key=lambda run: run[1] - run[0])
    return (best[0], best[1]) if best[1] - best[0] > 2 else None


def _lid(light: Grey, box: tuple[int, int, int, int]) -> Grey:
    """Give what the lid's light is over a box, by its most; 1 where it is no white."""
    import numpy as np

    x, y, value = _border(light)
    fit, _ = _plane(x, y, value)
    top, bottom, left, right = box
    high, wide = light.shape
    down, across = np.arange(top, bottom)[:, None] / high, np.arange(left, right)[None, :] / wide
    plane: Grey = fit[0] + fit[1] * across + fit[2] * down
    if plane.min() < max(0.1, float(np.median(light[top:bottom, left:right]))):
        return np.ones_like(plane)  # a dark ground says nothing of the light on the sheet
    lid: Grey = plane / plane.max()
    return lid


def _slope(means: NDArray[np.float64]) -> float:
    """Give the slope of a part, from block to block along the sheet."""
    import numpy as np

    at = np.arange(BLOCKS) - (BLOCKS - 1) / 2
    return float((np.median(means, axis=0) * at).sum() / (at**2).sum())


def _spot(inner: Grey) -> tuple[float, float]:
    import numpy as np

    means = np.array(
        [
            block.mean()
            for band in np.array_split(inner, BLOCKS, axis=0)
            for block in np.array_split(band, BLOCKS, axis=1)
        ]
    )
    middle = float(np.median(means))
    return middle, float(1.4826 * np.median(np.abs(means - middle)))
