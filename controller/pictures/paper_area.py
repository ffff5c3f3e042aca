"""Where in one of our own pictures the paper lies, so that it can be taken out of its mount.

It is written into the PNG as a text (a tEXt chunk of the PNG specification): left, top, right and
bottom in pixels from the upper left, then the picture's own width and height. A copy that was made
smaller still fits; one that was cut to another shape no longer does, and is left as it is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

KEY = "Dryside paper"
SAME_SHAPE = 0.01  # by how much width over height may differ: a copy's sides are whole pixels


def area_text(
    edges_mm: tuple[float, float, float, float], px_per_mm: float, size_px: tuple[int, int]
) -> str:
    """Write the edges of the paper in a picture of this size."""
    return " ".join(str(each) for each in (*(round(e * px_per_mm) for e in edges_mm), *size_px))


def only_paper(image: Image) -> Image:
    """Give the paper alone where the picture says where it lies, else the picture as it is."""
    box = _box(str(image.info.get(KEY, "")), image.size)
    return image if box is None else image.crop(box)


def _box(text: str, size: tuple[int, int]) -> tuple[int, int, int, int] | None:
    """Read a text, and bring it to the size that the picture has now; None for any other."""
    try:
        left, top, right, bottom, wide, high = (float(each) for each in text.split())
    except ValueError:
        return None
    ordered = 0 <= left < right <= wide and 0 <= top < bottom <= high
    if not ordered or not math.isfinite(wide + high):
        return None
    across, down = size[0] / wide, size[1] / high
    if abs(across / down - 1) > SAME_SHAPE:
        return None
    box = round(left * across), round(top * down), round(right * across), round(bottom * down)
    return box if box[0] < box[2] and box[1] < box[3] else None
