"""Relays in a wiring diagram, and the boards that they sit on."""

from __future__ import annotations

from controller.pictures.wiring_mains import lamp_lead
from controller.pictures.wiring_pen import GREY, LOW, MAINS, SMALL, Pen
from controller.pictures.wiring_places import COM, COMPUTER, RELAY, UNIT, UNUSED, USED, Columns
from controller.rig.wiring import (
    GROUND_FOR_BOARD,
    UNIT_3V3_PIN,
    UNIT_GROUND_PIN,
    VOLTS_3V3_PIN,
    Board,
    Output,
    Through,
    Wiring,
)


def relay_row(pen: Pen, at: Columns, wiring: Wiring, output: Output, y: float) -> None:
    """Draw a relay, what drives it and what it switches, around the axis y of its coil."""
    x0, x1 = at.relay, at.relay + RELAY
    pen.box(x0, y + 2.25, x1, y - 1.15, colour=GREY)
    pen.words(x0 + 0.25, y + 1.85, f"K{output.number}", colour=LOW)
    _drive(pen, at, wiring, output, y)
    ends = (y + COM, y + USED)
    if output.through is Through.SOLID_STATE:
        _solid_state(pen, at, y)
        _snubber(pen, x1 + 1.0, *ends, (f"Z{output.number} varistor,", "if none inside"))
    else:
        _contacts(pen, at, output, y)
        _snubber(pen, x1 + 1.0, *ends, (f"Z{output.number} snubber", "or varistor"))
    pen.wire((x1 + 0.1, ends[0]), (x1 + 3.3, ends[0]), colour=MAINS)
    pen.fuse((x1 + 3.3, ends[0]), (at.live, ends[0]), MAINS)
    pen.words(x1 + 4.55, ends[0] + 0.55, f"F{output.number}", at="center", colour=MAINS)
    pen.dot(at.live, ends[0], MAINS)
    lamp_lead(pen, at, output, x1 + 0.1, ends[1])


def _contacts(pen: Pen, at: Columns, output: Output, y: float) -> None:
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


def _solid_state(pen: Pen, at: Columns, y: float) -> None:
    x1 = at.relay + RELAY
    pen.words(at.boundary + 0.35, y + 1.2, "solid-state", size=SMALL, colour=MAINS)
    pen.words(at.boundary + 0.35, y + 0.75, "relay", size=SMALL, colour=MAINS)
    pen.words(at.boundary + 0.35, y - 0.4, "leaks when off;", size=SMALL, colour=GREY)
    pen.words(at.boundary + 0.35, y - 0.85, "fails lit", size=SMALL, colour=GREY)
    for dy in (COM, USED):
        pen.terminal(x1, y + dy, MAINS)
        pen.words(x1 - 0.3, y + dy, "~", at="right", colour=MAINS)


def _snubber(pen: Pen, x: float, top: float, low: float, words: tuple[str, str]) -> None:
    pen.dot(x, top, MAINS)
    pen.dot(x, low, MAINS)
    middle = (top + low) / 2
    pen.wire((x, top), (x, middle + 0.4), colour=MAINS)
    pen.box(x - 0.22, middle + 0.4, x + 0.22, middle - 0.4, colour=MAINS)
    pen.wire((x, middle - 0.4), (x, low), colour=MAINS)
    pen.words(x + 0.4, middle + 0.2, words[0], size=SMALL, colour=MAINS)
    pen.words(x + 0.4, middle - 0.25, words[1], size=SMALL, colour=MAINS)


def _drive(pen: Pen, at: Columns, wiring: Wiring, output: Output, y: float) -> None:
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


def _from_computer(pen: Pen, at: Columns, text: str, y: float) -> None:
    start = at.pulls
    pen.terminal(start, y, LOW)
    pen.words(start - 0.25, y, text, at="right", size=SMALL)
    pen.wire((start + 0.1, y), (at.relay - 0.1, y))


def _pull(pen: Pen, at: Columns, output: Output, y: float) -> None:
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


def board(pen: Pen, at: Columns, wiring: Wiring, end: float, relays_end: float) -> None:
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


def _supplies(pen: Pen, at: Columns, wiring: Wiring) -> None:
    """Draw the terminals at the head of the relay board."""
    x = at.relay
    pen.words(x + 0.25, -2.65, "relay board", colour=LOW)
    rows = [("coil +", "PS2, 5 V by its plug: +"), ("coil -", "PS2: -")]
    if wiring.board is Board.MODBUS:
        rows = [("supply +", "PS2, by its plug: +"), ("supply -", "PS2: -")]
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
    lines = [("GND", _board_pin(wiring, "ground", GROUND_FOR_BOARD, UNIT_GROUND_PIN))]
    if low:
        lines.append(("input +", _board_pin(wiring, "3.3 V", VOLTS_3V3_PIN, UNIT_3V3_PIN)))
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


def _board_pin(wiring: Wiring, name: str, header: int, unit: int) -> str:
    if wiring.board is Board.RELAY_UNIT:
        return f"{name}, pin {unit}"
    return f"{name}, pin {header}" if wiring.on_header else name


def _adapter(pen: Pen, at: Columns) -> None:
    x0, x1 = COMPUTER + 0.9, at.pulls + 2.2
    pen.box(x0 - 0.1, -5.0, x1, -7.5, colour=LOW)
    pen.words(x0 - 0.1, -7.85, "USB to RS-485", size=SMALL, colour=LOW)
    pen.terminal(COMPUTER, -6.2, LOW)
    pen.words(COMPUTER - 0.25, -6.2, "USB", at="right", size=SMALL)
    pen.wire((COMPUTER + 0.1, -6.2), (x0 - 0.1, -6.2))
    for number, name in enumerate(("A", "B", "GND")):
        y = -3.7 - 0.85 * (2 + number)
        pen.words(x1 - 0.2, y, name, at="right", size=SMALL, colour=LOW)


def _ground_joined(pen: Pen, at: Columns, wiring: Wiring) -> None:
    y = -6.0
    _from = _board_pin(wiring, "ground", GROUND_FOR_BOARD, UNIT_GROUND_PIN)
    pen.terminal(at.pulls, y, LOW)
    pen.words(at.pulls - 0.25, y, _from, at="right", size=SMALL)
    pen.wire((at.pulls + 0.1, y), (at.pulls + 1.2, y))
    pen.ground(at.pulls + 1.2, y)
    pen.words(at.pulls + 1.8, y, "joined with 0 V of PS1", size=SMALL, colour=LOW)


def _relay_unit(pen: Pen, at: Columns, end: float) -> None:
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
