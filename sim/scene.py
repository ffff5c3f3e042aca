"""A negative of our own making: a quay with a boathouse, the sea, and a lighthouse on its rock.

Nothing here was photographed: shapes and textures are numbers. Places are counted on a grid of
16 columns and 12 rows over the picture, from its left and top, and the large shapes follow its
lines, so that an area drawn on that grid holds one tone.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.tungsten import Floats

COLUMNS, ROWS = 16, 12
REGIONS = (
    *("sky", "cloud", "tower", "rock", "water", "quay"),
    *("house", "roof", "door", "window"),
)
_NOWHERE = -1  # small things that are no region of their own
_SOFT = 0.03  # of a column: how sharp the edges of shapes are

Labels = NDArray[np.int64]


class Scene(NamedTuple):
    """A part of the negative: its densities, and the number of the region at each place."""

    density: Floats
    region: Labels


class Region(NamedTuple):
    """A named place: rows of "#" and "." over the picture, and where it is widest.

    ``middle`` and ``box`` (left, top, right, bottom) are parts of the picture's sides.
    """

    area: tuple[str, ...]
    box: tuple[float, float, float, float]
    middle: tuple[float, float]


class _Canvas:
    """The negative while it is built up, from far to near."""

    def __init__(self, across: Floats, down: Floats) -> None:
        """Begin with nothing; places are parts of the picture's sides."""
        self._columns, self._rows = across * COLUMNS, down * ROWS
        self.x, self.y = np.meshgrid(self._columns, self._rows)
        self.density: Floats = np.zeros_like(self.x)
        self.region: Labels = np.full(self.x.shape, _NOWHERE)

    def put(self, name: str, inside: Floats, density: Floats | float) -> None:
        """Lay a shape over what is there. ``inside``: columns inward from its edge."""
        share = np.clip(0.5 + inside / _SOFT, 0.0, 1.0)
        self.density = self.density * (1.0 - share) + density * share
        number = REGIONS.index(name) if name in REGIONS else _NOWHERE
        self.region = np.where(share > 0.5, number, self.region)

    def shade(self, density: Floats) -> None:
        """Add to the density of what is there."""
        self.density = np.maximum(self.density + density, 0.0)

    def box(self, left: float, top: float, right: float, bottom: float) -> Floats:
        """Give how far each place lies within a rectangle."""
        across = np.minimum(self.x - left, right - self.x)
        return np.minimum(across, np.minimum(self.y - top, bottom - self.y))

    def under(self, *points: tuple[float, float]) -> Floats:
        """Give how far each place lies below a line through points, from left to right."""
        xs, ys = zip(*points, strict=True)
        result: Floats = self.y - np.interp(self.x, xs, ys)
        return result

    def only(self, name: str, density: Floats) -> Floats:
        """Give a density where a region is to be seen, and none elsewhere."""
        return np.where(self.region == REGIONS.index(name), density, 0.0)

    def disc(self, x: float, y: float, radius: float) -> Floats:
        """Give how far each place lies within a disc."""
        result: Floats = radius - np.hypot(self.x - x, (self.y - y) * _SQUARE)
        return result

    def noise(self, seed: int, across: float, down: float, octaves: int = 4) -> Floats:
        """Give clouds of noise, about -1 to 1, with so many lumps to a column and a row."""
        total: Floats = np.zeros_like(self.x)
        for octave in range(octaves):
            scale = 2.0**octave
            columns, rows = self._columns * across * scale, self._rows * down * scale
            total = total + _lattice_noise(columns, rows, seed + octave) / scale
        return total / 1.5


_SQUARE = (56.0 / ROWS) / (70.0 / COLUMNS)  # rows are a little higher than columns are wide


def scene(across: Floats, down: Floats) -> Scene:
    """Give the negative at the crossings of columns and rows, in parts of the picture's sides."""
    canvas = _Canvas(across, down)
    for paint in (_sky, _sea, _lighthouse, _boat, _quay, _boathouse):
        paint(canvas)
    grain = 0.012 * canvas.noise(90, 9.0, 9.0, 3)
    return Scene(np.clip(canvas.density + grain, 0.05, 1.75), canvas.region)


@cache
def scene_regions() -> dict[str, Region]:
    """Give every named region with its area on the grid of 16 by 12."""
    from scipy.ndimage import distance_transform_edt  # slow to load, and seldom needed

    fine = 24  # places in a column or row
    across = (np.arange(COLUMNS * fine) + 0.5) / (COLUMNS * fine)
    down = (np.arange(ROWS * fine) + 0.5) / (ROWS * fine)
    labels = scene(across, down).region
    found = {}
    for number, name in enumerate(REGIONS):
        mask = labels == number
        share = mask.reshape(ROWS, fine, COLUMNS, fine).mean(axis=(1, 3))
        area = tuple("".join("#" if cell > 0.66 else "." for cell in row) for row in share)
        rows, columns = np.nonzero(mask)
        box = (
            float(columns.min()) / (COLUMNS * fine),
            float(rows.min()) / (ROWS * fine),
            float(columns.max() + 1) / (COLUMNS * fine),
            float(rows.max() + 1) / (ROWS * fine),
        )
        # where it is widest, the picture's own edge counting as one
        depth = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
        row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
        found[name] = Region(area, box, (float(across[column]), float(down[row])))
    return found


# --- what is seen, from far to near ------------------------------------------------------------


def _sky(canvas: _Canvas) -> None:
    canvas.put("sky", canvas.box(-1, -1, 17, 8), 1.08 + 0.022 * canvas.y)
    wisps = np.clip(canvas.noise(1, 0.22, 0.9, 5) + 0.1, 0.0, None)
    canvas.shade(0.09 * wisps - 0.02)
    lumps = [
        *((2.6, 2.75, 0.6), (3.5, 2.2, 0.85), (4.6, 1.7, 1.0), (5.7, 2.0, 0.9)),
        *((6.7, 2.5, 0.75), (7.5, 2.85, 0.45), (4.4, 2.75, 0.8), (5.8, 2.75, 0.8)),
    ]
    # discs that run into each other
    inside = np.log(sum(np.exp(3.5 * canvas.disc(*lump)) for lump in lumps)) / 3.5
    inside = inside + 0.30 * canvas.noise(20, 0.9, 1.0, 5) - 0.02
    inside = np.minimum(inside, 3.3 + 0.1 * canvas.noise(25, 0.7, 0.1) - canvas.y)
    below = np.clip((canvas.y - 1.9) / 1.4, 0.0, 1.0)  # its underside is in shade
    lit = 1.61 - 0.13 * below**1.5 + 0.075 * canvas.noise(30, 0.9, 1.1, 5)
    # its edge is thin: it comes out of the sky by and by
    body = np.clip(inside / 0.4, 0.0, 1.0) ** 0.7
    canvas.put("cloud", inside, canvas.density * (1.0 - body) + lit * body)
    hills = canvas.under((0, 6.55), (2, 6.4), (4.5, 6.5), (7, 6.72), (9, 6.9), (10, 7.2), (16, 7.2))
    canvas.put("hills", hills + 0.04 * canvas.noise(7, 1.2, 0.2), 0.92)


def _sea(canvas: _Canvas) -> None:
    near = np.clip((canvas.y - 7.0) / 5.0, 0.0, 1.0)
    ripples = canvas.noise(40, 0.5, 4.0, 5) * (0.07 + 0.13 * near)
    canvas.put("water", canvas.y - 7.0, 0.84 - 0.12 * near + ripples)
    sparkle = np.clip(canvas.noise(50, 1.3, 7.0, 4) - 0.35, 0.0, None)
    path = np.exp(-(((canvas.x - 9.3 - 0.2 * (canvas.y - 7)) / 1.0) ** 2))
    canvas.shade(canvas.only("water", 0.7 * sparkle * path))


def _lighthouse(canvas: _Canvas) -> None:
    top = canvas.under((9.4, 8.6), (10.2, 7.6), (11.2, 6.6), (12, 6.0), (14.1, 6.0), (16, 6.7))
    foot = 8.35 + 0.12 * canvas.noise(60, 0.8, 0.1) - canvas.y
    cracks = 0.16 * canvas.noise(61, 0.7, 1.4, 5)
    rock = np.minimum(top + 0.10 * canvas.noise(62, 1.3, 1.3), foot)
    canvas.put("rock", rock, 0.34 + 0.03 * (8.0 - canvas.y) + cracks)
    surf = np.exp(-(((canvas.y - 8.38 - 0.05 * canvas.noise(64, 2.0, 0.1)) / 0.10) ** 2))
    canvas.shade(canvas.only("water", 0.4 * surf * np.clip((canvas.x - 9.4) / 0.6, 0.0, 1.0)))

    half = 0.86 + 0.028 * (canvas.y - 2.0)
    across = (canvas.x - 13.0) / np.maximum(half, 0.1)
    tower = np.minimum(half - np.abs(canvas.x - 13.0), np.minimum(canvas.y - 2.0, 6.05 - canvas.y))
    round_ = 1.41 - 0.15 * np.clip(across + 0.35, 0.0, None) ** 2 - 0.05 * np.clip(-across, 0, None)
    courses = 0.012 * np.sin(canvas.y * 18.0) + 0.02 * canvas.noise(65, 1.0, 2.0)
    canvas.put("tower", tower, round_ + courses)
    for top_y in (2.9, 4.4):
        canvas.put("window slit", canvas.box(12.9, top_y, 13.08, top_y + 0.32), 0.4)
    canvas.put("gallery", canvas.box(11.95, 1.86, 14.05, 2.02), 0.45)
    canvas.put("lantern", canvas.box(12.45, 1.2, 13.55, 1.88), 1.25)
    for post in (12.45, 12.8, 13.15, 13.5):
        canvas.put("post", canvas.box(post, 1.2, post + 0.06, 1.88), 0.35)
    dome = np.minimum(canvas.disc(13.0, 1.22, 0.66), 1.22 - canvas.y)
    canvas.put("dome", dome, 0.38 + 0.16 * np.clip(13.2 - canvas.x, 0.0, 1.0))
    canvas.put("rod", canvas.box(12.97, 0.25, 13.03, 0.7), 0.5)


def _boat(canvas: _Canvas) -> None:
    hull = np.minimum(canvas.y - 8.02, 8.36 - canvas.y)
    hull = np.minimum(hull, 0.62 - np.abs(canvas.x - 8.5) - 0.6 * np.clip(canvas.y - 8.1, 0, None))
    canvas.put("boat", hull, 0.3)
    canvas.put("mast", canvas.box(8.42, 6.6, 8.48, 8.1), 0.38)
    reach = (canvas.y - 6.75) / 1.2
    sail = np.minimum(np.minimum(0.55 * reach - (canvas.x - 8.5), canvas.x - 8.5), 7.9 - canvas.y)
    canvas.put("sail", sail, 1.32)


def _quay(canvas: _Canvas) -> None:
    edge = canvas.under((0, 9.0), (11.0, 9.0), (16.0, 11.4))
    canvas.put("quay wall", edge, 0.33 + 0.06 * canvas.noise(70, 0.9, 1.5))
    face = np.clip((canvas.x - 10.0) / 8.0, 0.0, 0.45)  # the wall's face, seen on the right
    top = edge - np.where(canvas.x > 11.0, face * 0.35, 0.0)
    stone = 0.64 + 0.035 * (canvas.y - 10.5) + 0.10 * canvas.noise(72, 0.8, 1.6, 5)
    canvas.put("quay", top, stone)
    # joints of the paving, nearer ones farther apart
    deep = np.sqrt(np.clip(canvas.y - 8.2, 0.05, None))
    rows = np.abs((deep * 4.2) % 1.0 - 0.5)
    course = np.floor(deep * 4.2)
    fan = (canvas.x - 8.0) / np.clip(canvas.y - 5.0, 0.5, None) * 4.5 + 0.37 * course
    joints = np.maximum(_line(rows, 0.035), _line(np.abs(fan % 1.0 - 0.5), 0.03))
    canvas.shade(canvas.only("quay", -0.2 * joints))
    for x, y in ((9.2, 9.15), (14.2, 11.05)):
        canvas.put("bollard", canvas.box(x - 0.22, y - 0.55, x + 0.22, y + 0.1), 0.2)
        canvas.put("bollard", canvas.box(x - 0.32, y - 0.62, x + 0.32, y - 0.45), 0.3)


def _boathouse(canvas: _Canvas) -> None:
    shadow = np.minimum(canvas.box(1, 9.9, 8.4, 10.35), 8.4 - canvas.x - (10.35 - canvas.y))
    canvas.put("shadow", shadow, 0.36)
    boards = np.abs((canvas.x * 3.0) % 1.0 - 0.5)
    weather = 0.04 * canvas.noise(80, 4.0, 0.5, 4)
    wall = 0.56 + weather - 0.12 * _line(boards, 0.06) - 0.012 * (canvas.x - 4.0)
    canvas.put("house", canvas.box(1, 5.9, 7, 10), wall)
    slates = 0.05 * canvas.noise(82, 2.2, 3.5, 4) - 0.10 * _line(
        np.abs((canvas.y * 2.6) % 1.0 - 0.5), 0.07
    )
    slope = canvas.under((0.5, 6.1), (1.6, 4.0), (6.4, 4.0), (7.5, 6.1))
    canvas.put("roof", np.minimum(slope, canvas.box(0.5, 3.9, 7.5, 6.1)), 0.40 + slates)
    canvas.put("eaves", canvas.box(0.9, 6.1, 7.1, 6.2), 0.22)
    canvas.put("frame", canvas.box(1.88, 6.9, 4.12, 10), 0.42)
    planks = np.abs((canvas.x * 4.0) % 1.0 - 0.5)
    door = 0.17 + 0.02 * canvas.noise(84, 5.0, 0.6) - 0.05 * _line(planks, 0.07)
    canvas.put("door", canvas.box(2, 7, 4, 10), door)
    for y in (7.45, 9.35):
        canvas.put("door", canvas.box(2.05, y, 3.95, y + 0.16), 0.24)
    canvas.put("handle", canvas.disc(3.72, 8.5, 0.08), 0.5)
    _window(canvas)


def _window(canvas: _Canvas) -> None:
    canvas.put("frame", canvas.box(4.86, 6.86, 6.14, 8.14), 0.75)
    glow = 1.47 - 0.05 * np.hypot(canvas.x - 5.5, canvas.y - 7.6) + 0.02 * canvas.noise(86, 3, 3)
    canvas.put("window", canvas.box(5, 7, 6, 8), glow)
    # somebody stands behind it
    figure = np.maximum(canvas.disc(5.72, 7.46, 0.13), canvas.disc(5.72, 7.92, 0.26))
    canvas.put("window", np.minimum(figure, canvas.box(5, 7, 6, 8)), 1.18)
    canvas.put("bar", canvas.box(5.47, 7, 5.53, 8), 0.6)
    canvas.put("bar", canvas.box(5, 7.47, 6, 7.53), 0.6)


# --- textures ----------------------------------------------------------------------------------


def _line(away: Floats, width: float) -> Floats:
    """Give 1 on a line and 0 beside it, from the distance."""
    result: Floats = np.clip(1.0 - away / width, 0.0, 1.0)
    return result


@cache
def _lattice(seed: int) -> Floats:
    return np.random.default_rng(1000 + seed).uniform(-1.0, 1.0, (128, 128))


def _lattice_noise(columns: Floats, rows: Floats, seed: int) -> Floats:
    """Give smooth noise that has random heights at whole numbers."""
    lattice = _lattice(seed)
    down, above, below = _between(rows)
    lines = lattice[above] * (1.0 - down)[:, None] + lattice[below] * down[:, None]
    across, left, right = _between(columns)
    result: Floats = lines[:, left] * (1.0 - across) + lines[:, right] * across
    return result


def _between(at: Floats) -> tuple[Floats, Labels, Labels]:
    """Give how far each place is between two lines of the lattice, eased, and which they are."""
    low = np.floor(at)
    first = low.astype(np.int64) % 128
    return _eased(at - low), first, (first + 1) % 128


def _eased(part: Floats) -> Floats:
    return part * part * (3.0 - 2.0 * part)
