"""The extra-low side of a wiring diagram: computer, pedals, and lights by MOSFET."""

from __future__ import annotations

from controller.pictures.wiring_pen import GREY, LOW, SMALL, Pen
from controller.pictures.wiring_places import COMPUTER, INPUT_ROW, WIRE_APART, Columns
from controller.rig.wiring import Board, Input, Output, Part, Wiring


def mosfet_row(pen: Pen, at: Columns, output: Output, y: float) -> None:
    """Draw a light on extra-low voltage and the MOSFET that switches it."""
    gate = at.relay + 1.4
    start = at.pulls
    pen.terminal(start, y, LOW)
    pen.words(start - 0.25, y, str(output.point), at="right", size=SMALL)
    pen.wire((start + 0.1, y), (start + 0.9, y))
    pen.resistor((start + 0.9, y), (start + 2.5, y))
    pen.words(
        start + 1.7, y + 0.55, f"RG{output.number}, 100 Ω", at="center", size=SMALL, colour=LOW
    )
    pen.wire((start + 2.5, y), (gate, y))
    _pull_gate(pen, at.relay - 0.5, y, output.number)
    drain, source = pen.mosfet(gate, y)
    pen.words(drain[0] + 0.4, y, f"Q{output.number}, logic level", size=SMALL, colour=LOW)
    pen.words(gate - 0.15, y + 0.25, "G", at="right", size=SMALL, colour=LOW)
    pen.words(drain[0] + 0.2, drain[1] + 0.1, "D", size=SMALL, colour=LOW)
    pen.words(source[0] + 0.2, source[1] + 0.25, "S", size=SMALL, colour=LOW)
    pen.ground(*source)
    pen.words(source[0] + 0.5, source[1] - 0.15, "0 V of PS1", size=SMALL, colour=LOW)
    top = y + 1.3
    pen.wire(drain, (drain[0], top), (drain[0] + 1.4, top))
    x = drain[0] + 1.4
    pen.leds((x + 1.8, top), (x, top), LOW)
    pen.words(x + 0.9, top + 1.15, output.name, at="center")
    pen.words(x + 0.9, top + 0.7, output.what, at="center", size=SMALL)
    for dx, sign in ((0.2, "-"), (1.6, "+")):
        pen.words(x + dx, top + 0.22, sign, at="center", size=SMALL, colour=LOW)
    for place in (x - 0.6, x + 2.3):  # the head stands away from the supply: a plug between
        pen.terminal(place, top, LOW)
        pen.words(place, top - 0.35, f"X{output.number}", at="center", size=SMALL, colour=LOW)
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


def input_height(each: Input) -> float:
    """Tell how high the row of an input is."""
    return max(INPUT_ROW, 1.1 + WIRE_APART * (len(each.wires) - 1))


def _wired(pen: Pen, each: Input, y: float) -> None:
    """Draw a part whose terminals have names, and what lies between them."""
    x = COMPUTER
    right = x + 5.0
    count = len(each.wires)
    top = y + WIRE_APART * (count - 1) / 2
    for number, (terminal, point) in enumerate(each.wires):
        at = top - WIRE_APART * number
        pen.terminal(x, at, LOW)
        pen.words(x - 0.25, at, str(point), at="right", size=SMALL)
        pen.wire((x + 0.1, at), (right, at))
        pen.words(right + 0.2, at, terminal, size=SMALL, colour=LOW)
    for number, what in enumerate(each.between):
        if what:
            _between(pen, x + 2.6, top - WIRE_APART * number, what)
    pen.box(right, top + 0.35, right + 1.5, top - WIRE_APART * (count - 1) - 0.35, colour=LOW)
    pen.words(right + 1.8, y + 0.2, each.name)
    pen.words(right + 1.8, y - 0.3, _told(each), size=SMALL, colour=GREY)


def _between(pen: Pen, x: float, top: float, what: str) -> None:
    low = top - WIRE_APART
    middle = (top + low) / 2
    for y in (top, low):
        pen.dot(x, y, LOW)
    half = 0.08 if what.endswith("F") else 0.25
    pen.wire((x, top), (x, middle + half))
    pen.wire((x, low), (x, middle - half))
    if what.endswith("F"):
        for y in (middle + half, middle - half):
            pen.stroke((x - 0.25, y), (x + 0.25, y), colour=LOW, width=2.4)
    else:
        pen.box(x - 0.14, middle + half, x + 0.14, middle - half, colour=LOW)
    pen.words(x + 0.4, middle, what, size=SMALL, colour=LOW)


def input_row(pen: Pen, each: Input, y: float) -> None:
    """Draw a pedal, a box's switch, a sounder or a sensor."""
    x = COMPUTER
    if each.wires:
        _wired(pen, each, y)
        return
    if each.part is Part.USB:
        pen.terminal(x, y, LOW)
        pen.words(
            x - 0.25,
            y,
            each.point.name if len(each.point.name) < 10 else "its own port",
            at="right",
            size=SMALL,
        )
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
        pen.terminal(x + 1.6, up, LOW)
        pen.terminal(x + 1.6, down, LOW)
        pen.words(x + 1.6, y, "plug", at="center", size=SMALL, colour=LOW)
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


def computer(pen: Pen, wiring: Wiring, bottom: float) -> None:
    """Draw the outline of what all lines come from."""
    pen.box(0, 0.0, COMPUTER, bottom, colour="black")
    on_header = wiring.board is Board.HEADER or any(
        each.point.name.startswith("GPIO") for each in wiring.inputs
    )
    if on_header and wiring.on_header:
        lines: tuple[str, ...] = (
            "Raspberry Pi",
            "header of 40 pins; the",
            "number after GPIO is not",
            "the pin's",
        )
        if wiring.board is Board.MODEM_LINES:
            lines += (
                "",
                "DTR, RTS and the like:",
                "pins of a 9-pin RS-232",
                "plug at a USB adapter",
            )
    elif wiring.board is Board.MODEM_LINES:
        lines = (
            "serial port",
            "pins of a 9-pin RS-232",
            "plug. An adapter with logic",
            "levels names its wires, and",
            "+ and - of K1 change places",
        )
    else:
        lines = ("computer", "a Raspberry Pi or any", "other with Linux")
    pen.words(0.3, -0.5, lines[0])
    for number, line in enumerate(lines[1:]):
        pen.words(0.3, -1.05 - 0.45 * number, line, size=SMALL, colour=GREY)
