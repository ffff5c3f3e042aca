"""A sheet between the easel and the stop bath: the light it meets on its way is not over yet."""

from __future__ import annotations

from collections.abc import Mapping

from sim.room_settings import EASEL, TRAYS
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet, Sheet
from sim.tungsten import Floats
from sim.wet import FULL, Trays, Wet

WALK = "walk"  # on the way: the mean of what falls at the easel and over the trays


class Carried:
    """A sheet that was taken away; what its trays make of it is asked when they are done."""

    def __init__(
        self, sheet: Sheet, settings: SimulatorSettings, trays: Trays | None = None
    ) -> None:
        sheet.uncover()
        self._sheet = sheet
        self._trays = trays
        carried_s = settings.carried_marks.get(sheet.laid.mark, settings.carried_s)
        easel_s, walk_s = settings.carried_easel_s, settings.carried_walk_s
        stages = [(EASEL, easel_s), (WALK, walk_s), (TRAYS, carried_s - easel_s - walk_s)]
        self._stages = [(where, left_s) for where, left_s in stages if left_s > 0.0]
        self._developed: DevelopedSheet | None = None

    @property
    def is_there(self) -> bool:
        """Is it in the stop bath, where light does nothing more?"""
        return not self._stages

    @property
    def developed(self) -> DevelopedSheet:
        """Give what became of it; the trays do it once, in the order in which this is asked."""
        if self._developed is None:
            self._developed = self._sheet.develop(self._took())
        return self._developed

    def go_on(
        self, passed_s: float, safelight_lux: float, lux: Mapping[str, Floats | None]
    ) -> None:
        """Let time pass; ``lux`` is what the room's lights are to the paper at each stage."""
        while self._stages and passed_s > 0.0:
            where, left_s = self._stages.pop(0)
            here_s = min(passed_s, left_s)
            self._sheet.under(lux[where])
            self._sheet.expose(here_s, 0.0, safelight_lux)
            passed_s -= here_s
            if left_s > here_s:
                self._stages.insert(0, (where, left_s - here_s))

    def _took(self) -> Wet:
        if self._trays is None:
            return FULL
        laid = self._sheet.laid
        return self._trays.took(laid.mark, laid.width_mm * laid.height_mm / 1e6)
