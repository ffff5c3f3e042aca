"""What has to be wired for a rig, and the pages that tell it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from gpiozero.pins.pi import PiBoardInfo

from controller.errors import BadInput
from controller.pictures.wiring import draw_wiring
from controller.rig.file import EXAMPLES, example_rig, imagined_rig, load_rig
from controller.rig.model import Rig
from controller.rig.rules import contradictions
from controller.rig.wiring import (
    GROUND_PINS,
    PIN_OF_GPIO,
    UNIT_PINS,
    UNIT_SERVICE,
    Board,
    wiring_of,
)
from controller.rig.wiring_pages import CAUTION, pages
from drivers.firmware import board as unit

HOUSE = Path(__file__).parents[3]


def rig_with(text: str) -> Rig:
    return Rig.model_validate(tomllib.loads(text))


LOW_AND_HIGH = """
[lamp]
driver = "gpio"
address = 17
[[safelight]]
name = "ceiling"
address = 5
active = "low"
contact = "normally-closed"
nominated = true
[[pedal]]
driver = "gpio"
address = 26
"""


def test_the_pins_of_the_header_are_those_that_gpiozero_knows() -> None:
    """Each GPIO number is on the pin, and each ground is a ground, on a Pi 4 and on a Pi 5."""
    for revision in (0xC03111, 0xC04170):
        pins = PiBoardInfo.from_revision(revision).headers["J8"].pins
        known = {
            int(pin.name[4:]): number
            for number, pin in pins.items()
            if re.fullmatch(r"GPIO\d+", pin.name)
        }
        assert known == PIN_OF_GPIO
        assert {n for n, pin in pins.items() if pin.name == "GND"} == set(GROUND_PINS)


def test_the_relay_units_pins_are_those_of_its_firmware() -> None:
    """The drawing's outputs are the ones that board.py is shipped with."""
    assert [output[0] for output in unit.OUTPUTS] == [UNIT_PINS[n][0] for n in sorted(UNIT_PINS)]
    assert UNIT_SERVICE[0] == unit.SERVICE_PIN


def test_each_resistor_holds_its_relay_off() -> None:
    """To ground where high energises, to 3.3 V where low does."""
    page = pages(wiring_of(rig_with(LOW_AND_HIGH)))["pins.md"]
    rows = {line.split("|")[1].strip(): line for line in page.splitlines() if line.startswith("|")}
    assert "10 kΩ to ground" in rows["11"]
    assert "10 kΩ to 3.3 V" in rows["29"]
    assert "3.3 V" in rows["1"]


def test_no_pin_is_given_away_twice() -> None:
    """Contacts beside each other take different grounds."""
    rig = rig_with(example_rig() + '\n[[pedal]]\nname = "wet"\ndriver = "gpio"\naddress = 20\n')
    page = pages(wiring_of(rig))["pins.md"]
    pins = re.findall(r"^\| (\d+) \|", page, re.MULTILINE)
    assert len(pins) == len(set(pins)) > 8


@pytest.mark.parametrize("board", EXAMPLES)
def test_every_page_begins_with_the_caution_and_lists_every_light(board: str) -> None:
    """Mains by an electrician comes before anything else; no light is left out."""
    rig = rig_with(example_rig(board))
    for name, page in pages(wiring_of(rig)).items():
        assert page.splitlines()[2] == CAUTION, name
    pins = pages(wiring_of(rig))["pins.md"]
    assert all(line.name in pins for line in rig.lines())
    assert all(light.name in pins for light in rig.lights())


def test_only_pins_that_float_get_resistors() -> None:
    """A Modbus board drives its own coils, and a serial port's wires are never left floating."""
    for board in ("modbus", "modem-lines"):
        parts = pages(wiring_of(rig_with(example_rig(board))))["parts.md"]
        assert "10 kΩ" not in parts
    assert "10 kΩ" in pages(wiring_of(rig_with(example_rig())))["parts.md"]


def test_mosfets_bring_direct_current_and_no_contacts() -> None:
    """A light by MOSFET is on a ready-made supply: no relay, no snubber, no mains fuse."""
    text = (HOUSE / "wiring_docs/low-voltage-led-mosfet/rig.toml").read_text()
    wiring = wiring_of(rig_with(text))
    assert wiring.board is Board.HEADER
    assert not wiring.relays
    parts = pages(wiring)["parts.md"]
    assert "MOSFET" in parts
    assert "ready-made" in parts
    assert "snubber" not in parts


def test_the_list_of_parts_has_all_that_the_drawing_shows() -> None:
    """Every mark of a diagram is listed, for lights on mains and on extra-low voltage."""
    for build in ("gpio-relay-board", "low-voltage-led-mosfet", "relay-unit-usb"):
        wiring = wiring_of(rig_with((HOUSE / "wiring_docs" / build / "rig.toml").read_text()))
        parts = pages(wiring)["parts.md"]
        drawn = set(re.findall(r">((?:[KQFXZRS]|RG|PS)\d)\b", draw_wiring(wiring)))
        assert {"S1", "F1", "X1", "R1"} <= drawn
        for mark in drawn:
            assert re.search(rf"\b{mark}\b", parts), f"{build}: {mark}"


def test_contacts_have_both_of_their_levels() -> None:
    """A closed pedal is low at rest, an open reed switch high."""
    text = (HOUSE / "wiring_docs/gpio-relay-board/rig.toml").read_text()
    page = pages(wiring_of(rig_with(text)))["bring-up.md"]
    assert "pin 37 to ground, unit running: below 0.4 V; 3.1 to 3.4 V under the foot" in page
    assert "pin 36 to ground, unit running: 3.1 to 3.4 V; below 0.4 V with its magnet" in page


def test_mains_come_last() -> None:
    """Ohms and volts at the inputs are measured before mains are connected."""
    page = pages(wiring_of(rig_with(LOW_AND_HIGH)))["bring-up.md"]
    places = [page.index(f"## {n}.") for n in range(1, 8)]
    assert places == sorted(places)
    assert page.index("below 0.4 V") < page.index("Mains, by the electrician")
    assert "input of K2 (ceiling) to ground: above 2.5 V" in page


def test_an_imagined_rig_has_no_wires() -> None:
    """It is refused, and what would be right is said."""
    with pytest.raises(BadInput, match="imagined"):
        wiring_of(imagined_rig("led"))


@pytest.mark.parametrize(
    ("instead", "field"),
    [('contact = "normally-closed"', "safelight[1].switch"), ('active = "low"', "active")],
)
def test_a_mosfet_that_would_light_by_failing_is_refused(instead: str, field: str) -> None:
    """A MOSFET has no closed contact, and conducts while its gate is high."""
    raw = tomllib.loads(LOW_AND_HIGH)
    raw["safelight"][0] |= {"switch": "mosfet"} | tomllib.loads(instead)
    assert any(fault.field.endswith(field) for fault in contradictions(raw))


def test_a_mosfet_needs_a_pin() -> None:
    """A Modbus board has none."""
    text = example_rig("modbus").replace("[[safelight]]", 'switch = "mosfet"\n[[safelight]]', 1)
    with pytest.raises(BadInput, match="drive a MOSFET"):
        wiring_of(rig_with(text))


SENSORS = """
[[sensor]]
name = "easel"
driver = "bh1750"
address = "0x23"
purpose = "lamp"
[[sensor]]
name = "tray"
driver = "one-wire"
address = "28-0316a2795bff"
purpose = "tray temperature"
[[sensor]]
name = "stray"
driver = "light-pin"
address = 21
purpose = "stray"
options = { kind = "capacitor" }
"""


def test_every_wire_of_a_sensor_has_its_pin() -> None:
    """Three or four wires, each named; supply and ground are shared; resistor and capacitor too."""
    made = pages(wiring_of(rig_with(LOW_AND_HIGH + SENSORS)))
    rows = {
        line.split("|")[1].strip(): line for line in made["pins.md"].splitlines() if line[:1] == "|"
    }
    assert "sensor easel, SDA" in rows["3"]
    assert "sensor easel, SCL" in rows["5"]
    assert "sensor tray, data | 4.7 kΩ to 3.3 V" in rows["7"]
    assert "sensor stray, out" in rows["40"]
    for name in ("easel", "tray", "stray"):
        assert f"sensor {name}, 3.3 V" in rows["17"]
        assert f"sensor {name}, GND" in rows["9"]
    assert "4.7 kΩ" in made["parts.md"]
    assert "1 µF" in made["parts.md"]


@pytest.mark.parametrize(("active", "plus"), [("high", "32"), ("low", "17")])
def test_a_buzzers_poles_follow_the_level_that_sounds_it(active: str, plus: str) -> None:
    """Its + is at the line, or at 3.3 V where a low line sounds it; silent it has no voltage."""
    sounder = f'[sounder]\ndriver = "buzzer"\naddress = 12\nactive = "{active}"\n'
    page = pages(wiring_of(rig_with(LOW_AND_HIGH + sounder)))["pins.md"]
    (row,) = [line for line in page.splitlines() if "buzzer, +" in line]
    assert row.startswith(f"| {plus} |")
    assert ("0 V: silent" if active == "high" else "3.3 V: silent") in page


@pytest.mark.parametrize("build", ["gpio-relay-board", "low-voltage-led-mosfet", "relay-unit-usb"])
def test_every_mark_of_a_build_is_in_its_drawing_and_its_parts(build: str) -> None:
    """What a pair of hands reads on one page is on the others too."""
    wiring = wiring_of(load_rig(HOUSE / "wiring_docs" / build / "rig.toml"))
    marks = r"\b(?:K|Q|F|Z|X|RG|R|S|PS)\d\b"
    drawn = set(re.findall(marks, draw_wiring(wiring)))
    listed = set(re.findall(marks, pages(wiring)["parts.md"]))
    assert drawn == listed
    assert {"F1", "R1", "S1"} <= drawn
    assert set(re.findall(marks, pages(wiring)["pins.md"] + pages(wiring)["bring-up.md"])) <= drawn


@pytest.mark.parametrize("board", EXAMPLES)
def test_a_supply_is_measured_before_anything_hangs_on_it(board: str) -> None:
    """Each supply of the parts is measured alone, and a lit input's level is told."""
    made = pages(wiring_of(rig_with(example_rig(board))))
    for supply in set(re.findall(r"PS\d", made["parts.md"])):
        assert f"{supply} alone in its outlet" in made["bring-up.md"]


def test_bring_up_is_true_of_the_board_at_hand() -> None:
    """What a Modbus board can't do, and what a solid-state relay does not, is not promised."""
    modbus = pages(wiring_of(rig_with(example_rig("modbus"))))["bring-up.md"]
    assert "without a watchdog" in modbus
    serial = pages(wiring_of(rig_with(example_rig("modem-lines"))))["bring-up.md"]
    assert "clicks with each exposure" not in serial
    assert "of every supply" not in serial  # it has none
    unit_page = (HOUSE / "wiring_docs/relay-unit-usb/bring-up.md").read_text()
    assert "the unit's own timer puts it off" in unit_page
    assert "dark: lamp, bench, viewing; burning: ceiling" in unit_page


def test_a_sensor_is_measured_before_it_is_believed() -> None:
    """Volts at its supply and at its bus at rest, then a reading."""
    page = pages(wiring_of(rig_with(LOW_AND_HIGH + SENSORS)))["bring-up.md"]
    assert "SDA and SCL to GND 3.1 to 3.4 V at rest" in page
    assert page.count("`dryside rig sensors` reads it") == 3


def test_each_board_has_its_pins_in_a_table_of_its_own() -> None:
    """Pin 3 of a relay unit is not pin 3 of the header: no table has a number twice."""
    unit_and_sensors = example_rig().replace('driver = "gpio"', 'driver = "relay-unit"', 1)
    for from_, to in (("= 17", "= 0"), ("= 22", "= 1"), ("= 23", "= 2"), ("= 24", "= 3")):
        unit_and_sensors = unit_and_sensors.replace(f"address {from_}", f"address {to}")
    page = pages(wiring_of(rig_with(unit_and_sensors + SENSORS)))["pins.md"]
    tables = page.split("## Lights")[0].split("Pins of ")[1:]
    assert [table.split(":")[0] for table in tables] == ["the relay unit's module", "the computer"]
    assert "| 3 | GND of the unit |" in tables[0]
    assert "| 3 | GPIO 2 |" in tables[1]
    for table in tables:
        pins = re.findall(r"^\| (\d+) \|", table, re.MULTILINE)
        assert len(pins) == len(set(pins)) > 3
