"""A first rig file from what was found: to be read, changed, and checked. Pure.

What drives the outputs is, in this order: a relay unit or a Modbus board that answered, the
header's GPIO lines, and else an imagined lamp, so that the file is right as it stands.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from controller.rig.found_parts import Answer, Chip, FoundParts

# The header's chips, and lines that its default pull holds low while it boots (hardware facts).
HEADERS = ("pinctrl-rp1", "pinctrl-bcm2711", "pinctrl-bcm2835")
RELAYS_AT = (17, 22, 23, 24, 25, 27)
PEDALS_AT = (26, 16, 20, 21)


class _Outputs(NamedTuple):
    driver: str
    lamp: str  # as TOML
    safelight: str
    options: Mapping[str, str | int]
    why: str


def header(parts: FoundParts) -> Chip | None:
    """Give the chip of a Raspberry Pi's header."""
    return next((chip for label in HEADERS for chip in parts.chips if chip.label == label), None)


def first_rig(parts: FoundParts) -> str:
    """Write the file. Its lines for parts that only a person can judge are comments."""
    board = _outputs(parts)
    lines = [
        "# A first rig file, written from what was found. Read it through, change it, then:",
        "#   dryside rig check             is the file right?",
        "#   dryside rig check --hands     is the wiring? (plug out, an LED in its place)",
        "#   dryside rig example           every field explained",
        "#",
        "# Mains wiring is a licensed electrician's work, and local codes come first.",
        "",
        'name = "darkroom"',
        "",
        "[lamp]                        # the enlarger's lamp",
        f"# {board.why}",
        f"driver = {_toml(board.driver)}",
        f"address = {board.lamp}",
        "longest_on_s = 180            # for the sake of negative and lamp",
        "",
        "[[safelight]]                 # this one burns when everything has failed",
        'name = "ceiling"',
        f"address = {board.safelight}",
        'contact = "normally-closed"',
        "nominated = true",
        "",
        *_pedals(parts),
        *_sensors(parts),
        "[sounder]",
        'driver = "bell"               # or "buzzer" or "piezo" with its address',
        f"speech = {str(bool(parts.speech)).lower()}"
        + ("" if parts.speech else "                # espeak-ng is not installed"),
    ]
    if board.options:
        lines += ["", f"[board.{board.driver}]"]
        lines += [f"{key} = {_toml(value)}" for key, value in board.options.items()]
    return "\n".join(lines) + "\n"


def _outputs(parts: FoundParts) -> _Outputs:
    drivers = {Answer.RELAY_UNIT: "relay-unit", Answer.MODBUS: "modbus"}
    for answer, driver in drivers.items():
        for port in parts.ports:
            if port.answer is answer:
                why = f"{answer.value} answered ({port.told}); its outputs are counted from 0"
                return _Outputs(driver, "0", "1", port.options, why)
    chip = header(parts)
    if chip is not None:
        free = [gpio for gpio in RELAYS_AT if gpio not in chip.busy]
        if len(free) >= len(("lamp", "safelight")):
            why = "GPIO numbers that are free and low at boot; active-low boards belong on 4 to 6"
            options = {"library": "lgpio", "chip": chip.label}
            return _Outputs("gpio", str(free[0]), str(free[1]), options, why)
    why = 'no relays were found, so this lamp is imagined: write "gpio" or another driver'
    return _Outputs("sim", '"lamp"', '"ceiling"', {}, why)


def _pedals(parts: FoundParts) -> list[str]:
    if parts.pedals:
        others = [f"#   {path}" for path in parts.pedals[1:]]
        return [
            "[[pedal]]                     # the first device that sends keys: is it the pedal?",
            'name = "dry"',
            'driver = "usb-pedal"',
            f"address = {_toml(parts.pedals[0])}",
            *(["# others that send keys:", *others] if others else []),
            "",
        ]
    chip = header(parts)
    free = [gpio for gpio in PEDALS_AT if chip is not None and gpio not in chip.busy]
    if free:
        return [
            "[[pedal]]                     # its contact lies between this line and ground",
            'name = "dry"',
            'driver = "gpio"',
            f"address = {free[0]}",
            "",
        ]
    return ["# No pedal was found: dryside rig example shows how one is written.", ""]


def _sensors(parts: FoundParts) -> list[str]:
    found: list[tuple[str, str, str, str]] = [
        (f"light-{at}", chip.driver, f"0x{chip.address:02x}", f"options = {{ bus = {chip.bus} }}")
        for at, chip in enumerate(parts.light_chips, 1)
        if chip.sure
    ]
    found += [
        (f"tray-{at}", "one-wire", _toml(number), "")
        for at, number in enumerate(parts.thermometers, 1)
    ]
    lines: list[str] = []
    for name, driver, address, more in found:
        purpose = "tray temperature" if driver == "one-wire" else "stray"
        lines += [
            "[[sensor]]",
            f"name = {_toml(name)}",
            f"driver = {_toml(driver)}",
            f"address = {address}",
            f"purpose = {_toml(purpose)}",
            *([more] if more else []),
            "",
        ]
    return lines


def _toml(value: str | int) -> str:
    # a JSON string is a TOML basic string
    return json.dumps(value)


def as_lines(parts: FoundParts) -> Sequence[str]:
    """Tell what was found, in plain words."""
    lines: list[str] = []
    for chip in parts.chips:
        if chip.why:
            lines.append(f"GPIO chip {chip.name}: it could not be looked at ({chip.why})")
            continue
        label = "the header's chip" if chip.label in HEADERS else "a chip"
        lines.append(f"GPIO chip {chip.name}: {chip.label}, {chip.lines} lines ({label})")
        lines += [f"  line {at} is busy: {who}" for at, who in sorted(chip.busy.items())]
    for port in parts.ports:
        more = f" ({port.told})" if port.told else ""
        lines.append(f"serial port {port.path}: {port.answer.value}{more}")
    lines += [f"sends keys, as a pedal does: {path}" for path in parts.pedals]
    lines += [f"I2C bus {bus}" for bus in parts.buses]
    for light in parts.light_chips:
        sure = "" if light.sure else ", or another chip with this address"
        lines.append(f"light chip {light.driver} at 0x{light.address:02x}, bus {light.bus}{sure}")
    lines += [f"thermometer {number}" for number in parts.thermometers]
    lines += [f"sound card: {card}" for card in parts.cards]
    lines.append(f"speech: {parts.speech}" if parts.speech else "speech: espeak-ng is not there")
    for name, may in parts.backlights.items():
        lines.append(f"backlight {name}: {'can be switched' if may else 'this user may not'}")
    lines += [f"watchdog: /dev/{name}" for name in parts.watchdogs]
    none = {
        "GPIO chip": parts.chips,
        "serial port with a lasting name": parts.ports,
        "pedal or keyboard": parts.pedals,
        "I2C bus": parts.buses,
        "thermometer": parts.thermometers,
        "sound card": parts.cards,
        "backlight": parts.backlights,
        "watchdog": parts.watchdogs,
    }
    missing = [name for name, there in none.items() if not there]
    if missing:
        lines.append(f"not there: {', '.join(missing)}")
    return lines
