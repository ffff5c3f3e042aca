"""What has to be wired to what, as it follows from a rig.

The rig file names lines and contacts; a pair of hands needs pins, resistors and grounds. Pages
(``controller.rig.wiring_pages``) and the drawing (``controller.pictures.wiring``) are made from the
``Wiring`` here, so that they can't tell different things.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from controller.errors import BadInput
from controller.rig.cautions import warnings
from controller.rig.inputs import BoxSwitch, PedalAt
from controller.rig.model import LAMP, Lamp, OtherLight, Rig, Safelight
from controller.rig.rules import ON_GPIO, SENSORS_ON_GPIO, USB_PEDAL, same_address
from controller.rig.sensors import SensorAt

# The 40-pin header of a Raspberry Pi: the pin of each GPIO number. From memory of the header's
# published table; a test compares it with gpiozero's.
PIN_OF_GPIO = {
    **{0: 27, 1: 28, 2: 3, 3: 5, 4: 7, 5: 29, 6: 31, 7: 26, 8: 24, 9: 21, 10: 19, 11: 23, 12: 32},
    **{13: 33, 14: 8, 15: 10, 16: 36, 17: 11, 18: 12, 19: 35, 20: 38, 21: 40, 22: 15, 23: 16},
    **{24: 18, 25: 22, 26: 37, 27: 13},
}
GROUND_PINS = (6, 9, 14, 20, 25, 30, 34, 39)
VOLTS_3V3_PIN = 1
VOLTS_3V3_FOR_PARTS = 17
GROUND_FOR_BOARD = 6
# Outputs of the relay unit as its firmware's board.py is shipped: GP number and pin of the module.
# The module's other pins: from memory of the maker's pinout.
UNIT_PINS = {0: (2, 4), 1: (3, 5), 2: (4, 6), 3: (5, 7)}
UNIT_GROUND_PIN, UNIT_3V3_PIN = 3, 36
UNIT_SERVICE = (22, 29)
# A serial port's wires at an RS-232 plug with 9 pins; from memory of the standard.
SERIAL_PINS = {"cd": 1, "dtr": 4, "ground": 5, "dsr": 6, "rts": 7, "cts": 8, "ri": 9}


# Sensors on a bus of the header; the bus is the kernel's usual one (GPIO 2 and 3, GPIO 4).
_ON_I2C = ("bh1750", "veml7700")
_ON_ONE_WIRE = "one-wire"


class Board(Enum):
    """What the relays hang on."""

    HEADER = "gpio"
    RELAY_UNIT = "relay-unit"
    MODBUS = "modbus"
    MODEM_LINES = "modem-lines"
    OTHER = "other"


class Through(Enum):
    """What switches a light."""

    RELAY = "relay"
    SOLID_STATE = "solid-state"
    MOSFET = "mosfet"


class Place(Enum):
    """What the numbers of pins are counted at."""

    UNIT = "the relay unit's module"
    PORT = "the serial port's plug"
    COMPUTER = "the computer"


class Part(Enum):
    """What an input or sounder is, as far as its drawing goes."""

    CONTACT = "contact"
    REED = "reed switch"
    SOUNDER = "sounder"
    SENSOR = "sensor"
    USB = "on USB"


@dataclass(frozen=True, slots=True)
class Point:
    """Where a wire ends: what it is called there, and the number of the pin (None: no number)."""

    name: str
    pin: int | None = None
    at: Place = Place.COMPUTER

    def __str__(self) -> str:
        return self.name if self.pin is None else f"{self.name}, pin {self.pin}"


@dataclass(frozen=True, slots=True)
class Output:
    """A light that is switched, and how. ``number`` counts from 1, for K1, F1 and so on."""

    number: int
    name: str
    what: str
    point: Point
    through: Through
    active_low: bool
    closed_at_rest: bool
    enlarger: bool
    second: Point | None = None  # where a relay lies between two wires, its minus

    @property
    def used(self) -> str:
        """The contact that the light is on."""
        return "NC" if self.closed_at_rest else "NO"

    @property
    def unused(self) -> str:
        """The contact that stays empty."""
        return "NO" if self.closed_at_rest else "NC"

    @property
    def on_mains(self) -> bool:
        """Is it to be treated as mains? All is but what a MOSFET switches."""
        return self.through is not Through.MOSFET


@dataclass(frozen=True, slots=True)
class Input:
    """A contact, sounder or sensor on extra-low voltage."""

    name: str
    part: Part
    point: Point
    other_end: Point | None
    closed_at_rest: bool = False
    detail: str = ""
    wires: tuple[tuple[str, Point], ...] = ()  # its terminals by name, where they have names
    between: tuple[str, ...] = ()  # what lies between one of them and the next; "": nothing
    rests_low: bool = True  # a sounder's line while it is silent


@dataclass(frozen=True, slots=True)
class Wiring:
    """All that is wired. ``pulled`` tells whether the relays' inputs need resistors."""

    name: str
    board: Board
    board_words: str
    outputs: tuple[Output, ...]
    own_plugs: tuple[str, ...]
    inputs: tuple[Input, ...]
    notes: tuple[str, ...]
    on_header: bool

    @property
    def pulled(self) -> bool:
        """Do pins of a computer or microcontroller drive the inputs, which then need resistors?"""
        return self.board in (Board.HEADER, Board.RELAY_UNIT)

    @property
    def has_coil_supply(self) -> bool:
        """Do relays with coils get a supply of their own, PS2?"""
        coils = any(each.through is Through.RELAY for each in self.outputs)
        return coils and self.board is not Board.MODEM_LINES

    @property
    def relays(self) -> tuple[Output, ...]:
        """The outputs that switch what is treated as mains."""
        return tuple(each for each in self.outputs if each.on_mains)

    @property
    def mosfets(self) -> tuple[Output, ...]:
        """The outputs that switch lights on extra-low voltage."""
        return tuple(each for each in self.outputs if not each.on_mains)


def wiring_of(rig: Rig) -> Wiring:
    """Tell what has to be wired for a rig. Raises BadInput where its lamp is imagined."""
    if rig.imagined:
        raise BadInput(
            f'the lamp of "{rig.name}" burns in an imagined room, which has no wires',
            "lamp.driver",
            'a rig file with a board, such as driver = "gpio" (dryside rig example)',
        )
    _mosfets_can_be(rig)
    known = {board.value: board for board in Board}
    board = known.get(rig.lamp.driver, Board.OTHER)
    return Wiring(
        name=rig.name,
        board=board,
        board_words=_board_words(rig, board),
        outputs=tuple(_outputs(rig, board)),
        own_plugs=tuple(each.name for each in rig.safelight if each.address is None),
        inputs=tuple(_inputs(rig)),
        notes=tuple(f"{w.field}: {w.what}" for w in warnings(rig.model_dump(exclude_unset=True))),
        on_header=not rig.driver_options("gpio").get("chip"),
    )


def _mosfets_can_be(rig: Rig) -> None:
    boards = (Board.HEADER.value, Board.RELAY_UNIT.value)
    for light in (rig.lamp, *rig.lights()):
        if light.switch == Through.MOSFET.value and rig.lamp.driver not in boards:
            raise BadInput(
                f'the board of the driver "{rig.lamp.driver}" has no pins that drive a MOSFET',
                "switch",
                f'"relay" or "solid-state", or a board that has: {" or ".join(boards)}',
            )


def _board_words(rig: Rig, board: Board) -> str:
    options = rig.driver_options()
    match board:
        case Board.HEADER:
            return "the header of a Raspberry Pi"
        case Board.RELAY_UNIT:
            return f"relay unit on USB: {options.get('port', 'no port named')}"
        case Board.MODBUS:
            return (
                f"Modbus relay board, unit {options.get('unit', 1)}, {options.get('baud', 9600)} "
                f"baud, parity {options.get('parity', 'none')}"
            )
        case Board.MODEM_LINES:
            return f"serial port {options.get('port', 'not named')}"
        case Board.OTHER:
            return f'board of the driver "{rig.lamp.driver}"'


# --- outputs --------------------------------------------------------------------------------


def _outputs(rig: Rig, board: Board) -> Iterator[Output]:
    lights: list[tuple[str, Lamp | Safelight | OtherLight]] = [(LAMP, rig.lamp)]
    lights += [(light.name, light) for light in rig.lights()]
    number = 0
    for name, light in lights:
        if light.address is None:
            continue
        number += 1
        point, second = _output_point(light.address, board, rig)
        yield Output(
            number=number,
            name=name,
            what=_what(light),
            point=point,
            second=second,
            through=Through(light.switch),
            active_low=light.active == "low",
            closed_at_rest=light.contact == "normally-closed",
            enlarger=isinstance(light, Lamp),
        )


def _what(light: Lamp | Safelight | OtherLight) -> str:
    match light:
        case Lamp():
            return "enlarger's lamp"
        case Safelight():
            return "safelight, burns when all fails" if light.nominated else "safelight"
        case OtherLight():
            return f"{light.kind.replace('-', ' ')} light"


def _output_point(address: int | str, board: Board, rig: Rig) -> tuple[Point, Point | None]:
    match board:
        case Board.HEADER:
            return _gpio(address, rig), None
        case Board.RELAY_UNIT:
            return _unit(address), None
        case Board.MODBUS:
            return Point(f"coil {address}"), None
        case Board.MODEM_LINES:
            plus, _, minus = str(address).strip().lower().partition("-")
            return _serial(plus), _serial(minus or "ground")
        case Board.OTHER:
            return Point(f"line {address}"), None


def _gpio(address: int | str | None, rig: Rig) -> Point:
    number = same_address(address)
    if rig.driver_options("gpio").get("chip") or not number.isdigit():
        return Point(f"line {address}")
    return Point(f"GPIO {number}", PIN_OF_GPIO[int(number)])


def _unit(address: int | str) -> Point:
    place = same_address(address)
    if not (place.isdigit() and int(place) in UNIT_PINS):
        return Point(f"output {address}", at=Place.UNIT)
    gp, pin = UNIT_PINS[int(place)]
    return Point(f"output {place}: GP{gp}", pin, Place.UNIT)


def _serial(wire: str) -> Point:
    return Point(
        "port ground" if wire == "ground" else wire.upper(), SERIAL_PINS.get(wire), Place.PORT
    )


# --- what a foot touches, and what is heard -------------------------------------------------


def _inputs(rig: Rig) -> Iterator[Input]:
    grounds = [pin for pin in GROUND_PINS if pin != GROUND_FOR_BOARD]
    for pedal in rig.pedal:
        yield _contact(f"pedal {pedal.name}", pedal, rig, Part.CONTACT, grounds)
    if rig.box is not None:
        yield _contact("paper box", rig.box, rig, Part.REED, grounds)
    if rig.sounder.driver in ON_GPIO:
        yield _sounder(rig, grounds)
    shared: list[Point] = []  # one ground for all sensors
    for sensor in rig.sensor:
        yield _sensor(sensor, rig, grounds, shared)


def _sounder(rig: Rig, grounds: list[int]) -> Input:
    driver = rig.sounder.driver
    point = _gpio(rig.sounder.address, rig)
    if driver == "buzzer" and rig.sounder.active == "low":
        wires = (("+", _volts_3v3(point)), ("-", point))
    else:
        wires = (("+", point), ("-", _ground(point, grounds)))
    rests_low = wires[0][1] == point
    return Input(driver, Part.SOUNDER, point, None, wires=wires, rests_low=rests_low)


def _sensor(sensor: SensorAt, rig: Rig, grounds: list[int], shared: list[Point]) -> Input:
    name = f"sensor {sensor.name}"
    on_header = not rig.driver_options("gpio").get("chip")

    def line(number: int) -> Point:
        return Point(f"GPIO {number}", PIN_OF_GPIO[number]) if on_header else Point("bus")

    between: tuple[str, ...] = ()
    lines: tuple[tuple[str, Point], ...]
    if sensor.driver in _ON_I2C:
        lines = (("SDA", line(2)), ("SCL", line(3)))
        detail = f"{sensor.driver} on the I2C bus, {sensor.address}"
    elif sensor.driver == _ON_ONE_WIRE:
        lines = (("data", line(4)),)
        detail, between = f"thermometer {sensor.address}", ("4.7 kΩ", "")
    elif sensor.driver in SENSORS_ON_GPIO:
        lines = (("out", _gpio(sensor.address, rig)),)
        detail = "its output is a contact or a level of 3.3 V at most"
        if sensor.options.get("kind") == "capacitor":
            detail, between = "light-dependent resistor and capacitor", ("LDR", "1 µF")
    else:
        at = Point(str(sensor.address))
        return Input(name, Part.USB, at, None, detail=sensor.driver)
    if not shared:
        shared.append(_ground(lines[0][1], grounds))
    wires = (("3.3 V", _volts_3v3(lines[0][1])), *lines, ("GND", shared[0]))
    return Input(name, Part.SENSOR, lines[0][1], None, detail=detail, wires=wires, between=between)


def _volts_3v3(beside: Point) -> Point:
    return Point("3.3 V", None if beside.pin is None else VOLTS_3V3_FOR_PARTS)


def _contact(name: str, at: PedalAt | BoxSwitch, rig: Rig, part: Part, grounds: list[int]) -> Input:
    closed = at.contact == "normally-closed"
    match at.driver:
        case "gpio":
            point = _gpio(at.address, rig)
            return Input(name, part, point, _ground(point, grounds), closed)
        case "modem-lines":
            supply = str(rig.driver_options("modem-lines").get("supply", "none"))
            end = _serial("ground" if supply == "none" else supply)
            return Input(name, part, _serial(str(at.address).strip().lower()), end, closed)
        case driver:
            words = "plugged in as it is" if driver == USB_PEDAL else f'as "{driver}" wants it'
            return Input(name, Part.USB, Point(str(at.address)), None, closed, words)


def _ground(point: Point, grounds: list[int]) -> Point:
    """Take the free ground pin that is nearest to a pin of the header."""
    if point.pin is None or not grounds:
        return Point("ground")
    near = min(grounds, key=lambda pin: (abs(pin - (point.pin or 0)), pin))
    grounds.remove(near)
    return Point("ground", near)
