"""Tones told before any paper is used: what is typed, and what lies beneath a strip."""

from __future__ import annotations

import math

import pytest

from controller.boxes.answers import EachFilter
from controller.boxes.preview import light_asked, regions_asked, tones_of
from controller.errors import BadInput, Refused
from controller.paper.curve import Curve
from controller.strips.strip import Beneath, Strip

CURVE = Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2)
PAPER = EachFilter({"2": CURVE})
STRIP = Strip(base_s=8, filter="2", patches=3)


def test_a_patch_gets_what_lies_beneath_it_too():
    """Each tone is the curve's at lux times the patch's seconds and those beneath."""
    beneath = STRIP.model_copy(update={"beneath": (Beneath(filter="2", dose_s=4.0),)})
    first, *_ = tones_of(PAPER, beneath, 0.5, absolute=True)
    assert first.density == pytest.approx(CURVE.density(math.log10(12.0 * 0.5)))
    known = tones_of(PAPER, STRIP, ("b", 0.4), absolute=False)
    assert known[1].density == pytest.approx(0.4, abs=1e-6)
    assert known[0].density < 0.4 < known[2].density


def test_light_and_regions_are_read_as_they_are_typed():
    """Lux, or a patch and its density; regions with commas between them."""
    assert light_asked("0.4") == 0.4
    assert light_asked("C=0.30") == ("C", 0.30)
    assert regions_asked("sky=0.3, old house=0.9") == {"sky": 0.3, "old house": 0.9}


@pytest.mark.parametrize("text", ["", "much", "-1", "=0.3", "C=", "nan"])
def test_what_is_no_light_is_refused(text: str):
    """One sentence with what would be right."""
    with pytest.raises(BadInput, match=r"such as 0\.4"):
        light_asked(text)


def test_what_no_curve_counts_is_refused():
    """Lux for paper measured in seconds, a flash, a patch that is not there."""
    with pytest.raises(Refused, match="seconds alone"):
        tones_of(PAPER, STRIP, 0.5, absolute=False)
    with pytest.raises(BadInput, match="no patch"):
        tones_of(PAPER, STRIP, ("F", 0.4), absolute=True)
    flash = STRIP.model_copy(update={"beneath": (Beneath(dose_s=1.0, bare=True),)})
    with pytest.raises(Refused, match="flash"):
        tones_of(PAPER, flash, 0.5, absolute=True)
