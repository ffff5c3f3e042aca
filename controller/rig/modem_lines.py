"""What may stand in ``[board.modem-lines]``, and which outputs and inputs a serial port has.

Pure, and without pydantic: the keeper's process loads it too. ``controller.rig.rules`` tells what
is wrong while a rig is read, the driver when it is opened.

A line is *raised* or *dropped* here: electrically that is plus and minus some volts at an RS-232
plug, and 0 V and 5 V (or 3.3 V) at an adapter with logic levels.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches

from controller.rig.modbus import Wrong

DRIVER = "modem-lines"
TABLE = "board.modem-lines"
BETWEEN = "dtr-rts"  # a relay between the two wires: energised while DTR is raised and RTS dropped
OUTPUTS = {"dtr": ("dtr",), "rts": ("rts",), BETWEEN: ("dtr", "rts")}
INPUTS = ("cts", "dsr", "ri", "cd")
SUPPLIES = ("none", "dtr", "rts")
_KEYS = ("port", "supply")


def wrong_options(table: Mapping[str, object]) -> Iterator[Wrong]:
    """Tell everything that is wrong with the table, each by its key."""
    for key in table:
        if key not in _KEYS:
            near = get_close_matches(key, _KEYS, n=1)
            yield Wrong(key, "there is no such key here", near[0] if near else "port or supply")
    port = table.get("port")
    if not (isinstance(port, str) and port.startswith("/")):
        yield Wrong(
            "port",
            "it is missing" if port is None else f"{port!r} is not the path of a serial port",
            'the path that stays the same wherever the adapter is plugged in, such as "'
            '/dev/serial/by-id/usb-...-port0" (ls /dev/serial/by-id)',
        )
    if table.get("supply", "none") not in SUPPLIES:
        right = '"none", or "dtr" or "rts", the line that is kept raised to feed the contacts'
        yield Wrong("supply", f"{table['supply']!r} is not right", right)


def wrong_output(address: object, *, active_low: bool) -> Iterator[Wrong]:
    """Tell what is wrong with an output's line on a serial port."""
    if word(address) not in OUTPUTS:
        yield Wrong(
            "address",
            f"{address!r} is no output of a serial port",
            f'"{BETWEEN}" (a relay between the two wires), "dtr" or "rts"',
        )
    if active_low:
        yield Wrong(
            "active",
            "a port that nobody has open drops its lines, which would energise the relay",
            '"high", with the relay wired so',
        )


def wrong_input(address: object) -> Iterator[Wrong]:
    """Tell what is wrong with the line of a pedal or of the box's switch."""
    if word(address) not in INPUTS:
        right = '"cts", "dsr", "ri" or "cd"'
        yield Wrong("address", f"{address!r} is no input of a serial port", right)


def wrong_sharing(addresses: Sequence[object], supply: object) -> Iterator[tuple[int, Wrong]]:
    """Tell where one line would have to do two things, by the place of the second address."""
    used = {str(supply): "the supply of the contacts"} if supply in ("dtr", "rts") else {}
    for place, address in enumerate(addresses):
        for line in OUTPUTS.get(word(address), ()):
            if line in used:
                what = f"{word(address)!r} needs {line.upper()}, which is {used[line]} already"
                yield place, Wrong("address", what, "a line that nothing else uses")
                break
        for line in OUTPUTS.get(word(address), ()):
            used.setdefault(line, f"used by {word(address)!r}")


def flashes(address: object) -> bool:
    """Does a relay there pull in whenever any program opens the port?"""
    return word(address) in ("dtr", "rts")


def word(address: object) -> str:
    """Write an address as it is compared: in small letters."""
    return address.strip().lower() if isinstance(address, str) else ""
