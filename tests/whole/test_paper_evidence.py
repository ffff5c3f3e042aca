"""Evidence: sheets of imagined papers, read with noise, against what those papers are.

The imagined paper bends by another law than the fitted curve, and knows nothing of the fit.
``DRYSIDE_LONG=1`` runs the full hundred.
"""

from __future__ import annotations

import math
import os

import numpy as np

from controller.paper.fit import fit_curve
from controller.paper.iso import points_of
from controller.paper.readings import Reading
from sim.paper import Paper
from sim.settings import PaperSettings

LONG = bool(os.environ.get("DRYSIDE_LONG"))
NOISE = 0.02  # density, each reading


def a_paper(random: np.random.Generator) -> Paper:
    """Give a graded paper of about grade 1 to 5: ISO ranges of 55 to 130."""
    return Paper(
        PaperSettings(
            speed_p=float(10.0 ** random.uniform(1.5, 2.8)),
            gamma=float(random.uniform(1.8, 3.6)),
            toe=float(random.uniform(0.10, 0.20)),
            shoulder=float(random.uniform(0.12, 0.26)),
            d_min=float(random.uniform(0.03, 0.12)),
            d_max=float(random.uniform(1.6, 2.25)),
        )
    )


def sheet_of(paper: Paper, random: np.random.Generator) -> list[Reading]:
    """Give 21 patches a third of a stop apart, laid about the paper's range as a strip found it."""
    s = paper.settings
    ends = (s.d_min + 0.04, s.d_min + 0.9 * (s.d_max - s.d_min))
    middle = sum(math.log10(paper.exposure_for(each)) for each in ends) / 2 + 0.1
    at = middle + random.uniform(-0.15, 0.15) + np.linspace(-1.0, 1.0, 21)
    densities = paper.density(10.0**at) + random.normal(0.0, NOISE, 21)
    return [Reading((float(x),), float(d)) for x, d in zip(at, densities, strict=True)]


def test_range_and_speed_of_imagined_papers_are_found() -> None:
    """ISO range within 5 and speed within 0.05 stop, in 95 of 100 papers read to 0.02."""
    papers = 100 if LONG else 16
    random = np.random.default_rng(20)
    good = 0
    for _ in range(papers):
        paper = a_paper(random)
        points = points_of(fit_curve(sheet_of(paper, random), "sheet").curve)
        off_stops = (points.log_hm - math.log10(1000.0 / paper.settings.speed_p)) / math.log10(2.0)
        good += abs(100.0 * points.ler - paper.iso_range()) <= 5.0 and abs(off_stops) <= 0.05
    print(f"{good} of {papers} papers")
    assert good >= (95 if LONG else 14)
