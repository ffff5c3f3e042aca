"""A sheet under the enlarger: which part of it is open, and the light that falls there.

The sheet is a grid of cells. Card, window, paper and the tools in the beam decide how far each
cell is open; the picture decides which tone lies on it. While nothing moves, light is only counted
once for each tone, and spread over the cells when something does.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from controller.ports import Move, NewSheet
from sim.filters import NO_FILTER
from sim.paper import Emulsion
from sim.picture import Levels, Lie, Picture
from sim.shades import Shades, covered
from sim.tungsten import Floats

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
    ``lie`` tells where the sheet lay in the picture, ``soft_mm`` how wide the edges of tools were.
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


class Sheet:
    """A sheet from being laid to being developed."""

    def __init__(
        self,
        laid: NewSheet,
        paper: Emulsion,
        picture: Picture,
        cell_mm: float,
        *,
        soft_mm: float = 2.0,
    ) -> None:
        self.laid = laid
        self._paper = paper
        self._picture = picture
        self._soft_mm = soft_mm
        columns = max(1, round(laid.width_mm / cell_mm))
        rows = max(1, round(laid.height_mm / cell_mm))
        self._shape = (rows, columns)
        self._cell = (laid.height_mm / rows, laid.width_mm / columns)
        self._lie = picture.lie(laid)
        self._shift_mm = (0.0, 0.0)  # down, right: from there to where the paper lies now
        self._shades: Shades | None = None
        self._bare = np.ones(self._shape)  # of card or window on the paper
        self._open = self._bare
        self._tone = self._tones()
        self._lamp_s: dict[str, Floats] = {}
        self._exposure = np.zeros((paper.parts, *self._shape))
        self._move: Move | None = None
        # light that fell since the last move
        self._waiting_s: dict[str, float] = {}
        self._waiting_lux_s = np.zeros((paper.parts, len(picture.levels_lux)))

    def expose(
        self,
        passed_s: float,
        lamp_s: float,
        safelight_lux: float,
        *,
        through: Floats | None = None,
        name: str = NO_FILTER,
    ) -> None:
        """Let light fall: ``lamp_s`` seconds of full light within ``passed_s``.

        ``through`` is what the filter ``name`` leaves to each part of the paper.
        """
        if through is None:
            through = self._paper.unfiltered
        if lamp_s:
            self._waiting_s[name] = self._waiting_s.get(name, 0.0) + lamp_s
        levels_lux = self._picture.levels_lux
        # safelights are given in actinic lux: they count as the lamp's own light does
        safe = (self._paper.unfiltered * safelight_lux)[:, None]
        if self._paper.linear:
            self._waiting_lux_s += np.outer(through * lamp_s, levels_lux) + safe * passed_s
        elif passed_s > 0:
            lux = np.outer(through * (lamp_s / passed_s), levels_lux) + safe
            self._waiting_lux_s += self._paper.rate(lux) * passed_s

    def move(self, move: Move, *, slip_mm: float = 0.0) -> None:
        """Bring card, window or paper to a position, ``slip_mm`` beside where it should be."""
        self._spread()
        self._move = move
        along_mm = self._length_mm(move)
        first_mm = along_mm * move.position / move.patches
        last_mm = along_mm * (move.position + 1) / move.patches
        if move.tool == "card":
            opened = (first_mm + (slip_mm if move.position else 0.0), along_mm)
        else:
            opened = (first_mm + slip_mm, last_mm + slip_mm)
        self._bare = self._strip_open(move.edge, *opened)
        shift_mm = 0.0
        if move.tool == "paper":
            # the window stays over the spot, and the paper comes to it
            middle_mm = (first_mm + last_mm) / 2
            if move.edge in ("right", "bottom"):
                middle_mm = along_mm - middle_mm
            across = move.edge in ("left", "right")
            spot_mm = self._lie.spot_right_mm if across else self._lie.spot_down_mm
            shift_mm = spot_mm - middle_mm
        across = move.edge in ("left", "right")
        shifted = (0.0, shift_mm) if across else (shift_mm, 0.0)
        if shifted != self._shift_mm:
            self._shift_mm = shifted
            self._tone = self._tones()
        self._open = self._opening()

    def shade(self, shades: Shades) -> None:
        """Let what is held in the beam be this; it is looked at now and at every move."""
        self._spread()
        self._shades = shades
        self._open = self._opening()

    def uncover(self) -> None:
        """Take everything off the sheet, and the sheet out of the beam."""
        self._spread()
        self._shades = None
        self._open = self._bare = np.ones(self._shape)

    def develop(self) -> DevelopedSheet:
        """Turn exposure into density."""
        self._spread()
        density = self._paper.developed(self._exposure)
        move = self._move
        return DevelopedSheet(
            self.laid.mark,
            self.laid.width_mm,
            self.laid.height_mm,
            move.tool if move else "",
            move.edge if move else "left",
            tuple(self._patch(n, density) for n in range(move.patches if move else 1)),
            density,
            self._cell[1],
            self._cell[0],
            dict(self._lamp_s),
            self._lie,
            max(self._soft_mm, *self._cell),
        )

    # -- inside ------------------------------------------------------------------------------

    def _spread(self) -> None:
        for name, lamp_s in self._waiting_s.items():
            if name not in self._lamp_s:
                self._lamp_s[name] = np.zeros(self._shape)
            self._lamp_s[name] += self._open * lamp_s
        self._waiting_s.clear()
        if self._waiting_lux_s.any():
            self._exposure += self._open * self._waiting_lux_s[:, self._tone]
            self._waiting_lux_s[:] = 0.0

    def _places(self) -> tuple[Floats, Floats]:
        """Give the middles of columns and of rows, in mm of the picture."""
        (rows, columns), (high_mm, wide_mm) = self._shape, self._cell
        down_mm, right_mm = self._shift_mm
        x_mm = middles(columns, wide_mm, self._lie.left_mm + right_mm)
        y_mm = middles(rows, high_mm, self._lie.top_mm + down_mm)
        return x_mm, y_mm

    def _tones(self) -> Levels:
        return self._picture.under(*self._places(), self._lie)

    def _opening(self) -> Floats:
        if self._shades is None:
            return self._bare
        # an edge is never sharper than a cell can show
        soft_mm = max(self._soft_mm, *self._cell)
        opening: Floats = self._bare * self._shades.opening(*self._places(), self._lie, soft_mm)
        return opening

    def _length_mm(self, move: Move) -> float:
        return self.laid.width_mm if move.edge in ("left", "right") else self.laid.height_mm

    def _strip_open(self, edge: str, from_mm: float, to_mm: float) -> Floats:
        """Give how far cells are open between two distances from an edge; 0.5 is half a cell."""
        across = edge in ("left", "right")
        count, size = (self._shape[1], self._cell[1]) if across else (self._shape[0], self._cell[0])
        starts = np.arange(count) * size
        share = (np.minimum(starts + size, to_mm) - np.maximum(starts, from_mm)) / size
        share = np.clip(share, 0.0, 1.0)
        if edge in ("right", "bottom"):
            share = share[::-1]
        line = share[None, :] if across else share[:, None]
        return np.broadcast_to(line, self._shape)

    def _patch(self, position: int, density: Floats) -> Patch:
        box = self._box(position)
        rows, columns = self._middle(box)
        return Patch(
            LETTERS[position % 26] * (1 + position // 26),
            position,
            box,
            sum(float(lamp_s[rows, columns].mean()) for lamp_s in self._lamp_s.values()),
            float(self._exposure[:, rows, columns].mean(axis=(1, 2)) @ self._paper.shares),
            float(density[rows, columns].mean()),
        )

    def _box(self, position: int) -> Box:
        width, height = self.laid.width_mm, self.laid.height_mm
        if self._move is None:
            return Box(0.0, 0.0, width, height)
        along_mm, patches = self._length_mm(self._move), self._move.patches
        low = along_mm * position / patches
        high = along_mm * (position + 1) / patches
        match self._move.edge:
            case "left":
                return Box(low, 0.0, high, height)
            case "right":
                return Box(width - high, 0.0, width - low, height)
            case "top":
                return Box(0.0, low, width, high)
            case _:
                return Box(0.0, height - high, width, height - low)

    def _middle(self, box: Box) -> tuple[slice, slice]:
        """Give the cells of a box's inner half, where no edge of card or window comes."""

        def inner(low: float, high: float, size: float) -> slice:
            quarter = (high - low) / 4
            first = math.ceil((low + quarter) / size)
            end = math.floor((high - quarter) / size)
            if end <= first:  # a narrow patch: the one cell at its middle
                first = int((low + high) / 2 / size)
                end = first + 1
            return slice(first, end)

        return (
            inner(box.top_mm, box.bottom_mm, self._cell[0]),
            inner(box.left_mm, box.right_mm, self._cell[1]),
        )
