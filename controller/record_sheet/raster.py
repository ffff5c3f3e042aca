"""Draws words, lines and boxes into a PNG: the same marks as on paper, for a screen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from controller.errors import BadInput
from controller.record_sheet.ink import At, Box, Face, Line, Mark, Words
from controller.score.wall_map import printable

if TYPE_CHECKING:
    from PIL import ImageFont

Point: TypeAlias = tuple[float, float]

SHOWN_PX_PER_MM = 6.0
FINER = 3  # drawn so much larger first: Pillow's slanting lines are jagged
PX_PER_MM = SHOWN_PX_PER_MM * FINER
_FILES = {Face.PLAIN: "Vera.ttf", Face.BOLD: "VeraBd.ttf", Face.ITALIC: "VeraIt.ttf"}


def write_png(path: Path, marks: Iterable[Mark], size_mm: tuple[float, float]) -> None:
    """Write marks as a PNG, black on white. Raises BadInput for a path that cannot be written."""
    from PIL import Image, ImageDraw

    wide, high = (round(side * PX_PER_MM) for side in size_mm)
    image = Image.new("L", (wide, high), 255)
    draw = ImageDraw.Draw(image)
    for mark in marks:
        match mark:
            case Words():
                draw.text(
                    (mark.x * PX_PER_MM, mark.y * PX_PER_MM),
                    printable(mark.text),
                    fill=round(255 * mark.grey),
                    font=_font(mark.face, round(mark.size * PX_PER_MM * 4)),
                    anchor={At.LEFT: "ls", At.MIDDLE: "ms", At.RIGHT: "rs"}[mark.at],
                )
            case Line():
                points = [(x * PX_PER_MM, y * PX_PER_MM) for x, y in mark.points]
                width = max(1, round(mark.width * PX_PER_MM))
                for piece in _dashes(points, mark.dashed) if mark.dashed else (points,):
                    draw.line(piece, fill=round(255 * mark.grey), width=width, joint="curve")
            case Box():
                area = mark.area
                corners = (
                    area.x * PX_PER_MM,
                    area.y * PX_PER_MM,
                    (area.x + area.width) * PX_PER_MM,
                    (area.y + area.height) * PX_PER_MM,
                )
                fill = None if mark.fill is None else round(255 * mark.fill)
                width = round(mark.line * PX_PER_MM)
                draw.rectangle(corners, fill=fill, outline=0 if mark.line else None, width=width)
            case _:
                raise TypeError(f"no picture of {type(mark).__name__} can be made")
    if path.suffix.lower() != ".png":
        raise BadInput("this is not the name of a picture", str(path), "a name that ends in .png")
    shown = image.reduce(FINER)
    try:
        shown.save(path, "PNG", dpi=(SHOWN_PX_PER_MM * 25.4, SHOWN_PX_PER_MM * 25.4))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(path), right) from error


def _dashes(points: list[Point], dashed: tuple[float, ...]) -> Iterator[list[Point]]:
    """Part a line into its dashes, on and off by turns, their lengths in mm."""
    lengths = [each * PX_PER_MM for each in dashed]
    turn, left = 0, lengths[0]
    piece = [points[0]]
    for (x0, y0), (x1, y1) in pairwise(points):
        whole = math.hypot(x1 - x0, y1 - y0)
        gone = 0.0
        while whole - gone > left:
            gone += left
            at = (x0 + (x1 - x0) * gone / whole, y0 + (y1 - y0) * gone / whole)
            if turn % 2 == 0:
                yield [*piece, at]
            piece = [at]
            turn += 1
            left = lengths[turn % len(lengths)]
        left -= whole - gone
        piece.append((x1, y1))
    if turn % 2 == 0 and len(piece) > 1:
        yield piece


@lru_cache(maxsize=64)
def _font(face: Face, quarter_px: int) -> ImageFont.FreeTypeFont:
    import reportlab
    from PIL import ImageFont

    folder = Path(reportlab.__file__).parent / "fonts"
    return ImageFont.truetype(str(folder / _FILES[face]), max(1.0, quarter_px / 4))
