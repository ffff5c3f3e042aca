"""A picture as block graphics: five tones of one colour, for a screen that is only red."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from controller.pictures.paper_area import only_paper

if TYPE_CHECKING:
    from PIL.Image import Image

TONES = " ░▒▓█"  # nothing to full, in quarters of a cell's light
CELL_HIGH = 2  # a cell is about twice as high as it is wide
LARGEST_PIXELS = 200_000_000


def picture_lines(path: Path, columns: int, rows: int, *, stretched: bool = False) -> list[str]:
    """Draw a picture into so many cells at most, black as nothing and white as full.

    Of our own pictures of paper only the paper is drawn, without its mount and words;
    ``stretched`` fills all of the cells, whatever its proportions.

    Raises OSError where it cannot be read as a picture.
    """
    from PIL import Image

    with Image.open(path) as opened:
        if opened.width * opened.height > LARGEST_PIXELS:
            raise OSError("the picture is too large to be drawn")
        opened.draft("L", (columns * 4, rows * 8))
        grey = only_paper(opened).convert("L")
        return tone_lines(
            grey.resize((columns, rows)) if stretched else _within(grey, columns, rows)
        )


def tone_lines(small: Image) -> list[str]:
    """Turn a grey picture, one pixel a cell, into tones; what a tone lacks its neighbours get.

    The rest is spread as by Floyd and Steinberg (1976): 7, 3, 5 and 1 sixteenths to the right
    and the three below.
    """
    wide, high = small.size
    grey = [[value / 255 for value in row] for row in _rows(small)]
    most = len(TONES) - 1
    lines = []
    for y in range(high):
        line = ""
        for x in range(wide):
            wanted = grey[y][x]
            step = max(0, min(most, round(wanted * most)))
            line += TONES[step]
            rest = wanted - step / most
            for by_x, by_y, part in ((1, 0, 7), (-1, 1, 3), (0, 1, 5), (1, 1, 1)):
                if 0 <= x + by_x < wide and y + by_y < high:
                    grey[y + by_y][x + by_x] += rest * part / 16
        lines.append(line)
    return lines


def _within(image: Image, columns: int, rows: int) -> Image:
    """Make it small enough, its sides in proportion."""
    scale = min(columns / image.width, rows * CELL_HIGH / image.height)
    wide = max(1, round(image.width * scale))
    high = max(1, round(image.height * scale / CELL_HIGH))
    return image.resize((min(wide, columns), min(high, rows)))


def _rows(image: Image) -> list[bytes]:
    data, wide = image.tobytes(), image.width
    return [data[start : start + wide] for start in range(0, len(data), wide)]
