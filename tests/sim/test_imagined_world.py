from __future__ import annotations

import math
import time

import numpy as np
import pytest
from pydantic import ValidationError

from controller.ports import Cue, Filter, Lens, Move, NewSheet, PortFault, Wants, World
from sim.hands import Done
from sim.replay import read_done, replay, write_done
from sim.settings import HandsSettings, PaperSettings, SimulatorSettings
from sim.world import ImaginedWorld

S = 1_000_000_000
QUIET = SimulatorSettings(relay_scatter_s=0.0, placement_mm=0.0)


def changed(**fields) -> SimulatorSettings:
    return SimulatorSettings.model_validate(QUIET.model_dump() | fields)


def run_strip(world: World, pulses_s: list[float], *, lead_in_s: float, start_ns: int) -> int:
    """Do what a unit does, in virtual time: prompt, wait for the tap, lead in, light."""
    now_ns = start_ns

    def wait_for_tap() -> None:
        nonlocal now_ns
        while True:
            due_ns = world.next_ns()
            assert due_ns is not None, "the printer waits, and so does the unit"
            now_ns = max(now_ns, due_ns)
            if False in world.act(now_ns):
                return

    patches = len(pulses_s)
    world.hear(now_ns, Cue("K1", wants=Wants.CONFIRM, hands=NewSheet("K1", 120.0, 30.0)))
    wait_for_tap()
    for position, on_s in enumerate(pulses_s):
        world.hear(now_ns, Cue("go", wants=Wants.GO, hands=Move("card", position, patches)))
        wait_for_tap()
        now_ns += round(lead_in_s * 1e9)
        world.switch(now_ns, "lamp", True)
        off_ns = now_ns + round(on_s * 1e9)
        while (due_ns := world.next_ns()) is not None and due_ns < off_ns:
            world.act(due_ns)
        now_ns = off_ns
        world.switch(now_ns, "lamp", False)
    return now_ns


def exposed(settings: SimulatorSettings, *hands, on_s: float = 10.0):
    """Expose one uncovered sheet after something was done by hand."""
    world = ImaginedWorld(settings)
    for job in hands:
        world.do(S, job)
    world.do(S, NewSheet("K1", 20.0, 20.0))
    world.switch(2 * S, "lamp", True)
    world.switch(2 * S + round(on_s * S), "lamp", False)
    (sheet,) = world.develop(2 * S + round(on_s * S))
    return sheet.patches[0]


def test_a_strip_by_pedal_looks_like_a_strip():
    """Patches grow darker from A to the last, and the middle one of a 10 s base is a mid grey."""
    world = ImaginedWorld(QUIET)
    end_ns = run_strip(world, [5.0, 3.0, 4.0, 6.0, 9.0], lead_in_s=1.5, start_ns=10**15)
    (sheet,) = world.develop(end_ns)
    densities = [patch.density for patch in sheet.patches]
    assert sheet.mark == "K1"
    assert [patch.letter for patch in sheet.patches] == list("ABCDE")
    assert densities == sorted(densities)
    assert 0.1 < densities[0] < 0.4
    assert 0.6 < densities[2] < 1.1
    assert [p.delivered_s for p in sheet.patches] == pytest.approx([5, 8, 12, 18, 27], abs=0.4)


def test_the_history_replayed_gives_the_same_sheet():
    """One code path: a recorded run develops to the very same densities."""
    settings = SimulatorSettings(safelights={"red": 0.001}, hands=HandsSettings(late_moves=(3,)))
    world = ImaginedWorld(settings)
    end_ns = run_strip(world, [5.0, 3.0, 4.0], lead_in_s=1.5, start_ns=7 * S)
    (lived,) = world.develop(end_ns)
    (again,) = replay(settings, world.switched, world.done)
    assert again.patches == lived.patches
    assert np.array_equal(again.density, lived.density)


def test_a_late_card_spoils_its_patch():
    """Half a second of the third pulse falls on patch B, which should have been covered."""
    ends = {}
    for late in ((), (3,)):
        world = ImaginedWorld(changed(hands={"late_moves": late}))
        end_ns = run_strip(world, [5.0, 3.0, 4.0], lead_in_s=1.5, start_ns=0)
        ends[late] = [patch.delivered_s for patch in world.develop(end_ns)[0].patches]
    assert ends[(3,)][1] - ends[()][1] == pytest.approx(0.45, abs=0.05)
    assert ends[(3,)][0] == pytest.approx(ends[()][0], abs=1e-3)


def test_what_was_done_by_hand_can_be_written_and_read(tmp_path):
    """Moves, sheets, lens and filter come back as they were; a broken file is named."""
    path = tmp_path / "hands.jsonl"
    done = [
        Done(1, NewSheet("K1", 10.0, 20.0)),
        Done(2, Move("card", 1, 5, "top")),
        Done(3, Lens("8")),
        Done(4, Filter("5")),
    ]
    write_done(path, done)
    assert read_done(path) == done
    path.write_text("{")
    with pytest.raises(PortFault, match=r"hands\.jsonl"):
        read_done(path)


def test_the_lamp_lags_by_what_its_filament_needs():
    """A 10 s pulse of an opal bulb misses about 0.06 s, one of a halogen about 0.13 s."""
    assert 10.0 - exposed(QUIET).delivered_s == pytest.approx(0.061, abs=0.004)
    assert 10.0 - exposed(changed(lamp="halogen")).delivered_s == pytest.approx(0.135, abs=0.006)


def test_times_may_start_anywhere():
    """Only differences count."""
    ends = []
    for start_ns in (0, 3 * 10**17):
        world = ImaginedWorld(QUIET)
        end_ns = run_strip(world, [5.0, 3.0], lead_in_s=0.0, start_ns=start_ns)
        ends.append([p.delivered_s for p in world.develop(end_ns)[0].patches])
    assert ends[0] == pytest.approx(ends[1], abs=1e-9)


@pytest.mark.parametrize(
    ("aperture", "factor"),
    [
        ("capped", 0.0),
        ("8", 1.0),
        ("11", 0.5),
        ("5.6", 2.0),
        ("open", 4.0),
        ("f/8", 1.0),
        ("working", 1.0),
        ("0", 1.0),
    ],
)
def test_the_lens_lets_through_what_its_setting_says(aperture, factor):
    """Engraved numbers are whole stops; a lens left open after focusing ruins the sheet."""
    with_lens = exposed(QUIET, Lens(aperture)).delivered_s
    assert with_lens == pytest.approx(factor * exposed(QUIET).delivered_s, abs=1e-9)


def test_a_filter_lets_through_what_settings_say():
    """A named filter takes its part of the light; an unknown one, and none, take nothing."""
    settings = changed(filters={"5": 0.25})
    full = exposed(settings).exposure_lux_s
    assert exposed(settings, Filter("5")).exposure_lux_s == pytest.approx(full / 4)
    assert exposed(settings, Filter("2")).exposure_lux_s == pytest.approx(full)
    taken_away = exposed(settings, Filter("5"), Filter("none"))
    assert taken_away.exposure_lux_s == pytest.approx(full)


def test_safelights_fog_while_they_are_lit():
    """Safelights begin lit; switched off they add nothing; the way to the tray counts."""
    settings = changed(safelights={"red": 0.01, "amber": 0.03}, carried_s=50.0)
    world = ImaginedWorld(settings, lit={"amber": False})
    world.do(0, NewSheet("K1", 20.0, 20.0))
    world.switch(100 * S, "red", False)
    world.switch(200 * S, "amber", True)
    (sheet,) = world.develop(300 * S)
    dark_s = 3.0  # waiting for the lamp to be dark
    expected = 100 * 0.01 + (100 + dark_s + 50) * 0.03
    assert sheet.patches[0].exposure_lux_s == pytest.approx(expected)


def test_a_new_sheet_takes_the_old_one_away():
    """Each sheet has only its own light."""
    world = ImaginedWorld(QUIET)
    for number, on_s in enumerate((4.0, 9.0)):
        start_ns = number * 60 * S
        world.do(start_ns, NewSheet(f"K{number}", 20.0, 20.0))
        world.switch(start_ns + S, "lamp", True)
        world.switch(start_ns + S + round(on_s * S), "lamp", False)
    sheets = world.develop(200 * S)
    assert [sheet.mark for sheet in sheets] == ["K0", "K1"]
    assert [s.patches[0].delivered_s for s in sheets] == pytest.approx([4.0, 9.0], abs=0.07)
    assert world.develop(201 * S) == sheets


def test_a_sheet_that_is_asked_for_again_stays():
    """A repeated prompt for the same mark lays no second sheet."""
    world = ImaginedWorld(QUIET)
    for second in (0, 5):
        world.do(second * S, NewSheet("K1", 20.0, 20.0))
    assert [sheet.mark for sheet in world.develop(9 * S)] == ["K1"]


def test_reciprocity_failure_lightens_the_dim_sheet_only():
    """The same dose at a hundredth of the light, a hundred times as long, is lighter."""
    paper = {"reciprocity": 0.9, "reciprocity_lux": 0.5}
    lost = {}
    for lux, on_s in ((4.0, 10.0), (0.04, 1000.0)):
        fields = {"easel_lux": lux}
        plain = exposed(changed(**fields), on_s=on_s).density
        lost[lux] = plain - exposed(changed(**fields, paper=paper), on_s=on_s).density
    assert 0 <= lost[4.0] < 0.03
    assert lost[0.04] > 0.3


def test_a_low_supply_costs_light():
    """Five percent less voltage is more than a quarter of a stop."""
    low = exposed(changed(supply=0.95)).delivered_s / exposed(QUIET).delivered_s
    assert math.log2(low) == pytest.approx(-0.29, abs=0.04)


def test_a_virtual_strip_costs_little():
    """Twelve patches in well under 50 ms, the lamp's curves once made."""
    ImaginedWorld(QUIET)
    best_s = math.inf
    for _ in range(5):
        begun = time.process_time()
        world = ImaginedWorld(QUIET)
        end_ns = run_strip(world, [2.0] * 12, lead_in_s=1.5, start_ns=0)
        world.develop(end_ns)
        best_s = min(best_s, time.process_time() - begun)
    assert best_s < 0.05


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"lampe": "led"}, "lampe"),
        ({"lamp": "candle"}, "tungsten"),
        ({"supply": 2.0}, "supply"),
        ({"hands": {"gap_s": [9.0, 1.0]}}, "smaller figure comes first"),
        ({"hands": {"pause_at": [-1.0]}}, "pause_at"),
        ({"safelights": {"red": -0.1}}, "not negative"),
        ({"paper": {"gamma": 90}}, "gamma"),
        ({"easel_lux": math.nan}, "easel_lux"),
    ],
)
def test_a_wrong_table_is_refused(table, says):
    """The message names the field."""
    with pytest.raises(ValidationError, match=says):
        SimulatorSettings.model_validate(table)


@pytest.mark.parametrize("model", [SimulatorSettings, PaperSettings, HandsSettings])
def test_every_setting_is_described(model):
    """A rig file's reference is made from these."""
    assert all(field.description for field in model.model_fields.values())
