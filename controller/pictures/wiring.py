"""The wiring diagram of a rig: computer at the left, mains at the right, a boundary between.

Rows of one height each; every row of a light has the same places, so that nothing can overlap
however many there are. What a row shows comes from ``controller.rig.wiring``.
"""

from __future__ import annotations

from dataclasses import dataclass

from controller.pictures.wiring_pen import EARTH, GREY, LOW, MAINS, SMALL, Pen
from controller.rig.wiring import Board, Input, Output, Part, Through, Wiring

ROW = 4.3  # of a relay
MOSFET_ROW = 4.2
INPUT_ROW = 1.7
PLUG_ROW = 1.9
FONT_NOTE = 11.5
HEAD = 8.6  # mains supply, breaker and two-pole switch; at the left the supplies of the relays
COMPUTER = 4.6  # width
UNIT = 4.4
GAP = 2.4
PULL = 4.4  # zone of the resistors
RELAY = 6.4
COM = 1.75  # from a relay's axis up to its common contact
USED, UNUSED = 0.45, -0.55


@dataclass(frozen=True)
class _Columns:
    """Where things stand, from left to right."""

    unit: float
    pulls: float
    relay: float
    live: float
    neutral: float

    @classmethod
    def of(cls, wiring: Wiring) -> _Columns:
        unit = COMPUTER + GAP
        between = wiring.board in (Board.RELAY_UNIT,)
        pulls = unit + UNIT if between else COMPUTER
        relay = pulls + PULL
        live = relay + RELAY + 5.8
        return cls(unit, pulls, relay, live, live + 7.6)

    @property
    def boundary(self) -> float:
        return self.relay + 2.9


def draw_wiring(wiring: Wiring) -> str:
    """Draw a rig's wiring; gives the text of an SVG file, the same for the same rig."""
    pen, columns = Pen(), _Columns.of(wiring)
    y = -HEAD
    live = neutral = y
    relays = wiring.relays
    for output in relays:
        y -= ROW
        _relay(pen, columns, wiring, output, y + 1.7)
        live, neutral = y + 1.7 + COM, y + 1.7 + USED
    if not relays:
        y -= 0.4
    supply = y
    if wiring.mosfets:
        y -= ROW - 0.6
        _supply(pen, columns, y + 1.5)
        live, neutral = y + 2.1, y + 0.9
    for name in wiring.own_plugs:
        y -= PLUG_ROW
        _own_plug(pen, columns, name, y + 0.9)
        live = neutral = y + 0.9
    end_of_mains = y - 0.3
    _mains_head(pen, columns, live, neutral)
    y = end_of_mains - 1.1
    for output in wiring.mosfets:
        y -= MOSFET_ROW
        _mosfet(pen, columns, output, y + 1.7)
    end_of_board = y if wiring.mosfets else supply
    for each in wiring.inputs:
        y -= INPUT_ROW
        _input(pen, each, y + 0.7)
    _boundary(pen, columns, end_of_mains, wide=columns.neutral + 3.6)
    bottom = y - 0.2
    _computer(pen, wiring, bottom)
    _board(pen, columns, wiring, end_of_board, supply)
    _title(pen, wiring)
    return pen.svg()


def _title(pen: Pen, wiring: Wiring) -> None:
    pen.words(0, 2.9, f"Dryside wiring: {wiring.name}", size=17)
    pen.words(
        0,
        2.05,
        "Mains work by a licensed electrician; local codes come first. A diagram of what is "
        "connected, not of where it lies. All contacts are drawn at rest, without power.",
        size=FONT_NOTE,
        colour=MAINS,
    )
    pen.words(
        0,
        1.4,
        "Wires that cross with a bow do not touch; a dot joins. Sizes of fuses and parts: parts.md.",
        size=FONT_NOTE,
        colour=GREY,
    )


# --- the boundary ---------------------------------------------------------------------------


def _boundary(pen: Pen, at: _Columns, low: float, *, wide: float) -> None:
    x = at.boundary
    pen.boundary((x, 0.7), (x, low), (wide, low))
    pen.words(x - 0.3, 0.45, "EXTRA-LOW VOLTAGE", at="right", colour=LOW)
    pen.words(x + 0.3, 0.45, "MAINS", colour=MAINS)
    pen.words(
        at.relay + RELAY + 0.8,
        low + 0.45,
        "MAINS above this line: own enclosure, own glands, no shared terminals",
        size=SMALL,
        colour=MAINS,
    )
    pen.words(
        at.relay + RELAY + 0.8,
        low - 0.45,
        "EXTRA-LOW VOLTAGE below: all that a foot or a wet hand touches",
        size=SMALL,
        colour=LOW,
    )


# --- mains ----------------------------------------------------------------------------------


def _mains_head(pen: Pen, at: _Columns, live_end: float, neutral_end: float) -> None:
    live, neutral = at.live, at.neutral
    for x, name in ((live, "L"), (neutral, "N")):
        pen.terminal(x, -0.5, MAINS)
        pen.words(x + 0.25, -0.35, name, colour=MAINS)
    pen.words((live + neutral) / 2, -0.35, "mains supply", at="center", colour=MAINS)
    for y, first, second in (
        (-1.4, "RCD (GFCI), 30 mA or less", "two poles; test it monthly"),
        (-4.4, "main switch, two poles", "can be locked off; within reach"),
    ):
        pen.box(live - 0.9, y, neutral + 0.9, y - 2.1, colour=MAINS, style="--")
        middle = (live + neutral) / 2
        pen.words(middle, y - 0.75, first, at="center", colour=MAINS)
        pen.words(middle, y - 1.35, second, at="center", size=SMALL, colour=MAINS)
        for x in (live, neutral):
            pen.wire((x, y + 0.9), (x, y - 0.5), colour=MAINS)
            pen.switch((x, y - 1.6), (x, y - 0.5), MAINS)
            pen.wire((x, y - 1.6), (x, y - 2.1), colour=MAINS)
    pen.wire((live, -6.5), (live, live_end), colour=MAINS)
    pen.wire((neutral, -6.5), (neutral, neutral_end), colour=MAINS)
    pen.words(neutral + 1.6, -0.35, "PE", colour=EARTH)
    pen.stroke((neutral + 1.4, -0.35), (neutral + 1.4, -0.7), colour=EARTH)
    pen.earth(neutral + 1.4, -0.7)
    pen.words(live + 0.25, -7.2, "L", colour=MAINS)
    pen.words(neutral + 0.25, -7.2, "N", colour=MAINS)


def _lamp_lead(pen: Pen, at: _Columns, output: Output, x0: float, y: float) -> None:
    """Draw from the used contact over the live rail to the lamp and to neutral."""
    pen.across(x0, at.live + 0.9, y, (at.live,), colour=MAINS)
    x = at.live + 0.9
    if output.enlarger:
        pen.switch((x, y), (x + 1.2, y), MAINS)
        pen.words(x + 0.6, y - 0.45, "S1, in reach", at="center", size=SMALL, colour=MAINS)
    else:
        pen.wire((x, y), (x + 1.2, y), colour=MAINS)
    lamp = x + 2.6
    pen.wire((x + 1.2, y), (lamp + 0.2, y), colour=MAINS)
    pen.lamp(lamp + 0.7, y, MAINS)
    pen.wire((lamp + 1.2, y), (at.neutral, y), colour=MAINS)
    pen.dot(at.neutral, y, MAINS)
    pen.words(lamp + 0.7, y + 0.75, f"{output.name}", at="center")
    pen.words(lamp + 0.7, y - 1.75, output.what, at="center", size=SMALL)
    _earth(pen, lamp + 0.7, y)


def _earth(pen: Pen, x: float, y: float) -> None:
    pen.stroke((x, y - 0.5), (x, y - 0.75), colour=EARTH)
    pen.earth(x, y - 0.75)
    pen.words(x + 0.5, y - 0.9, "PE", size=SMALL, colour=EARTH)


def _own_plug(pen: Pen, at: _Columns, name: str, y: float) -> None:
    pen.dot(at.live, y, MAINS)
    pen.fuse((at.live, y), (at.live + 2.0, y), MAINS)
    pen.lamp(at.live + 4.2, y, MAINS)
    pen.wire((at.live + 2.0, y), (at.live + 3.7, y), colour=MAINS)
    pen.wire((at.live + 4.7, y), (at.neutral, y), colour=MAINS)
    pen.dot(at.neutral, y, MAINS)
    pen.words(at.live - 0.4, y + 0.2, f"safelight {name}", at="right")
    pen.words(
        at.live - 0.4, y - 0.3, "by a plug of its own, never switched", at="right", size=SMALL
    )


def _supply(pen: Pen, at: _Columns, y: float) -> None:
    """Draw the ready-made supply of the lights on extra-low voltage; it straddles the boundary."""
    x0, x1 = at.relay, at.relay + RELAY
    pen.box(x0, y + 1.5, x1, y - 1.3, colour=GREY)
    pen.words(x0 + 0.2, y + 1.15, "PS1", colour=LOW)
    for dy, text in ((0.45, "ready-made,"), (0.0, "enclosed,"), (-0.45, "SELV")):
        pen.words(at.boundary + 0.4, y + dy, text, size=SMALL, colour=MAINS)
    for dy, name in ((0.6, "+V"), (-0.6, "0 V")):
        pen.terminal(x0, y + dy, LOW)
        pen.words(x0 + 0.3, y + dy, name)
        pen.wire((x0 - 1.0, y + dy), (x0 - 0.1, y + dy))
    pen.words(x0 - 1.15, y + 0.6, "to +V below", at="right", size=SMALL, colour=LOW)
    pen.words(x0 - 1.15, y - 0.6, "to 0 V below", at="right", size=SMALL, colour=LOW)
    pen.terminal(x1, y + 0.6, MAINS)
    pen.terminal(x1, y - 0.6, MAINS)
    pen.words(x1 - 0.25, y + 0.6, "L", at="right", colour=MAINS)
    pen.words(x1 - 0.25, y - 0.6, "N", at="right", colour=MAINS)
    pen.wire((x1 + 0.1, y + 0.6), (at.live, y + 0.6), colour=MAINS)
    pen.dot(at.live, y + 0.6, MAINS)
    pen.across(x1 + 0.1, at.neutral, y - 0.6, (at.live,), colour=MAINS)
    pen.dot(at.neutral, y - 0.6, MAINS)
    pen.words(x1 + 2.3, y + 1.05, "by its plug", at="center", size=SMALL, colour=MAINS)


# --- relays ---------------------------------------------------------------------------------


def _relay(pen: Pen, at: _Columns, wiring: Wiring, output: Output, y: float) -> None:
    """Draw a relay, what drives it and what it switches, around the axis y of its coil."""
    x0, x1 = at.relay, at.relay + RELAY
    pen.box(x0, y + 2.25, x1, y - 1.15, colour=GREY)
    pen.words(x0 + 0.25, y + 1.85, f"K{output.number}", colour=LOW)
    _drive(pen, at, wiring, output, y)
    ends = (y + COM, y + USED)
    if output.through is Through.SOLID_STATE:
        _solid_state(pen, at, y)
    else:
        _contacts(pen, at, output, y)
        _snubber(pen, x1 + 1.0, *ends, output.number)
    pen.wire((x1 + 0.1, ends[0]), (x1 + 3.3, ends[0]), colour=MAINS)
    pen.fuse((x1 + 3.3, ends[0]), (at.live, ends[0]), MAINS)
    pen.words(x1 + 4.55, ends[0] + 0.55, f"F{output.number}", at="center", colour=MAINS)
    pen.dot(at.live, ends[0], MAINS)
    _lamp_lead(pen, at, output, x1 + 0.1, ends[1])


def _contacts(pen: Pen, at: _Columns, output: Output, y: float) -> None:
    x0, x1, pivot = at.relay, at.relay + RELAY, at.boundary + 0.9
    pen.box(x0 + 1.3, y + 0.45, x0 + 2.2, y - 0.45, colour=LOW)
    pen.wire((x0 + 1.3, y - 0.45), (x0 + 2.2, y + 0.45))
    pen.stroke((x0 + 2.2, y), (pivot + 0.45, y), colour=GREY, style=":")
    touched = USED if output.closed_at_rest else UNUSED
    fixed = pivot + 1.0
    pen.wire((x1 - 0.1, y + COM), (pivot, y + COM), (pivot, y - 0.05), colour=MAINS)
    pen.dot(pivot, y - 0.05, MAINS)
    pen.stroke((pivot, y - 0.05), (fixed, y + touched), colour=MAINS, width=2.4)
    for dy, name in ((USED, output.used), (UNUSED, output.unused)):
        pen.dot(fixed, y + dy, MAINS)
        pen.wire((fixed, y + dy), (x1 - 0.1, y + dy), colour=MAINS)
        pen.terminal(x1, y + dy, MAINS)
        pen.words(x1 - 0.3, y + dy + 0.28, name, at="right", size=SMALL, colour=MAINS)
    pen.terminal(x1, y + COM, MAINS)
    pen.words(x1 - 0.3, y + COM + 0.28, "COM", at="right", size=SMALL, colour=MAINS)
    pen.words(x1 + 0.3, y + UNUSED - 0.05, "stays empty", size=SMALL, colour=GREY)


def _solid_state(pen: Pen, at: _Columns, y: float) -> None:
    x1 = at.relay + RELAY
    pen.words(at.boundary + 0.35, y + 1.2, "solid-state", size=SMALL, colour=MAINS)
    pen.words(at.boundary + 0.35, y + 0.75, "relay", size=SMALL, colour=MAINS)
    pen.words(at.boundary + 0.35, y - 0.4, "leaks when off;", size=SMALL, colour=GREY)
    pen.words(at.boundary + 0.35, y - 0.85, "fails lit", size=SMALL, colour=GREY)
    for dy in (COM, USED):
        pen.terminal(x1, y + dy, MAINS)
        pen.words(x1 - 0.3, y + dy, "~", at="right", colour=MAINS)


def _snubber(pen: Pen, x: float, top: float, low: float, number: int) -> None:
    pen.dot(x, top, MAINS)
    pen.dot(x, low, MAINS)
    middle = (top + low) / 2
    pen.wire((x, top), (x, middle + 0.4), colour=MAINS)
    pen.box(x - 0.22, middle + 0.4, x + 0.22, middle - 0.4, colour=MAINS)
    pen.wire((x, middle - 0.4), (x, low), colour=MAINS)
    pen.words(x + 0.4, middle + 0.2, f"Z{number} snubber", size=SMALL, colour=MAINS)
    pen.words(x + 0.4, middle - 0.25, "or varistor", size=SMALL, colour=MAINS)


def _drive(pen: Pen, at: _Columns, wiring: Wiring, output: Output, y: float) -> None:
    """Draw what drives a relay's input."""
    x0 = at.relay
    if output.through is Through.SOLID_STATE or output.second is not None:
        ends = ((0.5, "+", output.point), (-0.5, "-", output.second))
        for dy, sign, point in ends:
            pen.terminal(x0, y + dy, LOW)
            pen.words(x0 + 0.25, y + dy, sign, colour=LOW)
            if point is not None:
                _from_computer(pen, at, str(point), y + dy)
            else:
                pen.wire((x0 - 0.7, y + dy), (x0 - 0.1, y + dy))
                pen.ground(x0 - 0.7, y + dy)
        if wiring.pulled:
            _pull(pen, at, output, y + 0.5)
        return
    if not wiring.pulled:
        pen.words(x0 + 0.25, y - 0.8, str(output.point), size=SMALL, colour=LOW)
        pen.wire((x0 + 0.6, y), (x0 + 1.3, y))
        return
    pen.terminal(x0, y, LOW)
    pen.words(x0 + 0.2, y + 0.3, f"IN{output.number}", size=SMALL, colour=LOW)
    pen.words(
        x0 + 0.25,
        y - 0.8,
        f"active {'low' if output.active_low else 'high'}",
        size=SMALL,
        colour=LOW,
    )
    pen.wire((x0 + 0.1, y), (x0 + 1.3, y))
    _from_computer(pen, at, str(output.point), y)
    _pull(pen, at, output, y)


def _from_computer(pen: Pen, at: _Columns, text: str, y: float) -> None:
    start = at.pulls
    pen.terminal(start, y, LOW)
    pen.words(start - 0.25, y, text, at="right", size=SMALL)
    pen.wire((start + 0.1, y), (at.relay - 0.1, y))


def _pull(pen: Pen, at: _Columns, output: Output, y: float) -> None:
    x = at.relay - 1.5
    pen.dot(x, y, LOW)
    end = y + 1.5 if output.active_low else y - 1.5
    pen.resistor((x, y), (x, end))
    middle = (y + end) / 2
    pen.words(x - 0.45, middle + 0.2, f"R{output.number}", at="right", size=SMALL, colour=LOW)
    pen.words(x - 0.45, middle - 0.25, "10 kΩ", at="right", size=SMALL, colour=LOW)
    if output.active_low:
        pen.wire((x - 0.35, end), (x + 0.35, end))
        pen.words(x + 0.5, end, "3.3 V", size=SMALL, colour=LOW)
    else:
        pen.ground(x, end)


# --- lights on extra-low voltage ------------------------------------------------------------


def _mosfet(pen: Pen, at: _Columns, output: Output, y: float) -> None:
    gate = at.relay + 1.4
    start = at.pulls
    pen.terminal(start, y, LOW)
    pen.words(start - 0.25, y, str(output.point), at="right", size=SMALL)
    pen.wire((start + 0.1, y), (start + 0.9, y))
    pen.resistor((start + 0.9, y), (start + 2.5, y))
    pen.words(start + 1.7, y + 0.55, "100 Ω", at="center", size=SMALL, colour=LOW)
    pen.wire((start + 2.5, y), (gate, y))
    _pull_gate(pen, at.relay - 0.5, y, output.number)
    drain, source = pen.mosfet(gate, y)
    pen.words(drain[0] + 0.4, y, f"Q{output.number}, logic level", size=SMALL, colour=LOW)
    pen.ground(*source)
    pen.words(source[0] + 0.5, source[1] - 0.15, "0 V of PS1", size=SMALL, colour=LOW)
    top = y + 1.3
    pen.wire(drain, (drain[0], top), (drain[0] + 1.4, top))
    x = drain[0] + 1.4
    pen.leds((x + 1.8, top), (x, top), LOW)
    pen.words(x + 0.9, top + 0.95, output.name, at="center")
    pen.words(x + 0.9, top + 0.5, output.what, at="center", size=SMALL)
    x += 1.8
    if output.enlarger:
        pen.wire((x, top), (x + 1.4, top))
        pen.switch((x + 1.4, top), (x + 2.6, top), LOW)
        pen.words(x + 2.0, top - 0.5, "S1, in reach", at="center", size=SMALL, colour=LOW)
    else:
        pen.wire((x, top), (x + 2.6, top))
    pen.wire((x + 2.6, top), (x + 3.4, top))
    pen.fuse((x + 3.4, top), (x + 5.2, top), LOW)
    pen.words(x + 4.3, top - 0.5, f"F{output.number}", at="center", size=SMALL, colour=LOW)
    pen.terminal(x + 5.3, top, LOW)
    pen.words(x + 5.6, top, "+V of PS1", colour=LOW)


def _pull_gate(pen: Pen, x: float, y: float, number: int) -> None:
    pen.dot(x, y, LOW)
    pen.resistor((x, y), (x, y - 1.5))
    pen.words(x - 0.45, y - 0.6, f"R{number}", at="right", size=SMALL, colour=LOW)
    pen.words(x - 0.45, y - 1.05, "10 kΩ", at="right", size=SMALL, colour=LOW)
    pen.ground(x, y - 1.5)


# --- what a foot touches --------------------------------------------------------------------


def _input(pen: Pen, each: Input, y: float) -> None:
    x = COMPUTER
    if each.part is Part.USB:
        pen.terminal(x, y, LOW)
        pen.words(x - 0.25, y, "its own port", at="right", size=SMALL)
        pen.wire((x + 0.1, y), (x + 2.2, y))
        pen.box(x + 2.2, y + 0.55, x + 9.0, y - 0.55, colour=LOW)
        pen.words(x + 2.45, y + 0.2, each.name)
        pen.words(x + 2.45, y - 0.25, each.detail, size=SMALL, colour=GREY)
        return
    up, down = y + 0.35, y - 0.35
    for dy, point in ((up, each.point), (down, each.other_end)):
        pen.terminal(x, dy, LOW)
        pen.words(x - 0.25, dy, str(point), at="right", size=SMALL)
    right = x + 5.0
    if each.part in (Part.CONTACT, Part.REED):
        pen.wire((x + 0.1, up), (right - 1.6, up))
        pen.switch((right - 1.6, up), (right - 0.4, up), LOW, closed=each.closed_at_rest)
        pen.wire((right - 0.4, up), (right, up), (right, down), (x + 0.1, down))
    else:
        pen.wire((x + 0.1, up), (right, up))
        pen.wire((x + 0.1, down), (right, down))
        pen.box(right, y + 0.6, right + 0.9, y - 0.6, colour=LOW)
        pen.words(right + 0.2, up, "+" if each.part is Part.SOUNDER else "", colour=LOW)
    pen.words(right + 1.2, y + 0.2, each.name)
    pen.words(right + 1.2, y - 0.3, _told(each), size=SMALL, colour=GREY)


def _told(each: Input) -> str:
    match each.part:
        case Part.CONTACT:
            return f"contact, {'closed' if each.closed_at_rest else 'open'} while no foot is on it"
        case Part.REED:
            return f"reed switch, {'closed' if each.closed_at_rest else 'open'} without its magnet"
        case Part.SOUNDER:
            return "draws 8 mA at most; more through a transistor"
        case _:
            return each.detail


# --- computer and boards --------------------------------------------------------------------


def _computer(pen: Pen, wiring: Wiring, bottom: float) -> None:
    pen.box(0, 0.0, COMPUTER, bottom, colour="black")
    on_header = wiring.board is Board.HEADER or any(
        each.point.name.startswith("GPIO") for each in wiring.inputs
    )
    if on_header and wiring.on_header:
        lines = ("Raspberry Pi", "header of 40 pins; the", "number after GPIO is not", "the pin's")
    elif wiring.board is Board.MODEM_LINES:
        lines = ("serial port", "pins of a 9-pin RS-232 plug;", "an adapter names its wires")
    else:
        lines = ("computer", "a Raspberry Pi or any", "other with Linux")
    pen.words(0.3, -0.5, lines[0])
    for number, line in enumerate(lines[1:]):
        pen.words(0.3, -1.05 - 0.45 * number, line, size=SMALL, colour=GREY)


def _board(pen: Pen, at: _Columns, wiring: Wiring, end: float, relays_end: float) -> None:
    """Draw the outline of the relay board and its supplies, and what stands before it."""
    if wiring.board is Board.RELAY_UNIT:
        _relay_unit(pen, at, end)
    if wiring.board is Board.MODEM_LINES:
        return
    if not wiring.relays:
        if wiring.pulled:
            _ground_joined(pen, at, wiring)
        return
    left, right = at.relay, at.relay + RELAY
    pen.box(left, -2.2, right, relays_end + 0.4, colour=GREY, style=":")
    _supplies(pen, at, wiring)


def _supplies(pen: Pen, at: _Columns, wiring: Wiring) -> None:
    """Draw the terminals at the head of the relay board."""
    x = at.relay
    pen.words(x + 0.25, -2.65, "relay board", colour=LOW)
    rows = [("coil +", "5 V supply of its own, +"), ("coil -", "the same supply, -")]
    if wiring.board is Board.MODBUS:
        rows = [("supply +", "supply of its own, +"), ("supply -", "the same supply, -")]
        rows += [("A", ""), ("B", ""), ("GND", "")]
    for number, (name, source) in enumerate(rows):
        y = -3.7 - 0.85 * number
        pen.terminal(x, y, LOW)
        pen.words(x + 0.3, y, name, size=SMALL, colour=LOW)
        if source:
            pen.wire((x - 0.6, y), (x - 0.1, y))
            pen.words(x - 0.75, y, source, at="right", size=SMALL, colour=LOW)
        else:
            pen.wire((at.pulls + 2.2, y), (x - 0.1, y))
    if wiring.board is Board.MODBUS:
        _adapter(pen, at)
        return
    low = any(each.active_low for each in wiring.relays)
    lines = [("GND", "ground, pin 6" if wiring.board is Board.HEADER else "GND")]
    if low:
        lines.append(("input +", "3.3 V, pin 1" if wiring.board is Board.HEADER else "3.3 V"))
    if not wiring.pulled:
        return
    for number, (name, source) in enumerate(lines):
        y = -3.7 - 0.85 * (2 + number)
        pen.terminal(x, y, LOW)
        pen.words(x + 0.3, y, name, size=SMALL, colour=LOW)
        _from_computer(pen, at, source, y)
        if name == "GND":
            pen.dot(at.relay - 1.5, y, LOW)
            pen.ground(at.relay - 1.5, y)
    if any(each.through is Through.MOSFET for each in wiring.outputs):
        pen.words(
            x - 0.3, -7.5, "ground joined with 0 V of PS1", at="right", size=SMALL, colour=LOW
        )


def _adapter(pen: Pen, at: _Columns) -> None:
    x0, x1 = COMPUTER + 0.9, at.pulls + 2.2
    pen.box(x0 - 0.1, -5.0, x1, -7.5, colour=LOW)
    pen.words(x0, -4.75, "USB adapter to RS-485", size=SMALL, colour=LOW)
    pen.terminal(COMPUTER, -6.2, LOW)
    pen.words(COMPUTER - 0.25, -6.2, "USB", at="right", size=SMALL)
    pen.wire((COMPUTER + 0.1, -6.2), (x0 - 0.1, -6.2))
    for number, name in enumerate(("A", "B", "GND")):
        y = -3.7 - 0.85 * (2 + number)
        pen.words(x1 - 0.2, y, name, at="right", size=SMALL, colour=LOW)


def _ground_joined(pen: Pen, at: _Columns, wiring: Wiring) -> None:
    y = -6.0
    _from = "ground, pin 6" if wiring.board is Board.HEADER else "GND"
    pen.terminal(at.pulls, y, LOW)
    pen.words(at.pulls - 0.25, y, _from, at="right", size=SMALL)
    pen.wire((at.pulls + 0.1, y), (at.pulls + 1.2, y))
    pen.ground(at.pulls + 1.2, y)
    pen.words(at.pulls + 1.8, y, "joined with 0 V of PS1", size=SMALL, colour=LOW)


def _relay_unit(pen: Pen, at: _Columns, end: float) -> None:
    x0, x1 = at.unit, at.unit + UNIT
    pen.box(x0, -2.2, x1, end + 0.3, colour=LOW)
    pen.words(x0 + 0.25, -2.6, "relay unit", colour=LOW)
    pen.words(x0 + 0.25, -3.1, "pins as its firmware", size=SMALL, colour=GREY)
    pen.words(x0 + 0.25, -3.5, "is shipped (board.py)", size=SMALL, colour=GREY)
    pen.terminal(COMPUTER, -4.4, LOW)
    pen.words(COMPUTER - 0.25, -4.4, "USB", at="right", size=SMALL)
    pen.wire((COMPUTER + 0.1, -4.4), (x0 - 0.1, -4.4))
    pen.terminal(x0, -4.4, LOW)
    pen.words(x0 + 0.25, -4.4, "USB", size=SMALL, colour=LOW)
