"""What has to be wired for a rig, and the pages that tell it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from gpiozero.pins.pi import PiBoardInfo

from controller.errors import BadInput
from controller.pictures.wiring import draw_wiring
from controller.rig.file import EXAMPLES, example_rig, imagined_rig
from controller.rig.model import Rig
from controller.rig.rules import contradictions, warnings
from controller.rig.wiring import GROUND_PINS, PIN_OF_GPIO, SERVICE_PIN, UNIT_PINS, Board, wiring_of
from controller.rig.wiring_pages import CAUTION, pages
from drivers.firmware import board as unit

HOUSE = Path(__file__).parent.parent.parent


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
    assert SERVICE_PIN[0] == unit.SERVICE_PIN


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


def test_each_wire_of_a_sensor_has_a_pin() -> None:
    """A bus is not one wire: supply, data and ground each have a row, and 1-wire its resistor."""
    text = LOW_AND_HIGH
    for driver, address in (("veml7700", "0x10"), ("one-wire", "28-0316a2795bff")):
        name = driver.replace("-", "")
        text += f'[[sensor]]\nname = "{name}"\ndriver = "{driver}"\naddress = "{address}"\n'
        text += 'purpose = "stray"\n' if name == "veml7700" else 'purpose = "tray temperature"\n'
    page = pages(wiring_of(rig_with(text)))["pins.md"]
    for wanted in (
        "| 3 | GPIO 2 | sensor veml7700, SDA |",
        "| 5 | GPIO 3 | sensor veml7700, SCL |",
        "| 7 | GPIO 4 | sensor onewire, data | 4.7 kΩ to 3.3 V |",
        "| 17 | 3.3 V | sensor onewire, 3.3 V |",
    ):
        assert wanted in page


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
    """Every mark of the diagram is listed, and a relay is told by its input too."""
    for build in ("gpio-relay-board", "low-voltage-led-mosfet", "relay-unit-usb"):
        wiring = wiring_of(rig_with((HOUSE / "wiring_docs" / build / "rig.toml").read_text()))
        parts = pages(wiring)["parts.md"]
        drawn = set(re.findall(r">([KQFXZRS]\d)\b", draw_wiring(wiring)))
        assert len(drawn) > 6
        assert "S1" in drawn
        for mark in drawn:
            assert re.search(rf"\b{mark}\b", parts), f"{build}: {mark}"
        assert ("inputs for 3.3 V, active high" in parts) == bool(wiring.relays)
        assert ("fourteen times the lamp's" in parts) == bool(wiring.relays)


def test_mains_come_last() -> None:
    """Ohms and volts at the inputs are measured before mains are connected."""
    page = pages(wiring_of(rig_with(LOW_AND_HIGH)))["bring-up.md"]
    places = [page.index(f"## {n}.") for n in range(1, 8)]
    assert places == sorted(places)
    assert page.index("below 0.4 V") < page.index("Mains, by the electrician")
    assert "input of K2 (ceiling) to ground: above 2.5 V" in page


def test_bring_up_measures_volts_both_at_rest_and_energised() -> None:
    """Supplies with their sign come first; each input and contact has both of its levels."""
    page = pages(wiring_of(rig_with(LOW_AND_HIGH)))["bring-up.md"]
    assert page.index("Coil + to coil -: 4.75") < page.index("input of K1 (lamp) to ground: below")
    for wanted in (
        "3.3 V, pin 1 to ground, pin 6: 3.2 to 3.4 V",
        "input of K1 (lamp) to ground while energised: above 2.5 V",
        "input of K2 (ceiling) to ground while energised: below 0.4 V",
        "pedal dry, GPIO 26, pin 37 to ground, the program running: 3.3 V, below 0.4 V under",
    ):
        assert wanted in page


def test_a_relay_on_the_line_of_a_sensors_bus_is_told() -> None:
    """Active-low relays are advised on GPIO 4 to 6, and 1-wire is on 4 unless it is moved."""
    text = LOW_AND_HIGH.replace("address = 5", "address = 4")
    assert not [each for each in warnings(tomllib.loads(text)) if "usual line" in each.what]
    text += '[[sensor]]\nname = "tray"\ndriver = "one-wire"\naddress = "28-0316a2795bff"\n'
    [told] = [each for each in warnings(tomllib.loads(text)) if "usual line" in each.what]
    assert told.field == "safelight[1].address"
    assert "GPIO 4" in told.what


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
