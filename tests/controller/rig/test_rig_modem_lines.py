"""A rig on the modem lines of a serial port: what is wrong by its name, with its remedy."""

from __future__ import annotations

import pytest

from controller.rig.cautions import warnings
from controller.rig.file import find_faults
from controller.rig.model import Rig
from controller.written import parse

RIG = """
[lamp]
driver = "modem-lines"
address = "dtr-rts"
[[pedal]]
driver = "modem-lines"
address = "cts"
[box]
driver = "modem-lines"
address = "dsr"
[board.modem-lines]
port = "/dev/serial/by-id/usb-adapter-if00-port0"
"""
SAFELIGHT = """[[safelight]]
name = "ceiling"
address = "rts"
nominated = true
contact = "normally-closed"
"""


def faults(text: str) -> list[str]:
    return [str(fault) for fault in find_faults(parse(text, "rig.toml"), "rig.toml")]


def test_a_rig_of_one_adapter() -> None:
    """Lamp, pedal and box on one port are a rig; two outputs may have a wire each."""
    assert faults(RIG) == []
    assert Rig.model_validate(parse(RIG, "")).driver_options("modem-lines")
    two = RIG.replace("dtr-rts", "DTR") + SAFELIGHT
    assert faults(two) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('port = "/dev/serial/by-id/usb-adapter-if00-port0"', "", "board.modem-lines.port: it is"),
        ("/dev/serial/by-id/usb-adapter-if00-port0", "COM3", "board.modem-lines.port: 'COM3' is"),
        (
            "[board.modem-lines]",
            '[board.modem-lines]\nsuply = "dtr"',
            "board.modem-lines.suply: there is no such key here; right would be supply.",
        ),
        (
            "[board.modem-lines]",
            '[board.modem-lines]\nsupply = "cts"',
            "board.modem-lines.supply: 'cts' is not right; right would be \"none\", or",
        ),
        (
            "[board.modem-lines]",
            '[board.modem-lines]\nsupply = "rts"',
            "lamp.address: 'dtr-rts' needs RTS, which is the supply of the contacts already",
        ),
        ("dtr-rts", "ri", "lamp.address: 'ri' is no output of a serial port; right would be"),
        ('"dtr-rts"', "17", "lamp.address: 17 is no output of a serial port"),
        (
            '"dtr-rts"',
            '"dtr-rts"\nactive = "low"',
            "lamp.active: a port that nobody has open drops its lines, which would energise",
        ),
        ('address = "cts"', 'address = "rts"', "pedal[1].address: 'rts' is no input of a serial"),
        ('address = "dsr"', 'address = "dsr1"', "box.address: 'dsr1' is no input of a serial port"),
        ('address = "dsr"', 'address = "CTS"', "box.address: 'CTS' of 'modem-lines' is used by"),
    ],
)
def test_what_is_wrong_is_told_once(old: str, new: str, said: str) -> None:
    """Each fault gives one sentence at its own field."""
    assert old in RIG
    (told,) = faults(RIG.replace(old, new, 1))
    assert told.startswith(f"rig.toml, {said}")


def test_two_outputs_need_wires_of_their_own() -> None:
    """A relay between both wires leaves none for another."""
    (told,) = faults(RIG + SAFELIGHT)
    assert told.startswith(
        "rig.toml, safelight[1].address: 'rts' needs RTS, which is used by 'dtr-rts' already"
    )


def test_a_lamp_that_flashes_when_the_port_is_opened_is_warned_of() -> None:
    """A relay on one wire is no fault, but its owner should know."""
    raw = parse(RIG.replace("dtr-rts", "rts"), "")
    assert [w.field for w in warnings(raw)] == ["lamp.address", "safelight"]
    assert [w.field for w in warnings(parse(RIG, ""))] == ["safelight"]
