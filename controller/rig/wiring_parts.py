"""The parts of a rig by type and rating, and what has to be known of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from controller.rig.wiring import Board, Input, Output, Part, Through, Wiring

# What a pin may give. From memory of the Raspberry Pi's and its RP2040's documents: 8 mA is the
# usual drive strength of the first, 4 mA of the second.
PIN_MA = {Board.HEADER: 8, Board.RELAY_UNIT: 4}

_Part = tuple[str, str, str, str]


def parts(wiring: Wiring) -> Iterator[_Part]:
    """List the parts: mark, how many, what, rating."""
    yield from _computer(wiring)
    yield from _mains_head(wiring)
    yield from _relays(wiring)
    yield from _switch(wiring)
    yield from _low(wiring)
    yield from _inputs(wiring)
    yield from _boxes(wiring)


def _computer(wiring: Wiring) -> Iterator[_Part]:
    pins = wiring.board is Board.HEADER and wiring.on_header
    what = "Raspberry Pi, its header fitted" if pins else "computer with Linux"
    yield ("", "1", what, "with the supply that its maker names")
    if wiring.board is Board.RELAY_UNIT:
        yield (
            "",
            "1",
            "microcontroller module",
            "in the shape of a Raspberry Pi Pico; fed by its USB",
        )
        yield ("", "1", "USB cable", "for data too, not for charging alone; clamped at both ends")


def _mains_head(wiring: Wiring) -> Iterator[_Part]:
    yield ("", "1", "RCD (GFCI), two poles", "30 mA or less; for your mains")
    yield ("", "1", "main switch, two poles, lockable", "your mains; more than all lamps together")
    if wiring.relays:
        yield (
            _marks("F", wiring.relays),
            str(len(wiring.relays)),
            "fuse, slow, high breaking capacity, in a holder that cannot be touched",
            "1.25 to 2 times the lamp's current*, and below what relay and cable bear",
        )
        yield (
            _marks("X", wiring.relays),
            str(len(wiring.relays)),
            "outlet with protective earth, marked with its light",
            "your mains; in or on the enclosure; a lamp of class II takes no earth",
        )


def _relays(wiring: Wiring) -> Iterator[_Part]:
    relays = [each for each in wiring.relays if each.through is Through.RELAY]
    solid = [each for each in wiring.relays if each.through is Through.SOLID_STATE]
    if relays:
        yield (
            _marks("K", relays),
            str(len(relays)),
            "relay, change-over contact" + _on_a_board(wiring, relays),
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
            f"input 3 to 32 V DC{_few_ma(wiring)}; surge current above the lamp's inrush; four "
            "times the lamp's current*; on a heat sink",
        )


def _few_ma(wiring: Wiring) -> str:
    few = wiring.board is Board.MODEM_LINES
    return ", at the few milliamperes that a serial port gives" if few else ""


def _on_a_board(wiring: Wiring, relays: Sequence[Output]) -> str:
    if not wiring.pulled:
        return ", on its board"
    levels = sorted({"low" if each.active_low else "high" for each in relays})
    return (
        f", on a board with a driver and a diode for each coil; inputs for 3.3 V, active "
        f"{' and '.join(levels)}, {PIN_MA[wiring.board]} mA at most"
    )


def _switch(wiring: Wiring) -> Iterator[_Part]:
    if not any(each.enlarger for each in wiring.outputs):
        return
    on_mains = bool(wiring.relays) and wiring.outputs[0].on_mains
    rating = (
        "your mains and the lamp's inrush; insulated, splash-proof, for a dry hand"
        if on_mains
        else "the head's direct current"
    )
    yield ("S1", "1", "switch in the enlarger lamp's lead, within reach", rating)


def _low(wiring: Wiring) -> Iterator[_Part]:
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
            "fuse, direct current, in a holder",
            "1.25 to 2 times the light's current*; rated for the supply's direct voltage",
        )
        yield (
            _marks("X", mosfets),
            str(len(mosfets)),
            "plug and socket, two poles, that fit one way round",
            "the light's current; no shape that fits mains or a pedal",
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
        if any(each.through is Through.RELAY for each in wiring.relays):
            yield ("", "1", "supply for the relays' coils, SELV", "5 V, all coils together")
    if wiring.board is Board.MODBUS:
        yield ("", "1", "USB adapter to RS-485", "isolated is better")
        yield ("", "1", "supply of the relay board, SELV", "as the board's sheet asks")


def _inputs(wiring: Wiring) -> Iterator[_Part]:
    ma = PIN_MA[Board.HEADER]
    for part, what, rating in (
        (Part.CONTACT, "pedal with a contact", "extra-low voltage only; splash-proof; 2 wires"),
        (Part.REED, "reed switch and magnet", "extra-low voltage only"),
        (Part.SOUNDER, "buzzer or piezo", f"3.3 V, {ma} mA at most; more through a transistor"),
        (Part.SENSOR, "sensor on lines of the computer", "3.3 V"),
        (Part.USB, "device with a port of its own", "as the rig file names it"),
    ):
        found = [each for each in wiring.inputs if each.part is part]
        if found:
            yield (", ".join(each.name for each in found), str(len(found)), what, rating)
    contacts = [each for each in wiring.inputs if each.part is Part.CONTACT]
    if contacts:
        yield (
            "",
            str(len(contacts)),
            "plug and socket for the pedal, two poles",
            "no shape that fits mains or a lamp",
        )
    if any(wire.pulled_up for each in wiring.inputs for wire in each.wires):
        yield ("", "1", "resistor between data and 3.3 V, one for all", "4.7 kΩ, 0.25 W")


def _boxes(wiring: Wiring) -> Iterator[_Part]:
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
        yield (
            "",
            "",
            "mains cable with protective earth",
            "cross-section by the fuse before it and by local codes",
        )
    yield ("", "1", "enclosure for the extra-low side", "a box of its own, splash-proof")


def _marks(letter: str, outputs: Sequence[Output]) -> str:
    return ", ".join(f"{letter}{each.number}" for each in outputs)


# --- what has to be known of them -----------------------------------------------------------


def part_notes(wiring: Wiring) -> Iterator[str]:
    """Tell what a rating alone does not say."""
    if any(each.through is Through.RELAY for each in wiring.relays):
        yield from _of_relays(wiring)
    if wiring.mosfets:
        yield (
            "The head must be one for constant voltage, with its resistors in it. One with an "
            "electronic driver of its own is switched by the driver's own input, or at its mains "
            "side by a relay."
        )
        yield (
            "The lights' current flows back from the MOSFETs' sources to 0 V of PS1 by wires of "
            "its own, as thick as those to the lights; the computer's ground joins them at one "
            "point, by one thin wire."
        )
        yield (
            "What carries a motor or a coil (a fan in the head) is not switched here, or wants a "
            "diode across it: its ring towards +V."
        )
    if any(each.through is Through.SOLID_STATE for each in wiring.relays):
        yield (
            "A solid-state relay leaks when it is off and mostly fails lit. S1 is not an option. "
            "One that switches at the zero of the mains waits for it: up to 10 ms at 50 Hz, 8.3 "
            "ms at 60 Hz, now and then a half cycle more or less in an exposure."
        )
    yield from _of_inputs(wiring.inputs)


def _of_relays(wiring: Wiring) -> Iterator[str]:
    yield (
        "**Relays are chosen for the inrush.** A cold filament takes some fourteen times its "
        "current, and LED drivers with a capacitor at their input may take more. A figure for "
        'resistive loads ("10 A") says nothing of that: contacts weld, and the lamp stays on. '
        "Example: 150 W at 230 V is 0.65 A, and some 9 A at switching on; at 120 V 1.25 A and "
        "17.5 A. So look in the relay's sheet for its lamp load (in watts, more than the lamp's) "
        "or its inrush current (more than fourteen times the lamp's); where neither is told, "
        "take another relay."
    )
    yield (
        "A relay board's distance between coil side and contact side is its insulation; boards "
        "with a millimetre there are not for mains. Have it judged."
    )
    yield (
        "A snubber lets some milliamperes through while the contact is open: at 0.1 µF 7 mA "
        "at 230 V and 50 Hz, 4.5 mA at 120 V and 60 Hz. LED lamps may glow with that: take a "
        "varistor there, and test the dark lamp for fog."
    )
    if wiring.pulled:
        yield (
            "The coils have a supply of their own. On a board with "
            "optocouplers take its jumper out, "
            "so that coil - and GND stay apart; on one without they are one, and are joined."
        )
        yield (
            "A bare relay never hangs on a pin: its coil takes more than a pin gives, and its "
            "voltage at letting go destroys it. The board brings driver and diode. One whose sheet "
            "asks for 5 V at its inputs may not pull in at 3.3 V."
        )


def _of_inputs(inputs: Sequence[Input]) -> Iterator[str]:
    on_pins = [each for each in inputs if each.point.name.startswith("GPIO")]
    if any(each.part is Part.SOUNDER for each in on_pins):
        yield (
            "A buzzer that takes more than a pin gives: pin, 1 kΩ, base of a small npn "
            "transistor; emitter to ground; buzzer between collector and its supply (+), and, "
            "if it has a coil, a diode across it, its ring towards +. From memory of common use."
        )
    if any(each.part in (Part.CONTACT, Part.REED) for each in on_pins):
        yield (
            "A contact needs no resistor: the program switches the pin's own pull-up on. On a "
            "long cable 1 kΩ between pin and contact protects the pin (common practice, no "
            "source); a closed contact then measures 1 kΩ."
        )
