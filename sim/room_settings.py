"""The parts of the ``[simulator]`` table that tell of the room: lights, easel, and what happens.

Places are (x, y, z) in metres from the middle of the easel: x to the right, y away from the
printer (towards the top of the sheet), z up from the paper. Light to read in: no numpy.
"""

from __future__ import annotations

from enum import Enum
from typing import Annotated, TypeAlias

from pydantic import Field

from sim.table import Table

Metres = Annotated[float, Field(ge=-50, le=50)]
Place: TypeAlias = tuple[Metres, Metres, Metres]

EASEL, TRAYS = "easel", "trays"
SCREEN = "screen"  # a light of this name is the unit's own, which goes black with the curtain


class LightKind(Enum):
    """What a light is, and with that its colour."""

    DEEP_RED = "deep-red"  # LEDs at 660 nm
    RED = "red"  # a bulb behind a red filter
    AMBER = "amber"  # a bulb behind an amber filter
    LIGHT_AMBER = "light-amber"  # a bulb behind a greenish yellow filter
    WHITE = "white"  # daylight, as through the gap of a door
    SCREEN = "screen"  # an LCD's backlight through black, or a telephone: a white LED's light
    DIGITS = "digits"  # red LED digits and indicator lamps, 630 nm
    LEAK = "leak"  # the enlarger's own lamp, through a gap of its head


class LightSettings(Table):
    """One light of the room."""

    kind: LightKind = Field(
        description="deep-red, red, amber, light-amber, white, screen, digits or leak"
    )
    lux_at_1m: float = Field(ge=0, description="what a lux meter reads that faces it at 1 m")
    at_m: Place = Field(description="where it is: x right, y back, z up from the easel's middle")
    size_m: tuple[Annotated[float, Field(ge=0, le=5)], Annotated[float, Field(ge=0, le=5)]] = Field(
        (0.0, 0.0), description="width and height of its face; larger gives softer shadows"
    )
    faces_m: Place | None = Field(
        None,
        description="the place its face is turned to, at which it is brightest; "
        "none: as bright to all sides",
    )
    faded: float = Field(
        0.0, ge=0, le=1, description="part of its lux that is white: a filter faded or cracked"
    )
    relay: str | None = Field(
        None,
        description="the output that switches it, if not one of its own name (a leak: the lamp)",
    )
    lit: bool | None = Field(
        None,
        description="is it lit from the start? Usually yes; not what the lamp or an event lights",
    )


class EventKind(Enum):
    """What may happen in a room by itself."""

    DOOR = "door"
    TELEPHONE = "telephone"
    BOX = "box"  # the box of paper is open


class EventSettings(Table):
    """Something that happens, and for how long."""

    at_s: float = Field(
        ge=0, description="when, in seconds from the first light switched or thing done by hand"
    )
    what: EventKind = Field(description="door, telephone or box")
    for_s: float = Field(gt=0, description="how long it lasts")
    light: str | None = Field(
        None, description="door, telephone: the light that is lit by it, if not one of that name"
    )

    @property
    def lights(self) -> str | None:
        """Name the light that this event lights; a box lights none."""
        if self.what is EventKind.BOX:
            return None
        return self.light or self.what.value


class BladeSettings(Table):
    """The four blades of the easel: they cover the sheet's border, and stand above the paper."""

    height_mm: float = Field(
        0.0, ge=0, le=50, description="of the blades' inner edges above the paper; 0: no blades"
    )
    border_mm: float = Field(6.0, gt=0, le=100, description="how much of the sheet they cover")
    from_mm: float = Field(
        150.0, ge=0, description="both sides of a sheet that goes under them; less lies in the open"
    )
