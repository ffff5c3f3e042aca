"""Calibration sheets of imagined variable-contrast paper, read with a densitometer's noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from controller.paper.readings import Reading
from controller.ports import Filter
from sim.settings import PaperKind, PaperSettings
from sim.spectra import REFERENCE_K, glow
from sim.variable import VariablePaper

SOFT, HARD = Filter("00"), Filter("5")
LOW, HIGH = 0.04, 0.9  # density over white, part of the net range


@dataclass(frozen=True)
class Sheets:
    """The prescribed sheet: 21 soft, 21 hard and 15 mixed patches, and the paper it is of."""

    paper: VariablePaper
    soft: list[Reading]
    hard: list[Reading]
    mixed: list[Reading]

    def density(self, soft_lux_s: float, hard_lux_s: float) -> float:
        """Give what the paper itself makes of a pair of exposures."""
        return _density(self.paper, soft_lux_s, hard_lux_s)

    def ler(self, setting: Filter) -> float:
        """Give the log exposure range of one filter alone."""
        return self.paper.iso_range(self.paper.through(setting)) / 100.0


def a_variable_paper(random: np.random.Generator) -> VariablePaper:
    """Give a paper whose parts, curves, speed, white and black are of its own."""
    shares = np.array([0.25, 0.30, 0.45]) * random.uniform(0.7, 1.3, 3)
    return VariablePaper(
        PaperSettings(
            kind=PaperKind.VARIABLE,
            speed_p=float(10.0 ** random.uniform(1.8, 2.6)),
            part_gamma=float(random.uniform(3.0, 4.5)),
            part_toe=float(random.uniform(0.1, 0.2)),
            part_shoulder=float(random.uniform(0.1, 0.2)),
            part_green=(
                1.0,
                float(random.uniform(0.15, 0.40)),
                float(random.uniform(0.03, 0.10)),
            ),
            part_shares=tuple(float(each) for each in shares),
            d_min=float(random.uniform(0.03, 0.12)),
            d_max=float(random.uniform(1.7, 2.25)),
        ),
        glow(REFERENCE_K),
    )


def sheets_of(paper: VariablePaper, random: np.random.Generator, noise: float) -> Sheets:
    """Make the prescribed sheet of a paper; the ratios are about 1:3, 1:1 and 3:1 in effect."""
    soft_ends, hard_ends = (_ends(paper, each) for each in (SOFT, HARD))

    def read(soft_lux_s: float, hard_lux_s: float) -> float:
        return _density(paper, soft_lux_s, hard_lux_s) + float(random.normal(0.0, noise))

    def laid(ends: tuple[float, float]) -> np.ndarray:
        return np.linspace(ends[0] - 0.25, ends[1] + 0.3, 21) + random.uniform(-0.1, 0.1)

    mixed = []
    for hard_part in (0.25, 0.5, 0.75):
        for level in np.linspace(-0.5, 0.5, 5):
            soft_lux_s = 10.0 ** (sum(soft_ends) / 2 + level) * (1.0 - hard_part)
            hard_lux_s = 10.0 ** (sum(hard_ends) / 2 + level) * hard_part
            logs = (math.log10(soft_lux_s), math.log10(hard_lux_s))
            mixed.append(Reading(logs, read(soft_lux_s, hard_lux_s)))
    return Sheets(
        paper,
        [Reading((float(x),), read(10.0**x, 0.0)) for x in laid(soft_ends)],
        [Reading((float(x),), read(0.0, 10.0**x)) for x in laid(hard_ends)],
        mixed,
    )


def _ends(paper: VariablePaper, setting: Filter) -> tuple[float, float]:
    s, light = paper.settings, paper.through(setting)
    ends = (s.d_min + LOW, s.d_min + HIGH * (s.d_max - s.d_min))
    low, high = (math.log10(paper.exposure_for(each, light)) for each in ends)
    return low, high


def _density(paper: VariablePaper, soft_lux_s: float, hard_lux_s: float) -> float:
    exposure = paper.through(SOFT) * soft_lux_s + paper.through(HARD) * hard_lux_s
    return float(paper.developed(exposure))
