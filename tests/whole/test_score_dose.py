"""A whole score: every region of the imagined print gets the dose that was planned for it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.plan import Plan
from controller.rig.file import load_rig
from controller.rig.lights import around
from controller.score.convert import Wanted, convert
from controller.score.doses import region_doses
from controller.score.model import Score
from controller.score.new import demonstration
from controller.score.plan import plan_score, plan_trial
from controller.strips.cross import Cross, Steps, cells_of, plan_cross
from sim.sheet import DevelopedSheet
from tests.whole.imagined_unit import carry_out
from ui.read_sheet import inside_box, on_regions

ROOM = (
    'simulator.paper={kind="variable"}',
    "simulator.negative=scene",
    "simulator.shade_soft_mm=8",
)
SCORE = demonstration()
EVEN = ("sky", "cloud", "tower", "rock", "quay", "house", "door")  # regions without detail
LIT_S = 39.0  # about as long as the lamp burns for it


def plan_of(score: Score, rig_name: str) -> Plan:
    rig = load_rig(rig_name)
    return plan_score(score, rig.calibration(), rig.limits(), around(rig))


def worst_stops(score: Score, sheet: DevelopedSheet, place: str = "") -> float:
    """Give by how many stops the worst region missed what was planned for it."""
    found = on_regions(score, sheet)
    errors = [
        abs(math.log2(found[name].delivered_dose_s[light] / dose_s))
        for name, doses in region_doses(score).items()
        for light, dose_s in doses.items()
        if name in found and place in ("", name)
    ]
    assert errors
    return max(errors)


@pytest.mark.parametrize("rig_name", ["tungsten", "halogen", "led"])
def test_two_passes_three_burns_and_two_dodges_reach_every_region(rig_name: str) -> None:
    """Each region of the demonstration has its dose under each filter within 0.02 stop."""
    assert (len(SCORE.passes), len(SCORE.burns), len(SCORE.dodges)) == (2, 3, 2)
    made = carry_out(plan_of(SCORE, rig_name), rig_name, *ROOM)
    assert worst_stops(SCORE, made.sheets[-1]) < 0.02


@settings(max_examples=12, deadline=None)
@given(st.lists(st.floats(0.3, LIT_S), min_size=10, max_size=10), st.integers(0, 10_000))
def test_ten_pauses_at_any_moment_change_nothing(pauses: list[float], seed: int) -> None:
    """Paused and resumed ten times, in passes, burns and in the middle of dodges: 0.02 stop."""
    pause_at = ", ".join(f"{at:.3f}" for at in sorted(pauses))
    made = carry_out(
        plan_of(SCORE, "tungsten"),
        "tungsten",
        *ROOM,
        f"simulator.seed={seed}",
        f"simulator.hands.pause_at=[{pause_at}]",
    )
    assert worst_stops(SCORE, made.sheets[-1]) < 0.02


def test_hands_that_do_nothing_miss_their_regions() -> None:
    """Without its handwork the print misses regions by far: the check above is not blind."""
    bare = SCORE.model_copy(update={"burns": (), "dodges": ()})
    made = carry_out(plan_of(bare, "tungsten"), "tungsten", *ROOM)
    assert worst_stops(SCORE, made.sheets[-1]) > 0.2


def test_several_sheets_come_out_alike_in_either_order() -> None:
    """Three prints in a row, the second backwards: each region of each within 0.02 stop."""
    rig = load_rig("tungsten")
    plan = plan_score(SCORE, rig.calibration(), rig.limits(), around(rig), sheets=3, alternate=True)
    made = carry_out(plan, "tungsten", *ROOM)
    assert len(made.sheets) == 3
    assert max(worst_stops(SCORE, sheet) for sheet in made.sheets) < 0.02


def test_a_trial_piece_on_the_door_is_the_door_of_the_print() -> None:
    """The piece has the door's doses, and within 0.03 the density that the print has there."""
    rig = load_rig("tungsten")
    plan = plan_trial(
        SCORE, "door", rig.calibration(), rig.limits(), around(rig), size_mm=(40.0, 30.0)
    )
    piece = carry_out(plan, "tungsten", *ROOM).sheets[-1]
    assert worst_stops(SCORE, piece, "door") < 0.02
    sheet = carry_out(plan_of(SCORE, "tungsten"), "tungsten", *ROOM).sheets[-1]
    printed, tried = (on_regions(SCORE, each)["door"].density for each in (sheet, piece))
    assert tried == pytest.approx(printed, abs=0.03)


def test_each_cell_of_a_cross_has_both_its_doses() -> None:
    """Five soft steps by four hard ones: both doses of every cell within 0.01 stop of its label."""
    cross = Cross(
        soft=Steps(filter="00", base_s=8, steps=5), hard=Steps(filter="5", base_s=4, steps=4)
    )
    rig = load_rig("tungsten")
    plan = plan_cross(cross, rig.calibration(), rig.limits(), around(rig))
    sheet = carry_out(plan, "tungsten", *ROOM).sheets[-1]
    cells = cells_of(cross)
    assert len(cells) == 20
    for cell in cells:
        left, top = (cell.column - 1) / 5, "ABCD".index(cell.row) / 4
        light, _ = inside_box(sheet, left, top, left + 1 / 5, top + 1 / 4)
        assert abs(math.log2(light["00"] / cell.soft_s)) < 0.01, cell
        assert abs(math.log2(light["5"] / cell.hard_s)) < 0.01, cell


@pytest.mark.parametrize("to_m", [2.5, 5.0, 7.3])
def test_another_size_gives_the_same_tones_under_the_simulators_own_lens(to_m: float) -> None:
    """A converted score at another magnification keeps every even tone within 0.03.

    The simulator's optics know image distance and pupils, and nothing of the formula.
    """
    from_m = 254.0 / 70.0
    lens = f"simulator.easel_magnification={from_m}"
    before = carry_out(plan_of(SCORE, "led"), "led", *ROOM, lens).sheets[-1]
    size = (70.0 * to_m, 56.0 * to_m)
    wanted = Wanted(from_magnification=from_m, to_magnification=to_m, size_mm=size)
    larger = convert(SCORE, wanted).score
    head = (lens, f"simulator.magnification={to_m}")
    after = carry_out(plan_of(larger, "led"), "led", *ROOM, *head, "simulator.cell_mm=2").sheets[-1]
    tones = on_regions(SCORE, before), on_regions(larger, after)
    for name in EVEN:
        assert tones[1][name].density == pytest.approx(tones[0][name].density, abs=0.03), name
