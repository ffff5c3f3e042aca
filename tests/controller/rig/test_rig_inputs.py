"""Pedals and the switch on the paper box, as a rig file names them."""

from __future__ import annotations

import pytest

from controller.rig.cautions import warnings
from controller.rig.file import find_faults, load_rig
from controller.rig.model import Rig
from controller.written import parse

LEAST = '[lamp]\ndriver = "gpio"\naddress = 17\n'
WET = '[[pedal]]\nname = "wet"\ndriver = "gpio"\naddress = 13\n'
DRY = '[[pedal]]\ndriver = "gpio"\naddress = 26\n'
BOX = '[box]\ndriver = "gpio"\naddress = 16\n'


def told(text: str) -> list[str]:
    return [str(fault) for fault in find_faults(parse(text, "rig.toml"), "rig.toml")]


def test_two_pedals_and_a_box() -> None:
    """A dry and a wet pedal and a box's switch stand in one rig, each on a line of its own."""
    rig = Rig.model_validate(parse(LEAST + DRY + WET + BOX, "rig.toml"))
    assert [(pedal.name, pedal.wet) for pedal in rig.pedal] == [("dry", False), ("wet", True)]
    assert rig.box is not None
    assert (rig.box.address, rig.box.contact, rig.box.bounce_ms) == (16, "normally-open", 50.0)
    assert load_rig("tungsten").box is None


@pytest.mark.parametrize("name", ["dry", "dry-2", "wet", "wet-left"])
def test_more_of_a_kind_are_told_apart(name: str) -> None:
    """A pedal's first word says what it may do; what stands behind it is free."""
    text = LEAST + f'[[pedal]]\nname = "{name}"\ndriver = "gpio"\naddress = 26\n'
    rig = Rig.model_validate(parse(text, "rig.toml"))
    assert rig.pedal[0].wet is name.startswith("wet")


@pytest.mark.parametrize("name", ["west", "Wet", "wet2", "foot", "dry-", "", "big one"])
def test_a_misspelt_wet_pedal_is_refused(name: str) -> None:
    """No misspelling makes a pedal at the trays one that lights the lamp."""
    (fault,) = told(LEAST + f'[[pedal]]\nname = "{name}"\ndriver = "gpio"\naddress = 26\n')
    assert fault.startswith(f'rig.toml, pedal[1].name: "{name}" is not right; right would be "dry"')


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (LEAST + BOX.replace("16", "17"), "rig.toml, box.address: 17 of 'gpio' is used by lamp"),
        (LEAST + DRY + BOX.replace("16", "26"), "rig.toml, box.address: 26 of 'gpio' is used by"),
        (LEAST + BOX.replace("16", "40"), "rig.toml, box.address: the header of a Raspberry Pi"),
        (LEAST + BOX + 'contact = "shut"\n', 'rig.toml, box.contact: "shut" is not right'),
        (LEAST + BOX + "bounce_ms = 1001\n", "rig.toml, box.bounce_ms: 1001 is not right"),
        (LEAST + "[box]\n", "rig.toml, box.driver: it is missing"),
        (LEAST + f"[{BOX.splitlines()[0]}]\n", "rig.toml, box: a list is not right"),
        (LEAST + BOX + 'name = "box"\n', "rig.toml, box.name: there is no such key here"),
    ],
)
def test_a_box_that_is_wrong_is_told_with_its_remedy(text: str, said: str) -> None:
    """The box's table is held to the rules of every other input."""
    assert any(fault.startswith(said) for fault in told(text)), told(text)


def test_a_wet_pedal_alone_says_no_go() -> None:
    """A rig whose only pedal is a wet one is told that nothing but a terminal says go."""
    raw = parse(LEAST + WET, "rig.toml")
    (warning,) = [w for w in warnings(raw) if w.field == "pedal"]
    assert warning.what.startswith("there is none for light")
    assert not [w for w in warnings(parse(LEAST + WET + DRY, "")) if w.field == "pedal"]


USB = '[[pedal]]\ndriver = "usb-pedal"\naddress = "/dev/input/by-id/usb-pedal-event-kbd#b"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            USB.replace("/dev", "dev"),
            "rig.toml, pedal[1].address: 'dev/input/by-id/usb-pedal-event",
        ),
        (
            USB + 'contact = "normally-closed"\n',
            "rig.toml, pedal[1].contact: a USB pedal tells presses, not contacts; right would be "
            '"normally-open".',
        ),
    ],
)
def test_what_a_usb_pedal_must_have(text: str, said: str) -> None:
    """A path, and no contact."""
    assert told(LEAST + USB) == []
    (fault,) = told(LEAST + text)
    assert fault.startswith(said)


@pytest.mark.parametrize(
    ("driver", "address", "line"), [("one-wire", "28-0316a2795bff", 4), ("bh1750", "0x23", 3)]
)
def test_a_line_that_a_sensors_bus_drives_is_told(driver: str, address: str, line: int) -> None:
    """A relay there would follow the bus; on a line of its own nothing is said."""
    text = """
[lamp]
driver = "gpio"
address = {line}
active = "low"
[[sensor]]
name = "one"
driver = "{driver}"
address = "{address}"
purpose = "stray"
"""

    def told(at: int) -> list[str]:
        raw = parse(text.format(line=at, driver=driver, address=address), "")
        return [w.what for w in warnings(raw) if w.field == "lamp.address"]

    assert any(f"GPIO {line} is a line of the bus" in each for each in told(line))
    assert not told(5)
