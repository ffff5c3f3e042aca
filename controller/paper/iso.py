"""Speed, range and grade as the paper standard defines them, from a curve. Pure, no numpy.

Definitions (trade-facts section 3, from memory of ISO 6846, in part confirmed):

- Ht, the highlight point: the exposure that gives 0.04 above paper white.
- Hm, the speed point: 0.60 above paper white. Speed P = 1000 / Hm, Hm in lux seconds, told in the
  series of tenths of a log unit.
- Hs, the shadow point: white and 90 % of the net range, that is of Dmax less Dmin.
- LER = log Hs - log Ht; range R = 100 LER, told to the nearest 10.

Sums are made in whole hundredths of a log unit, so that 1.15 is 115 and never 114.99. A tie (105)
goes up: the standard's own rule for ties is not known to us.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple, Protocol

HIGHLIGHT_OVER_WHITE = 0.04
SPEED_POINT_OVER_WHITE = 0.60
SHADOW_PART_OF_NET = 0.90

# one decade of the series (tenths of a log unit, R10 numbers; the printed list from memory);
# below 100 what is not whole is cut: 12, 6
_DECADE = (100, 125, 160, 200, 250, 320, 400, 500, 640, 800)


class HasCurve(Protocol):
    """What is asked of a curve here."""

    @property
    def d_min(self) -> float:
        """Density of paper white."""

    @property
    def d_max(self) -> float:
        """Density of full black."""

    def log_exposure(self, density: float) -> float:
        """Find the log exposure of a density."""


class Points(NamedTuple):
    """The three log exposures that speed and range are read from."""

    log_ht: float
    log_hm: float
    log_hs: float

    @property
    def ler(self) -> float:
        """The log exposure range."""
        return self.log_hs - self.log_ht


def points_of(curve: HasCurve) -> Points:
    """Find highlight, speed and shadow point. Raises ValueError for a paper too pale for it."""
    net = curve.d_max - curve.d_min
    if net <= SPEED_POINT_OVER_WHITE:
        raise ValueError(
            f"full black is only {net:.2f} over white, and speed is read "
            f"{SPEED_POINT_OVER_WHITE:.2f} over it"
        )
    return Points(
        curve.log_exposure(curve.d_min + HIGHLIGHT_OVER_WHITE),
        curve.log_exposure(curve.d_min + SPEED_POINT_OVER_WHITE),
        curve.log_exposure(curve.d_min + SHADOW_PART_OF_NET * net),
    )


def hundredths(log_units: float | str) -> int:
    """Give log units in whole hundredths: 1.15 is 115, as number or as text."""
    # repr of a float is the shortest text that means it: 1.15 stays 1.15
    exact = Decimal(log_units if isinstance(log_units, str) else repr(float(log_units)))
    return int((exact * 100).to_integral_value(ROUND_HALF_UP))


def iso_range(ler: float | str) -> int:
    """Give R: 100 times the log exposure range, to the nearest 10, a tie upwards."""
    return (hundredths(ler) + 5) // 10 * 10


def speed_figure(hm_lux_s: float) -> float:
    """Give 1000 / Hm as it is, before it is told in the series."""
    if not hm_lux_s > 0.0:
        raise ValueError(f"the exposure of a speed point is above 0, not {hm_lux_s:g}")
    return 1000.0 / hm_lux_s


def iso_speed(log_hm: float) -> int:
    """Give P in its series, from the log10 of Hm in lux seconds."""
    tenths = int((Decimal(repr(3.0 - log_hm)) * 10).to_integral_value(ROUND_HALF_UP))
    decade, place = divmod(tenths, 10)
    value = Decimal(_DECADE[place]).scaleb(decade - 2)
    # nothing is told as slower than 1
    return max(1, int(value))
