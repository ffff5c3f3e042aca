"""What no single field of a rig can hold: lines used twice, lights that fail the wrong way.

The rules look at the raw tables and pass over what is missing or of the wrong type (the model
tells of that), so that one reading of a file finds every fault, not only the first kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from controller.rig import modbus, modem_lines
from controller.written import Fault

SIMULATOR = "sim"  # the driver of an imagined room
RESERVED = {"lamp": "the enlarger's own output", "terminal": "the space bar of a terminal"}
ON_GPIO = ("buzzer", "piezo")  # sounders that hang on a line of the board "gpio"
SENSORS_ON_GPIO = ("light-pin",)  # sensors that do
USB_PEDAL = "usb-pedal"
HEADER = range(28)  # GPIO numbers on the header of a Raspberry Pi
LISTS = ("safelight", "light", "pedal", "sensor")
INPUTS = ("pedal", "box", "sounder", "sensor")  # each names a driver of its own
_SPARE_LINES = "a line that nothing else uses"


@dataclass(frozen=True, slots=True)
class Entry:
    """A table of a rig file, and its path."""

    path: str
    table: Mapping[str, object]

    def text(self, key: str, otherwise: str = "") -> str:
        """Give a value that is text, or else ``otherwise``."""
        value = self.table.get(key, otherwise)
        return value if isinstance(value, str) else otherwise

    def number(self, key: str, otherwise: float) -> float:
        """Give a value that is a number, or else ``otherwise``."""
        value = self.table.get(key, otherwise)
        if isinstance(value, bool) or not isinstance(value, int | float):
            return otherwise
        return value

    @property
    def address(self) -> object:
        """The line, under either of its names."""
        return self.table.get("address", self.table.get("pin"))


def is_wet(pedal: str) -> bool:
    """Is this the name of a pedal at the trays, which never lights a lamp?"""
    return pedal.partition("-")[0] == "wet"


def entries(raw: Mapping[str, object], key: str) -> list[tuple[str, Mapping[str, object]]]:
    """Give the tables under a key of a rig file, each with its path; counted from 1."""
    value = raw.get(key)
    if isinstance(value, Mapping):
        return [(key, value)]
    if isinstance(value, list | tuple):
        return [(f"{key}[{i}]", v) for i, v in enumerate(value, 1) if isinstance(v, Mapping)]
    return []


def contradictions(raw: Mapping[str, object]) -> list[Fault]:
    """Find where a rig contradicts itself, or would fail the wrong way."""
    keys = (*LISTS, "lamp", "box", "sounder")
    tables = {key: [Entry(*e) for e in entries(raw, key)] for key in keys}
    return [
        *_lamp(tables["lamp"]),
        *_safelights(tables["safelight"]),
        *_others(tables["light"]),
        *_semiconductors([*tables["lamp"], *tables["safelight"], *tables["light"]]),
        *_names(tables),
        *_addresses(tables),
        *_header(tables, raw),
        *_modbus(tables, raw),
        *_modem_lines(tables, raw),
        *_usb_pedals(tables["pedal"]),
        *_sounder(tables["sounder"]),
        *_foot([Entry(*e) for e in entries(raw, "foot")]),
        *_pace(raw, tables["lamp"]),
        *_integration([Entry(*e) for e in entries(raw, "integration")], tables["sensor"]),
    ]


def _pace(raw: Mapping[str, object], lamps: Iterable[Entry]) -> Iterable[Fault]:
    if Entry("", raw).number("pace", 1) <= 1:
        return
    if any(lamp.text("driver") != SIMULATOR for lamp in lamps):
        yield Fault("pace", "a real lamp burns no faster", "no pace, or an imagined lamp")
    for _, integration in entries(raw, "integration"):
        if integration.get("ends_exposures") is True:
            yield Fault(
                "pace",
                "a sensor that ends exposures sees light no faster",
                "no pace, or integration.ends_exposures = false",
            )


def _lamp(lamps: Iterable[Entry]) -> Iterable[Fault]:
    for lamp in lamps:
        if lamp.text("contact") == "normally-closed":
            yield Fault(
                f"{lamp.path}.contact",
                "the lamp would burn whenever the relay is not energised",
                '"normally-open", with the lamp moved to that contact',
            )
        least_s, longest_s = lamp.number("least_pulse_s", 0.3), lamp.number("longest_on_s", 180)
        if 0 < longest_s <= least_s:
            yield Fault(
                f"{lamp.path}.longest_on_s",
                f"{longest_s:g} s leaves no room above least_pulse_s = {least_s:g}",
                f"more than {least_s:g}",
            )


def _safelights(lights: list[Entry]) -> Iterable[Fault]:
    nominated = [e for e in lights if e.table.get("nominated") is True]
    switched = [e for e in lights if e.address is not None]
    for light in lights:
        if light.address is None and light.table.get("may_be_switched", True) is not False:
            yield Fault(
                f"{light.path}.address",
                "it is missing, and the safelight is to be switched",
                "a line of the board, or may_be_switched = false where it has a plug of its own",
            )
        closed = light.text("contact", "normally-open") == "normally-closed"
        if light in nominated:
            if light.address is not None and not closed:
                yield Fault(
                    f"{light.path}.contact",
                    "the nominated safelight would go dark when all fails",
                    '"normally-closed", with the safelight wired to that contact',
                )
            if light.text("at_stop") == "off":
                yield Fault(
                    f"{light.path}.at_stop",
                    "nobody energises the nominated safelight's relay after the program's end",
                    '"on"',
                )
        elif closed:
            yield Fault(
                f"{light.path}.contact",
                "only the nominated safelight may burn when all fails",
                '"normally-open", or nominated = true here and nowhere else',
            )
    for light in nominated[1:]:
        yield Fault(
            f"{light.path}.nominated",
            f"{nominated[0].path} is nominated already",
            "nominated = true for one safelight only",
        )
    if switched and not nominated and len(switched) == len(lights):
        yield Fault(
            "safelight",
            "none is nominated, so the room would be dark when all fails",
            'nominated = true and contact = "normally-closed" for one of them',
        )


def _others(lights: Iterable[Entry]) -> Iterable[Fault]:
    for light in lights:
        if light.text("contact") == "normally-closed":
            yield Fault(
                f"{light.path}.contact",
                "this light would fog the paper when all fails",
                '"normally-open", with the light moved to that contact',
            )
        if light.text("kind") == "contact-frame" and light.text("at_start") == "on":
            yield Fault(
                f"{light.path}.at_start", "a contact frame is lit by exposures only", '"off"'
            )


def _semiconductors(lights: Iterable[Entry]) -> Iterable[Fault]:
    for light in lights:
        switch = light.text("switch")
        if switch in ("solid-state", "mosfet") and light.text("contact") == "normally-closed":
            yield Fault(
                f"{light.path}.switch",
                f"{switch!r} has no contact that is closed while nothing drives it",
                '"relay", or a plug of its own (may_be_switched = false, no address)',
            )
        if switch == "mosfet" and light.text("active") == "low":
            yield Fault(
                f"{light.path}.active",
                "a MOSFET between light and ground conducts while its gate is high",
                '"high"',
            )


def _names(tables: Mapping[str, list[Entry]]) -> Iterable[Fault]:
    outputs = tables["safelight"] + tables["light"]
    for group in (outputs, tables["pedal"], tables["sensor"]):
        seen: dict[str, str] = {}
        for entry in group:
            name = entry.text("name", "dry" if group is tables["pedal"] else "")
            if not name:
                continue
            if name in RESERVED and group is not tables["sensor"]:
                yield Fault(
                    f"{entry.path}.name", f"{name!r} is {RESERVED[name]}", "a name of its own"
                )
            elif name in seen:
                yield Fault(
                    f"{entry.path}.name",
                    f"{name!r} is the name of {seen[name]} already",
                    "a name of its own",
                )
            seen.setdefault(name, entry.path)


def _addresses(tables: Mapping[str, list[Entry]]) -> Iterable[Fault]:
    outputs = next((lamp.text("driver") for lamp in tables["lamp"]), "")
    used: dict[tuple[str, str], str] = {}
    for key in ("lamp", *LISTS, "box", "sounder"):
        for entry in tables[key]:
            driver = outputs
            if key in INPUTS:
                driver = entry.text("driver")
                driver = "gpio" if driver in (*ON_GPIO, *SENSORS_ON_GPIO) else driver
            address = same_address(entry.address)
            if not address or not driver or (key == "sensor" and driver != "gpio"):
                continue  # several chips may have one address, each on a bus of its own
            other = used.setdefault((driver, address), entry.path)
            if other != entry.path:
                yield Fault(
                    f"{entry.path}.address",
                    f"{entry.address!r} of {driver!r} is used by {other} already",
                    _SPARE_LINES,
                )


def _header(tables: Mapping[str, list[Entry]], raw: Mapping[str, object]) -> Iterable[Fault]:
    board = raw.get("board")
    gpio = board.get("gpio") if isinstance(board, Mapping) else None
    if isinstance(gpio, Mapping) and gpio.get("chip"):
        return  # some other chip: it has the lines that it has
    outputs = next((lamp.text("driver") for lamp in tables["lamp"]), "")
    for key in ("lamp", *LISTS, "box", "sounder"):
        for entry in tables[key]:
            driver = entry.text("driver") if key in INPUTS else outputs
            number = same_address(entry.address)
            on_gpio = driver in ("gpio", *ON_GPIO, *SENSORS_ON_GPIO)
            if on_gpio and number.isascii() and number.isdigit() and int(number) not in HEADER:
                yield Fault(
                    f"{entry.path}.{'pin' if 'pin' in entry.table else 'address'}",
                    f"the header of a Raspberry Pi has no GPIO {number}",
                    "a GPIO number from 0 to 27, or the chip's label in [board.gpio] chip",
                )


def _modbus(tables: Mapping[str, list[Entry]], raw: Mapping[str, object]) -> Iterable[Fault]:
    if not any(lamp.text("driver") == modbus.DRIVER for lamp in tables["lamp"]):
        return
    board = raw.get("board")
    table = board.get(modbus.DRIVER, {}) if isinstance(board, Mapping) else {}
    if isinstance(table, Mapping):
        for wrong in modbus.wrong_options(table):
            yield Fault(f"{modbus.TABLE}.{wrong.key}", wrong.what, wrong.right)
    coils: list[int] = []
    for entry in (*tables["lamp"], *tables["safelight"], *tables["light"]):
        if entry.address is None:
            continue
        coil = modbus.coil_of(entry.address)
        coils += [] if coil is None else [coil]
        for wrong in modbus.wrong_line(entry.address, active_low=entry.text("active") == "low"):
            yield Fault(f"{entry.path}.{wrong.key}", wrong.what, wrong.right)
    for wrong in modbus.wrong_span(coils):
        yield Fault(f"lamp.{wrong.key}", wrong.what, wrong.right)


def _modem_lines(tables: Mapping[str, list[Entry]], raw: Mapping[str, object]) -> Iterable[Fault]:
    outputs = [*tables["lamp"], *tables["safelight"], *tables["light"]]
    if not any(lamp.text("driver") == modem_lines.DRIVER for lamp in tables["lamp"]):
        outputs = []
    inputs = [e for e in tables["pedal"] + tables["box"] if e.text("driver") == modem_lines.DRIVER]
    if not (outputs or inputs):
        return
    board = raw.get("board")
    table = board.get(modem_lines.DRIVER, {}) if isinstance(board, Mapping) else {}
    table = table if isinstance(table, Mapping) else {}
    for wrong in modem_lines.wrong_options(table):
        yield Fault(f"{modem_lines.TABLE}.{wrong.key}", wrong.what, wrong.right)
    switched = [entry for entry in outputs if entry.address is not None]
    for entry in switched:
        low = entry.text("active") == "low"
        for wrong in modem_lines.wrong_output(entry.address, active_low=low):
            yield Fault(f"{entry.path}.{wrong.key}", wrong.what, wrong.right)
    for entry in inputs:
        if entry.address is not None:
            for wrong in modem_lines.wrong_input(entry.address):
                yield Fault(f"{entry.path}.{wrong.key}", wrong.what, wrong.right)
    if len({modem_lines.word(entry.address) for entry in switched}) == len(switched):
        addresses = [entry.address for entry in switched]
        for place, wrong in modem_lines.wrong_sharing(addresses, table.get("supply", "none")):
            yield Fault(f"{switched[place].path}.{wrong.key}", wrong.what, wrong.right)


def _usb_pedals(pedals: Iterable[Entry]) -> Iterable[Fault]:
    for pedal in pedals:
        if pedal.text("driver") != USB_PEDAL:
            continue
        if pedal.address is not None and not str(pedal.address).startswith("/"):
            yield Fault(
                f"{pedal.path}.address",
                f"{pedal.address!r} is no USB pedal",
                "its path, the one in /dev/input/by-id that ends in -event-kbd",
            )
        if pedal.text("contact") == "normally-closed":
            yield Fault(
                f"{pedal.path}.contact",
                "a USB pedal tells presses, not contacts",
                '"normally-open"',
            )


def same_address(address: object) -> str:
    """Write an address so that 17, "17" and "GPIO17" are the same; empty if it is none."""
    if isinstance(address, bool) or not isinstance(address, int | str):
        return ""
    return str(address).strip().upper().removeprefix("GPIO")


def _sounder(sounders: Iterable[Entry]) -> Iterable[Fault]:
    for sounder in sounders:
        driver = sounder.text("driver")
        if driver in ON_GPIO and sounder.address is None:
            yield Fault(
                f"{sounder.path}.address",
                f"it is missing, and a {driver} hangs on a line",
                "a GPIO number, such as 12",
            )


def _foot(feet: Iterable[Entry]) -> Iterable[Fault]:
    for foot in feet:
        long_s, stuck_s = foot.number("long_press_s", 1.5), foot.number("stuck_s", 5.0)
        if stuck_s <= long_s:
            yield Fault(
                f"{foot.path}.stuck_s",
                f"{stuck_s:g} s is not longer than a long press of {long_s:g} s",
                f"more than {long_s:g}",
            )


def _integration(wanted: Iterable[Entry], sensors: list[Entry]) -> Iterable[Fault]:
    of_lamp = [e.text("name") for e in sensors if e.text("purpose") == "lamp"]
    for integration in wanted:
        name = integration.text("sensor")
        if name and name not in of_lamp:
            yield Fault(
                f"{integration.path}.sensor",
                f"{name!r} is no sensor that sees the lamp",
                " or ".join(f'"{each}"' for each in of_lamp)
                or 'the name of a [[sensor]] with purpose = "lamp"',
            )
        full, dark = integration.number("full_light", 1.0), integration.number("dark", 0.0)
        if 0 < full <= dark:
            yield Fault(
                f"{integration.path}.full_light",
                f"{full:g} is not more than dark = {dark:g}",
                "what the sensor reads at full light: dryside lag sensor finds it",
            )
