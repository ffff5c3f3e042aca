"""The ports: what controller needs of the outside world, real or imagined.

A leaf: nothing of controller is imported here, so that ``drivers`` and ``sim`` can be written
against this one page. Times are monotonic nanoseconds (``*_ns``) throughout.

*Lit* is said of the light, never of a coil or a pin: ``Line.level`` turns one into the other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from typing import Literal, Protocol, TypeAlias, runtime_checkable

import msgspec


class PortFault(Exception):
    """Something outside did not do its part. The message is one sentence for the printer."""


class Line(msgspec.Struct, frozen=True):
    """One output line: where it is, and how light follows from its level.

    ``address`` is the driver's own way to name the line (a GPIO number, a coil, a path).
    ``normally_closed`` means that the light burns while the relay's coil is not energised.
    """

    name: str
    address: int | str
    active_low: bool = False
    normally_closed: bool = False

    @property
    def safe_lit(self) -> bool:
        """Is the light lit while the coil is not energised, as when everything has failed?"""
        return self.normally_closed

    def level(self, lit: bool) -> int:
        """Give the electrical level (0 or 1) of the line for which the light is (not) lit."""
        energised = lit != self.normally_closed
        return int(energised != self.active_low)


class Outputs(Protocol):
    """A board of relays, opened by its only owner.

    Opening claims every line at its safe level in the same step, so that no edge is made.
    """

    def write(self, name: str, lit: bool) -> None:
        """Switch one light. Raises PortFault when the state is not known afterwards."""

    def read(self, name: str) -> bool | None:
        """Tell whether a light is lit by reading its line back; None where that is not known."""

    def close(self) -> None:
        """Let go of every line, as it is."""


@runtime_checkable
class Tended(Protocol):
    """Outputs, besides, that have a dead-man timer of their own, or may notice that they are lost.

    The keeper's loop itself calls this, every few hundredths of a second: no thread may feed
    such a timer, or it would prove nothing.
    """

    def alive(self, now_ns: int) -> Sequence[str]:
        """Say that the loop lives, without waiting; gives the outputs that are now unknown."""


@runtime_checkable
class Bounded(Protocol):
    """Outputs, besides, that go back to their safe state by a clock of their own."""

    def write_for(self, name: str, lit: bool, most_ns: int) -> None:
        """Switch one light that its owner will switch back within ``most_ns``.

        If he does not, the board does. Raises PortFault as ``write`` does.
        """


class Rescuer(Protocol):
    """Takes the lines of a dead owner. Prepared beforehand, since there is no time then."""

    def make_safe(self, deadline_ns: int) -> bool:
        """Claim every line at its safe level, again and again until it succeeds or time is up."""

    def release(self) -> None:
        """Free the lines for a new owner."""


class OutputDriver(Protocol):
    """What an entry point of the group ``dryside.outputs`` names (a module-level object)."""

    def open(self, lines: Sequence[Line], options: Mapping[str, object]) -> Outputs:
        """Open the board. Raises PortFault with a sentence that says what would be right."""

    def rescuer(self, lines: Sequence[Line], options: Mapping[str, object]) -> Rescuer:
        """Prepare to take the lines over from their owner."""


# When, and whether the pedal is now down. Called from any thread.
OnPedal: TypeAlias = Callable[[int, bool], None]


class Pedal(Protocol):
    """A pedal that is being listened to."""

    def close(self) -> None:
        """Stop listening."""


# When, and whether it is there. Called from any thread.
OnPresence: TypeAlias = Callable[[int, bool], None]


@runtime_checkable
class Pluggable(Protocol):
    """A pedal, besides, that notices when it is unplugged, and heals when it is plugged in again.

    One that was down when it went is not told to have come up: whoever listens takes it as up,
    and as no tap.
    """

    def watch(self, on_presence: OnPresence) -> None:
        """Tell from now on; told at once if it is away already."""


class PedalDriver(Protocol):
    """What an entry point of the group ``dryside.pedals`` names."""

    def open(
        self,
        address: int | str,
        *,
        normally_closed: bool,
        on_edge: OnPedal,
        options: Mapping[str, object],
    ) -> Pedal:
        """Listen. ``on_edge`` gets every edge, bounces included. ``options``: the board's."""


class Sound(Enum):
    """The sounds that can be told apart over a talking book."""

    PRESS = "press"  # a press was felt
    PROMPT = "prompt"  # something is asked of the printer
    GO = "go"
    END = "end"
    ATTENTION = "attention"
    NOT_TAKEN = "not-taken"
    PAUSED = "paused"
    RISING = "rising"  # keep the foot down and this sheet is abandoned
    FAULT = "fault"
    TICK = "tick"
    LAST_TICK = "last-tick"
    HAND_IN = "hand-in"  # the tool comes into the beam now
    HAND_OUT = "hand-out"  # and now it leaves it


class Sounder(Protocol):
    """Whatever can be heard."""

    def play(self, sound: Sound) -> None:
        """Begin a sound and return at once."""

    def say(self, text: str) -> None:
        """Begin to speak and return at once; silent where there is no speech."""

    def close(self) -> None:
        """Be quiet."""


class SounderDriver(Protocol):
    """What an entry point of the group ``dryside.sounders`` names."""

    def open(self, options: Mapping[str, object]) -> Sounder:
        """Open the sounder. Raises PortFault."""


class Quantity(Enum):
    """What a sensor reads; the value's unit is fixed by it."""

    ILLUMINANCE = "illuminance"
    DENSITY = "density"
    LIGHT = "light"  # yes or no
    TEMPERATURE = "temperature"

    @property
    def unit(self) -> str:
        """Give the unit of its values; empty where they have none."""
        return _UNITS[self]


_UNITS = {
    Quantity.ILLUMINANCE: "lx",
    Quantity.DENSITY: "",
    Quantity.LIGHT: "",
    Quantity.TEMPERATURE: "°C",
}


class Reading(msgspec.Struct, frozen=True, tag="reading"):
    """What a sensor read: the mean over the ``over_ns`` before ``at_ns``; 0: at that instant.

    In lux, density, degrees Celsius, or 1.0 for light and 0.0 for none. ``saturated``: there was
    more than the sensor can tell, and the value is only the least that it can have been.
    """

    quantity: Quantity
    value: float
    at_ns: int
    over_ns: int = 0
    saturated: bool = False


class Sensor(Protocol):
    """A sensor that is open."""

    def read(self) -> Reading:
        """Give the newest reading, if need be after waiting for one (a second at most).

        Raises PortFault with a sentence where none is to be had; asking again may help, since a
        sensor that was unplugged is found again by itself.
        """

    def close(self) -> None:
        """Let go of it."""


class SensorDriver(Protocol):
    """What an entry point of the group ``dryside.sensors`` names."""

    def open(self, address: int | str, options: Mapping[str, object]) -> Sensor:
        """Open the sensor. Raises PortFault with a sentence that says what would be right."""


# --- what hands are asked to do -------------------------------------------------------------


class Move(msgspec.Struct, frozen=True, tag="move"):
    """Bring card, window or paper to a position of a strip.

    ``position`` n, counted from 0: the *card* covers the first n patches; the *window* opens
    patch n alone; the *paper* lies so that patch n is under the window, which stays.
    ``edge`` is the side of the sheet at which patch 0 lies.
    """

    tool: str  # "card", "window" or "paper"
    position: int
    patches: int
    edge: str = "left"  # "left", "right", "top" or "bottom"


class NewSheet(msgspec.Struct, frozen=True, tag="sheet"):
    """Lay a fresh sheet under the enlarger; its mark is pencilled on the back.

    ``place`` names the part of the picture that a small piece is laid on; empty: the whole
    sheet under the whole picture, or a piece in the middle of it.
    """

    mark: str
    width_mm: float
    height_mm: float
    place: str = ""


class Lens(msgspec.Struct, frozen=True, tag="lens"):
    """Set the lens: ``aperture`` is a number as engraved, "capped" or "open"."""

    aperture: str


NO_FILTER = "none"


class Filter(msgspec.Struct, frozen=True, tag="filter"):
    """Put a filter into the light; "none" takes it away.

    ``yellow`` and ``magenta`` are the settings of a colour head, where one is used instead.
    """

    name: str
    yellow: float = 0.0
    magenta: float = 0.0


class Carrier(msgspec.Struct, frozen=True, tag="carrier"):
    """Put the negative into its carrier, or take it out and leave even light on the easel."""

    negative: bool


class Shade(msgspec.Struct, frozen=True, tag="shade"):
    """Bring something into the beam, or take it away again (``held`` false).

    ``tool`` "card" is a card with a hole: light falls on the area alone, as for a burn. "wand"
    keeps light from the area, as for a dodge. ``area`` has a text for each row of a grid over
    the whole picture, as it lies on the easel, with "#" for the cells that belong to it.
    """

    tool: Literal["card", "wand"]
    name: str
    area: tuple[str, ...] = ()
    held: bool = True


class Carry(msgspec.Struct, frozen=True, tag="carry"):
    """Carry the sheet, and what lies on it, to another place.

    Into the "developer" it goes bare, and what lights do afterwards is no part of it.
    """

    place: Literal["easel", "trays", "developer"]


class Switch(msgspec.Struct, frozen=True, tag="switch"):
    """Switch lights by hand that no relay switches; no name: every one of them."""

    lights: tuple[str, ...]
    lit: bool


Hands: TypeAlias = Move | NewSheet | Lens | Filter | Carrier | Shade | Carry | Switch


class Wants(Enum):
    """What a cue waits for."""

    NOTHING = "nothing"
    CONFIRM = "confirm"  # a tap that says "done", and never lights
    GO = "go"  # a tap after which light follows
    CHOICE = "choice"  # a tap takes what was just spoken


class Cue(msgspec.Struct, frozen=True, tag="cue"):
    """What is told to the printer: a sound, words, and perhaps a job for the hands."""

    text: str = ""
    sound: Sound | None = None
    wants: Wants = Wants.NOTHING
    hands: Hands | None = None


# --- the world in virtual time --------------------------------------------------------------


class World(Protocol):
    """The outside world where time is only counted: the simulator stands behind this.

    Calls come with times that never run backwards.
    """

    def switch(self, now_ns: int, name: str, lit: bool) -> None:
        """An output was switched."""

    def screen(self, now_ns: int, *, shown: bool) -> None:
        """The unit's own screen was lit, or went black."""

    def hear(self, now_ns: int, cue: Cue) -> None:
        """Something was said or sounded."""

    def next_ns(self) -> int | None:
        """When will something next happen out there by itself? None: never."""

    def act(self, now_ns: int) -> Sequence[bool]:
        """Let happen what is due; gives the pedal's edges in order (True is down)."""


class Eye(Protocol):
    """A sensor that sees the lamp, where time is only counted."""

    @property
    def every_ns(self) -> int:
        """How often it is to look."""

    def look(self, now_ns: int) -> Reading | None:
        """Give what it reads now; None where it has nothing to say."""
