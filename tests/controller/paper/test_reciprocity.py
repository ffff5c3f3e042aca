"""Reciprocity failure: found where one dose was given long and short, else refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from controller.errors import BadInput, Refused
from controller.paper.readings import Reading, read_lux_and_seconds
from controller.paper.reciprocity import corrected_s, fit_reciprocity
from sim.paper import Paper
from sim.settings import PaperSettings

BRIGHT, DIM = 0.5, 0.05  # lux; the imagined paper's failure begins below 0.5


def rows(p: float, noise: float = 0.0) -> list[Reading]:
    """Give eleven doses in bright light and the same in a tenth of it, on an imagined paper."""
    paper = Paper(PaperSettings(reciprocity=p))
    random = np.random.default_rng(3)
    readings = []
    for lux in (BRIGHT, DIM):
        for lux_s in 10.0 ** np.linspace(0.2, 1.7, 11):
            counted = float(paper.rate(np.array([lux]))[0]) * lux_s / lux
            density = float(paper.density(counted)) + float(random.normal(0.0, noise))
            readings.append(Reading((math.log10(lux), math.log10(lux_s / lux)), density))
    return readings


@pytest.mark.parametrize("p", [0.88, 0.95, 1.0])
def test_the_exponent_of_an_imagined_paper_is_found(p: float) -> None:
    """From 22 patches read to 0.02 the exponent is known to 0.03, and its error is honest."""
    found = fit_reciprocity(rows(p, noise=0.02), "rows")
    assert found.exponent == pytest.approx(p, abs=0.03)
    assert abs(found.exponent - p) < 3.0 * found.error
    assert found.is_told == (p < 0.99)


def test_a_time_is_corrected_about_its_reference() -> None:
    """With 0.95, 40 s become 43.03 s about 10 s, and 10 s stay."""
    assert corrected_s(40.0, 0.95) == pytest.approx(43.03, abs=0.005)
    assert corrected_s(10.0, 0.95) == pytest.approx(10.0)
    assert corrected_s(40.0, 1.0) == pytest.approx(40.0)


def test_one_lux_alone_tells_nothing() -> None:
    """A single row of patches is refused, with what would tell it."""
    with pytest.raises(Refused, match="long and short"):
        fit_reciprocity(rows(0.9)[:11], "rows")


def test_a_file_has_lux_and_seconds(tmp_path: Path) -> None:
    """Lux and seconds become logarithms; none of them is 0."""
    file = tmp_path / "r.csv"
    file.write_text("lux,dose_s,density\n0.5,20,0.4\n")
    assert read_lux_and_seconds(file)[0].log_exposures == pytest.approx((-0.30103, 1.30103))
    file.write_text("lux,dose_s,density\n0,20,0.4\n")
    with pytest.raises(BadInput, match="line 2"):
        read_lux_and_seconds(file)
