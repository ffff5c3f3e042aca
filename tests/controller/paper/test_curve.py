"""The characteristic curve: rises everywhere, and is turned round exactly."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.paper.curve import Curve

CURVES = st.builds(
    Curve,
    d_min=st.floats(0.0, 0.3),
    d_max=st.floats(1.2, 2.6),
    foot=st.floats(-3.0, 3.0),
    slope=st.floats(0.5, 6.0),
    toe=st.floats(0.03, 0.8),
    shoulder=st.floats(0.03, 0.8),
    later=st.floats(0.0, 1.5),
    later_share=st.floats(0.0, 0.9),
)


@settings(max_examples=60, deadline=None)
@given(CURVES)
def test_more_light_is_never_lighter(curve: Curve) -> None:
    """Whatever its parameters, a curve rises from its white to its black."""
    at = curve.foot + np.linspace(-20.0, 30.0, 2001)
    densities = curve.densities(at)
    assert (np.diff(densities) >= -1e-12).all()
    assert densities[0] == pytest.approx(curve.d_min, abs=1e-6)
    assert densities[-1] == pytest.approx(curve.d_max, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(CURVES, st.floats(0.01, 0.99))
def test_a_density_leads_back_to_its_exposure(curve: Curve, part: float) -> None:
    """The exposure found for a density gives that density."""
    wanted = curve.d_min + part * curve.net_range
    assert curve.density(curve.log_exposure(wanted)) == pytest.approx(wanted, abs=1e-6)


def test_a_density_that_paper_has_not_is_refused() -> None:
    """Neither paper white nor full black is reached by any exposure."""
    curve = Curve(0.06, 2.1, 0.0, 2.0, 0.2, 0.25)
    for density in (0.06, 2.1, 3.0, float("nan")):
        with pytest.raises(ValueError, match="not between"):
            curve.log_exposure(density)


def test_a_curve_is_kept_as_numbers() -> None:
    """What was kept of a curve makes the same curve again."""
    curve = Curve(0.06, 2.1, 0.3, 2.0, 0.2, 0.25, 0.5, 0.4)
    assert Curve.from_numbers(curve.as_numbers()) == curve


def test_a_shifted_curve_wants_so_much_more_light() -> None:
    """Shifted by 0.3 log units each density wants twice the exposure."""
    curve = Curve(0.06, 2.1, 0.3, 2.0, 0.2, 0.25)
    assert curve.shifted(0.3).log_exposure(1.0) == pytest.approx(curve.log_exposure(1.0) + 0.3)
