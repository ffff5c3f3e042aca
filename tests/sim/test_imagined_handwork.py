"""Tools in the beam: cards with a hole and wands, as areas of the picture and in time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.ports import Cue, Filter, Move, NewSheet, Shade, Sound, Wants
from sim.hands import Done, Operator
from sim.paper import Paper
from sim.picture import Bands, Lie
from sim.replay import read_done, replay, write_done
from sim.scene import scene_regions
from sim.settings import HandsSettings, SimulatorSettings
from sim.shades import Shades, covered
from sim.sheet import Sheet
from sim.world import ImaginedWorld

S = 1_000_000_000
ROOM = SimulatorSettings(relay="ideal", lamp="led", soft_start_s=0.0, tones=(0.5,))
LEFT = ("##..", "##..")
MIDDLE = (".##.", ".##.")
TOP = ("####", "....")


def wand(name: str, area=(), *, held: bool = True) -> Shade:
    return Shade("wand", name, area, held)


def sheet() -> Sheet:
    return Sheet(NewSheet("K1", 80.0, 40.0), Paper(), Bands((1.0,)), 1.0)


def dose_at(developed, name: str = "none") -> dict[float, float]:
    """Give the light in the middle row by the distance from the left edge."""
    row = developed.delivered_s[name][10]
    return {x: round(float(row[x]), 9) for x in (5, 30, 50, 75)}


def test_a_card_with_a_hole_lights_its_area_alone():
    """Light through the hole falls on the area; a few mm beyond it nothing does."""
    laid = sheet()
    laid.expose(10.0, 10.0, 0.0)
    shades = Shades()
    shades.take(Shade("card", "sky", TOP))
    laid.shade(shades)
    laid.expose(4.0, 4.0, 0.0)
    column = laid.develop().delivered_s["none"][:, 40]
    assert column[:18].tolist() == pytest.approx([14.0] * 18)
    assert column[22:].tolist() == pytest.approx([10.0] * 18)
    assert 10.0 < column[19] < 14.0


def test_one_card_at_a_time():
    """A new card takes the place of the old; taken away, light falls everywhere again."""
    laid, shades = sheet(), Shades()
    for card in (
        Shade("card", "left", LEFT),
        Shade("card", "middle", MIDDLE),
        Shade("card", "middle", held=False),
    ):
        shades.take(card)
        laid.shade(shades)
        laid.expose(1.0, 1.0, 0.0)
    assert dose_at(laid.develop()) == {5: 2.0, 30: 3.0, 50: 2.0, 75: 1.0}


def test_wands_that_overlap_hold_back_light_once():
    """Where two lie over each other nothing more than all light is kept away."""
    laid, shades = sheet(), Shades()
    for tool in (wand("door", LEFT), wand("tower", MIDDLE), wand("door", held=False)):
        shades.take(tool)
        laid.shade(shades)
        laid.expose(1.0, 1.0, 0.0)
    assert dose_at(laid.develop()) == {5: 1.0, 30: 0.0, 50: 1.0, 75: 3.0}


def test_a_tool_stands_over_the_picture_while_the_paper_is_slid():
    """The same spot under the window for every patch: a wand over that spot holds all back."""
    laid, shades = sheet(), Shades()
    shades.take(wand("middle", (".##.",)))
    laid.shade(shades)
    for position in range(4):
        laid.move(Move("paper", position, 4))
        laid.expose(1.0, 1.0, 0.0)
    assert [patch.delivered_s for patch in laid.develop().patches] == [0.0] * 4


@given(st.floats(0.0, 10.0))
def test_a_soft_edge_takes_from_one_side_what_it_gives_to_the_other(soft_mm):
    """An area and the rest of the picture make the whole; the edge is as wide as asked for."""
    x_mm, y_mm = np.arange(0.05, 80.0, 0.1), np.array([20.0])
    lie = Lie(0.0, 0.0, 80.0, 40.0)
    left = covered(("##..",), x_mm, y_mm, lie, soft_mm)[0]
    right = covered(("..##",), x_mm, y_mm, lie, soft_mm)[0]
    assert left + right == pytest.approx(1.0)
    assert np.all(np.diff(left) <= 1e-12)
    between = np.count_nonzero((left > 1e-9) & (left < 1 - 1e-9)) * 0.1
    assert between == pytest.approx(soft_mm, abs=0.25)


def test_an_area_without_rows_is_nothing_and_short_rows_are_filled_up():
    """What is not drawn does not belong to it."""
    at, lie = np.array([10.0, 30.0]), Lie(0.0, 0.0, 40.0, 40.0)
    assert covered((), at, at, lie, 1.0).tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert covered(("#", "##"), at, at, lie, 1.0).tolist() == [[1.0, 0.0], [1.0, 1.0]]


def world_with(*jobs, on_s: float = 10.0):
    """Light for so long; ``jobs`` are seconds after lamp-on and what hands do then."""
    world = ImaginedWorld(ROOM)
    world.do(0, NewSheet("K1", 80.0, 40.0))
    world.switch(10 * S, "lamp", True)
    for at_s, job in jobs:
        world.do(10 * S + round(at_s * S), job)
    world.switch(10 * S + round(on_s * S), "lamp", False)
    return world.develop(60 * S)[0]


def test_a_wand_holds_back_its_own_time_however_often_it_comes():
    """Dose minus the time held: in and out and in again, another one beside it."""
    developed = world_with(
        (1.0, wand("door", LEFT)),
        (3.0, wand("door", held=False)),
        (4.0, wand("tower", MIDDLE)),
        (5.0, wand("door", LEFT)),
        (5.5, wand("door", held=False)),
        (7.0, wand("tower", held=False)),
    )
    assert dose_at(developed) == {5: 7.5, 30: 5.0, 50: 7.0, 75: 10.0}


def test_light_is_counted_by_the_filter_it_came_through():
    """Soft and hard, and a head's settings, each under its own name."""
    developed = world_with(
        (2.0, Filter("00")),
        (5.0, Filter("5")),
        (6.0, Filter("", yellow=60.0)),
        (8.0, Filter("none")),
    )
    assert {name: round(float(s[0, 0]), 9) for name, s in developed.delivered_s.items()} == {
        "none": 4.0,
        "00": 3.0,
        "5": 1.0,
        "60Y 0M": 2.0,
    }
    assert developed.patches[0].delivered_s == pytest.approx(10.0)


def test_cells_within_an_area_keep_away_from_its_edges():
    """What is read of a region is not read in the penumbra."""
    developed = world_with((1.0, wand("door", LEFT)))
    for margin_mm in (None, 2.0):  # half of a soft edge of 2 mm and a cell
        inside = developed.within(LEFT, margin_mm=margin_mm)
        assert np.nonzero(inside[10])[0].tolist() == list(range(38))
    assert developed.delivered_s["none"][inside].tolist() == pytest.approx([1.0] * 38 * 40)


def test_a_fresh_sheet_is_laid_with_nothing_in_the_beam():
    """Both hands are needed for it: a card for the last sheet does not lie over the next."""
    world = ImaginedWorld(ROOM)
    world.do(0, NewSheet("K1", 80.0, 40.0))
    world.do(S, Shade("card", "sky", TOP))
    world.do(2 * S, NewSheet("K2", 80.0, 40.0))
    world.switch(3 * S, "lamp", True)
    world.switch(5 * S, "lamp", False)
    assert world.develop(9 * S)[1].delivered_s["none"] == pytest.approx(2.0)


def test_a_history_of_edges_and_hands_gives_the_same_sheets():
    """What went through the real keeper is developed as what happened in virtual time."""
    settings = SimulatorSettings(negative="scene", paper={"kind": "variable"}, cell_mm=2.0)
    sky, door = scene_regions()["sky"].area, scene_regions()["door"].area
    world = ImaginedWorld(settings)
    world.do(0, NewSheet("K1", 254.0, 203.2))
    world.do(S, Filter("00"))
    world.switch(5 * S, "lamp", True)
    world.do(6 * S, wand("door", door))
    world.do(9 * S, wand("door", held=False))
    world.switch(12 * S, "lamp", False)
    world.do(14 * S, Shade("card", "sky", sky))
    world.do(15 * S, Filter("", yellow=60.0))
    world.switch(20 * S, "lamp", True)
    world.switch(23 * S, "lamp", False)
    world.do(30 * S, NewSheet("K2", 60.0, 60.0, "door"))
    made = world.develop(31 * S)
    again = replay(settings, world.switched, world.done)
    assert [sheet.mark for sheet in again] == ["K1", "K2"]
    for one, other in zip(made, again, strict=True):
        assert one.delivered_s.keys() == other.delivered_s.keys()
        assert one.density == pytest.approx(other.density, abs=1e-9)
        assert one.lie == other.lie
    burned, dodged = made[0].within(sky), made[0].within(door)
    assert np.all(made[0].delivered_s["60Y 0M"][burned] > 2.8)
    assert not made[0].delivered_s["60Y 0M"][dodged].any()
    soft_s = made[0].delivered_s["00"]
    assert soft_s[burned].mean() - soft_s[dodged].mean() == pytest.approx(3.0, abs=1e-6)


# --- the hands ---------------------------------------------------------------------------------


def done_by(operator: Operator, until_ns: int) -> list[Done]:
    return [h for h in operator.act(until_ns) if isinstance(h, Done)]


@given(st.integers(0, 10**6))
def test_a_wand_told_in_the_light_moves_at_once(seed):
    """Within handwork_s, and as often as it is told; the same words twice are two movements."""
    operator = Operator(HandsSettings(handwork_s=(0.01, 0.03)), seed=seed)
    operator.saw(0, "lamp", True)
    told = [(1, wand("door", LEFT)), (3, wand("door", held=False)), (4, wand("door", LEFT))]
    for second, job in told:
        operator.hear(second * S, Cue(sound=Sound.HAND_IN, hands=job))
    happened = done_by(operator, 9 * S)
    assert [done.hands for done in happened] == [job for _, job in told]
    for done, (second, _) in zip(happened, told, strict=True):
        assert 0.01 <= done.at_ns / S - second <= 0.03


@given(st.integers(0, 10**6))
def test_a_wand_is_never_out_before_it_is_in(seed):
    """Cues that follow each other closely keep their order."""
    operator = Operator(HandsSettings(handwork_s=(0.0, 0.5)), seed=seed)
    operator.saw(0, "lamp", True)
    told = [wand("door", LEFT), wand("door", held=False), wand("door", LEFT)]
    for n, job in enumerate(told):
        operator.hear(S + n * 1_000_000, Cue(hands=job))
    assert [done.hands for done in done_by(operator, 9 * S)] == told


def test_wands_leave_the_beam_after_the_light_and_a_card_stays():
    """Not before the lamp has stopped glowing; told again in the dark, they are back in time."""
    operator = Operator(seed=3)
    operator.hear(0, Cue(hands=Shade("card", "sky", TOP)))
    assert len(done_by(operator, 5 * S)) == 1
    operator.saw(5 * S, "lamp", True)
    operator.hear(6 * S, Cue(hands=wand("door", LEFT)))
    operator.saw(8 * S, "lamp", False)
    operator.hear(8 * S + 1, Cue(hands=wand("door", LEFT), wants=Wants.GO))
    _, out, again = done_by(operator, 20 * S)
    assert out.hands == wand("door", held=False)
    assert again.hands == wand("door", LEFT)
    assert 8.3 * S <= out.at_ns <= again.at_ns < 10 * S


@pytest.mark.parametrize(
    ("job", "least_s", "most_s"),
    [(Filter("5"), 1.5, 4.0), (Shade("card", "sky", TOP), 0.4, 1.2)],
)
def test_filter_and_card_are_jobs_like_others(job, least_s, most_s):
    """Done once, before the tap, after reaction and the time that each takes."""
    operator = Operator(seed=5)
    operator.hear(0, Cue("soft", wants=Wants.CONFIRM, hands=job))
    operator.hear(S, Cue("soft", wants=Wants.CONFIRM, hands=job))
    done, down, _up = operator.act(20 * S)
    assert 0.3 + least_s <= done.at_ns / S <= 0.8 + most_s
    assert done.at_ns < down.at_ns


def test_what_was_held_and_laid_can_be_written_and_read(tmp_path):
    """Shades with their areas, and the place a piece was laid on, come back as they were."""
    path = tmp_path / "hands.jsonl"
    done = [
        Done(1, NewSheet("K1", 60.0, 60.0, "sky")),
        Done(2, wand("door", LEFT)),
        Done(3, Shade("card", "sky", TOP, held=False)),
        Done(4, Filter("", yellow=60.0, magenta=5.0)),
    ]
    write_done(path, done)
    assert read_done(path) == done
