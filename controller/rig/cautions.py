"""What is not wrong in a rig file, but what its owner should know of.

Like ``controller.rig.rules`` it looks at the raw tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from controller.rig import modem_lines
from controller.rig.rules import (
    INPUTS,
    LISTS,
    ON_GPIO,
    SENSORS_ON_GPIO,
    Entry,
    entries,
    is_wet,
    same_address,
)
from controller.written import Fault

# Raspberry Pi at boot: GPIO 0-8 are pulled up, 9-27 down (read; see the hardware's facts).
PULLED_UP_AT_BOOT = range(9)
ADVISED = {"high": range(16, 28), "low": range(4, 7)}


def warnings(raw: Mapping[str, object], file: str = "") -> list[Fault]:
    """Find what a rig may have, but whose owner should know of; written like faults."""
    found = [*_boot_levels(raw), *_buses(raw), *_flashing(raw), *_left_out(raw)]
    return [Fault(each.field, each.what, each.right, file) for each in found]


def _boot_levels(raw: Mapping[str, object]) -> Iterable[Fault]:
    outputs = [Entry(*e) for key in ("lamp", "safelight", "light") for e in entries(raw, key)]
    if not outputs or outputs[0].text("driver") != "gpio":
        return
    for entry in outputs:
        number, active = same_address(entry.address), entry.text("active", "high")
        if not (number.isascii() and number.isdigit()) or active not in ADVISED:
            continue
        advised = ADVISED[active]
        if int(number) in advised or int(number) > 27:
            continue
        pulled_up = int(number) in PULLED_UP_AT_BOOT
        if pulled_up == (active == "high"):
            what = (
                f"a Raspberry Pi pulls GPIO {number} {'up' if pulled_up else 'down'} at boot, "
                f"which energises an active-{active} relay for some seconds"
            )
        else:
            # from memory of the header: 0-3 and 7-11 serve I2C and SPI, 14 and 15 the serial port
            what = f"GPIO {number} may also serve one of the Pi's buses or its serial port"
        yield Fault(
            f"{entry.path}.{'pin' if 'pin' in entry.table else 'address'}",
            what,
            f"one of GPIO {advised[0]} to {advised[-1]} for an active-{active} relay, and a "
            "resistor at its input that holds it off",
        )


# The lines of the kernel's usual buses on the header; from memory of the header.
_BUS_LINES = {"bh1750": ("2", "3"), "veml7700": ("2", "3"), "one-wire": ("4",)}


def _buses(raw: Mapping[str, object]) -> Iterable[Fault]:
    """Tell of a line that a sensor's bus drives too: a relay there would follow the bus."""
    board = raw.get("board")
    gpio = board.get("gpio") if isinstance(board, Mapping) else None
    if isinstance(gpio, Mapping) and gpio.get("chip"):
        return
    driven = {
        line: sensor
        for sensor in (Entry(*e) for e in entries(raw, "sensor"))
        for line in _BUS_LINES.get(sensor.text("driver"), ())
    }
    outputs = next((Entry(*e).text("driver") for e in entries(raw, "lamp")), "")
    for key in ("lamp", *LISTS, "box", "sounder"):
        for entry in (Entry(*e) for e in entries(raw, key)):
            driver = entry.text("driver") if key in INPUTS else outputs
            sensor = driven.get(same_address(entry.address))
            if sensor is None or driver not in ("gpio", *ON_GPIO, *SENSORS_ON_GPIO):
                continue
            yield Fault(
                f"{entry.path}.{'pin' if 'pin' in entry.table else 'address'}",
                f"GPIO {same_address(entry.address)} is a line of the bus of {sensor.path} "
                f"({sensor.text('driver')}), which drives it all the time",
                "a line of its own; GPIO 2 and 3 serve I2C, GPIO 4 one-wire, unless config.txt "
                "has moved the bus",
            )


def _flashing(raw: Mapping[str, object]) -> Iterable[Fault]:
    for path, table in entries(raw, "lamp"):
        entry = Entry(path, table)
        if entry.text("driver") == modem_lines.DRIVER and modem_lines.flashes(entry.address):
            yield Fault(
                f"{path}.address",
                "whatever opens the serial port raises this line, and may light the lamp",
                f'"{modem_lines.BETWEEN}", with the relay between the two wires, which stays at '
                "rest then",
            )


def _left_out(raw: Mapping[str, object]) -> Iterable[Fault]:
    safelights = [table for _, table in entries(raw, "safelight")]
    lamp = next((table for _, table in entries(raw, "lamp")), {})
    if not safelights:
        yield Fault(
            "safelight",
            "there is none, so no light burns when all fails",
            "a nominated safelight on a normally-closed contact",
        )
    if lamp.get("driver") == "sim":
        return
    pedals = [Entry(*e) for e in entries(raw, "pedal")]
    if all(is_wet(pedal.text("name", "dry")) for pedal in pedals):
        yield Fault(
            "pedal",
            f"there is none{' for light' if pedals else ''}, so only the space bar of a terminal "
            "says go",
            "a [[pedal]] with a driver and an address" + (', called "dry"' if pedals else ""),
        )
    if raw.get("simulator"):
        yield Fault(
            "simulator",
            f"it changes nothing with lamp.driver = {lamp.get('driver')!r}",
            'no such table, or lamp.driver = "sim"',
        )
