"""One exposure in hand: what was asked, what the paper has, what is left. Pure accounting."""

from __future__ import annotations

from controller.enlarger.lamp import Calibration, ns
from controller.events import PulseMade
from controller.keeper import Cause, Ended
from controller.plan import SAME_S, Expose


class Exposing:
    """The account of one exposure, over any number of pulses and pauses.

    Paper integrates light: nothing is ever taken back, and what is left is dose minus dose.
    """

    def __init__(self, asked: Expose, calibration: Calibration) -> None:
        if asked.assumed_lag_s is not None:
            calibration = Calibration(asked.assumed_lag_s, 0.0)
        self.asked = asked
        self._calibration = calibration
        self.delivered_s = 0.0
        self.touched = False  # has any light fallen, however little?
        self.full = False  # has the paper got all of it?
        self.pulses: list[PulseMade] = []  # of the current stretch, since the last pause
        self._stretch_s = 0.0
        self._asked_ns = 0
        self._gap_s: float | None = None
        self.last = False  # is the pulse in hand the last of the exposure?
        self.pulse_dose_s = 0.0  # what the pulse in hand is to give

    @property
    def left_s(self) -> float:
        """Give the dose that is left, in seconds; never below zero."""
        return max(0.0, self.asked.dose_s - self.delivered_s)

    @property
    def stretch_s(self) -> float:
        """Give the dose delivered since ``begin_stretch``."""
        return self._stretch_s

    def begin_stretch(self) -> None:
        """Start a new row of pulses (a resumed exposure is a new entry in the book)."""
        self.pulses = []
        self._stretch_s = 0.0

    def next_pulse(self, gap_s: float | None) -> int:
        """Give the on-time of the next pulse in nanoseconds, after such a gap (None: cold)."""
        each_s = self.asked.dose_s / self.asked.pulses
        dose_s = self.left_s
        if self.asked.pulses > 1:
            # whole pulses; a remainder too small to stand alone joins the last of them
            dose_s = each_s if self.left_s >= 1.5 * each_s else self.left_s
        self.last = dose_s == self.left_s
        self.pulse_dose_s = dose_s
        self._gap_s = gap_s
        self._asked_ns = max(1, ns(self._calibration.on_time_s(dose_s, gap_s)))
        return self._asked_ns

    def on_time_to(self, dose_s: float) -> float:
        """Give how long after its beginning the pulse in hand has brought the dose to this."""
        more_s = dose_s - self.delivered_s
        return self._calibration.on_time_s(more_s, self._gap_s) if more_s > 0 else 0.0

    def ended(self, ended: Ended, seen_s: float | None = None, *, meant: bool = False) -> None:
        """Enter a pulse with its measured edges.

        ``seen_s`` is its dose where a sensor summed it up, and ``meant`` says that it was cut
        since it was to end there.
        """
        by_sensor = meant and seen_s is not None
        cause = Cause.INTEGRAL if by_sensor else ended.cause
        made = PulseMade(ended.id, ended.on_ns, ended.off_ns, self._asked_ns, cause)
        self.pulses.append(made)
        self.touched = True
        dose_s = self._calibration.dose_s(made.on_time_s, self._gap_s)
        if seen_s is not None:
            dose_s = seen_s
        self.delivered_s += dose_s
        self._stretch_s += dose_s
        # A pulse that was to be the last and ran its time completes the exposure: its edges
        # scatter by microseconds, which is nothing to be made up for. A sensor may have seen
        # that it had to end by its bound before the paper had it all.
        ran_out = meant or (ended.cause is Cause.DEADLINE and seen_s is None)
        self.full = self.left_s <= SAME_S or (self.last and ran_out)
