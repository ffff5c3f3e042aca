"""Everything that may belong to a rig, listed without switching anything.

Opening a serial port raises two of its wires, and a relay may hang on them: ports are only listed
here, and asked (``drivers.looking.asking``) only where somebody names them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from controller.ports import PortFault
from controller.rig.found_parts import FoundParts, LightChip, SerialPortFound
from drivers.i2c import OpenChip, bus_chip
from drivers.looking.asking import asked
from drivers.looking.chips import chips
from drivers.looking.machine import ROOT, backlights, entries, text, watchdogs
from drivers.speech import installed

# Addresses and the identity of the one that has any: the chips' public data sheets, from memory
# of them. Older VEML7700 give another identity, so a strange one is only "not sure".
BH1750_AT = (0x23, 0x5C)
VEML7700_AT = 0x10
VEML7700_IDENTITY, VEML7700_IS = 0x07, 0x81
_THERMOMETER = re.compile(r"(10|22|28|3b|42)-[0-9a-f]{12}")  # families of thermometers


def serial_ports(root: Path = ROOT) -> list[str]:
    """List the serial ports that have a lasting name."""
    return [f"/{path.relative_to(root)}" for path in entries(root / "dev/serial/by-id")]


def pedals(root: Path = ROOT) -> list[str]:
    """List the input devices that send keys, as pedals do (and keyboards)."""
    return [
        f"/{path.relative_to(root)}" for path in entries(root / "dev/input/by-id", "*-event-kbd")
    ]


def buses(root: Path = ROOT) -> list[int]:
    """List the I2C buses."""
    names = [path.name for path in entries(root / "dev", "i2c-*")]
    return sorted(int(name[4:]) for name in names if name[4:].isdigit())


def light_chips(numbers: Sequence[int], open_chip: OpenChip = bus_chip) -> list[LightChip]:
    """Find the light chips on these buses; they are only read."""
    found: list[LightChip] = []
    for bus in numbers:
        for address in BH1750_AT:
            with suppress(PortFault):
                chip = open_chip(bus, address)
                try:
                    chip.bytes(2)  # it has no identity: that something answers is all
                    found.append(LightChip(bus, address, "bh1750", sure=False))
                finally:
                    chip.close()
        with suppress(PortFault):
            chip = open_chip(bus, VEML7700_AT)
            try:
                sure = chip.word(VEML7700_IDENTITY) & 0xFF == VEML7700_IS
                found.append(LightChip(bus, VEML7700_AT, "veml7700", sure=sure))
            finally:
                chip.close()
    return found


def thermometers(root: Path = ROOT) -> list[str]:
    """List the thermometers on the 1-wire bus, by their numbers."""
    names = [path.name for path in entries(root / "sys/bus/w1/devices")]
    return [name for name in names if _THERMOMETER.fullmatch(name.lower())]


def cards(root: Path = ROOT) -> list[str]:
    """Name the sound cards."""
    return re.findall(r"^\s*\d+\s+\[[^\]]*\]:\s*(.+?)\s*$", text(root / "proc/asound/cards"), re.M)


def look_for_parts(
    root: Path = ROOT, ask: Sequence[str] = (), open_chip: OpenChip = bus_chip
) -> FoundParts:
    """List all that is there; only the ports named in ``ask`` are opened and asked."""
    numbers = buses(root)
    ports = [asked(path) if path in ask else SerialPortFound(path) for path in serial_ports(root)]
    ports += [asked(path) for path in ask if path not in {port.path for port in ports}]
    return FoundParts(
        tuple(chips(root)),
        tuple(ports),
        tuple(pedals(root)),
        tuple(numbers),
        tuple(light_chips(numbers, open_chip)),
        tuple(thermometers(root)),
        tuple(cards(root)),
        installed() or "",
        backlights(root),
        tuple(watchdogs(root)),
    )
