"""What a sheet became: its density, cell by cell, and its patches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.picture import Lie
from sim.shades import covered
from sim.tungsten import Floats
from sim.wet import FULL, Wet

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class Box(NamedTuple):
    """A part of a sheet in mm, from its left and top edges."""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float


class Patch(NamedTuple):
    """One patch as it came out; figures are those of its middle.

    ``delivered_s`` is the lamp's light that reached it, in seconds of full light at the working
    aperture; ``exposure_lux_s`` is all light on the paper, picture and safelights included.
    """

    letter: str
    position: int
    box: Box
    delivered_s: float
    exposure_lux_s: float
    density: float


def middles(count: int, size_mm: float, from_mm: float) -> Floats:
    """Give the middles of cells that follow each other."""
    at_mm: Floats = from_mm + (np.arange(count, dtype=np.float64) + 0.5) * size_mm
    return at_mm


class DevelopedSheet(NamedTuple):
    """A sheet out of the developer; its arrays have rows from the top, columns from the left.

    ``delivered_s`` is the lamp's light on each cell, in seconds of full light at the working
    aperture, by the name of the filter it came through ("none" where there was none).
    ``lie`` tells where the sheet lay in the picture, ``soft_mm`` how wide the edges of tools were,
    ``wet`` what the trays did.
    """

    mark: str
    width_mm: float
    height_mm: float
    tool: str  # "card", "window", "paper", or "" where nothing lay on it
    edge: str
    patches: tuple[Patch, ...]
    density: Floats
    cell_width_mm: float
    cell_height_mm: float
    delivered_s: Mapping[str, Floats]
    lie: Lie
    soft_mm: float
    wet: Wet = FULL

    def within(self, area: Sequence[str], *, margin_mm: float | None = None) -> NDArray[np.bool_]:
        """Tell which cells lie in an area of the picture, ``margin_mm`` or more from its edges.

        ``area`` has its rows over the whole picture, as ``controller.ports.Shade`` has. Usually
        the margin is just so wide that no tool's soft edge is in it.
        """
        if margin_mm is None:
            margin_mm = self.soft_mm / 2.0 + max(self.cell_width_mm, self.cell_height_mm)
        rows, columns = self.density.shape
        x_mm = middles(columns, self.cell_width_mm, self.lie.left_mm)
        y_mm = middles(rows, self.cell_height_mm, self.lie.top_mm)
        return covered(area, x_mm, y_mm, self.lie, 2.0 * margin_mm) > 1.0 - 1e-9
