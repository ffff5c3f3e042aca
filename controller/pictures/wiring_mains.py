"""The mains side of a wiring diagram: supply, main switch, lamps, and the boundary before it."""

from __future__ import annotations

from controller.pictures.wiring_pen import EARTH, GREY, LOW, MAINS, SMALL, Pen
from controller.pictures.wiring_places import RELAY, Columns
from controller.rig.wiring import Output


def boundary(pen: Pen, at: Columns, low: float, *, wide: float) -> None:
    """Draw the boundary between extra-low voltage and mains, with its words."""
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


def mains_head(pen: Pen, at: Columns, live_end: float, neutral_end: float) -> None:
    """Draw supply, RCD and main switch, and the two rails down to their last joints."""
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
    for y, text in ((-1.75, "never switched;"), (-2.2, "to each housing")):
        pen.words(neutral + 1.2, y, text, size=SMALL, colour=EARTH)
    pen.words(live + 0.25, -7.2, "L", colour=MAINS)
    pen.words(neutral + 0.25, -7.2, "N", colour=MAINS)


def lamp_lead(pen: Pen, at: Columns, output: Output, x0: float, y: float) -> None:
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
    _outlet(pen, lamp + 0.7, y, f"X{output.number}")
    pen.words(lamp + 0.7, y + 0.75, f"{output.name}", at="center")
    pen.words(lamp + 0.7, y - 1.75, output.what, at="center", size=SMALL)
    _earth(pen, lamp + 0.7, y)


def _outlet(pen: Pen, x: float, y: float, name: str) -> None:
    """Draw both poles of the outlet that a light in its middle is plugged into."""
    for dx in (-1.0, 1.0):
        pen.terminal(x + dx, y, MAINS)
        pen.words(x + dx, y - 0.35, name, at="center", size=SMALL, colour=MAINS)


def _earth(pen: Pen, x: float, y: float) -> None:
    pen.stroke((x, y - 0.5), (x, y - 0.75), colour=EARTH)
    pen.earth(x, y - 0.75)
    pen.words(x + 0.5, y - 0.9, "PE", size=SMALL, colour=EARTH)


def own_plug(pen: Pen, at: Columns, name: str, y: float) -> None:
    """Draw a safelight that no relay switches."""
    pen.dot(at.live, y, MAINS)
    pen.lamp(at.live + 4.2, y, MAINS)
    pen.wire((at.live, y), (at.live + 3.7, y), colour=MAINS)
    pen.wire((at.live + 4.7, y), (at.neutral, y), colour=MAINS)
    pen.dot(at.neutral, y, MAINS)
    _outlet(pen, at.live + 4.2, y, "plug")
    _earth(pen, at.live + 4.2, y)
    pen.words(at.live - 0.4, y + 0.2, f"safelight {name}", at="right")
    pen.words(
        at.live - 0.4, y - 0.3, "by a plug of its own, never switched", at="right", size=SMALL
    )


def low_supply(pen: Pen, at: Columns, y: float) -> None:
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
