"""The picture on the easel: how bright it is at each place, and where a sheet lies in it.

A picture has few or many *levels*, each with its illuminance, and tells for every place which of
them falls there; so light can be counted for levels while nothing moves.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from controller.ports import NewSheet
from sim.tungsten import Floats

Levels = NDArray[np.intp]


class Lie(NamedTuple):
    """Where a sheet's left top corner lies in the picture, and how large the picture is, in mm.

    ``spot_right_mm`` and ``spot_down_mm`` are, from that corner, the spot it was laid for: over
    it a window stays while the paper moves beneath.
    """

    left_mm: float
    top_mm: float
    picture_width_mm: float
    picture_height_mm: float
    spot_right_mm: float = 0.0
    spot_down_mm: float = 0.0


class Picture(Protocol):
    """What the enlarger projects. ``levels_lux`` is counted at the working aperture."""

    levels_lux: Floats

    def lie(self, laid: NewSheet) -> Lie:
        """Tell where a sheet is laid: over its named place, or in the middle."""

    def under(self, x_mm: Floats, y_mm: Floats, lie: Lie) -> Levels:
        """Give the level at each crossing of rows ``y_mm`` and columns ``x_mm`` of the picture."""


class Even:
    """No negative in the carrier: the same light everywhere. A sheet lies where it lay."""

    def __init__(self, lux: float) -> None:
        self.levels_lux: Floats = np.array([lux])

    def lie(self, laid: NewSheet) -> Lie:
        """The sheet is the whole of it."""
        wide_mm, high_mm = laid.width_mm, laid.height_mm
        return Lie(0.0, 0.0, wide_mm, high_mm, wide_mm / 2, high_mm / 2)

    def under(self, x_mm: Floats, y_mm: Floats, lie: Lie) -> Levels:
        """Give the one level that there is."""
        del lie
        return np.zeros((len(y_mm), len(x_mm)), dtype=np.intp)


class Bands:
    """Even bands, from the left of the sheet to its right: a picture as large as each sheet."""

    def __init__(self, tones_lux: Sequence[float]) -> None:
        self.levels_lux: Floats = np.array(tones_lux, dtype=np.float64)

    def lie(self, laid: NewSheet) -> Lie:
        """The sheet is the whole picture; it has no named places."""
        wide_mm, high_mm = laid.width_mm, laid.height_mm
        return Lie(0.0, 0.0, wide_mm, high_mm, wide_mm / 2, high_mm / 2)

    def under(self, x_mm: Floats, y_mm: Floats, lie: Lie) -> Levels:
        """Give the bands; beyond the edge the outermost goes on."""
        bands = len(self.levels_lux)
        band = np.floor(x_mm / lie.picture_width_mm * bands).astype(np.intp)
        return np.broadcast_to(np.clip(band, 0, bands - 1), (len(y_mm), len(x_mm)))
