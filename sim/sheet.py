"""A sheet under the enlarger: which part of it is open, and the light that falls there.

The sheet is a grid of cells. Card, window and paper decide how far each cell is open; the
picture decides which tone lies on it. While nothing moves, light is only counted once for each
tone, and spread over the cells when something does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from controller.ports import Move, NewSheet
from sim.paper import Paper
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


class DevelopedSheet(NamedTuple):
    """A sheet out of the developer. ``density`` has rows from the top, columns from the left."""

    mark: str
    width_mm: float
    height_mm: float
    tool: str  # "card", "window", "paper", or "" where nothing lay on it
    edge: str
    patches: tuple[Patch, ...]
    density: Floats
    cell_width_mm: float
    cell_height_mm: float


class Sheet:
    """A sheet from being laid to being developed."""

    def __init__(self, laid: NewSheet, paper: Paper, tones_lux: Sequence[float], cell_mm: float):
        self.laid = laid
        self._paper = paper
        self._tones_lux = np.array(tones_lux)
        columns = max(1, round(laid.width_mm / cell_mm))
        rows = max(1, round(laid.height_mm / cell_mm))
        self._shape = (rows, columns)
        self._cell = (laid.height_mm / rows, laid.width_mm / columns)
        self._open = np.ones(self._shape)
        self._tone = self._tones_under(0.0)
        self._lamp_s = np.zeros(self._shape)
        self._exposure = np.zeros(self._shape)
        self._move: Move | None = None
        # light that fell since the last move
        self._waiting_s = 0.0
        self._waiting_lux_s = np.zeros(len(tones_lux))

    def expose(
        self, passed_s: float, lamp_s: float, safelight_lux: float, *, through: float = 1.0
    ) -> None:
        """Let light fall: ``lamp_s`` seconds of full light within ``passed_s``.

        ``through`` is the part of it that a filter leaves to the paper.
        """
        self._waiting_s += lamp_s
        if self._paper.linear:
            self._waiting_lux_s += self._tones_lux * (lamp_s * through) + safelight_lux * passed_s
        elif passed_s > 0:
            lux = self._tones_lux * (lamp_s * through / passed_s) + safelight_lux
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
        self._open = self._strip_open(move.edge, *opened)
        shift_mm = 0.0
        if move.tool == "paper" and move.edge in ("left", "right"):
            # the window stays over the middle of the picture and the paper comes to it
            middle_mm = (first_mm + last_mm) / 2
            if move.edge == "right":
                middle_mm = along_mm - middle_mm
            shift_mm = along_mm / 2 - middle_mm
        self._tone = self._tones_under(shift_mm)

    def uncover(self) -> None:
        """Take everything off the sheet."""
        self._spread()
        self._open = np.ones(self._shape)

    def develop(self) -> DevelopedSheet:
        """Turn exposure into density."""
        self._spread()
        density = self._paper.density(self._exposure)
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
        )

    # -- inside ------------------------------------------------------------------------------

    def _spread(self) -> None:
        if self._waiting_s or self._waiting_lux_s.any():
            self._lamp_s += self._open * self._waiting_s
            self._exposure += self._open * self._waiting_lux_s[self._tone]
            self._waiting_s = 0.0
            self._waiting_lux_s[:] = 0.0

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

    def _tones_under(self, shift_mm: float) -> NDArray[np.intp]:
        """Give each cell's band of the picture when the paper lies ``shift_mm`` to the right."""
        bands = len(self._tones_lux)
        middles = (np.arange(self._shape[1]) + 0.5) * self._cell[1] + shift_mm
        band = np.floor(middles / self.laid.width_mm * bands).astype(np.intp)
        return np.broadcast_to(np.clip(band, 0, bands - 1)[None, :], self._shape)

    def _patch(self, position: int, density: Floats) -> Patch:
        box = self._box(position)
        rows, columns = self._middle(box)
        return Patch(
            LETTERS[position % 26] * (1 + position // 26),
            position,
            box,
            float(self._lamp_s[rows, columns].mean()),
            float(self._exposure[rows, columns].mean()),
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
