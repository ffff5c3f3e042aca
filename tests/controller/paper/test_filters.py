"""A set of filters: factors, shared speed points, and what does not fit."""

from __future__ import annotations

import numpy as np
import pytest

from controller.errors import BadInput
from controller.paper.curve import Curve
from controller.paper.filters import compare
from controller.paper.fit import Fit, fit_curve
from controller.paper.readings import Reading


def fit_of(slope: float, log_hm: float, d_max: float = 2.1) -> Fit:
    """Give the fit of a clean sheet of a paper with so steep a curve and such a speed point."""
    curve = Curve(0.06, d_max, 0.0, slope, 0.25, 0.3)
    curve = curve.shifted(log_hm - curve.log_exposure(0.66))
    at = log_hm + np.linspace(-0.8, 1.5, 24)
    return fit_curve([Reading((float(x),), curve.density(float(x))) for x in at], "sheet")


def test_factors_and_shared_speed_points() -> None:
    """Filters 1 and 3 share a speed point, and 5 needs twice their light."""
    found = compare(
        {"1": fit_of(1.6, 0.7), "3": fit_of(2.4, 0.71), "5": fit_of(3.6, 1.0)}, reference="1"
    )
    factors = {each.name: each.factor for each in found.filters}
    assert factors["5"] == pytest.approx(2.0, abs=0.06)
    assert found.shared == (("1", "3"),)
    assert [each.name for each in found.filters] == ["1", "3", "5"]
    assert found.hints == ()


def test_exchanged_filters_are_noticed() -> None:
    """A harder curve under the softer name is told."""
    found = compare({"1": fit_of(2.6, 0.7), "3": fit_of(1.6, 0.7)}, reference="1")
    assert any("3 is softer than 1" in hint for hint in found.hints)


def test_another_black_and_light_metered_otherwise_are_noticed() -> None:
    """A black that differs by 0.3, and speeds three stops apart, are each told."""
    found = compare({"1": fit_of(1.6, 0.7), "3": fit_of(2.4, 1.7, 1.8)}, reference="1")
    assert any("the black of 3 is 1.8" in hint for hint in found.hints)
    assert any("3.3 stops apart" in hint for hint in found.hints)


def test_the_same_range_twice_is_noticed() -> None:
    """Two filters of one range cannot be told apart."""
    found = compare({"2": fit_of(2.0, 0.7), "2 1/2": fit_of(2.0, 0.7)}, reference="2")
    assert any("cannot be told apart" in hint for hint in found.hints)


def test_the_reference_must_be_there() -> None:
    """Factors against a filter that is none of the set are refused."""
    with pytest.raises(BadInput, match="no filter '4'"):
        compare({"2": fit_of(2.0, 0.7)}, reference="4")
