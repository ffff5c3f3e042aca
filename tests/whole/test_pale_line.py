"""The pale line along an easel's border: made on imagined paper, and its cause found."""

from __future__ import annotations

import pytest

from controller.rig.lights import around
from controller.rig.model import Rig
from controller.room.fog_sheets import (
    REFERENCE,
    FogTest,
    WhichLight,
    plan_fog_test,
    plan_which_light,
)
from controller.room.pale_line import PaleLine, pale_lines
from controller.room.reading import darkest, fog_by_density
from controller.room.steps import JUST_SEEN
from controller.room.trial_sheets import BladesSheet, plan_blades
from sim.sheet import DevelopedSheet
from tests.whole.test_room_proved import FLASH_S, NAMES, densities, made, rig_with

OWN = {name: name for name in NAMES}
BLADE_MM, BORDER_MM = 6.0, 8.0
LOW = {"left": (-1.0, 0.0, 0.6), "right": (1.0, 0.0, 0.6), "top": (0.0, 1.0, 0.6)}


def room(side: str, kind: str = "light-amber") -> Rig:
    """One guilty light low at one side of the easel, and two good ones above it."""
    lights: dict[str, dict[str, object]] = {
        "ceiling": {"kind": "red", "lux_at_1m": 1.0, "at_m": (0.1, 0.1, 1.6), "relay": ""},
        "bench": {"kind": kind, "lux_at_1m": 2.5, "at_m": LOW[side], "relay": ""},
        "sink": {"kind": "red", "lux_at_1m": 1.0, "at_m": (0.0, -0.2, 1.5), "relay": ""},
    }
    rig = rig_with(lights)
    table = {**rig.simulator, "blades": {"height_mm": BLADE_MM, "border_mm": BORDER_MM}}
    return rig.model_copy(update={"simulator": table})


def print_in(rig: Rig, lights: tuple[str, ...]) -> DevelopedSheet:
    test = BladesSheet(lights=lights, flash_s=FLASH_S, time_s=600.0)
    dark = around(rig, safelights_off=True)
    return made(rig, plan_blades(test, rig.calibration(), rig.limits(), dark, OWN))


def lines_of(sheet: DevelopedSheet) -> list[PaleLine]:
    rows, columns = sheet.density.shape
    return pale_lines(
        [float(one) for one in sheet.density[rows // 2]],
        [float(one) for one in sheet.density[:, columns // 2]],
        border_mm=BORDER_MM,
        cell_mm=(sheet.cell_width_mm, sheet.cell_height_mm),
    )


@pytest.mark.parametrize("side", LOW)
def test_the_line_lies_on_the_side_of_the_light_and_is_as_wide_as_geometry_says(side: str) -> None:
    """A blade 6 mm high before a light 1 m away and 0.6 m up shades 10 mm of its own side."""
    (found,) = lines_of(print_in(room(side), NAMES))
    assert found.side == side
    half_m = 0.127 if side != "top" else 0.1015
    across_m = 1.0 - half_m + BORDER_MM / 1e3  # from the blade's edge to the light
    assert found.width_mm == pytest.approx(BLADE_MM * across_m / 0.6, abs=1.5)
    assert found.paler_by >= JUST_SEEN


def test_it_is_the_blade_s_shadow_and_the_field_is_what_is_fogged() -> None:
    """Along the middle row the strip keeps the flash alone, and the field is darker than that."""
    sheet = print_in(room("left"), NAMES)
    clean = print_in(room("left"), ("ceiling", "sink"))
    row, alone = (one.density[one.density.shape[0] // 2] for one in (sheet, clean))
    first = round(BORDER_MM) + 1
    assert row[first : first + 6] == pytest.approx(alone[first : first + 6], abs=0.005)
    assert row[60:200].min() - alone[60:200].max() >= JUST_SEEN


def test_with_the_guilty_light_out_there_is_no_line() -> None:
    """The other two lights leave none, and neither does a room in which nothing burns."""
    assert lines_of(print_in(room("left"), ("ceiling", "sink"))) == []


def test_without_a_blade_s_height_there_is_no_line() -> None:
    """It is the blades' shadow: the same light on a sheet in the open makes it evenly grey."""
    rig = room("left")
    table = {**rig.simulator, "blades": {"height_mm": 0.0}}
    sheet = print_in(rig.model_copy(update={"simulator": table}), NAMES)
    row = [float(one) for one in sheet.density[100]]
    cell = (sheet.cell_width_mm, sheet.cell_height_mm)
    assert pale_lines(row, row, border_mm=BORDER_MM, cell_mm=cell) == []


def test_the_unit_s_own_tests_name_the_light_that_makes_it() -> None:
    """The which-light sheet names the bench light, and its fog test gives it too little time."""
    rig = room("left")
    dark = around(rig, safelights_off=True)
    which = WhichLight(lights=NAMES, flash_s=FLASH_S, time_s=600.0)
    plan = plan_which_light(which, rig.calibration(), rig.limits(), dark, OWN)
    found = densities(which, made(rig, plan))
    changed = {name: one - found[REFERENCE] for name, one in found.items()}
    assert darkest(changed)[0] == "bench"
    assert [name for name in NAMES if abs(changed[name]) >= JUST_SEEN] == ["bench"]
    for name, fogs in (("bench", True), ("ceiling", False)):
        test = FogTest(lights=(name,), flash_s=FLASH_S, steps_s=(120.0, 600.0))
        sheet = made(rig, plan_fog_test(test, rig.calibration(), rig.limits(), dark, OWN))
        _, after = fog_by_density(test, densities(test, sheet))
        assert (after.changed_s is not None) == fogs


def test_the_line_s_width_tells_how_low_the_light_stands() -> None:
    """As wide as the blade is high is 45 degrees; wider is lower."""
    assert PaleLine("left", 6.0, 0.1).elevation_deg(6.0) == pytest.approx(45.0)
    assert PaleLine("left", 12.0, 0.1).elevation_deg(6.0) < 30.0
