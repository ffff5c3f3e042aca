"""The parts of a rig by type and rating, never by brand, and why they are chosen so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from controller.rig.wiring import Board, Output, Part, Through, Wiring

# mark, how many, what, rating
PartRow = tuple[str, str, str, str]

_PART_ROWS = (
    (
        Part.CONTACT,
        "pedal with a contact, its plug and socket",
        "extra-low voltage only; splash-proof; 2 wires; a plug that fits no mains outlet",
    ),
    (Part.REED, "reed switch and magnet", "extra-low voltage only"),
    (Part.SOUNDER, "buzzer or piezo", "3.3 V, 8 mA at most; more through a transistor (below)"),
    (Part.SENSOR, "sensor", "3.3 V, none of its lines above that"),
    (Part.USB, "device with a port of its own", "as the rig file names it"),
)


def marks(letter: str, outputs: Sequence[Output]) -> str:
    """Give the marks of parts, one for each output."""
    return ", ".join(f"{letter}{each.number}" for each in outputs)


def part_rows(wiring: Wiring) -> Iterator[PartRow]:
    """List the parts: mains side first."""
    yield ("", "1", "RCD (GFCI), two poles", "30 mA or less; for your mains")
    yield ("", "1", "main switch, two poles, lockable", "your mains; more than all lamps together")
    yield from _relay_rows(wiring)
    if any(each.enlarger for each in wiring.outputs):
        on_mains = wiring.outputs[0].on_mains
        rating = (
            "your mains and the lamp's inrush; insulated, splash-proof, for a dry hand"
            if on_mains
            else "the head's direct current"
        )
        yield ("S1", "1", "switch in the enlarger lamp's lead, within reach", rating)
    yield from _computer_rows(wiring)
    yield from _low_rows(wiring)
    yield from _input_rows(wiring)
    yield ("", "1", "enclosure for the extra-low side", "a box of its own, splash-proof*")
    if wiring.relays:
        what = "enclosure for all mains parts"
        yield ("", "1", what, "closed, IP44* or better, opened by a tool")
        glands = str(2 + len(wiring.relays))
        yield ("", glands, "gland or clamp with strain relief", "one for each mains cable")
        yield (
            "",
            "as long as need be",
            "mains cable with protective earth",
            "bears more than its fuse; size, kind and colours as local codes say",
        )


def _relay_rows(wiring: Wiring) -> Iterator[PartRow]:
    relays = [each for each in wiring.relays if each.through is Through.RELAY]
    solid = [each for each in wiring.relays if each.through is Through.SOLID_STATE]
    if relays:
        board = "on a board with a transistor and a diode for each coil; "
        if wiring.pulled:
            board += "inputs that are sure to switch at 3.3 V, with 4 mA* or less; "
        yield (
            marks("K", relays),
            str(len(relays)),
            "relay, change-over contact",
            f"{board}rated by its maker for lamps (tungsten or capacitive load) at your mains; "
            "insulation between coil and contact reinforced",
        )
        yield (
            marks("Z", relays),
            str(len(relays)),
            "snubber, or varistor, across the contact that is used",
            "snubber: 100 Ω and 0.1 µF*, the capacitor of class X2, the resistor for pulses; "
            "varistor: 275 V AC at 230 V, 150 V AC at 120 V*",
        )
    if solid:
        drive = "sure to switch at 3 V with 8 mA or less" if wiring.pulled else "3 to 32 V DC"
        yield (
            marks("K", solid),
            str(len(solid)),
            "solid-state relay for alternating current",
            f"input {drive}; surge current above the lamp's inrush; four times the lamp's "
            "current*; on a heat sink",
        )
        yield (
            marks("Z", solid),
            str(len(solid)),
            "varistor across its output, if none is in it",
            "275 V AC at 230 V, 150 V AC at 120 V*",
        )
    if wiring.relays:
        yield (
            marks("F", wiring.relays),
            str(len(wiring.relays)),
            "fuse, slow, high breaking capacity, in a holder",
            "1.25 to 2 times the lamp's current*, and below what relay and cable bear; no finger "
            "reaches into the holder",
        )
        yield (
            marks("X", wiring.relays),
            str(len(wiring.relays)),
            "outlet and plug of the light, or fixed terminals",
            "your mains, with protective earth; no plug of extra-low voltage fits",
        )
    for name in wiring.own_plugs:
        yield (f"safelight {name}", "1", "safelight with a plug of its own", "your mains")


def _computer_rows(wiring: Wiring) -> Iterator[PartRow]:
    if wiring.board is Board.HEADER and wiring.on_header:
        yield ("", "1", "Raspberry Pi, 3 to 5, its card", "its maker's own supply")
    else:
        yield ("", "1", "computer with Linux", "its maker's own supply")
    if wiring.board is Board.RELAY_UNIT:
        yield (
            "relay unit",
            "1",
            "microcontroller module, in the shape of a Raspberry Pi Pico",
            "runs MicroPython 1.22 or newer; outputs of 3.3 V",
        )
        yield ("", "1", "USB cable to it", "with data wires; clamped at both ends")
    if wiring.board is Board.MODBUS:
        yield ("", "1", "USB adapter to RS-485", "isolated is better")
    if wiring.board is Board.MODEM_LINES:
        yield ("", "1", "serial port, or USB adapter to one", "with RTS and DTR led out")


def _low_rows(wiring: Wiring) -> Iterator[PartRow]:
    mosfets = wiring.mosfets
    if mosfets:
        yield (
            marks("Q", mosfets),
            str(len(mosfets)),
            "MOSFET, n-channel, logic level",
            "its data sheet gives its resistance for a gate at 2.5 or 3.3 V (one that begins at "
            "4.5 V will not do); twice the supply's voltage, four times the light's current*",
        )
        yield (marks("RG", mosfets), str(len(mosfets)), "resistor at the gate", "100 Ω, 0.25 W")
        yield (
            marks("F", mosfets),
            str(len(mosfets)),
            "fuse, direct current, in a holder",
            "1.25 to 2 times the light's current*; rated for the supply's direct voltage",
        )
        yield (
            marks("X", mosfets),
            str(len(mosfets)),
            "plug and socket, two poles, that fit one way round",
            "the light's current; no shape that fits mains or a pedal",
        )
        yield (
            "PS1",
            "1",
            "ready-made, enclosed supply with a plug, SELV",
            "the lights' voltage (12 or 24 V), their currents together and a quarter more*",
        )
    if wiring.pulled:
        yield (
            marks("R", wiring.outputs),
            str(len(wiring.outputs)),
            "resistor at each input",
            "10 kΩ, 0.25 W",
        )
    if any(each.through is Through.RELAY for each in wiring.relays) and wiring.has_coil_supply:
        volts = "5 V" if wiring.pulled else "the board's voltage"
        what = "ready-made, enclosed supply with a plug, SELV, for the coils"
        yield ("PS2", "1", what, f"{volts}; all coils together and a quarter more*")


def _input_rows(wiring: Wiring) -> Iterator[PartRow]:
    for part, what, rating in _PART_ROWS:
        found = [each for each in wiring.inputs if each.part is part]
        if found:
            yield (", ".join(each.name for each in found), str(len(found)), what, rating)
    for each in wiring.inputs:
        for what in each.between:
            if what == "LDR":
                yield (each.name, "1", "light-dependent resistor", "3.3 V; dark above 50 kΩ*")
            elif what.endswith("F"):
                yield (each.name, "1", "capacitor", f"{what}, 6.3 V or more")
            elif what:
                yield (each.name, "1", "resistor, data to 3.3 V", f"{what}, one for the whole bus")


def part_notes(wiring: Wiring) -> list[str]:
    """Tell why the parts are chosen so."""
    notes = []
    if any(each.through is Through.RELAY for each in wiring.relays):
        notes += [
            "**Relays are chosen for the inrush.** A cold filament takes some fourteen times its "
            "current, and LED drivers with a capacitor at their input may take more. A figure for "
            'resistive loads ("10 A") says nothing of that: contacts weld, and the lamp stays on. '
            "Example: 150 W at 230 V is 0.65 A, and some 9 A at switching on; at 120 V 1.25 A and "
            "17.5 A. What to look for in a data sheet: a figure for tungsten or incandescent "
            "lamps, or a peak current for capacitive loads far above that inrush; contacts of "
            "silver tin oxide stand it better than others*.",
            "A relay board's distance between coil side and contact side is its insulation; boards "
            "with a millimetre there are not for mains. Have it judged.",
            "A snubber lets some milliamperes through while the contact is open: at 0.1 µF 7 mA "
            "at 230 V and 50 Hz, 4.5 mA at 120 V and 60 Hz. LED lamps may glow with that: take a "
            "varistor there, and test the dark lamp for fog.",
            "A bare coil never hangs on a pin: it takes too much, and kicks back when it lets go. "
            "The board's transistor and diode are for that.",
        ]
        if wiring.has_coil_supply:
            notes.append(
                "The coils have a supply of their own. On a board with optocouplers take its "
                "jumper out, so that coil - and GND stay apart; on one without they are one, and "
                "are joined."
            )
    if wiring.mosfets:
        notes += [
            "The head must be one for constant voltage, with its resistors in it. One with an "
            "electronic driver of its own is switched by the driver's own input, or at its mains "
            "side by a relay.",
            "The lights' current flows back from the sources to 0 V of PS1 by wires of its own, as "
            "thick as those to the lights; the computer's ground joins them at one point.",
            "What carries a motor or a coil (a fan in the head) is not switched here, or wants a "
            "diode across it, its ring (cathode) at +V.",
        ]
    if any(each.through is Through.SOLID_STATE for each in wiring.relays):
        notes += [
            "A solid-state relay leaks when it is off and mostly fails lit. S1 is a must. "
            "One that switches at zero crossing waits up to half a cycle: 10 ms at 50 Hz, 8.3 ms "
            "at 60 Hz.",
        ]
    if any(each.part is Part.SOUNDER for each in wiring.inputs):
        notes += [
            "A buzzer that draws more than 8 mA: the line through 1 kΩ to the base of a small NPN "
            "transistor, emitter to ground, buzzer between 3.3 V and collector; across a buzzer "
            "with a coil a diode, its ring (cathode) at 3.3 V*.",
        ]
    if any(each.part is Part.CONTACT and each.other_end for each in wiring.inputs):
        notes += [
            "A pedal's cable that is long, or lies beside mains: 1 kΩ in the line at the "
            "computer's end protects the pin*.",
        ]
    return notes
