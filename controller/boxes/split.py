"""A paper under soft and hard light, from the three sheets of a split that the book has kept."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.boxes.fitting import readings_of
from controller.boxes.model import How, PaperReading, Purpose
from controller.errors import Refused
from controller.paper.readings import Reading
from controller.paper.split import SplitFit, SplitPaper, fit_split

MIXED = "+"  # between the two filters of a mixed sheet
NO_LIGHT = 1e-12  # lux seconds: as good as none to a model that counts in logs


@dataclass(frozen=True)
class TwoFilters:
    """What a paper answers to a soft and a hard filter, alone or together."""

    soft: str
    hard: str
    paper: SplitPaper
    lux: float  # by which doses become what the model counts in; 1 for seconds
    residual_rms: float = 0.0
    mixed_patches: int = 0
    box: str = "this paper"

    @property
    def filters(self) -> tuple[str, ...]:
        """The two filters."""
        return self.soft, self.hard

    @property
    def d_min(self) -> float:
        """Density of paper white."""
        return self.paper.curve.d_min

    @property
    def d_max(self) -> float:
        """Density of full black."""
        return self.paper.curve.d_max

    def density(self, doses_s: Mapping[str, float], log_light: float) -> float:
        """Give the density of doses under both filters. Raises Refused for a third."""
        others = [name for name, dose in doses_s.items() if dose > 0 and name not in self.filters]
        if others:
            right = f"{self.soft} and {self.hard} alone"
            raise Refused(f"the split sheets say nothing of filter {others[0]}", (right,))
        light = self.lux * 10.0**log_light
        both = [max(doses_s.get(name, 0.0) * light, NO_LIGHT) for name in self.filters]
        return self.paper.density(both[0], both[1])


def split_pairs(readings: Sequence[PaperReading]) -> list[tuple[str, str]]:
    """Name the pairs of filters that a mixed sheet was read for, the newest first."""
    mixed = [one.filter for one in readings if _counts(one) and MIXED in one.filter]
    pairs = [name.partition(MIXED) for name in dict.fromkeys(mixed)]
    return [(soft, hard) for soft, _, hard in pairs]


def split_of(readings: Sequence[PaperReading], soft: str, hard: str, box: str) -> TwoFilters:
    """Give a paper under both filters, as ``split_fit_of`` does."""
    fit, lux = split_fit_of(readings, soft, hard, box)
    return TwoFilters(soft, hard, fit.paper, lux or 1.0, fit.residual_rms, fit.mixed_patches, box)


def split_fit_of(
    readings: Sequence[PaperReading], soft: str, hard: str, box: str
) -> tuple[SplitFit, float | None]:
    """Fit a paper to its newest soft, hard and mixed sheets, ``readings`` the newest first.

    ``box`` is what it is called by. All three must have been developed alike, and counted in the
    same measure; the light of that measure comes with the fit, None for seconds. Raises
    Refused.
    """
    counted = [one for one in readings if _counts(one)]
    mixed = next((one for one in counted if one.filter == f"{soft}{MIXED}{hard}"), None)
    alike = [
        one
        for one in counted
        if mixed is None or (one.developing, one.lux) == (mixed.developing, mixed.lux)
    ]
    alone = {
        name: next((one for one in alike if one.filter == name), None) for name in (soft, hard)
    }
    missing = [name for name, one in alone.items() if one is None]
    if missing or mixed is None:
        what = f"filter {missing[0]}" if missing else f"{soft} and {hard} together"
        raise Refused(
            f"{box} has no sheet of {what} that was read and goes with the others",
            (f"the split sheets: dryside paper sheet {box} --split {soft},{hard}",),
        )
    first, second = alone[soft], alone[hard]
    assert first is not None
    assert second is not None
    both = _both(mixed, soft, hard, mixed.lux or 1.0)
    return fit_split(readings_of(first), readings_of(second), both), mixed.lux


# --- inside -----------------------------------------------------------------------------------


def _counts(reading: PaperReading) -> bool:
    return reading.purpose is Purpose.CURVE and reading.how is not How.BY_EYE


def _both(mixed: PaperReading, soft: str, hard: str, lux: float) -> list[Reading]:
    return [
        Reading(
            (math.log10(point.doses_s[soft] * lux), math.log10(point.doses_s[hard] * lux)),
            point.density,
            index,
        )
        for index, point in enumerate(mixed.points, start=1)
        if not point.beyond
    ]
