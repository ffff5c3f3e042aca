"""Pictures of a strip: a map of its patches to print, and the developed paper on the bench.

Both are grey PNGs to scale, with their resolution stored in them, so that a print at 100 % has
the strip's own size. Pillow and numpy are loaded only when a picture is made.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from controller.errors import BadInput
from controller.picture_layout import Axis, Caption, Layout, PatchLabel, lay_out

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image, ImageFont

    Grey: TypeAlias = NDArray[np.float64]

__all__ = ["Axis", "Caption", "PatchLabel", "developed", "reflectance", "srgb", "strip_map"]

PX_PER_MM = 8.0
MOST_PIXELS = 80_000_000


@dataclass(frozen=True)
class _Ink:
    """The shades (0 to 255, sRGB) of a kind of picture."""

    ground: int
    text: int
    faint: int
    line: int


_BENCH = _Ink(ground=88, text=240, faint=196, line=168)
_PRINT = _Ink(ground=255, text=0, faint=70, line=90)
_FRAME = 200  # between the patches of a map
_OUTLINE = 60  # around its paper


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


def strip_map(
    patches: Sequence[PatchLabel],
    path: str | PathLike[str],
    *,
    width_mm: float,
    height_mm: float,
    axis: Axis,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw which patch is which on the paper: black on white, to scale, no tones invented.

    ``patches`` in the order in which they were made, the first letter first. Raises BadInput
    for a path that cannot be written and for patches that do not lie on the paper.
    """
    layout = _layout(patches, width_mm, height_mm, axis, caption, px_per_mm, letters_inside=True)
    image = _canvas(layout, px_per_mm, _PRINT)
    left, top, right, bottom = layout.paper
    draw = _draw(image)
    fine = max(1, round(0.3 * px_per_mm))
    for patch in patches:
        for at in (patch.from_mm, patch.to_mm):
            if axis is Axis.HORIZONTAL:
                line = [(left + at, top), (left + at, bottom)]
            else:
                line = [(left, top + at), (right, top + at)]
            draw.line([(x * px_per_mm, y * px_per_mm) for x, y in line], _FRAME, fine)
    outline = [edge * px_per_mm for edge in layout.paper]
    draw.rectangle(outline, outline=_OUTLINE, width=max(1, round(0.4 * px_per_mm)))
    _write_words(image, layout, px_per_mm, _PRINT)
    _save(image, path, px_per_mm)


def developed(
    density: Grey,
    patches: Sequence[PatchLabel],
    path: str | PathLike[str],
    *,
    mm_per_cell: float | tuple[float, float],
    axis: Axis,
    caption: Caption,
    px_per_mm: float = PX_PER_MM,
) -> None:
    """Draw the developed paper as it lies on a grey bench, labels beside it.

    ``density`` has a row for each line of cells from the top of the paper, counted from paper
    white; ``mm_per_cell`` is the size of a cell, or its width and height. Tones are right on
    an sRGB screen. Raises BadInput for densities that are none, for patches that do not lie
    on the paper and for a path that cannot be written.
    """
    import numpy as np
    from PIL import Image, ImageFilter

    right = "a table of finite densities, a row for each line of the paper"
    if density.ndim != 2 or density.size == 0:
        raise BadInput(f"its shape is {density.shape}", "density", right)
    if not np.isfinite(density).all():
        raise BadInput("some are not finite", "density", right)
    wide, high = mm_per_cell if isinstance(mm_per_cell, tuple) else (mm_per_cell, mm_per_cell)
    width_mm, height_mm = density.shape[1] * wide, density.shape[0] * high
    layout = _layout(patches, width_mm, height_mm, axis, caption, px_per_mm, letters_inside=False)
    image = _canvas(layout, px_per_mm, _BENCH)
    x, y = (round(edge * px_per_mm) for edge in layout.paper[:2])
    size = (max(1, round(width_mm * px_per_mm)), max(1, round(height_mm * px_per_mm)))

    # the paper's shadow on the bench: light from the upper left
    blur = max(1.0, 0.8 * px_per_mm)
    shadow = Image.new("L", image.size, 0)
    fallen = (x + round(blur * 0.6), y + round(blur * 0.8))
    shadow.paste(120, (*fallen, fallen[0] + size[0], fallen[1] + size[1]))
    image.paste(0, (0, 0), shadow.filter(ImageFilter.GaussianBlur(blur)))

    # light is what blends between cells and in the eye, so it is light that is scaled
    light = Image.fromarray(reflectance(density).astype(np.float32))
    scaled = np.asarray(light.resize(size, Image.Resampling.BILINEAR), dtype=np.float64)
    tones = np.rint(255 * srgb(scaled)).astype(np.uint8)
    image.paste(Image.fromarray(tones), (x, y))
    _write_words(image, layout, px_per_mm, _BENCH)
    _save(image, path, px_per_mm)


# --- inside -----------------------------------------------------------------------------------


def _layout(
    patches: Sequence[PatchLabel],
    width_mm: float,
    height_mm: float,
    axis: Axis,
    caption: Caption,
    px_per_mm: float,
    *,
    letters_inside: bool,
) -> Layout:
    sizes = (width_mm, height_mm, px_per_mm)
    if not all(math.isfinite(size) and size > 0 for size in sizes):
        raise BadInput(
            f"{width_mm:g} x {height_mm:g} mm is no paper", "picture", "such as 203 x 25"
        )
    if not patches:
        raise BadInput("there are no patches", "picture", "one patch or more")
    along = width_mm if axis is Axis.HORIZONTAL else height_mm
    for patch in patches:
        if not -0.01 <= patch.from_mm < patch.to_mm <= along + 0.01:
            what = f"patch {patch.letter} lies from {patch.from_mm:g} to {patch.to_mm:g} mm"
            raise BadInput(what, "picture", f"a place from 0 to {along:g} mm")
    layout = lay_out(
        [replace(patch, letter=_printable(patch.letter) or "?") for patch in patches],
        width_mm=width_mm,
        height_mm=height_mm,
        axis=axis,
        caption=Caption(
            title=_printable(caption.title),
            mark=_printable(caption.mark),
            way=_printable(caption.way),
            note=_printable(caption.note),
        ),
        measure=lambda text, size: _font(size, px_per_mm).getlength(text) / px_per_mm,
        letters_inside=letters_inside,
    )
    if layout.width * layout.height * px_per_mm**2 > MOST_PIXELS:
        what = f"{layout.width:.0f} x {layout.height:.0f} mm at {px_per_mm:g} px/mm is too large"
        raise BadInput(what, "picture", f"at most {MOST_PIXELS // 1_000_000} million pixels")
    return layout


@lru_cache(maxsize=64)
def _load(size_px: float) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    font = ImageFont.load_default(size_px)
    assert isinstance(
        font, ImageFont.FreeTypeFont
    )  # with FreeType, as every wheel of Pillow has it
    return font


def _font(size_mm: float, px_per_mm: float) -> ImageFont.FreeTypeFont:
    return _load(max(1.0, round(size_mm * px_per_mm * 4) / 4))


def _draw(image: Image.Image) -> Any:
    from PIL import ImageDraw

    return ImageDraw.Draw(image)


def _canvas(layout: Layout, px_per_mm: float, ink: _Ink) -> Image.Image:
    from PIL import Image

    size = (math.ceil(layout.width * px_per_mm), math.ceil(layout.height * px_per_mm))
    return Image.new("L", size, ink.ground)


def _write_words(image: Image.Image, layout: Layout, px_per_mm: float, ink: _Ink) -> None:
    draw = _draw(image)
    fine = max(1, round(0.2 * px_per_mm))
    for line in layout.lines:
        _rule(image, [(x * px_per_mm, y * px_per_mm) for x, y in line], ink.line, fine)
    for text in layout.texts:
        at = (text.x * px_per_mm, (text.y + text.height / 2) * px_per_mm)
        shade = ink.faint if text.faint else ink.text
        draw.text(at, text.text, shade, _font(text.size, px_per_mm), anchor="lm")


def _rule(image: Image.Image, line: Sequence[tuple[float, float]], shade: int, width: int) -> None:
    """Draw a fine line; a slanting one at four times the size first, since Pillow's are jagged."""
    (x0, y0), (x1, y1) = line[0], line[-1]
    if x0 == x1 or y0 == y1:
        _draw(image).line([(round(x), round(y)) for x, y in line], shade, width)
        return
    from PIL import Image

    left, top = math.floor(min(x0, x1)) - width, math.floor(min(y0, y1)) - width
    size = (math.ceil(abs(x1 - x0)) + 3 * width, math.ceil(abs(y1 - y0)) + 3 * width)
    mask = Image.new("L", (4 * size[0], 4 * size[1]), 0)
    _draw(mask).line([(4 * (x - left), 4 * (y - top)) for x, y in line], 255, 4 * width)
    image.paste(shade, (left, top), mask.reduce(4))


_ALIKE = str.maketrans({"×": "x", "−": "-", "–": "-", "—": "-", "⁄": "/", "ß": "ss"})  # noqa: RUF001


def _printable(text: str) -> str:
    """Spell a text in what Pillow's own font has, which is little more than ASCII."""
    plain = unicodedata.normalize("NFKD", text.translate(_ALIKE)).translate(_ALIKE)
    kept = (char for char in plain if not unicodedata.combining(char))
    return " ".join("".join(c if " " <= c <= "~" or c.isspace() else "?" for c in kept).split())


def _save(image: Image.Image, path: str | PathLike[str], px_per_mm: float) -> None:
    from PIL.PngImagePlugin import PngInfo

    target = Path(path)
    if target.suffix.lower() != ".png":
        raise BadInput("this is not the name of a PNG", str(target), "a name that ends in .png")
    info = PngInfo()
    info.add(b"sRGB", b"\0")  # the tones are meant for sRGB, perceptual intent
    data = BytesIO()
    dpi = px_per_mm * 25.4
    image.save(data, format="PNG", dpi=(dpi, dpi), pnginfo=info)
    try:
        target.write_bytes(data.getvalue())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(target), right) from error
