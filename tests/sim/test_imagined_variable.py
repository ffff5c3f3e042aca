"""Variable-contrast paper behind filters: what trade-facts sections 3 and 7 say of it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from controller.ports import Filter, NewSheet
from sim.filters import FILTERS, counted_as, transmittance
from sim.picture import Bands
from sim.settings import PaperSettings, SimulatorSettings
from sim.sheet import Sheet
from sim.spectra import NM, glow, hump
from sim.variable import VariablePaper
from sim.world import ImaginedWorld, paper_of

PAPER = VariablePaper(PaperSettings(kind="variable"), glow(2800.0))
SOFT, HARD = PAPER.through(Filter("00")), PAPER.through(Filter("5"))
TONES = tuple(float(lux) for lux in 4.0 * 10.0 ** -np.linspace(0.1, 1.9, 12))


def stops_more_than_none(name: str, paper: VariablePaper = PAPER) -> float:
    return math.log2(paper.speed(paper.unfiltered) / paper.speed(paper.through(Filter(name))))


def sheet_of(*exposures: tuple[np.ndarray, float]) -> np.ndarray:
    laid = Sheet(NewSheet("K1", 24.0, 2.0), PAPER, Bands(TONES), 1.0)
    for through, dose_s in exposures:
        laid.expose(dose_s, dose_s, 0.0, through=through)
    return laid.develop().density


doses = st.floats(0.3, 60.0)


@given(doses, doses)
def test_soft_then_hard_is_hard_then_soft(soft_s, hard_s):
    """Each part of the emulsion sums its light; the order is not seen."""
    one = sheet_of((SOFT, soft_s), (HARD, hard_s))
    other = sheet_of((HARD, hard_s), (SOFT, soft_s))
    assert one == pytest.approx(other, abs=1e-9)


@given(doses, doses, st.floats(-2.0, 2.0))
def test_both_times_longer_move_every_tone_and_keep_the_contrast(soft_s, hard_s, stops):
    """Times 2^s: what 2^s less light would have given, and the same ISO range."""
    mixed = SOFT * soft_s + HARD * hard_s
    factor = 2.0**stops
    lux = np.logspace(-3, 1, 9)
    longer = PAPER.developed(np.outer(mixed * factor, lux))
    assert longer == pytest.approx(PAPER.developed(np.outer(mixed, lux * factor)), abs=1e-9)
    assert PAPER.iso_range(mixed * factor) == pytest.approx(PAPER.iso_range(mixed), abs=1e-6)
    moved = math.log2(PAPER.exposure_for(0.66, mixed) / PAPER.exposure_for(0.66, mixed * factor))
    assert moved == pytest.approx(stops, abs=1e-6)


def test_the_harder_the_share_the_shorter_the_range():
    """From soft alone to hard alone, the range only falls, and its ends are the filters' own."""
    ratios = np.arange(-14.0, 14.1, 0.5)
    ranges = [PAPER.iso_range(SOFT + HARD * 2.0**x) for x in ratios]
    assert np.all(np.diff(ranges) < 0)
    assert ranges[0] == pytest.approx(PAPER.iso_range(SOFT), abs=0.5)
    assert ranges[-1] == pytest.approx(PAPER.iso_range(HARD), abs=0.5)


@pytest.mark.parametrize("lamp", ["tungsten", "halogen", "led"])
def test_each_higher_filter_is_harder_in_any_light(lamp):
    """Twelve filters in half steps, each with a shorter range than the last."""
    paper = paper_of(SimulatorSettings(lamp=lamp, paper={"kind": "variable"}))
    assert isinstance(paper, VariablePaper)
    ranges = [paper.iso_range(paper.through(Filter(name))) for name in FILTERS]
    assert len(ranges) == 12
    assert np.all(np.diff(ranges) < -0.5)


@pytest.mark.parametrize(
    ("name", "sheet"),
    [("00", 180), ("0", 160), ("1", 130), ("2", 110), ("3", 90), ("4", 60), ("5", 40)],
)
def test_ranges_are_about_those_of_a_data_sheet(name, sheet):
    """Within 20 of one maker's technical sheet (trade-facts section 3, from memory of it)."""
    assert PAPER.iso_range(PAPER.through(Filter(name))) == pytest.approx(sheet, abs=20)


@pytest.mark.parametrize("name", FILTERS)
def test_soft_and_medium_filters_need_a_stop_and_hard_ones_two(name):
    """00 to 3 1/2 one stop over no filter, 4 to 5 two (trade-facts section 7)."""
    hard = name[0] in "45"
    assert stops_more_than_none(name) == pytest.approx(2.0 if hard else 1.0, abs=0.12)


def test_a_filter_change_turns_the_curve_about_the_mid_tone():
    """At one dose density 0.60 stays while highlights and shadows move apart."""
    soft, hard = PAPER.through(Filter("0")), PAPER.through(Filter("3"))
    lux_s = PAPER.exposure_for(0.66, soft) * 10.0 ** np.array([-0.4, 0.0, 0.4])
    lighter, same, darker = PAPER.developed(np.outer(hard, lux_s)) - PAPER.developed(
        np.outer(soft, lux_s)
    )
    assert lighter < -0.03
    assert same == pytest.approx(0.0, abs=0.04)
    assert darker > 0.2


def test_blue_light_meets_one_paper_and_green_meets_several():
    """Blue: as steep as any part. Green: the parts' green speeds lie apart, and so do they."""
    blue_filter = PAPER.through(Filter("", magenta=600.0))
    assert np.ptp(np.log10(blue_filter)) < 0.02
    green = PAPER.through(Filter("", yellow=600.0))
    assert np.log10(green / green[0]) == pytest.approx(np.log10([1.0, 0.25, 0.055]), abs=0.1)


def test_red_light_does_nothing():
    """At 620 nm paper sees less than a hundredth of what it sees in the blue."""
    red = VariablePaper(PaperSettings(kind="variable"), hump(620.0, 0.1, 0.1))
    blue = VariablePaper(PaperSettings(kind="variable"), hump(450.0, 0.1, 0.1))
    assert red.unfiltered.max() < 1e-2 * blue.unfiltered.max()


@given(st.floats(20, 1000))
def test_the_speed_is_that_of_unfiltered_light(speed_p):
    """Density 0.60 above Dmin at 1000 / P lux seconds of an opal bulb."""
    paper = VariablePaper(PaperSettings(kind="variable", speed_p=speed_p), glow(2800.0))
    at_hm = paper.developed(paper.unfiltered[:, None] * np.array([1000.0 / speed_p]))
    assert float(at_hm[0]) == pytest.approx(0.66, abs=1e-6)


def test_no_tone_is_lost_between_the_parts():
    """Even the softest filter's curve rises all the way: no step in the picture."""
    log_h = np.log10(PAPER.exposure_for(0.18, SOFT)), np.log10(PAPER.exposure_for(1.89, SOFT))
    at = np.linspace(*log_h, 200)
    slope = np.gradient(PAPER.developed(np.outer(SOFT, 10.0**at)), at)
    assert slope.min() > 0.6


@given(st.floats(0.0, 200.0), st.floats(0.0, 30.0))
def test_more_yellow_is_softer_and_slower(yellow, more):
    """A colour head without magenta: the range grows and the speed falls."""
    less_dye, more_dye = (
        PAPER.through(Filter("", yellow=setting)) for setting in (yellow, yellow + more)
    )
    assert PAPER.iso_range(more_dye) >= PAPER.iso_range(less_dye) - 1e-6
    assert PAPER.speed(more_dye) <= PAPER.speed(less_dye) * (1 + 1e-9)


def test_names_are_understood_as_people_write_them():
    """2½, 2.5 and 2 1/2 are one filter; what is not known takes nothing."""
    two_and_a_half = transmittance(Filter("2 1/2"))
    for name in ("2½", "2.5"):
        assert transmittance(Filter(name)).tolist() == two_and_a_half.tolist()
    for name in ("½", "0.5"):
        assert transmittance(Filter(name)).tolist() == transmittance(Filter("1/2")).tolist()
    for name in ("none", "", "orange"):
        assert transmittance(Filter(name)).tolist() == [1.0] * len(NM)
    assert counted_as(Filter("2½")) == "2½"


def test_the_world_prints_by_filter():
    """Through its lamp: the same dose is a stop denser behind 2 than behind 5."""
    exposures = {}
    for name in ("2", "5"):
        settings = SimulatorSettings(paper={"kind": "variable"}, tones=(0.5,))
        world = ImaginedWorld(settings)
        world.do(0, NewSheet("K1", 10.0, 10.0))
        world.do(1, Filter(name))
        world.switch(10**9, "lamp", True)
        world.switch(11 * 10**9, "lamp", False)
        (developed,) = world.develop(12 * 10**9)
        assert list(developed.delivered_s) == [name]
        exposures[name] = developed.patches[0].exposure_lux_s
    assert 0.8 < math.log2(exposures["2"] / exposures["5"]) < 1.6


def test_parts_need_both_figures():
    """As many shares as green speeds."""
    with pytest.raises(ValidationError, match="each part needs one of both"):
        PaperSettings(part_green=(1.0, 0.1))
