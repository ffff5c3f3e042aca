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

import numpy as np

from sim.settings import PaperSettings
from sim.tungsten import Floats

_SPECK = 0.2  # of the exposure at the speed point, 1000 / P


class Fog:
    """The fog of one sheet; arrays have the paper's parts, then rows and columns.

    ``field`` is the light of the room over the cells as it is now, None in the dark, and
    ``rate`` what it is to the paper. While nothing changes, only its time is counted.
    """

    def __init__(self, paper: PaperSettings) -> None:
        self.field: Floats | None = None
        self.rate: Floats | None = None
        self.effect = paper.order_effect
        self._speck_lux_s = _SPECK * 1000.0 / paper.speed_p
        self._waiting_s = 0.0
        self._waiting_lux_s: Floats | None = None
        self.lux_s: Floats | float = 0.0

    def wait(self, passed_s: float) -> None:
        """Let the field alone shine for a while."""
        if self.rate is not None:
            self._waiting_s += passed_s

    def add(self, lux_s: Floats) -> None:
        """Let light fall that was counted already, on paper on which lights do not simply add."""
        waiting = 0.0 if self._waiting_lux_s is None else self._waiting_lux_s
        self._waiting_lux_s = waiting + lux_s

    @property
    def waiting(self) -> bool:
        """Is there light that is not yet spread?"""
        return self._waiting_s > 0.0 or self._waiting_lux_s is not None

    def spread(self, opening: Floats, before: Floats, after: Floats) -> None:
        """Spread what fell since the last time, as far as cells are open.

        ``before`` and ``after`` are the image's exposure at both ends of that time; where it grew
        meanwhile, their mean effect counts.
        """
        fallen: Floats | float = 0.0
        if self.rate is not None:
            fallen = self.rate * self._waiting_s
        if self._waiting_lux_s is not None:
            fallen = fallen + self._waiting_lux_s
        self._waiting_s, self._waiting_lux_s = 0.0, None
        more = 1.0 + self.effect * (self._carrying(before) + self._carrying(after)) / 2.0
        self.lux_s = self.lux_s + fallen * opening * more

    def _carrying(self, image_lux_s: Floats) -> Floats:
        """Give the part of the grains that carry a speck."""
        part: Floats = -np.expm1(-image_lux_s / self._speck_lux_s)
        return part
