"""How light falls from a lamp in the room on paper that lies flat: distance, angle, blades.

A lamp is one point, or a face of a size that is looked at as a grid of points. Each point gives
light by the inverse square of its distance and by the cosine of the angle at which it meets the
paper. An easel's blades are a frame around the sheet, some millimetres above it: a ray that comes
through the frame's opening arrives, and every other is stopped (what would slip under a blade
from outside is stopped by the easel).

Places are in metres from the easel's middle, x to the right, y back, z up; the paper lies at the
height of the place itself and looks up.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.room_settings import LightSettings, Place
from sim.tungsten import Floats

NEAREST_M = 0.05  # nearer to a point of light than this, its light grows no more
_FINE_M, _MOST = 0.05, 9  # of a face: how far its points lie apart, and how many to a side


class Opening(NamedTuple):
    """The rectangle that an easel's blades leave open, in m, and its height above the paper."""

    left_m: float
    right_m: float
    front_m: float
    back_m: float
    height_m: float


class Point(NamedTuple):
    """A point of a light's face, and the way that the face looks (None: to all sides)."""

    x: float
    y: float
    z: float
    looks: tuple[float, float, float] | None


def points_of(light: LightSettings) -> list[Point]:
    """Give the points that stand for a light's face; each gives an equal part of its lux.

    The face is square to the line to the place that it faces, or else to the easel's middle; its
    width lies level.
    """
    at = np.array(light.at_m)
    towards = np.array(light.faces_m or (0.0, 0.0, 0.0)) - at
    far = float(np.linalg.norm(towards))
    normal = towards / far if far > 0.0 else np.array([0.0, 0.0, -1.0])
    level = np.array([normal[1], -normal[0], 0.0])
    flat = float(np.linalg.norm(level))
    along = level / flat if flat > 1e-9 else np.array([1.0, 0.0, 0.0])
    up = np.cross(along, normal)
    looks = None
    if light.faces_m is not None:
        looks = (float(normal[0]), float(normal[1]), float(normal[2]))
    points = []
    for right_m in _grid(light.size_m[0]):
        for up_m in _grid(light.size_m[1]):
            x, y, z = at + right_m * along + up_m * up
            points.append(Point(float(x), float(y), float(z), looks))
    return points


def lux_at(light: LightSettings, place: Place) -> float:
    """Give the illuminance at a place, on a surface that looks up there; nothing from below."""
    x, y, z = place
    return float(lux_over(light, np.array([x, x]), np.array([y, y]), height_m=z)[0, 0])


def lux_over(
    light: LightSettings,
    x_edges_m: Floats,
    y_edges_m: Floats,
    *,
    opening: Opening | None = None,
    height_m: float = 0.0,
) -> Floats:
    """Give the illuminance over a grid of cells, rows along y and columns along x.

    Cells lie between their edges. Behind an opening a cell gets the light of that part of it
    which each point of the lamp's face sees, so that edges fall between cells too.
    """
    x = (x_edges_m[1:] + x_edges_m[:-1]) / 2
    y = ((y_edges_m[1:] + y_edges_m[:-1]) / 2)[:, None]
    lux: Floats = np.zeros((len(y), len(x)))
    points = points_of(light)
    for point in points:
        rise = point.z - height_m
        if rise <= 0.0:
            continue
        seen = 1.0 if opening is None else _seen(point, rise, x_edges_m, y_edges_m, opening)
        right, back = point.x - x, point.y - y
        far = np.maximum(np.sqrt(right**2 + back**2 + rise**2), NEAREST_M)
        falls = rise / far**3  # cosine over square
        if point.looks is not None:
            a, b, c = point.looks
            falls = falls * np.maximum(-(a * right + b * back + c * rise) / far, 0.0)
        lux += seen * falls
    scaled: Floats = lux * (light.lux_at_1m / len(points))
    return scaled


def _seen(
    point: Point, rise: float, x_edges_m: Floats, y_edges_m: Floats, opening: Opening
) -> Floats | float:
    """Give the part of each cell from which a point is seen through the opening.

    A ray from x on the paper to the point passes the opening's height at
    x + (point - x) k, with k = height / rise.
    """
    if rise <= opening.height_m:
        return 0.0
    k = opening.height_m / rise
    across = _between(
        x_edges_m,
        (opening.left_m - k * point.x) / (1.0 - k),
        (opening.right_m - k * point.x) / (1.0 - k),
    )
    down = _between(
        y_edges_m,
        (opening.front_m - k * point.y) / (1.0 - k),
        (opening.back_m - k * point.y) / (1.0 - k),
    )
    seen: Floats = down[:, None] * across[None, :]
    return seen


def _between(edges: Floats, low: float, high: float) -> Floats:
    """Give the part of each cell that lies between two bounds; edges may run either way."""
    first, last = np.minimum(edges[1:], edges[:-1]), np.maximum(edges[1:], edges[:-1])
    inside = np.minimum(last, high) - np.maximum(first, low)
    share: Floats = np.clip(inside / np.maximum(last - first, 1e-12), 0.0, 1.0)
    return share


def _grid(length_m: float) -> list[float]:
    """Give the middles of even parts of a length, from its middle."""
    count = max(1, min(_MOST, math.ceil(length_m / _FINE_M)))
    return [length_m * ((n + 0.5) / count - 0.5) for n in range(count)]
