"""A rig with a Modbus board: every wrong field by its name, with what would be right."""

from __future__ import annotations

import tomllib

import pytest

from controller.rig.file import example_rig, find_faults
from controller.rig.modbus import ModbusOptions, options_of, wrong_options
from controller.written import parse

PORT = 'port = "/dev/serial/by-id/usb-adapter-if00-port0"'


def faults(text: str) -> list[str]:
    return [str(fault) for fault in find_faults(parse(text, "rig.toml"), "rig.toml")]


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            PORT,
            "",
            "board.modbus.port: it is missing; right would be the path that stays the same "
            'wherever the adapter is plugged in, such as "/dev/serial/by-id/usb-...-port0" '
            "(ls /dev/serial/by-id).",
        ),
        (PORT, 'port = "ttyUSB0"', "board.modbus.port: 'ttyUSB0' is not the path of a serial port"),
        (
            "unit = 1",
            "unit = 248",
            "board.modbus.unit: 248 is no Modbus address; right would be a number from 1 to 247.",
        ),
        (
            "baud = 9600",
            "baud = 4800",
            "board.modbus.baud: 4800 is not right; right would be 9600, 19200, 38400, 57600 or "
            "115200.",
        ),
        (
            'parity = "none"',
            'parity = "N"',
            'board.modbus.parity: \'N\' is not right; right would be "none", "even" or "odd".',
        ),
        ("stop_bits = 1", "stop_bits = true", "board.modbus.stop_bits: True is not right; right "),
        (
            "timeout_ms = 15",
            "timeout_ms = 500",
            "board.modbus.timeout_ms: 500 is not right; right would be a number of milliseconds "
            "from 2 to 40.",
        ),
        ("rts = false", "rts = 0", "board.modbus.rts: 0 is not right; right would be true or fal"),
        (
            "baud = 9600",
            "bauds = 9600",
            "board.modbus.bauds: there is no such key here; right would be baud.",
        ),
        (
            "address = 2",
            'address = "GPIO2"',
            "safelight[2].address: 'GPIO2' is no coil of a Modbus board; right would be its "
            "number, counted from 0: the first relay is 0.",
        ),
        ("address = 2", "address = 1", "safelight[2].address: 1 of 'modbus' is used by safelight"),
        ("address = 2", 'address = 2\nactive = "low"', "safelight[2].active: a coil that is off"),
        ("address = 3", "address = 300", "lamp.address: coils 0 and 300 are too far apart to be "),
    ],
)
def test_one_sentence_for_each_fault(old: str, new: str, sentence: str) -> None:
    """A wrong field is told by file, table and key, with what is wrong and what would be right."""
    text = example_rig("modbus")
    assert old in text
    (fault,) = faults(text.replace(old, new, 1))
    assert fault.startswith(f"rig.toml, {sentence}")


def test_the_table_matters_for_such_a_board_only() -> None:
    """What stands in the table of a driver that is not used is nobody's fault."""
    assert faults(example_rig() + "[board.modbus]\nunit = 0\n") == []


def test_options_are_read() -> None:
    """The example's table gives the options as they stand; what is left out has its usual value."""
    table = tomllib.loads(example_rig("modbus"))["board"]["modbus"]
    assert options_of(table) == ModbusOptions(table["port"])
    assert list(wrong_options({"port": "/dev/x"})) == []
    assert options_of({"port": "/dev/x", "unit": 7, "timeout_ms": 30}) == ModbusOptions(
        "/dev/x", unit=7, timeout_ms=30.0
    )
