from __future__ import annotations

import numpy as np
import pytest

from controller.ports import NewSheet
from sim.paper import Paper
from sim.settings import SimulatorSettings
from sim.wet import FULL, Trays, Wet, developed, grown_part
from sim.wet_settings import WetSettings, WetTimes
from sim.world import ImaginedWorld

PAPER = Paper()
WHITE, GREY, BLACK = 0.01, 5.0, 1e4  # lux seconds


def density(wet: Wet, lux_s: float) -> float:
    return float(developed(PAPER, np.array([[lux_s]]), wet)[0])


def world_density(wet: WetSettings | None) -> np.ndarray:
    world = ImaginedWorld(SimulatorSettings(wet=wet, tones=(0.3, 0.9, 1.6), placement_mm=0.0))
    world.do(0, NewSheet("K1", 120.0, 80.0))
    world.switch(1_000_000_000, "lamp", True)
    world.switch(9_000_000_000, "lamp", False)
    return world.develop(9_000_000_000)[0].density


def test_a_fresh_full_process_changes_nothing():
    """Trays that are said, but fresh and used in full, give the very figures of none at all."""
    assert np.array_equal(world_density(WetSettings()), world_density(None))


def test_a_print_snatched_early_lacks_its_blacks():
    """Half the time in the developer: blacks lower by 0.1 or more, whites not at all darker."""
    half = Wet(0.5, FULL.silver_left)
    assert density(FULL, BLACK) - density(half, BLACK) > 0.1
    assert density(half, GREY) < density(FULL, GREY)
    assert density(half, WHITE) == pytest.approx(density(FULL, WHITE), abs=0.01)


def test_development_goes_on_to_its_end():
    """The image grows all the time, is there not before it emerges, and then stays."""
    parts = [grown_part(degree) for degree in np.linspace(0.0, 1.5, 31)]
    assert parts == sorted(parts)
    assert parts[0] == parts[1] == 0.0
    assert parts[20] == parts[30] == pytest.approx(1.0)


@pytest.mark.parametrize(("celsius", "times"), [(16.0, 1.44), (24.0, 0.693), (26.0, 0.577)])
def test_a_developer_works_by_its_q10(celsius, times):
    """The time that a temperature asks for is that of the table of Q10 2.5 (trade-facts 9, D)."""
    trays = Trays(WetSettings(developer_c=celsius))
    assert 1.0 / trays.developer_activity == pytest.approx(times, rel=0.03)


def test_below_the_cold_a_developer_nearly_stops():
    """At 10 C hydroquinone does nothing more, which Q10 alone does not say."""
    assert Trays(WetSettings(developer_c=10.0)).developer_activity < 0.05


def test_developer_tires_with_paper():
    """At its capacity it takes half as long again, and a sheet of the usual time comes out thin."""
    tired = Trays(WetSettings(developer_used_m2=1.9))
    assert 1.0 / tired.developer_activity == pytest.approx(1.5)
    thin = tired.took("K1", 0.05)
    assert density(thin, BLACK) < density(FULL, BLACK) - 0.03


def test_each_sheet_takes_something_out_of_the_trays():
    """Of thirty sheets none is better developed or fixed than the one before it."""
    trays = Trays(WetSettings())
    went = [trays.took(f"K{n}", 0.0516) for n in range(30)]
    assert [w.degree for w in went] == sorted((w.degree for w in went), reverse=True)
    assert [w.silver_left for w in went] == sorted(w.silver_left for w in went)
    assert not went[0].under_fixed
    assert went[-1].under_fixed


def test_silver_that_was_left_stains_in_the_toner():
    """Half fixed and toned, whites stain by far more than a print shows that was only looked at."""
    trays = WetSettings(fixer_s=40.0)
    plain, toned = (
        Trays(trays.model_copy(update={"toned": t})).took("K1", 0.0) for t in (False, True)
    )
    white = density(FULL, WHITE)
    assert density(toned, WHITE) - white > 0.05
    assert 0.0 < density(plain, WHITE) - white < 0.02
    assert density(toned, BLACK) == pytest.approx(density(FULL, BLACK), abs=0.01)


def test_longer_fixing_helps_a_tired_fixer():
    """What a tired fixer leaves in its usual time is gone after twice that time."""
    tired = WetSettings(fixer_used_m2=0.5)
    assert Trays(tired).took("K1", 0.0).under_fixed
    own = tired.model_copy(update={"marks": {"K1": WetTimes(fixer_s=240.0)}})
    assert not Trays(own).took("K1", 0.0).under_fixed


def test_a_sheet_may_have_times_of_its_own():
    """A mark's own time counts for that sheet, and what it does not say is as for the others."""
    settings = WetSettings(fixer_s=30.0, marks={"K2": WetTimes(developer_s=30.0)})
    trays = Trays(settings)
    one, two = trays.took("K1", 0.0), trays.took("K2", 0.0)
    assert (one.degree, two.degree) == (1.0, 0.25)
    assert one.silver_left == two.silver_left


def test_a_hurried_print_shows_on_the_sheet():
    """In the room a hurried sheet has lighter shadows than one that had its time."""
    full, hurried = world_density(None), world_density(WetSettings(developer_s=50.0))
    assert hurried.max() < full.max() - 0.05


def test_a_sheet_forgotten_in_the_developer_fogs():
    """Four times as long as it needs: the whites are darker by a few hundredths, no more."""
    fog = density(Wet(4.0, FULL.silver_left), WHITE) - density(FULL, WHITE)
    assert 0.01 < fog < 0.05
