"""The wiring diagram of a rig: computer at the left, mains at the right, a boundary between.

Rows of one height each; every row of a light has the same places, so that nothing can overlap
however many there are. What a row shows comes from ``controller.rig.wiring``.
"""

from __future__ import annotations

from controller.pictures.wiring_low import computer, input_height, input_row, mosfet_row
from controller.pictures.wiring_mains import boundary, low_supply, mains_head, own_plug
from controller.pictures.wiring_pen import GREY, MAINS, Pen
from controller.pictures.wiring_places import (
    COM,
    FONT_NOTE,
    HEAD,
    MOSFET_ROW,
    PLUG_ROW,
    ROW,
    USED,
    Columns,
)
from controller.pictures.wiring_relays import board, relay_row
from controller.rig.wiring import Wiring


def draw_wiring(wiring: Wiring) -> str:
    """Draw a rig's wiring; gives the text of an SVG file, the same for the same rig."""
    pen, columns = Pen(), Columns.of(wiring)
    y = -HEAD
    live = neutral = y
    relays = wiring.relays
    for output in relays:
        y -= ROW
        relay_row(pen, columns, wiring, output, y + 1.7)
        live, neutral = y + 1.7 + COM, y + 1.7 + USED
    if not relays:
        y -= 0.4
    supply = y
    if wiring.mosfets:
        y -= ROW - 0.6
        low_supply(pen, columns, y + 1.5)
        live, neutral = y + 2.1, y + 0.9
    for name in wiring.own_plugs:
        y -= PLUG_ROW
        live = neutral = y + PLUG_ROW - 1.0
        own_plug(pen, columns, name, live)
    end_of_mains = y - 1.0
    mains_head(pen, columns, live, neutral)
    y = end_of_mains - 1.1
    for output in wiring.mosfets:
        y -= MOSFET_ROW
        mosfet_row(pen, columns, output, y + 1.7)
    end_of_board = y if wiring.mosfets else supply
    y -= 1.0 if wiring.mosfets else 0.0
    for each in wiring.inputs:
        y -= input_height(each)
        input_row(pen, each, y + input_height(each) / 2 - 0.15)
    boundary(pen, columns, end_of_mains, wide=columns.neutral + 3.6)
    bottom = y - 0.2
    computer(pen, wiring, bottom)
    board(pen, columns, wiring, end_of_board, supply)
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
        "Wires that cross with a bow do not touch; a dot joins. Ratings are in parts.md.",
        size=FONT_NOTE,
        colour=GREY,
    )
