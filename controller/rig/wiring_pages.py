"""The pages beside a wiring diagram, in Markdown: pins, parts, and the order of bringing it up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from controller.rig.wiring import (
    GROUND_FOR_BOARD,
    UNIT_3V3_PIN,
    UNIT_GROUND_PIN,
    UNIT_SERVICE,
    VOLTS_3V3_PIN,
    Board,
    Input,
    Output,
    Part,
    Place,
    Point,
    Through,
    Wiring,
)
from controller.rig.wiring_bring_up import bring_up
from controller.rig.wiring_parts import part_notes, part_rows

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
    lines += _pin_tables(wiring)
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


_Cells = tuple[str, str, str, str]
_Row = tuple[Place, int, _Cells]


def _pin_tables(wiring: Wiring) -> Iterator[str]:
    """One table for each thing that counts its own pins: pin 3 is something else at each."""
    rows = sorted(_pins(wiring), key=lambda row: row[1:])
    places = [place for place in Place if any(row[0] is place for row in rows)]
    for number, place in enumerate(places):
        if len(places) > 1:
            yield from (*([""] if number else []), f"Pins of {place.value}:", "")
        found = _merged(cells for at, _, cells in rows if at is place)
        yield from _table(("pin", "called", "goes to", "at rest"), found)


def _merged(rows: Iterable[_Cells]) -> list[_Cells]:
    """Give a pin that several wires share one row."""
    places: dict[tuple[str, str], _Cells] = {}
    for pin, called, to, rest in rows:
        key = (pin, called)
        if pin and key in places:
            to = f"{places[key][2]}; {to}"
            rest = places[key][3] if rest in ("", places[key][3]) else f"{places[key][3]}; {rest}"
        else:
            key = key if pin else (to, called)
        places[key] = (pin, called, to, rest)
    return list(places.values())


def _pins(wiring: Wiring) -> Iterator[_Row]:
    for each in wiring.outputs:
        mark = (
            f"RG{each.number}, 100 Ω, then the gate of Q{each.number}"
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
        for terminal, point in contact.wires:
            yield _row(point, f"{contact.name}, {terminal}", _rest_of_wire(contact, point))
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
        if wiring.board is Board.RELAY_UNIT:
            ground = Point("GND of the unit", UNIT_GROUND_PIN, Place.UNIT)
        to = "GND of the relay board" if wiring.relays else "0 V of PS1"
        if wiring.relays and wiring.mosfets:
            to += ", and 0 V of PS1"
        yield _row(ground, f"{to}; the lower ends of the resistors", "")
    if wiring.pulled and any(each.active_low for each in wiring.outputs):
        supply = Point("3.3 V", VOLTS_3V3_PIN) if at_header else Point("3.3 V")
        if wiring.board is Board.RELAY_UNIT:
            supply = Point("3.3 V of the unit", UNIT_3V3_PIN, Place.UNIT)
        yield _row(supply, "input + of the relay board; resistors", "never 5 V: pins take 3.3 V")
    if wiring.board is Board.RELAY_UNIT:
        yield _row(Point("USB of the unit", at=Place.UNIT), "the computer, by a clamped cable", "")
        gp, pin = UNIT_SERVICE
        yield _row(
            Point(f"service: GP{gp}", pin, Place.UNIT),
            "nothing; to ground only while files are copied",
            "",
        )
    if wiring.board is Board.MODBUS:
        for name in ("A", "B", "GND"):
            yield _row(Point(f"{name} of the adapter"), f"{name} of the relay board", "")


def _row(point: Point, to: str, rest: str) -> _Row:
    pin = "" if point.pin is None else str(point.pin)
    return (point.at, point.pin or 999, (pin, point.name, to, rest))


def _rest_of_wire(each: Input, point: Point) -> str:
    if each.part is Part.SOUNDER and point == each.point:
        return f"{'0' if each.rests_low else '3.3'} V: silent"
    if each.between and each.between[0].endswith("Ω") and point == each.point:
        return f"{each.between[0]} to 3.3 V"
    return ""


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
        *_table(("mark", "how many", "what", "rating"), list(part_rows(wiring))),
        "",
        *(f"- {each}" for each in part_notes(wiring)),
    ]
    return _page("Parts", wiring, lines)
