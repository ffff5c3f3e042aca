"""How bright the easel is, from the geometry of the enlarger's lens.

Seen from the easel the lens is a bright disc, its exit pupil, and the light that arrives is that
disc's brightness times the solid angle it fills. Where the disc is and how large follows from the
lens equation. The head's brightness is taken to be even and unchanged by the head's height, which
holds for a diffuser and only roughly for a condenser.

Lengths are mm; on the axis, and for a small pupil, as f-numbers are.
"""

from __future__ import annotations

import math
from typing import NamedTuple


class EnlargingLens(NamedTuple):
    """A lens: focal length, f-number, and exit pupil against entrance pupil in diameter."""

    focal_mm: float
    f_number: float
    pupil: float = 1.0

    def image_distance_mm(self, magnification: float) -> float:
        """Give the way from the rear principal plane to the easel.

        From 1/a + 1/b = 1/f and m = b/a.
        """
        return self.focal_mm * (1.0 + magnification)

    def exit_pupil_mm(self) -> float:
        """Give the diameter of the exit pupil; the f-number is that of the entrance pupil."""
        return self.pupil * self.focal_mm / self.f_number

    def exit_pupil_at_mm(self) -> float:
        """Give where the exit pupil lies behind the rear principal plane (minus: before it).

        It is the image of the entrance pupil, upright and ``pupil`` times as large. By the same
        equations, with a magnification of -pupil, it is formed at f (1 - pupil).
        """
        return self.focal_mm * (1.0 - self.pupil)

    def solid_angle(self, magnification: float) -> float:
        """Give the solid angle (sr) of the exit pupil, seen from the middle of the easel."""
        distance_mm = self.image_distance_mm(magnification) - self.exit_pupil_at_mm()
        return math.pi * (self.exit_pupil_mm() / 2.0) ** 2 / distance_mm**2


def light_at(magnification: float, given_at: float, pupil: float) -> float:
    """Give the easel's light at a magnification, in parts of that at another, ``given_at``."""
    lens = EnlargingLens(80.0, 8.0, pupil)  # focal length and f-number cancel out
    return lens.solid_angle(magnification) / lens.solid_angle(given_at)


def let_through(aperture: str, *, working: float, widest: float) -> float:
    """Give the light that a lens setting lets through, in parts of that at the working aperture.

    ``aperture`` is "capped", "open", or a number as engraved, with or without "f/"; "working",
    and words that name no number, are the working aperture.
    """
    if aperture == "capped":
        return 0.0
    if aperture == "open":
        number = widest
    else:
        try:
            number = float(aperture.removeprefix("f/"))
        except ValueError:
            number = working
        if not 0.5 < number < 1000.0:
            number = working
    return (_exact(working) / _exact(number)) ** 2


def _exact(engraved: float) -> float:
    """Give the f-number that a lens really has: engraved ones are rounded powers of root 2."""
    return float(2.0 ** (round(4.0 * math.log2(engraved)) / 4.0))
