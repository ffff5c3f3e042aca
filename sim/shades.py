"""Tools in the beam: a card with a hole, and wands, each with the part of the picture it means.

They are held above the paper, so their edges are soft: light falls off evenly over the
penumbra's width.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from controller.ports import Shade
from sim.picture import Lie
from sim.tungsten import Floats


class Shades:
    """What is held in the beam now: one card at most, and wands by their names."""

    def __init__(self) -> None:
        self._card: Shade | None = None
        self._wands: dict[str, Shade] = {}

    def take(self, shade: Shade) -> None:
        """Bring a tool in or take it away; a new card replaces the old one."""
        if shade.tool == "card":
            self._card = shade if shade.held else None
        elif shade.held:
            self._wands[shade.name] = shade
        else:
            self._wands.pop(shade.name, None)

    def put_down(self) -> None:
        """Take everything out of the beam."""
        self._card = None
        self._wands.clear()

    def opening(
        self, x_mm: Floats, y_mm: Floats, lie: Lie, soft_mm: float, *, wands: bool = True
    ) -> Floats:
        """Give how much light passes to each crossing of rows and columns of the picture, 0 to 1.

        Where two wands overlap they hold back no more than all light. Without ``wands`` it is
        the light that comes from beside the beam: a card shields from it, a wand does not.
        """
        opening: Floats = np.ones((len(y_mm), len(x_mm)))
        if self._card is not None:
            opening = covered(self._card.area, x_mm, y_mm, lie, soft_mm)
        for wand in self._wands.values() if wands else ():
            opening = opening * (1.0 - covered(wand.area, x_mm, y_mm, lie, soft_mm))
        return opening


def covered(area: Sequence[str], x_mm: Floats, y_mm: Floats, lie: Lie, soft_mm: float) -> Floats:
    """Give how far each place belongs to an area, 0 to 1, its edges softened.

    The area's rows are stretched over the whole picture. It is a sum of rectangles, and each of
    them a product of what it covers across and down, so nothing depends on the size of cells.
    A rectangle at the picture's edge goes on beyond it, as a hand does.
    """
    columns = max((len(row) for row in area), default=0)
    if not columns:
        return np.zeros((len(y_mm), len(x_mm)))
    cells = np.array([[text == "#" for text in row.ljust(columns, ".")] for row in area])
    down = _shares(y_mm, lie.picture_height_mm, len(area), soft_mm)
    across = _shares(x_mm, lie.picture_width_mm, columns, soft_mm)
    result: Floats = down @ cells.astype(np.float64) @ across.T
    return result


def _shares(at_mm: Floats, length_mm: float, count: int, soft_mm: float) -> Floats:
    """Give how far each position belongs to each of ``count`` even parts of a length."""
    edges = np.arange(1, count) * (length_mm / count)
    # past an edge: 0 before its penumbra, 1 behind it
    past = np.clip((at_mm[:, None] - edges) / max(soft_mm, 1e-9) + 0.5, 0.0, 1.0)
    first, last = np.ones((len(at_mm), 1)), np.zeros((len(at_mm), 1))
    bounds = np.concatenate([first, past, last], axis=1)
    shares: Floats = bounds[:, :-1] - bounds[:, 1:]
    return shares
