"""The order of bringing a rig up, with what to measure at each step."""

from __future__ import annotations

from collections.abc import Iterator

from controller.rig.wiring import Board, Input, Output, Part, Through, Wiring


def bring_up(wiring: Wiring) -> list[str]:
    """Give the steps in their order, in Markdown; mains come last."""
    lines = [
        "Mains come last. Each step is measured before the next; what measures otherwise is put "
        "right first. You need a multimeter; wherever mains are on, its user is the electrician.",
    ]
    for number, (title, steps) in enumerate(_chapters(wiring), start=1):
        lines += ["", f"## {number}. {title}", ""]
        lines += [f"{count}. {step}" for count, step in enumerate(steps, start=1)]
    return lines


def _chapters(wiring: Wiring) -> Iterator[tuple[str, list[str]]]:
    yield "By eye, nothing plugged in", _by_eye(wiring)
    yield "Ohms, nothing plugged in", list(_ohms(wiring))
    yield "Volts at the inputs, no lamp, no mains", list(_volts(wiring))
    yield "By foot and by ear", list(_by_foot(wiring))
    title = "Contacts, mains still off" if wiring.relays else "The lights, by PS1"
    yield title, list(_contacts(wiring))
    yield "Mains, by the electrician", _mains(wiring)
    yield "The dark", _dark()


def _by_eye(wiring: Wiring) -> list[str]:
    steps = [
        "`dryside rig check` finds no fault in the rig file, and you have read its notes.",
        "Every wire of pins.md is there, and no other.",
        "The boundary of the diagram is a wall, not a line: no strand, screw or cable of one side "
        "can reach the other, not even when it comes off.",
        "Pull at every cable: it does not move in its gland.",
        "LEDs of relay board, computer and network plug are taped over or unsoldered."
        if wiring.relays
        else "LEDs of computer, network plug and supplies are taped over or unsoldered.",
    ]
    if wiring.board is Board.RELAY_UNIT:
        steps.append("The firmware is on the unit, and its board.py says the pins of pins.md.")
    return steps


def _ohms(wiring: Wiring) -> Iterator[str]:
    side = "L and N terminals of the mains side" if wiring.relays else "the plug pins of PS1"
    yield f"Between {side} and ground of the extra-low side: no reading (more than 20 MΩ)."
    if wiring.pulled:
        end = "the unit" if wiring.board is Board.RELAY_UNIT else "the computer"
        yield (
            f"Pull the inputs' wires off at {end}'s end for what follows, and leave ground and "
            "3.3 V on: what is measured now holds without it."
        )
        for each in wiring.outputs:
            to = "3.3 V" if each.active_low else "ground"
            yield f"{_input(each)} to {to}: 10 kΩ, or less if the board has one too."
        if wiring.mosfets:
            yield "From each pulled-off wire's end to its gate: 100 Ω."
    if wiring.mosfets or wiring.has_coil_supply:
        yield (
            "Between + and - of every supply, unplugged: not near 0 Ω (a reading that climbs is a "
            "capacitor)."
        )
    for contact in wiring.inputs:
        if contact.part in (Part.CONTACT, Part.REED):
            yield _contact_ohms(contact)


def _contact_ohms(each: Input) -> str:
    rest, then = ("near 0 Ω", "no reading") if each.closed_at_rest else ("no reading", "near 0 Ω")
    does = "under the foot" if each.part is Part.CONTACT else "with its magnet"
    return f"{each.name}: {rest} at rest, {then} {does}."


def _supplies(wiring: Wiring) -> Iterator[str]:
    if wiring.mosfets:
        yield (
            "PS1 alone in its outlet, nothing on its wires: its 12 or 24 V within a twentieth, "
            "the + at +V. Unplug it again."
        )
    if wiring.has_coil_supply:
        plus = "supply +" if wiring.board is Board.MODBUS else "coil +"
        volts = "4.75 to 5.25 V" if wiring.pulled else "the board's voltage within a twentieth"
        yield f"PS2 alone in its outlet: {volts}, the + at {plus}. Leave it on: the coils can pull."


def _volts(wiring: Wiring) -> Iterator[str]:
    yield from _supplies(wiring)
    match wiring.board:
        case Board.HEADER | Board.RELAY_UNIT:
            yield "Leave every lamp and every mains cable away. Switch the computer on."
            for each in wiring.outputs:
                level = "above 2.5 V" if each.active_low else "below 0.4 V"
                yield (
                    f"{_input(each)} to ground: {level} from the moment of power, "
                    f"through the whole "
                    f"start, until the program runs; {_seen_at_rest(each)}"
                )
            yield "Switch off and on again: the same" + (
                ", and no click." if wiring.relays else "."
            )
            yield (
                "`dryside rig check --hands` clicks one after the other, for 0.6 s each, and asks "
                "which it was: it is the named one."
            )
            yield (
                f"During an exposure of `dryside strip`: {_lit_level(wiring)}. Otherwise the input "
                "draws more than a pin gives."
            )
        case Board.MODEM_LINES:
            for each in wiring.relays:
                yield (
                    f"K{each.number}, + to -: 0 V or below with the port "
                    f"unplugged, plugged in, and "
                    "while a program opens and closes it. It is above 3 V while "
                    "the lamp is to burn, "
                    "and only then."
                )
        case _:
            yield "Switch board and computer on: no relay clicks, and all of them rest."
    yield (
        "`dryside safe`: every output goes to the level at which nothing is energised. Measure it "
        "again."
    )
    if wiring.board is Board.RELAY_UNIT:
        yield "Pull the USB plug while the lamp's output is on: it falls at once."
    if wiring.board is Board.MODBUS:
        yield (
            "Pull the cable while the lamp's coil is on: the program calls it unknown. The relay "
            "stays as it is unless the board has a watchdog: set it, and try again."
        )


def _lit_level(wiring: Wiring) -> str:
    lamp = wiring.outputs[0]
    return f"{_input(lamp)} {'below 0.4 V' if lamp.active_low else 'above 2.8 V'}"


def _seen_at_rest(each: Output) -> str:
    if each.through is Through.MOSFET:
        return "the gate is at rest."
    return "the relay does not pull in."


def _by_foot(wiring: Wiring) -> Iterator[str]:
    contacts = [each for each in wiring.inputs if each.name.startswith("pedal")]
    does = {
        Through.RELAY: "The relay of the lamp clicks with each exposure",
        Through.SOLID_STATE: "The lamp's solid-state relay gets its voltage with each exposure",
        Through.MOSFET: "The lamp's gate goes high with each exposure",
    }[wiring.outputs[0].through]
    yield (
        f"Run `dryside strip`. {does}; a press of the pedal ends it at once, and a tap gives the "
        "rest."
    )
    yield from _contact_volts(wiring)
    for each in contacts:
        if each.closed_at_rest:
            yield f"{each.name}: pull its plug during an exposure; the light ends at once."
        elif each.part is Part.USB:
            yield (
                f"{each.name}: pull its plug during an exposure; you hear that it is gone"
                + (", and the light is paused." if each.name.startswith("pedal dry") else ".")
            )
    if not contacts:
        yield "No pedal is in the rig file; the space bar stops the lamp. A foot is quicker."
    if any(each.part is Part.SOUNDER for each in wiring.inputs):
        yield "You hear each prompt from where you stand with running water."
    yield from _sensors(wiring)
    if any(each.part is Part.REED for each in wiring.inputs):
        yield "Open the paper box: the program says that it is open, and lights no white lamp."
    yield (
        "Kill one of the program's processes during an exposure (`kill -9`): the lamp's output is "
        f"off at once. Where all of them are killed together, {_left(wiring)}."
    )


def _contact_volts(wiring: Wiring) -> Iterator[str]:
    for each in wiring.inputs:
        if each.part in (Part.CONTACT, Part.REED) and each.point.name.startswith("GPIO"):
            rest, then = "below 0.4 V", "3.1 to 3.4 V"
            if not each.closed_at_rest:
                rest, then = then, rest
            does = "under the foot" if each.part is Part.CONTACT else "with its magnet"
            yield f"{each.name}, {each.point} to ground, unit running: {rest}; {then} {does}."


def _sensors(wiring: Wiring) -> Iterator[str]:
    for each in wiring.inputs:
        if not each.name.startswith("sensor "):
            continue
        bus = " and ".join(name for name, _ in each.wires if name in ("SDA", "SCL", "data"))
        at_rest = f"{bus} to GND 3.1 to 3.4 V at rest; " if bus else ""
        volts = f"3.3 V to GND 3.1 to 3.4 V; {at_rest}" if each.wires else ""
        yield f"{each.name}: {volts}`dryside rig sensors` reads it."


def _without_power(wiring: Wiring) -> str:
    burning = [each.name for each in wiring.relays if each.closed_at_rest]
    dark = [each.name for each in wiring.relays if not each.closed_at_rest]
    return (
        f"dark: {', '.join(dark)}; burning: {', '.join(burning) or 'none of the switched lights'}"
    )


def _left(wiring: Wiring) -> str:
    if wiring.board is Board.RELAY_UNIT:
        return "the unit's own timer puts it off within half a second: try that too"
    return "S1 and `dryside safe` are left"


def _contacts(wiring: Wiring) -> Iterator[str]:
    for each in wiring.relays:
        if each.through is Through.SOLID_STATE:
            yield f"K{each.number}: a multimeter tells little of it; a test lamp does, below."
            continue
        now = "near 0 Ω" if each.closed_at_rest else "no reading"
        yield (
            f"K{each.number}, COM to {each.used}, snubber in place, {each.name} not connected, no "
            f"power at the coils: {now}; while the program energises it, the other way."
        )
    for each in wiring.mosfets:
        yield (
            f"{each.name}: PS1 on, S1 closed where there is one, program not running: dark, and "
            f"some volts from D to S of Q{each.number}. While it is lit: below 0.3 V (common "
            "practice, no source; more, and the gate does not open it fully), and "
            f"Q{each.number} is cool to the touch after three minutes."
        )
    if any(each.enlarger for each in wiring.outputs):
        what = "the relay" if wiring.outputs[0].on_mains else "Q1"
        yield f"S1 open: no connection through the lamp's lead, whatever {what} does."


def _mains(wiring: Wiring) -> list[str]:
    steps = [
        "Protective earth from the supply to every metal housing: below 0.5 Ω, and insulation as "
        "local codes ask.",
        "The RCD trips by its button, and all goes dead. The main switch parts both poles.",
    ]
    if any(each.on_mains and each.enlarger for each in wiring.outputs):
        steps += [
            "A test lamp, not the enlarger: run `dryside strip`, kill the program, and cut the "
            "computer's power in the middle. It is dark each time"
            + (
                ", but for a Modbus board without a watchdog: there only S1 puts the lamp off "
                "when the computer is away."
                if wiring.board is Board.MODBUS
                else "."
            ),
            "Open S1 in the middle of an exposure: it is dark.",
            f"With the computer off: {_without_power(wiring)}.",
            "The enlarger: fifty short exposures in a row, then look whether it still goes dark. "
            "Contacts that weld do so early.",
        ]
    if wiring.mosfets:
        steps += [
            "Cut the computer's power while a light on a MOSFET is lit: it is dark at once.",
            "With the computer off and PS1 on, every light on a MOSFET is dark.",
        ]
    steps.append("After an hour of work nothing in the enclosures is too warm to hold a hand on.")
    return steps


def _dark() -> list[str]:
    return [
        "Sit in the dark for ten minutes, everything on and every light off. What you see, paper "
        "sees: tape it.",
        "Lay a red sheet over the screen, and test it: `dryside room test coin`.",
        "`dryside lag strip` for the lamp's two numbers, and "
        "`dryside room test which` for the room.",
    ]


def _input(each: Output) -> str:
    if each.through is Through.MOSFET:
        return f"gate of Q{each.number} ({each.name})"
    return f"input of K{each.number} ({each.name})"
