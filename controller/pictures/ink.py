"""What every picture is drawn with: tones, paper, type and fine lines on grey, and the file.

Pillow and numpy are loaded only when a picture is made.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from controller.errors import BadInput
from controller.pictures.page import Caption, Layout, Measure
from controller.pictures.paper_area import KEY, area_text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image, ImageFont

    Grey: TypeAlias = NDArray[np.float64]

PX_PER_MM = 8.0
MOST_PIXELS = 80_000_000
CellSize: TypeAlias = (
    float | tuple[float, float]
)  # of densities, in mm: square, or width and height


@dataclass(frozen=True)
class Ink:
    """The shades (0 to 255, sRGB) of a kind of picture."""

    ground: int
    text: int
    faint: int
    line: int
    shadow: int  # how dark paper's shadow is on the ground, 255 for black


BENCH = Ink(ground=88, text=240, faint=196, line=168, shadow=120)
PRINT = Ink(ground=255, text=0, faint=70, line=90, shadow=0)
# card a little darker than paper's white, or the edge of a print would be lost
MOUNT = Ink(ground=240, text=0, faint=70, line=90, shadow=70)
FRAME = 200  # between the patches of a map
OUTLINE = 60  # around its paper


def reflectance(density: Grey) -> Grey:
    """Give the share of light that paper of a density reflects: ``R = 10**-D`` (definition).

    Density is counted from paper white, so that white is 1; less than none counts as none.
    """
    import numpy as np

    return np.asarray(10.0 ** -np.maximum(density, 0.0), dtype=np.float64)


def srgb(linear: Grey) -> Grey:
    """Give the sRGB value (0 to 1) of a share of light (0 to 1).

    The transfer function of IEC 61966-2-1, its numbers from memory of it.
    """
    import numpy as np

    low = 12.92 * linear
    high = 1.055 * np.maximum(linear, 0.0031308) ** (1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, low, high), dtype=np.float64)


# --- what can be drawn ------------------------------------------------------------------------


def paper_size(density: Grey, mm_per_cell: CellSize) -> tuple[float, float]:
    """Give the width and height in mm of paper with these densities, a row for each line of it.

    Raises BadInput for densities that are none.
    """
    import numpy as np

    right = "a table of finite densities, a row for each line of the paper"
    if density.ndim != 2 or density.size == 0:
        raise BadInput(f"its shape is {density.shape}", "density", right)
    if not np.isfinite(density).all():
        raise BadInput("some are not finite", "density", right)
    wide, high = mm_per_cell if isinstance(mm_per_cell, tuple) else (mm_per_cell, mm_per_cell)
    return density.shape[1] * wide, density.shape[0] * high


def require_sizes(width_mm: float, height_mm: float, px_per_mm: float) -> None:
    """Refuse paper without a size. Raises BadInput."""
    if not all(math.isfinite(size) and size > 0 for size in (width_mm, height_mm, px_per_mm)):
        raise BadInput(
            f"{width_mm:g} x {height_mm:g} mm is no paper", "picture", "such as 203 x 25"
        )


def require_drawable(layout: Layout, px_per_mm: float) -> None:
    """Refuse a picture beyond all memory. Raises BadInput."""
    if layout.width * layout.height * px_per_mm**2 > MOST_PIXELS:
        what = f"{layout.width:.0f} x {layout.height:.0f} mm at {px_per_mm:g} px/mm is too large"
        raise BadInput(what, "picture", f"at most {MOST_PIXELS // 1_000_000} million pixels")


# --- drawing ----------------------------------------------------------------------------------


def lay_paper(
    image: Image.Image,
    density: Grey,
    at_mm: tuple[float, float],
    size_mm: tuple[float, float],
    px_per_mm: float,
    ink: Ink,
) -> None:
    """Lay developed paper down, its upper left corner at a place, with its shadow."""
    import numpy as np
    from PIL import Image, ImageFilter

    x, y = (round(edge * px_per_mm) for edge in at_mm)
    size = (max(1, round(size_mm[0] * px_per_mm)), max(1, round(size_mm[1] * px_per_mm)))

    # the paper's shadow on the ground: light from the upper left
    blur = max(1.0, 0.8 * px_per_mm)
    reach = math.ceil(6 * blur)  # no blur comes as far
    shadow = Image.new("L", (size[0] + 2 * reach, size[1] + 2 * reach), 0)
    fallen = (reach + round(blur * 0.6), reach + round(blur * 0.8))
    shadow.paste(ink.shadow, (*fallen, fallen[0] + size[0], fallen[1] + size[1]))
    image.paste(0, (x - reach, y - reach), shadow.filter(ImageFilter.GaussianBlur(blur)))

    # light is what blends between cells and in the eye, so it is light that is scaled
    light = Image.fromarray(reflectance(density).astype(np.float32))
    scaled = np.asarray(light.resize(size, Image.Resampling.BILINEAR), dtype=np.float64)
    tones = np.rint(255 * srgb(scaled)).astype(np.uint8)
    image.paste(Image.fromarray(tones), (x, y))


def measure_at(px_per_mm: float) -> Measure:
    """Give what measures texts as they will be drawn."""
    return lambda text, size: font(size, px_per_mm).getlength(text) / px_per_mm


def plain(caption: Caption) -> Caption:
    """Spell the words of a picture in what its typeface has."""
    return Caption(
        title=printable(caption.title),
        mark=printable(caption.mark),
        way=printable(caption.way),
        note=printable(caption.note),
        lines=tuple(printable(line) for line in caption.lines),
    )


@lru_cache(maxsize=64)
def _load(size_px: float) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    loaded = ImageFont.load_default(size_px)
    assert isinstance(
        loaded, ImageFont.FreeTypeFont
    )  # with FreeType, as every wheel of Pillow has it
    return loaded


def font(size_mm: float, px_per_mm: float) -> ImageFont.FreeTypeFont:
    """Give the typeface in a size."""
    return _load(max(1.0, round(size_mm * px_per_mm * 4) / 4))


def pen(image: Image.Image) -> Any:
    """Give what draws lines on a picture."""
    from PIL import ImageDraw

    return ImageDraw.Draw(image)


def canvas(layout: Layout, px_per_mm: float, ink: Ink) -> Image.Image:
    """Give an empty picture as large as its layout."""
    from PIL import Image

    size = (math.ceil(layout.width * px_per_mm), math.ceil(layout.height * px_per_mm))
    return Image.new("L", size, ink.ground)


def write_words(image: Image.Image, layout: Layout, px_per_mm: float, ink: Ink) -> None:
    """Write a layout's texts and draw its fine lines."""
    draw = pen(image)
    fine = max(1, round(0.2 * px_per_mm))
    for line in layout.lines:
        _rule(image, [(x * px_per_mm, y * px_per_mm) for x, y in line], ink.line, fine)
    for text in layout.texts:
        at = (text.x * px_per_mm, (text.y + text.height / 2) * px_per_mm)
        shade = ink.faint if text.faint else ink.text
        draw.text(at, text.text, shade, font(text.size, px_per_mm), anchor="lm")


def _rule(image: Image.Image, line: Sequence[tuple[float, float]], shade: int, width: int) -> None:
    """Draw a fine line; a slanting one at four times the size first, since Pillow's are jagged."""
    (x0, y0), (x1, y1) = line[0], line[-1]
    if x0 == x1 or y0 == y1:
        pen(image).line([(round(x), round(y)) for x, y in line], shade, width)
        return
    from PIL import Image

    left, top = math.floor(min(x0, x1)) - width, math.floor(min(y0, y1)) - width
    size = (math.ceil(abs(x1 - x0)) + 3 * width, math.ceil(abs(y1 - y0)) + 3 * width)
    mask = Image.new("L", (4 * size[0], 4 * size[1]), 0)
    pen(mask).line([(4 * (x - left), 4 * (y - top)) for x, y in line], 255, 4 * width)
    image.paste(shade, (left, top), mask.reduce(4))


_ALIKE = str.maketrans({"×": "x", "−": "-", "–": "-", "—": "-", "⁄": "/", "ß": "ss"})  # noqa: RUF001


def printable(text: str) -> str:
    """Spell a text in what Pillow's own font has, which is little more than ASCII."""
    plain = unicodedata.normalize("NFKD", text.translate(_ALIKE)).translate(_ALIKE)
    kept = (char for char in plain if not unicodedata.combining(char))
    return " ".join("".join(c if " " <= c <= "~" or c.isspace() else "?" for c in kept).split())


def save(
    image: Image.Image,
    path: str | PathLike[str],
    px_per_mm: float,
    paper_mm: tuple[float, float, float, float] | None = None,
) -> None:
    """Write a picture as a PNG to scale, and in it where its paper lies.

    Raises BadInput for a path that cannot be written.
    """
    from PIL.PngImagePlugin import PngInfo

    target = Path(path)
    if target.suffix.lower() != ".png":
        raise BadInput("this is not the name of a PNG", str(target), "a name that ends in .png")
    info = PngInfo()
    info.add(b"sRGB", b"\0")  # the tones are meant for sRGB, perceptual intent
    if paper_mm is not None:
        info.add_text(KEY, area_text(paper_mm, px_per_mm, image.size))
    data = BytesIO()
    dpi = px_per_mm * 25.4
    image.save(data, format="PNG", dpi=(dpi, dpi), pnginfo=info)
    try:
        target.write_bytes(data.getvalue())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(target), right) from error
