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
from controller.paper.solving import Tone, solve_split
from controller.paper.split import fit_split
from sim.paper import Paper
from sim.settings import PaperSettings
from tests.whole.imagined_sheets import HARD, SOFT, a_variable_paper, sheets_of

LONG = bool(os.environ.get("DRYSIDE_LONG"))
NOISE = 0.02  # density, each reading


def a_paper(random: np.random.Generator) -> Paper:
    """Give a graded paper of about grade 2 to 5: ISO ranges of 55 to 115.

    A softer one is known less well from one sheet, by whatever fit: its toe is long and flat.
    """
    return Paper(
        PaperSettings(
            speed_p=float(10.0 ** random.uniform(1.5, 2.8)),
            gamma=float(random.uniform(2.0, 3.6)),
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


def test_the_error_told_of_a_soft_filter_is_honest() -> None:
    """Through a soft filter the ISO range lies within twice its error in 85 of 100 papers.

    Its long curve is a sum of parts, and 21 patches alone do not always tell them apart.
    """
    papers = 100 if LONG else 4
    random = np.random.default_rng(40)
    good = 0
    for _ in range(papers):
        sheets = sheets_of(a_variable_paper(random), random, NOISE)
        fit = fit_curve(sheets.soft, "soft", filtered=True)
        error = fit.error_of(lambda curve: points_of(curve).ler)
        good += abs(points_of(fit.curve).ler - sheets.ler(SOFT)) <= 2.0 * error < 0.5
    print(f"{good} of {papers} papers")
    assert good >= (85 if LONG else 2)


def test_two_tones_are_hit_on_paper_that_the_fit_never_saw() -> None:
    """From the full sheet read to 0.02 both tones come out within 0.04, in 95 of 100 papers.

    And the ISO range of soft light alone, which its own patches tell badly, is known to 5.
    """
    papers = 100 if LONG else 4
    random = np.random.default_rng(30)
    good = 0
    for _ in range(papers):
        sheets = sheets_of(a_variable_paper(random), random, NOISE)
        fit = fit_split(sheets.soft, sheets.hard, sheets.mixed)
        s = sheets.paper.settings
        # a picture that neither light alone would fit
        span = random.uniform(1.1 * sheets.ler(HARD), 0.85 * sheets.ler(SOFT))
        light = Tone(0.2, s.d_min + random.uniform(0.04, 0.15))
        dark_density = s.d_min + random.uniform(0.8, 0.92) * (s.d_max - s.d_min)
        dark = Tone(0.2 * 10.0**span, dark_density)
        doses = solve_split(fit.paper, light, dark)
        soft_ler = points_of(fit.paper.mixed(0.0)).ler
        good += abs(soft_ler - sheets.ler(SOFT)) <= 0.05 and all(
            abs(sheets.density(t.lux * doses.soft_dose_s, t.lux * doses.hard_dose_s) - t.density)
            <= 0.04
            for t in (light, dark)
        )
    print(f"{good} of {papers} papers")
    assert good >= (95 if LONG else 4)
