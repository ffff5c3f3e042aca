"""The pages beside a wiring diagram, in Markdown: pins, parts, and the order of bringing it up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from controller.rig.wiring import (
    GROUND_FOR_BOARD,
    VOLTS_3V3_PIN,
    Board,
    Input,
    Output,
    Part,
    Point,
    Through,
    Wiring,
)
from controller.rig.wiring_bring_up import bring_up

CAUTION = (
    "> **Mains work by a licensed electrician; local codes first.** Nothing here replaces either. "
    "Work on nothing that is plugged in; switch off both poles, "
    "unplug, wait, and measure that it is "
    "dead. Mains parts sit in an enclosure of their own with "
    "strain relief at every cable, away from "
    "trays and splashes, behind an RCD (GFCI) and a main switch "
    "for both poles. All that a foot or a "
    "wet hand touches is on extra-low voltage."
)


def pages(wiring: Wiring) -> dict[str, str]:
    """Give the pages of a rig by their file names."""
    return {
        "pins.md": pins_page(wiring),
        "parts.md": parts_page(wiring),
        "bring-up.md": bring_up_page(wiring),
    }


def _page(title: str, wiring: Wiring, lines: Sequence[str]) -> str:
    head = [f"# {title}: {wiring.name}", "", CAUTION, ""]
    return "\n".join([*head, *lines]) + "\n"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    text = [head, ["---"] * len(head), *rows]
    return [f"| {' | '.join(cell.replace('|', '/') for cell in row)} |" for row in text]


def bring_up_page(wiring: Wiring) -> str:
    """Tell the order of bringing the rig up."""
    return _page("Bringing it up", wiring, bring_up(wiring))


# --- pins -----------------------------------------------------------------------------------


def pins_page(wiring: Wiring) -> str:
    """Tell every pin that is used, what goes there, and what holds it at rest."""
    lines = [f"What switches the lights hangs on: {wiring.board_words}.", ""]
    lines += _table(
        ("pin", "called", "goes to", "at rest"), [row for _, row in sorted(_pins(wiring))]
    )
    lines += ["", "## Lights", ""]
    lines += _table(
        ("no.", "light", "line", "switched by", "contact", "without power"),
        [_light_row(each) for each in wiring.outputs],
    )
    lines += [""] if wiring.own_plugs else []
    lines += [f"- safelight {name}: a plug of its own, never switched" for name in wiring.own_plugs]
    lines += ["", *_pin_notes(wiring)]
    return _page("Pins", wiring, lines)


def _light_row(each: Output) -> tuple[str, ...]:
    mark = "Q" if each.through is Through.MOSFET else "K"
    contact = each.used if each.through is Through.RELAY else "none"
    return (
        f"{mark}{each.number}",
        f"{each.name} ({each.what})",
        str(each.point) if each.second is None else f"{each.point} and {each.second}",
        each.through.value,
        contact,
        "burns" if each.closed_at_rest else "dark",
    )


_Row = tuple[int, tuple[str, str, str, str]]


def _pins(wiring: Wiring) -> Iterator[_Row]:
    for each in wiring.outputs:
        mark = (
            f"100 Ω, then the gate of Q{each.number}"
            if each.through is Through.MOSFET
            else f"input of K{each.number}"
        )
        if each.second is not None:
            yield _row(each.point, f"{mark}, + ({each.name})", "not raised: no current")
            yield _row(each.second, f"{mark}, - ({each.name})", "not raised: no current")
            continue
        rest = "the board's own affair"
        if wiring.pulled:
            rest = f"R{each.number}, 10 kΩ to " + ("3.3 V" if each.active_low else "ground")
        yield _row(each.point, f"{mark} ({each.name})", rest)
    for contact in wiring.inputs:
        for wire in contact.wires:
            rest = "4.7 kΩ to 3.3 V" if wire.pulled_up else ""
            yield _row(wire.point, f"{contact.name}, {wire.to}", rest)
        if contact.wires:
            continue
        yield _row(contact.point, contact.name, _rest_of(contact))
        if contact.other_end is not None:
            yield _row(contact.other_end, f"{contact.name}, other end", "")
    yield from _board_pins(wiring)


def _board_pins(wiring: Wiring) -> Iterator[_Row]:
    at_header = wiring.board is Board.HEADER and wiring.on_header
    if wiring.pulled:
        ground = Point("ground", GROUND_FOR_BOARD) if at_header else Point("GND")
        to = "GND of the relay board" if wiring.relays else "0 V of PS1"
        if wiring.relays and wiring.mosfets:
            to += ", and 0 V of PS1"
        yield _row(ground, f"{to}; the lower ends of the resistors", "")
    if wiring.pulled and any(each.active_low for each in wiring.outputs):
        supply = Point("3.3 V", VOLTS_3V3_PIN) if at_header else Point("3.3 V")
        yield _row(supply, "input + of the relay board; resistors", "never 5 V: pins take 3.3 V")
    if wiring.board is Board.RELAY_UNIT:
        yield _row(Point("USB of the unit"), "the computer, by a clamped cable", "")
    if wiring.board is Board.MODBUS:
        for name in ("A", "B", "GND"):
            yield _row(Point(f"{name} of the adapter"), f"{name} of the relay board", "")


def _row(point: Point, to: str, rest: str) -> _Row:
    pin = "" if point.pin is None else str(point.pin)
    return (point.pin or 999, (pin, point.name, to, rest))


def _rest_of(contact: Input) -> str:
    if contact.part in (Part.CONTACT, Part.REED):
        return "contact closed" if contact.closed_at_rest else "contact open"
    return contact.detail


def _pin_notes(wiring: Wiring) -> list[str]:
    notes = []
    if wiring.board is Board.HEADER:
        notes += [
            "A Raspberry Pi pulls GPIO 0 to 8 up and 9 to 27 down from "
            "the moment it has power until "
            "the program claims them: some seconds. Active-high inputs belong on 16 to 27, "
            "active-low ones on 4 to 6. The resistors hold a line that "
            "the computer has let go; they "
            "sit at the relay's end of the wire, so that a wire that came off is held too.",
        ]
    if wiring.board is Board.RELAY_UNIT:
        notes += [
            "The pins are those of the firmware's board.py as it is "
            "shipped, on a module in the shape "
            "of a Raspberry Pi Pico. Whoever changes the file changes the wires.",
        ]
    if wiring.board is Board.MODBUS:
        notes += [
            "A and B are named the other way round by some makers: if nothing answers, exchange "
            "them. A resistor of 120 Ω at both ends of a long line; none on a metre.",
        ]
    if wiring.board is Board.MODEM_LINES:
        notes += [
            "Pins are those of an RS-232 plug with 9 pins, where a "
            "raised wire is plus. At an adapter "
            "with logic levels (5 or 3.3 V) a raised wire is 0 V: K1's + "
            "and - change places there. "
            "A contact to ground works at logic levels only; at RS-232 "
            "it wants a wire that is kept "
            "raised (supply in the rig file).",
        ]
    return [f"- {each}" for each in (*notes, *wiring.notes)]


# --- parts ----------------------------------------------------------------------------------


def parts_page(wiring: Wiring) -> str:
    """List the parts by type and rating."""
    lines = [
        "By type and rating. Figures of lamps are yours: read them "
        "on the lamp. What is marked * is "
        "common practice, without a source; the electrician decides.",
        "",
        *_table(("mark", "how many", "what", "rating"), list(_parts(wiring))),
        "",
        *_part_notes(wiring),
    ]
    return _page("Parts", wiring, lines)


def _parts(wiring: Wiring) -> Iterator[tuple[str, str, str, str]]:
    relays = [each for each in wiring.relays if each.through is Through.RELAY]
    solid = [each for each in wiring.relays if each.through is Through.SOLID_STATE]
    yield ("", "1", "RCD (GFCI), two poles", "30 mA or less; for your mains")
    yield ("", "1", "main switch, two poles, lockable", "your mains; more than all lamps together")
    if relays:
        yield (
            _marks("K", relays),
            str(len(relays)),
            "relay, change-over contact",
            "rated by its maker for lamps (tungsten or capacitive load) at your mains; insulation "
            "between coil and contact reinforced",
        )
        yield (
            _marks("Z", relays),
            str(len(relays)),
            "snubber, or varistor, across the contact that is used",
            "snubber: 100 Ω and 0.1 µF*, the capacitor of class X2, the resistor for pulses; "
            "varistor: 275 V AC at 230 V, 150 V AC at 120 V*",
        )
    if solid:
        yield (
            _marks("K", solid),
            str(len(solid)),
            "solid-state relay for alternating current",
            "input 3 to 32 V DC; surge current above the lamp's inrush; four times the lamp's "
            "current*; on a heat sink",
        )
    if wiring.relays:
        yield (
            _marks("F", wiring.relays),
            str(len(wiring.relays)),
            "fuse, slow, high breaking capacity",
            "1.25 to 2 times the lamp's current*, and below what relay and cable bear",
        )
    if any(each.enlarger for each in wiring.outputs):
        yield (
            "S1",
            "1",
            "switch in the enlarger lamp's lead, within reach",
            "your mains and the lamp's inrush"
            if wiring.relays and wiring.outputs[0].on_mains
            else "the head's direct current",
        )
    yield from _low_parts(wiring)
    mains = wiring.relays
    if mains:
        yield (
            "",
            "1",
            "enclosure for all mains parts",
            "closed, IP44* or better, opened by a tool",
        )
        glands = 2 + len(mains)
        yield ("", str(glands), "gland or clamp with strain relief", "one for each mains cable")


def _low_parts(wiring: Wiring) -> Iterator[tuple[str, str, str, str]]:
    mosfets = wiring.mosfets
    if mosfets:
        yield (
            _marks("Q", mosfets),
            str(len(mosfets)),
            "MOSFET, n-channel, logic level",
            "fully on at 3.3 V of gate; twice the supply's voltage, four "
            "times the light's current*",
        )
        yield ("", str(len(mosfets)), "resistor at the gate", "100 Ω, 0.25 W")
        yield (
            _marks("F", mosfets),
            str(len(mosfets)),
            "fuse, direct current",
            "1.25 to 2 times the light's current*; rated for the supply's direct voltage",
        )
        yield (
            "PS1",
            "1",
            "ready-made, enclosed supply, SELV",
            "the lights' voltage (12 or 24 V), their currents together and a quarter more*",
        )
    if wiring.pulled:
        yield (
            _marks("R", wiring.outputs),
            str(len(wiring.outputs)),
            "resistor at each input",
            "10 kΩ, 0.25 W",
        )
        if wiring.relays:
            yield ("", "1", "supply for the relays' coils, SELV", "5 V, all coils together")
    if wiring.board is Board.MODBUS:
        yield ("", "1", "USB adapter to RS-485", "isolated is better")
    for part, what, rating in (
        (Part.CONTACT, "pedal with a contact", "extra-low voltage only; splash-proof; 2 wires"),
        (Part.REED, "reed switch and magnet", "extra-low voltage only"),
        (Part.SOUNDER, "buzzer or piezo", "3.3 V, 8 mA at most; more through a transistor"),
        (Part.SENSOR, "sensor on a line", "3.3 V"),
        (Part.USB, "device with a port of its own", "as the rig file names it"),
    ):
        found = [each for each in wiring.inputs if each.part is part]
        if found:
            yield (", ".join(each.name for each in found), str(len(found)), what, rating)


def _marks(letter: str, outputs: Sequence[Output]) -> str:
    return ", ".join(f"{letter}{each.number}" for each in outputs)


def _part_notes(wiring: Wiring) -> list[str]:
    notes = []
    if any(each.through is Through.RELAY for each in wiring.relays):
        notes += [
            "**Relays are chosen for the inrush.** A cold filament takes some fourteen times its "
            "current, and LED drivers with a capacitor at their input may take more. A figure for "
            'resistive loads ("10 A") says nothing of that: contacts weld, and the lamp stays on. '
            "Example: 150 W at 230 V is 0.65 A, and some 9 A at switching on; at 120 V 1.25 A and "
            "17.5 A.",
            "A relay board's distance between coil side and contact side is its insulation; boards "
            "with a millimetre there are not for mains. Have it judged.",
            "A snubber lets some milliamperes through while the contact is open: at 0.1 µF 7 mA "
            "at 230 V and 50 Hz, 4.5 mA at 120 V and 60 Hz. LED lamps may glow with that: take a "
            "varistor there, and test the dark lamp for fog.",
            "The coils have a supply of their own. On a board with "
            "optocouplers take its jumper out, "
            "so that coil - and GND stay apart; on one without they are one, and are joined.",
        ]
    if wiring.mosfets:
        notes += [
            "The head must be one for constant voltage, with its resistors in it. One with an "
            "electronic driver of its own is switched by the driver's own input, or at its mains "
            "side by a relay.",
            "What carries a motor or a coil (a fan in the head) is not switched here, or wants a "
            "diode across it.",
        ]
    if any(each.through is Through.SOLID_STATE for each in wiring.relays):
        notes += [
            "A solid-state relay leaks when it is off and mostly fails lit. S1 is not an option.",
        ]
    return [f"- {each}" for each in notes]
