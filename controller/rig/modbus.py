"""What may stand in ``[board.modbus]``, and which coils a relay board on Modbus RTU has.

Pure, and without pydantic: the keeper's process loads it too. ``controller.rig.rules`` tells what
is wrong while a rig is read, the driver when it is opened.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal, NamedTuple, TypeAlias, cast

DRIVER = "modbus"
TABLE = "board.modbus"
# Slower, writing a coil and reading it back would take longer than a keeper may be silent.
BAUDS = (9600, 19200, 38400, 57600, 115200)
PARITIES = ("none", "even", "odd")
UNITS = range(1, 248)  # Modbus over serial line, 2.2: 0 speaks to all, 248 to 255 are reserved
COILS = range(0x10000)
# Coils are read in one piece, from the first that is used to the last, and a reading must be short.
MOST_APART = 64

Parity: TypeAlias = Literal["none", "even", "odd"]


class Wrong(NamedTuple):
    """A value that is not right: the key, what is wrong with it, and what would be right."""

    key: str
    what: str
    right: str

    def __str__(self) -> str:
        return f"{self.key}: {self.what}; right would be {self.right}"


@dataclass(frozen=True, slots=True)
class ModbusOptions:
    """Where a board is and how it speaks: ``[board.modbus]``.

    ``timeout_ms`` is how long the board may think, from the end of a command to the begin of its
    answer. ``dtr`` and ``rts`` are the levels that these two wires are given when the port opens.
    """

    port: str
    unit: int = 1
    baud: int = 9600
    parity: Parity = "none"
    stop_bits: int = 1
    timeout_ms: float = 15.0
    dtr: bool = False
    rts: bool = False


_KEYS = tuple(ModbusOptions.__dataclass_fields__)


def options_of(table: Mapping[str, object]) -> ModbusOptions | Wrong:
    """Read the table, or tell the first thing that is wrong with it."""
    for wrong in wrong_options(table):
        return wrong
    given = {**table, "timeout_ms": float(cast(float, table.get("timeout_ms", 15.0)))}
    return ModbusOptions(**given)  # type: ignore[arg-type]  # each was looked at


def wrong_options(table: Mapping[str, object]) -> Iterator[Wrong]:
    """Tell everything that is wrong with the table, each by its key."""
    for key in table:
        if key not in _KEYS:
            near = get_close_matches(key, _KEYS, n=1)
            yield Wrong(
                key, "there is no such key here", near[0] if near else f"one of {_list(_KEYS)}"
            )
    port = table.get("port")
    if not (isinstance(port, str) and port.startswith("/")):
        yield Wrong(
            "port",
            "it is missing" if port is None else f"{port!r} is not the path of a serial port",
            'the path that stays the same wherever the adapter is plugged in, such as "'
            '/dev/serial/by-id/usb-...-port0" (ls /dev/serial/by-id)',
        )
    unit = table.get("unit", 1)
    if not _is_int(unit) or unit not in UNITS:
        yield Wrong("unit", f"{unit!r} is no Modbus address", "a number from 1 to 247")
    for key, allowed, otherwise in (
        ("baud", BAUDS, 9600),
        ("parity", PARITIES, "none"),
        ("stop_bits", (1, 2), 1),
    ):
        value = table.get(key, otherwise)
        if isinstance(value, bool) or value not in allowed:
            yield Wrong(key, f"{value!r} is not right", _list(allowed, "or"))
    timeout_ms = table.get("timeout_ms", 15.0)
    if isinstance(timeout_ms, bool) or not (
        isinstance(timeout_ms, int | float) and 2 <= timeout_ms <= 40
    ):
        yield Wrong(
            "timeout_ms", f"{timeout_ms!r} is not right", "a number of milliseconds from 2 to 40"
        )
    for key in ("dtr", "rts"):
        if not isinstance(table.get(key, False), bool):
            yield Wrong(key, f"{table[key]!r} is not right", "true or false")


def coil_of(address: object) -> int | None:
    """Give the coil's number that an address means (3 or "3", counted from 0), or None."""
    if isinstance(address, str) and address.strip().isascii() and address.strip().isdigit():
        address = int(address)
    if _is_int(address) and address in COILS:
        return cast(int, address)
    return None


def wrong_line(address: object, *, active_low: bool) -> Iterator[Wrong]:
    """Tell what is wrong with an output's line on such a board."""
    if coil_of(address) is None:
        yield Wrong(
            "address",
            f"{address!r} is no coil of a Modbus board",
            "its number, counted from 0: the first relay is 0",
        )
    if active_low:
        yield Wrong(
            "active",
            "a coil that is off must leave its relay at rest, since boards start with all off",
            '"high", and a board whose relays obey it',
        )


def wrong_span(coils: list[int]) -> Iterator[Wrong]:
    """Tell whether the coils in use are too far apart to be read in one short answer."""
    if coils and max(coils) - min(coils) >= MOST_APART:
        yield Wrong(
            "address",
            f"coils {min(coils)} and {max(coils)} are too far apart to be read back at once",
            f"coils of one board, at most {MOST_APART - 1} apart",
        )


def _is_int(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _list(values: tuple[object, ...], word: str = "and") -> str:
    written = [
        f'"{each}"' if isinstance(each, str) and word == "or" else str(each) for each in values
    ]
    return f"{', '.join(written[:-1])} {word} {written[-1]}"
