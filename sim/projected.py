"""The scene's negative, projected: as large as the magnification makes it."""

from __future__ import annotations

import numpy as np

from controller.ports import NewSheet
from sim.picture import Levels, Lie
from sim.scene import scene, scene_regions
from sim.settings import SimulatorSettings
from sim.tungsten import Floats

# Densities are counted in levels this fine; the last level is the dark beyond the negative.
_STEP = 0.001
_DENSEST = 1.8


class ProjectedScene:
    """The picture on the easel. Beyond its edges the negative carrier keeps all light away."""

    def __init__(self, settings: SimulatorSettings, easel_lux: float) -> None:
        """Project with ``easel_lux`` where the negative were clear."""
        densities = np.arange(0.0, _DENSEST + _STEP / 2, _STEP)
        self.levels_lux: Floats = np.append(easel_lux * 10.0**-densities, 0.0)
        wide_mm, high_mm = settings.negative_mm
        self._wide_mm = wide_mm * settings.magnification
        self._high_mm = high_mm * settings.magnification
        self._last: tuple[bytes, bytes, Levels] | None = None

    def lie(self, laid: NewSheet) -> Lie:
        """Lay a piece over its place, as far as it then lies within the picture.

        Without a place, or with one that the scene does not have, in the middle.
        """
        region = scene_regions().get(laid.place.strip().lower())
        u, v = region.middle if region else (0.5, 0.5)
        x_mm, y_mm = u * self._wide_mm, v * self._high_mm
        left_mm = _corner(x_mm, laid.width_mm, self._wide_mm)
        top_mm = _corner(y_mm, laid.height_mm, self._high_mm)
        return Lie(left_mm, top_mm, self._wide_mm, self._high_mm, x_mm - left_mm, y_mm - top_mm)

    def under(self, x_mm: Floats, y_mm: Floats, lie: Lie) -> Levels:
        """Give the negative's density as a level, and the dark outside it."""
        key = (x_mm.tobytes(), y_mm.tobytes())
        if self._last is None or self._last[:2] != key:
            self._last = (*key, self._levels(x_mm, y_mm, lie))
        return self._last[2]

    def _levels(self, x_mm: Floats, y_mm: Floats, lie: Lie) -> Levels:
        across, down = x_mm / lie.picture_width_mm, y_mm / lie.picture_height_mm
        density = scene(across, down).density
        level = np.rint(density / _STEP).astype(np.intp)
        dark = len(self.levels_lux) - 1
        level = np.minimum(level, dark - 1)
        level[(down < 0.0) | (down > 1.0), :] = dark
        level[:, (across < 0.0) | (across > 1.0)] = dark
        return level


def _corner(middle_mm: float, sheet_mm: float, picture_mm: float) -> float:
    """Give where a sheet begins along one side of the picture."""
    if sheet_mm >= picture_mm:
        return (picture_mm - sheet_mm) / 2
    return min(max(middle_mm - sheet_mm / 2, 0.0), picture_mm - sheet_mm)
