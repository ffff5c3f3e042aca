"""A sheet under the enlarger: which part of it is open, and the light that falls there.

The sheet is a grid of cells. Card, window, paper and the tools in the beam decide how far each
cell is open; the picture decides which tone lies on it. While nothing moves, light is only counted
once for each tone, and spread over the cells when something does. The light of the room's lamps
falls in its own way (``sim.fog``).
"""

from __future__ import annotations

import math

import numpy as np

from controller.ports import Move, NewSheet
from sim.developed import LETTERS, Box, DevelopedSheet, Patch, middles
from sim.filters import NO_FILTER
from sim.fog import Fog
from sim.paper import Emulsion
from sim.picture import Levels, Picture
from sim.rays import Opening
from sim.room import Ground
from sim.room_settings import BladeSettings
from sim.shades import Shades
from sim.tungsten import Floats
from sim.wet import FULL, Wet, developed

__all__ = ["LETTERS", "Box", "DevelopedSheet", "Patch", "Sheet", "middles"]


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
        blades: BladeSettings | None = None,
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
        self._frame_mm = self._frame_of(blades)  # inset and height of the easel's blades
        self._framed = self._frame()
        self._open = self._opening()
        self._ground: Ground | None = None
        self._fog = Fog(paper, picture.levels_lux)
        self._tone = self._tones()
        self._lamp_s: dict[str, Floats] = {}
        self._exposure = np.zeros((paper.parts, *self._shape))
        self._of_safelights: Floats | float = 0.0  # what of that is no image
        self._move: Move | None = None
        # light that fell since the last move
        self._waiting_s: dict[str, float] = {}
        self._waiting_lux_s = np.zeros((paper.parts, len(picture.levels_lux)))
        self._waiting_safe_s: Floats = np.zeros((paper.parts, 1))

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
        if safelight_lux:
            self._waiting_safe_s = self._waiting_safe_s + self._paper.rate(safe) * passed_s
        if self._paper.linear:
            self._waiting_lux_s += np.outer(through * lamp_s, levels_lux) + safe * passed_s
        elif passed_s > 0:
            lux = np.outer(through * (lamp_s / passed_s), levels_lux) + safe
            self._waiting_lux_s += self._paper.rate(lux) * passed_s
        self._fog.wait(passed_s, lamp_s, through, safe)

    @property
    def ground(self) -> Ground:
        """Tell where the cells lie on the easel, for the light of the room."""
        if self._ground is None:
            (rows, columns), (high_mm, wide_mm) = self._shape, self._cell
            down_mm, right_mm = self._shift_mm
            lie = self._lie
            left_mm = lie.left_mm + right_mm - lie.picture_width_mm / 2
            back_mm = lie.picture_height_mm / 2 - lie.top_mm - down_mm
            x_m: Floats = (left_mm + np.arange(columns + 1.0) * wide_mm) / 1e3
            y_m: Floats = (back_mm - np.arange(rows + 1.0) * high_mm) / 1e3
            self._ground = Ground(x_m, y_m, self._blades_open())
        return self._ground

    def under(self, field: Floats | None) -> None:
        """Let the light of the room be this from now on, over ``ground`` or everywhere alike.

        In lux as each part of the paper sees it.
        """
        if field is not self._fog.field:
            self._spread()
            self._fog.field = field

    def project(self, picture: Picture) -> None:
        """Let another picture fall on the sheet from now on; it lies where it lay."""
        self._spread()
        self._picture = picture
        self._waiting_lux_s = np.zeros((self._paper.parts, len(picture.levels_lux)))
        self._tone = self._tones()

    def settle(self) -> None:
        """Keep fog from before and after this moment apart: the lamp goes on or off."""
        if self._fog.waiting and self._fog.effect:
            self._spread()

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
            self._ground = None
        self._open = self._opening()

    def shade(self, shades: Shades) -> None:
        """Let what is held in the beam be this; it is looked at now and at every move."""
        self._spread()
        self._shades = shades
        self._open = self._opening()

    def uncover(self) -> None:
        """Take everything off the sheet, and the sheet out of the beam."""
        self._spread()
        self._shades = self._frame_mm = self._framed = None
        self._ground = None
        self._open = self._bare = np.ones(self._shape)

    def develop(self, wet: Wet = FULL) -> DevelopedSheet:
        """Turn exposure into density, as far as the trays do it."""
        self._spread()
        exposure = self._exposure + self._fog.lux_s
        density = developed(self._paper, exposure, wet)
        move = self._move
        return DevelopedSheet(
            self.laid.mark,
            self.laid.width_mm,
            self.laid.height_mm,
            move.tool if move else "",
            move.edge if move else "left",
            tuple(self._patch(n, exposure, density) for n in range(move.patches if move else 1)),
            density,
            self._cell[1],
            self._cell[0],
            dict(self._lamp_s),
            self._lie,
            max(self._soft_mm, *self._cell),
            wet,
        )

    # -- inside ------------------------------------------------------------------------------

    def _spread(self) -> None:
        for name, lamp_s in self._waiting_s.items():
            if name not in self._lamp_s:
                self._lamp_s[name] = np.zeros(self._shape)
            self._lamp_s[name] += self._open * lamp_s
        self._waiting_s.clear()
        fogged = self._fog.waiting
        before = self._exposure - self._of_safelights if fogged else self._exposure
        if self._waiting_safe_s.any():
            fallen = self._open * self._waiting_safe_s[:, :, None]
            self._of_safelights = self._of_safelights + fallen
            self._waiting_safe_s = np.zeros_like(self._waiting_safe_s)
        if self._waiting_lux_s.any():
            self._exposure += self._open * self._waiting_lux_s[:, self._tone]
            self._waiting_lux_s[:] = 0.0
        if fogged:
            after = self._exposure - self._of_safelights
            self._fog.spread(self._open_to_room(), self._tone, before, after)

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
        opening = self._bare if self._framed is None else self._bare * self._framed
        if self._shades is None:
            return opening
        # an edge is never sharper than a cell can show
        soft_mm = max(self._soft_mm, *self._cell)
        held: Floats = self._shades.opening(*self._places(), self._lie, soft_mm)
        return opening * held

    def _open_to_room(self) -> Floats:
        """Give how far cells are open to light that comes from beside the beam.

        What blades keep from it is in the field itself, as it depends on where the light is.
        """
        if self._shades is None:
            return self._bare
        soft_mm = max(self._soft_mm, *self._cell)
        places = self._places()
        held: Floats = self._shades.opening(*places, self._lie, soft_mm, wands=False)
        return self._bare * held

    def _frame_of(self, blades: BladeSettings | None) -> tuple[float, float] | None:
        """Give inset and height (mm) of the blades, None where the sheet lies in the open."""
        if blades is None or blades.height_mm == 0.0:
            return None
        if min(self.laid.width_mm, self.laid.height_mm) < blades.from_mm:
            return None
        return blades.border_mm, blades.height_mm

    def _frame(self) -> Floats | None:
        """Give how far the blades leave cells open to the beam, which comes from right above."""
        if self._frame_mm is None:
            return None
        inset_mm, _ = self._frame_mm
        width_mm, height_mm = self.laid.width_mm, self.laid.height_mm
        across = self._strip_open("left", inset_mm, width_mm - inset_mm)
        return across * self._strip_open("top", inset_mm, height_mm - inset_mm)

    def _blades_open(self) -> Opening | None:
        if self._frame_mm is None:
            return None
        inset_mm, stand_mm = self._frame_mm
        lie = self._lie
        left_mm = lie.left_mm - lie.picture_width_mm / 2
        back_mm = lie.picture_height_mm / 2 - lie.top_mm
        return Opening(
            (left_mm + inset_mm) / 1e3,
            (left_mm + self.laid.width_mm - inset_mm) / 1e3,
            (back_mm - self.laid.height_mm + inset_mm) / 1e3,
            (back_mm - inset_mm) / 1e3,
            stand_mm / 1e3,
        )

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

    def _patch(self, position: int, exposure: Floats, density: Floats) -> Patch:
        box = self._box(position)
        rows, columns = self._middle(box)
        return Patch(
            LETTERS[position % 26] * (1 + position // 26),
            position,
            box,
            sum(float(lamp_s[rows, columns].mean()) for lamp_s in self._lamp_s.values()),
            float(exposure[:, rows, columns].mean(axis=(1, 2)) @ self._paper.shares),
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
