from __future__ import annotations

import pytest
from imagined_rooms import S, light, room
from pydantic import ValidationError

from controller.ports import Cue, Filter, Lens, Move, NewSheet
from sim.replay import replay
from sim.room_settings import BladeSettings, EventSettings, LightSettings
from sim.settings import PaperSettings, SimulatorSettings
from sim.world import ImaginedWorld

PLAIN = {"kind": "variable", "order_effect": 0.0}
SHEET = NewSheet("K1", 20.0, 20.0)
DARK_S = 3  # the world waits so long for the lamp to be dark before it develops


def door(**more) -> dict:
    return {
        "lights": {"door": light("white", 0.01)},
        "events": [{"at_s": 100.0, "what": "door", "for_s": 20.0, **more}],
    }


def exposure(world: ImaginedWorld, at_s: float) -> float:
    return world.develop(round(at_s * S))[-1].patches[0].exposure_lux_s


# -- relays --------------------------------------------------------------------------------------


def test_a_light_burns_from_the_start_until_its_relay_is_switched():
    """By its own name, or by the output that is named; what is on no relay stays."""
    lights = {"a": light("red"), "b": light("red", relay="wall"), "c": light("red", lit=False)}
    world = ImaginedWorld(room(lights))
    seen = [world.light_at_sensor_lux(0, "easel")]
    for name, lit in (("a", False), ("b", False), ("wall", False), ("c", True)):
        world.switch(0, name, lit)
        seen.append(world.light_at_sensor_lux(0, "easel"))
    assert seen == pytest.approx([2.0, 1.0, 1.0, 0.0, 1.0])
    assert ImaginedWorld(room(lights), lit={"wall": False}).light_at_sensor_lux(
        0, "easel"
    ) == pytest.approx(1.0)


def test_the_leak_is_there_while_the_lamp_is_lit_even_with_the_lens_capped():
    """It needs no setting: its relay is the enlarger's output, by whatever name."""
    settings = room({"gap": light("leak", 0.01)}, paper=PLAIN)
    world = ImaginedWorld(settings, lamp="enlarger")
    world.do(0, SHEET)
    world.do(0, Lens("capped"))
    world.switch(10 * S, "enlarger", True)
    world.switch(40 * S, "enlarger", False)
    assert exposure(world, 100) == pytest.approx(0.01 * 30.0, rel=1e-3)


def test_two_sheets_get_each_their_own_fog():
    """The second sheet begins clean, and gets what its own place in time and size makes it."""
    world = ImaginedWorld(room({"a": light("leak", 0.01, relay="a")}, paper=PLAIN))
    world.do(0, SHEET)
    world.do(100 * S, NewSheet("K2", 30.0, 40.0))
    world.switch(140 * S, "a", False)
    first, second = (sheet.patches[0].exposure_lux_s for sheet in world.develop(300 * S))
    assert (first, second) == pytest.approx((1.0, 0.4), rel=1e-3)


def test_covered_parts_of_time_count_only_while_they_are_open():
    """A card drawn away in steps under a safelight gives a fog strip."""
    world = ImaginedWorld(room({"a": light("leak", 0.01, relay="a")}, paper=PLAIN, cell_mm=1.0))
    world.do(0, NewSheet("K1", 90.0, 20.0))
    for position in range(3):
        world.do(position * 60 * S, Move("card", position, 3))
    world.switch(180 * S, "a", False)
    patches = world.develop(200 * S)[0].patches
    assert [p.exposure_lux_s for p in patches] == pytest.approx([0.6, 1.2, 1.8], rel=0.01)


# -- what happens --------------------------------------------------------------------------------


def test_a_door_that_opens_gives_light_for_its_time():
    """Counted from the first thing that was done; it is dark before and after."""
    world = ImaginedWorld(room(**door(), paper=PLAIN))
    begun = 5 * S
    world.do(begun, SHEET)
    lux = [world.light_at_sensor_lux(begun + t * S, "easel") for t in (0, 99, 100, 119, 120)]
    assert lux == pytest.approx([0.0, 0.0, 0.01, 0.01, 0.0])
    alone = ImaginedWorld(room({"door": light("white", 0.01)}, paper=PLAIN))
    alone.do(0, SHEET)
    alone.switch(20 * S, "door", False)
    assert exposure(world, 500) == pytest.approx(exposure(alone, 30))


def test_events_are_the_worlds_next_moments():
    """So a unit in virtual time looks at its sensors when something begins and ends."""
    world = ImaginedWorld(room(**door()), begun_ns=0)
    moments = []
    while (next_ns := world.next_ns()) is not None:
        moments.append(next_ns)
        assert world.act(next_ns) == []
    assert moments == [100 * S, 120 * S]


def test_an_event_may_light_a_light_of_any_name_and_one_that_burns_goes_on():
    """Two telephones of one kind; afterwards a lit lamp is still lit."""
    lights = {"blue phone": light("screen", 0.02), "b": light("red", 0.5)}
    events = [
        {"at_s": 10.0, "what": "telephone", "for_s": 5.0, "light": "blue phone"},
        {"at_s": 10.0, "what": "door", "for_s": 5.0, "light": "b"},
    ]
    world = ImaginedWorld(room(lights, events=events), lit={"b": True}, begun_ns=0)
    lux = [world.light_at_sensor_lux(t * S, "easel") for t in (9, 12, 16)]
    assert lux == pytest.approx([0.5, 0.52, 0.5])


def test_the_box_is_open_when_events_say_so_and_gives_no_light():
    """What a reed switch says, from the first moment on."""
    events = [
        {"at_s": 0.0, "what": "box", "for_s": 8.0},
        {"at_s": 60.0, "what": "box", "for_s": 10.0},
    ]
    world = ImaginedWorld(room(events=events))
    assert not world.box_open(0)
    world.do(0, SHEET)
    states = [world.box_open(t * S) for t in (0, 7, 8, 59, 60, 69, 70)]
    assert states == [True, True, False, False, True, True, False]
    assert world.light_at_sensor_lux(65 * S, "easel") == 0.0


def test_sensors_see_the_light_of_their_own_place():
    """A sensor under a lamp of 2 lux 2 m up reads half a lux; far off nearly nothing."""
    settings = room(
        {"a": light("red", 2.0, (3.0, 0.0, 2.0))},
        trays_m=(3.0, 0.0, 0.0),
        sensors={"shelf": (3.0, 0.0, 1.0)},
    )
    world = ImaginedWorld(settings)
    lux = [world.light_at_sensor_lux(0, place) for place in ("trays", "shelf", "easel")]
    assert lux == pytest.approx([0.5, 2.0, 2.0 * 2.0 / 13.0**1.5])
    with pytest.raises(ValueError, match=r"no place 'attic'.*easel, trays, shelf"):
        world.light_at_sensor_lux(0, "attic")


# -- on the way to the stop bath -----------------------------------------------------------------

WAY = {"carried_s": 100.0, "carried_easel_s": 20.0, "carried_walk_s": 10.0, "paper": PLAIN}
TWO = {
    "e": light("leak", 0.04, (0.0, 0.0, 1.0), relay="e"),
    "t": light("leak", 0.02, (50.0, 0.0, 1.0), relay="t"),
}


def test_a_sheet_meets_the_light_of_each_place_on_its_way():
    """20 s at the easel, 10 s between, where half of both falls, and 70 s over the trays."""
    world = ImaginedWorld(room(TWO, **WAY, trays_m=(50.0, 0.0, 0.0)))
    world.do(0, SHEET)
    expected = 0.04 * (DARK_S + 20 + 5) + 0.02 * (5 + 70)
    assert exposure(world, 0) == pytest.approx(expected, rel=1e-3)


def test_the_light_on_the_way_is_the_light_that_is_lit_then():
    """A lamp over the trays goes out 40 s after the sheet was taken away: 10 s of it counted."""
    world = ImaginedWorld(room(TWO, **WAY, trays_m=(50.0, 0.0, 0.0)))
    world.do(0, SHEET)
    world.do(0, NewSheet("K2", 20.0, 20.0))
    world.switch(40 * S, "t", False)
    first, _second = world.develop(200 * S)
    expected = 0.04 * (20 + 5) + 0.02 * (5 + 10)
    assert first.patches[0].exposure_lux_s == pytest.approx(expected, rel=1e-3)


def test_single_sheets_may_take_longer():
    """By their marks; sheets come back in the order in which they were laid."""
    fields = {"carried_s": 0.0, "carried_marks": {"K1": 50.0}, "trays_m": (50.0, 0.0, 0.0)}
    world = ImaginedWorld(room({"t": TWO["t"]}, **fields, paper=PLAIN))
    for second, mark in ((0, "K1"), (1, "K2"), (2, "K3")):
        world.do(second * S, NewSheet(mark, 20.0, 20.0))
    sheets = world.develop(3 * S)
    assert [sheet.mark for sheet in sheets] == ["K1", "K2", "K3"]
    fog = [sheet.patches[0].exposure_lux_s for sheet in sheets]
    assert fog == pytest.approx([1.0, 0.0, 0.0], abs=1e-3)


def test_old_safelights_go_along_to_the_trays():
    """Actinic lux on the paper, wherever it is."""
    world = ImaginedWorld(room(safelights={"red": 0.01}, carried_s=30.0, paper={"kind": "graded"}))
    world.do(0, SHEET)
    assert exposure(world, 10) == pytest.approx(0.01 * (10 + DARK_S + 30))


@pytest.mark.parametrize("reciprocity", [1.0, 0.9])
@pytest.mark.parametrize("kind", ["graded", "variable"])
def test_the_rooms_own_sum_is_what_a_sheet_collects(kind, reciprocity):
    """Over switching, a door and old safelights, at the easel and over the trays."""
    paper = {"kind": kind, "reciprocity": reciprocity, "order_effect": 1.0}
    settings = room(
        {"a": light("amber", 3.0, (0.3, 0.3, 0.8)), "door": light("white", 0.001, (2, 1, 1))},
        events=[{"at_s": 130.0, "what": "door", "for_s": 40.0}],
        safelights={"old": 0.002},
        paper=paper,
        carried_s=60.0,
        carried_easel_s=15.0,
        cell_mm=1.0,
    )
    world = ImaginedWorld(settings)
    world.do(0, Move("card", 0, 3))
    world.do(50 * S, NewSheet("K1", 2.0, 2.0))
    sums = {50: world.actinic_lux_s(50 * S, "easel")}
    world.switch(100 * S, "a", False)
    world.switch(120 * S, "old", False)
    world.do(150 * S, NewSheet("K2", 2.0, 2.0))
    for second, place in ((165, "easel"), (165, "trays"), (210, "trays")):
        sums[second, place] = world.actinic_lux_s(second * S, place)
    sheet = world.develop(220 * S)[0]
    collected = sums[165, "easel"] - sums[50] + sums[210, "trays"] - sums[165, "trays"]
    assert sheet.patches[0].exposure_lux_s == pytest.approx(collected, rel=1e-4)
    assert collected > 0.05


# -- the same again, and what is refused ---------------------------------------------------------


def test_a_recorded_evening_gives_the_same_sheets():
    """Lights, doors and ways included."""
    settings = room(
        {**TWO, "door": light("white", 0.002, (1.0, 1.0, 0.5), size_m=(0.02, 2.0))},
        events=[{"at_s": 12.0, "what": "door", "for_s": 3.0}],
        carried_s=10.0,
        blades={"height_mm": 3.0, "from_mm": 10.0, "border_mm": 3.0},
    )
    world = ImaginedWorld(settings)
    world.hear(0, Cue("lay a sheet", hands=SHEET))
    now_ns = 0
    while (next_ns := world.next_ns()) is not None and now_ns < 60 * S:
        now_ns = next_ns
        world.act(now_ns)
    for name, lit in (("e", False), ("lamp", True), ("lamp", False), ("e", True)):
        now_ns += 4 * S
        world.switch(now_ns, name, lit)
    world.do(now_ns + S, Filter("2"))
    (lived,) = world.develop(now_ns + S)
    (again,) = replay(settings, world.switched, world.done)
    assert again.density == pytest.approx(lived.density, abs=1e-12)
    assert lived.density.max() > 0.1


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"lights": {"a": light("green")}}, "deep-red"),
        ({"lights": {"a": {"kind": "red", "lux_at_1m": 1.0}}}, "at_m"),
        ({"lights": {"a": light("red", -1.0)}}, "lux_at_1m"),
        ({"lights": {"a": light()}, "safelights": {"a": 0.1}}, "'a' is in lights and in safe"),
        ({"events": [{"at_s": 1.0, "what": "door", "for_s": 2.0}]}, "no light 'door' for it"),
        ({"events": [{"at_s": 1.0, "what": "cat", "for_s": 2.0}]}, "telephone"),
        (
            {"events": [{"at_s": 1.0, "what": "box", "for_s": 2.0, "light": "a"}]},
            "a box lights no light",
        ),
        ({"carried_s": 10.0, "carried_walk_s": 11.0}, "carried_s = 10.*11 s together"),
        (
            {"carried_s": 20.0, "carried_easel_s": 5.0, "carried_marks": {"K1": 4.0}},
            "carried_marks.K1 = 4",
        ),
        ({"sensors": {"trays": (0, 0, 0)}}, "sensors.trays"),
        ({"blades": {"height_mm": -1.0}}, "height_mm"),
    ],
)
def test_a_wrong_room_is_refused(table, says):
    """The message names what is wrong, and where."""
    with pytest.raises(ValidationError, match=says):
        SimulatorSettings.model_validate(table)


@pytest.mark.parametrize("model", [LightSettings, EventSettings, BladeSettings, PaperSettings])
def test_every_setting_of_the_room_is_described(model):
    """A rig file's reference is made from these."""
    assert all(field.description for field in model.model_fields.values())
