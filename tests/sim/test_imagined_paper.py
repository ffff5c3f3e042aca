from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.paper import Paper
from sim.settings import PaperSettings

papers = st.builds(
    PaperSettings,
    speed_p=st.floats(20, 1000),
    gamma=st.floats(0.8, 5),
    toe=st.floats(0.05, 0.3),
    shoulder=st.floats(0.05, 0.3),
    d_min=st.floats(0.03, 0.2),
    d_max=st.floats(1.4, 2.4),
)


@given(papers)
def test_density_only_grows_with_exposure_between_dmin_and_dmax(settings):
    """More light is never lighter, and the ends are Dmin and Dmax."""
    density = Paper(settings).density(np.logspace(-6, 6, 500))
    assert np.all(np.diff(density) >= -1e-12)
    assert density[0] == pytest.approx(settings.d_min, abs=2e-3)
    assert density[-1] == pytest.approx(settings.d_max, abs=1e-3)


@given(papers)
def test_the_speed_point_lies_at_its_iso_speed(settings):
    """Density 0.60 above Dmin at 1000 / P lux seconds."""
    paper = Paper(settings)
    at_hm = paper.density(1000.0 / settings.speed_p)
    assert float(at_hm) == pytest.approx(settings.d_min + 0.60, abs=1e-6)


def test_the_usual_paper_is_a_normal_one():
    """ISO range within 95 to 115, grade 2 of the old appendix (trade-facts section 3, M)."""
    assert 95 < Paper().iso_range() < 115


@given(st.floats(1.2, 4.0))
def test_the_straight_part_has_the_slope_asked_for(gamma):
    """The steepest slope over log exposure is gamma, within 6 %."""
    log_h = np.linspace(-2, 4, 3000)
    density = Paper(PaperSettings(gamma=gamma)).density(10**log_h)
    assert np.max(np.gradient(density, log_h)) == pytest.approx(gamma, rel=0.06)


def test_exposure_for_is_the_way_back():
    """The exposure found for a density gives that density; impossible ones are refused."""
    paper = Paper()
    assert float(paper.density(paper.exposure_for(0.8))) == pytest.approx(0.8, abs=1e-9)
    with pytest.raises(ValueError, match="is not between"):
        paper.exposure_for(3.0)


def test_reciprocity_failure_makes_dim_light_count_less():
    """I t^p: a thousandth of the light needs more than a thousand times as long, by I^(1/p)."""
    paper = Paper(PaperSettings(reciprocity=0.9, reciprocity_lux=1.0))
    rate = paper.rate(np.array([10.0, 1.0, 0.001]))
    assert rate[:2] == pytest.approx([10.0, 1.0])
    time_s = 1.0 / rate[2]
    assert 0.001 * time_s**0.9 == pytest.approx(1.0)
