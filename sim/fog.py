"""What the room's lights leave on a sheet: an exposure of its own, summed cell by cell.

It adds to the image's exposure, and the paper's curve makes density of the sum: that fog shows on
a light grey long before it shows on white is the toe's doing. One thing more is **a model of our
own**, after what is published (trade-facts section 5): dim light alone is inefficient, because
single grains lose a first silver atom before a second one follows; on grains that already carry a
speck it builds as well as bright light does. So where an image has given a part of the grains
their speck, dim light counts more afterwards:

    counted = fog (1 + effect (1 - exp(-image / speck)))

``image`` is the exposure that was there first, ``speck`` the one at which 63 % of grains carry a
speck that is too small to be developed: a fifth of the exposure at the speed point, a guess that
puts a light grey near the full effect. With no image nothing is added, so fog *before* the
image counts once, and fog *after* it up to 1 + effect times; on white, order means nothing. The
usual effect of 1 halves the safe time after an image, within what one example gives (7 min
before, 3 min after, by steps of 1, 3 and 7 min).
"""

from __future__ import annotations

import math

import numpy as np

from sim.paper import Emulsion
from sim.picture import Levels
from sim.tungsten import Floats

_SPECK = 0.2  # of the exposure at the speed point, 1000 / P
_DIMMEST = 1e-6  # of the lamp's full light: less than that is the dark


class Fog:
    """The fog of one sheet; arrays have the paper's parts, then rows and columns.

    ``field`` is the light of the room over the cells as it is now, None in the dark. While
    nothing changes only its time is counted, and spread over the cells when something does.
    ``levels_lux`` are those of the picture, which may shine at the same time.
    """

    def __init__(self, paper: Emulsion, levels_lux: Floats) -> None:
        self.field: Floats | None = None
        self.effect = paper.settings.order_effect
        self._paper = paper
        self._levels_lux = levels_lux
        self._speck_lux_s = _SPECK * 1000.0 / paper.settings.speed_p
        self._alone_s = 0.0
        # time and lamp's light beside other light, by what that was and how bright the lamp was
        self._beside: dict[tuple[bytes, bytes, int], tuple[float, float]] = {}
        self.lux_s: Floats | float = 0.0

    def wait(self, passed_s: float, lamp_s: float, through: Floats, safe: Floats) -> None:
        """Let the field shine for a while, beside ``lamp_s`` seconds of the lamp's full light.

        ``through`` and ``safe`` are what filter and safelights are to each part. They matter
        where dim light does not count in full: there lights add before the paper answers.
        """
        if self.field is None or passed_s <= 0.0:
            return
        bright = lamp_s / passed_s
        if self._paper.linear or (bright < _DIMMEST and not safe.any()):
            self._alone_s += passed_s
            return
        # a lamp that warms up is looked at in steps of 2 stops
        step = math.frexp(max(bright, _DIMMEST))[1] // 2
        key = (through.tobytes(), safe.tobytes(), step)
        was_s, was_lamp_s = self._beside.get(key, (0.0, 0.0))
        self._beside[key] = (was_s + passed_s, was_lamp_s + lamp_s)

    @property
    def waiting(self) -> bool:
        """Is there light that is not yet spread?"""
        return self._alone_s > 0.0 or bool(self._beside)

    def spread(self, opening: Floats, tone: Levels, before: Floats, after: Floats) -> None:
        """Spread what fell since the last time, as far as cells are open.

        ``tone`` is the picture's level on each cell; ``before`` and ``after`` are the image's
        exposure at both ends of that time; where it grew meanwhile, their mean effect counts.
        """
        assert self.field is not None
        fallen = self._paper.rate(self.field) * self._alone_s
        for (through, safe, _), (passed_s, lamp_s) in self._beside.items():
            lux = np.outer(np.frombuffer(through) * (lamp_s / passed_s), self._levels_lux)
            lux += np.frombuffer(safe)[:, None]
            together = self._paper.rate(lux[:, tone] + self.field)
            fallen = fallen + (together - self._paper.rate(lux)[:, tone]) * passed_s
        self._alone_s = 0.0
        self._beside.clear()
        more = 1.0 + self.effect * (self._carrying(before) + self._carrying(after)) / 2.0
        self.lux_s = self.lux_s + fallen * opening * more

    def _carrying(self, image_lux_s: Floats) -> Floats:
        """Give the part of the grains that carry a speck."""
        part: Floats = -np.expm1(-image_lux_s / self._speck_lux_s)
        return part
