"""The ``[simulator]`` table of a rig file: what the imagined room is made of.

Light to read in: nothing here needs numpy.
"""

from __future__ import annotations

from enum import Enum
from typing import Annotated

from pydantic import Field, model_validator

from sim.room_settings import (
    EASEL,
    TRAYS,
    BladeSettings,
    EventKind,
    EventSettings,
    LightSettings,
    Place,
)
from sim.table import Table
from sim.wet_settings import WetSettings

Range = tuple[Annotated[float, Field(ge=0)], Annotated[float, Field(ge=0)]]


class LampKind(Enum):
    """Which lamp is in the enlarger's head."""

    TUNGSTEN = "tungsten"  # opal bulb, 150 W 230 V
    HALOGEN = "halogen"  # low voltage, 100 W 12 V, behind a transformer
    LED = "led"


class RelayKind(Enum):
    """What switches the lamp."""

    MECHANICAL = "mechanical"
    ZERO_CROSSING = "zero-crossing"  # solid state; waits for the mains to pass through zero
    IDEAL = "ideal"  # no delay at all


class PaperKind(Enum):
    """How paper gets its contrast."""

    GRADED = "graded"
    VARIABLE = "variable"  # by the colour of light


class NegativeKind(Enum):
    """What is in the negative carrier."""

    BANDS = "bands"  # even tones, over each sheet anew
    SCENE = "scene"  # a quay with a boathouse and a lighthouse, of our own making


class PaperSettings(Table):
    """The paper: its characteristic curve and its reciprocity failure."""

    kind: PaperKind = Field(PaperKind.GRADED, description="graded or variable (contrast)")
    speed_p: float = Field(
        200.0,
        gt=0,
        le=5000,
        description="ISO speed P: 1000 / exposure (lx s) for 0.6 over Dmin; of variable-contrast "
        "paper without a filter, under an opal bulb",
    )
    gamma: float = Field(2.0, gt=0.2, le=8, description="slope of the straight part of the curve")
    toe: float = Field(
        0.16, gt=0.01, le=0.6, description="density over which the toe bends; more is softer"
    )
    shoulder: float = Field(
        0.20, gt=0.01, le=0.6, description="density over which the shoulder bends"
    )
    part_green: tuple[Annotated[float, Field(gt=0, le=10)], ...] = Field(
        (1.0, 0.25, 0.055),
        min_length=1,
        description="variable contrast: how each part of the emulsion sees green",
    )
    part_shares: tuple[Annotated[float, Field(gt=0, le=100)], ...] = Field(
        (0.25, 0.30, 0.45),
        min_length=1,
        description="variable contrast: how much of the density each part makes",
    )
    part_gamma: float = Field(
        3.7, gt=0.2, le=8, description="variable contrast: gamma of the whole if parts act as one"
    )
    part_toe: float = Field(0.16, gt=0.01, le=0.6, description="variable contrast: toe of the same")
    part_shoulder: float = Field(
        0.14, gt=0.01, le=0.6, description="variable contrast: shoulder of the same"
    )
    d_min: float = Field(0.06, ge=0, le=0.5, description="density of the bare paper")
    d_max: float = Field(2.10, gt=0.8, le=3, description="density of full black")
    reciprocity: float = Field(
        1.0,
        ge=0.8,
        le=1,
        description="exponent p of t^p for long exposures in dim light; 1 is no failure",
    )
    reciprocity_lux: float = Field(
        0.5, gt=0, description="illuminance at which reciprocity failure changes nothing"
    )
    order_effect: float = Field(
        1.0,
        ge=0,
        le=5,
        description="by how much more the room's lights count on grains that an image has "
        "already reached, in parts; 0: order means nothing",
    )

    @model_validator(mode="after")
    def _parts_agree(self) -> PaperSettings:
        if len(self.part_green) != len(self.part_shares):
            raise ValueError(
                f"part_shares has {len(self.part_shares)} figures and part_green "
                f"{len(self.part_green)}: each part needs one of both"
            )
        return self


class HandsSettings(Table):
    """The printer: how fast the hands are, and what they get wrong."""

    gap_s: Range = Field(
        (1.0, 10.0), description="dark time between two pulses of a strip, drawn evenly from this"
    )
    reaction_s: Range = Field((0.3, 0.8), description="from hearing a job to beginning it")
    move_s: Range = Field((0.4, 1.2), description="to move card, window or paper")
    sheet_s: Range = Field((3.0, 8.0), description="to lay a fresh sheet")
    filter_s: Range = Field((1.5, 4.0), description="to change a filter")
    handwork_s: Range = Field(
        (0.0, 0.05), description="to bring a wand in or out while light falls, being forewarned"
    )
    tap_s: Range = Field((0.15, 0.30), description="how long a tap holds the pedal down")
    bounce: bool = Field(False, description="the pedal's contact bounces on every edge")
    pause_at: tuple[float, ...] = Field(
        (), description="press the pedal after so many seconds of lamp-on time of the whole run"
    )
    pause_for_s: Range = Field((2.0, 6.0), description="from such a press to the tap that resumes")
    late_moves: tuple[int, ...] = Field(
        (), description="which moves (1 is the first of the run) are forgotten until light falls"
    )
    late_by_s: float = Field(0.5, ge=0, description="how long after lamp-on they are made up for")
    choose_at: tuple[float, ...] = Field(
        (),
        description="hold the pedal down at the first prompt after so many seconds of lamp-on time "
        "of the whole run, to hear the choices",
    )
    take: tuple[str, ...] = Field(
        (), description="spoken choices that are taken, by a word in them; others pass in silence"
    )

    def where_time_runs(self, pace: int) -> HandsSettings:
        """Give the same hands before a clock that is so many times as fast: they are not."""
        own = {
            name: tuple(each * pace for each in value)
            for name, value in self
            if name.endswith("_s") and isinstance(value, tuple)
        }
        return self.model_copy(update=own | {"late_by_s": self.late_by_s * pace})

    @model_validator(mode="after")
    def _ordered(self) -> HandsSettings:
        ranges = ("gap_s", "reaction_s", "move_s", "sheet_s", "filter_s", "handwork_s", "tap_s")
        for name in (*ranges, "pause_for_s"):
            low, high = getattr(self, name)
            if low > high:
                raise ValueError(f"{name} = [{low:g}, {high:g}]: the smaller figure comes first")
        for name in ("pause_at", "choose_at"):
            if any(at < 0 for at in getattr(self, name)):
                raise ValueError(f"{name}: seconds of lamp-on time are not negative")
        return self


class SimulatorSettings(Table):
    """The whole imagined room."""

    seed: int = Field(1, ge=0, description="repeats the same human delays and relay scatter")

    lamp: LampKind = Field(LampKind.TUNGSTEN, description="tungsten, halogen or led")
    watts: float | None = Field(
        None, gt=1, le=2000, description="rated power, if not the usual one of its kind"
    )
    volts: float | None = Field(
        None, gt=1, le=260, description="rated voltage, if not the usual one of its kind"
    )
    kelvin: float | None = Field(
        None, ge=2200, le=3400, description="filament temperature, if not the usual one"
    )
    soft_start_s: float = Field(0.05, ge=0, le=5, description="ramp of an LED head at switch-on")
    afterglow: float = Field(
        0.0, ge=0, le=0.5, description="part of full light with which an LED bulb glows on"
    )
    afterglow_s: float = Field(1.0, gt=0, le=60, description="time constant of that glow")

    supply: float = Field(
        1.0, ge=0.7, le=1.1, description="supply voltage in parts of the rated one"
    )
    supply_wander: float = Field(
        0.0, ge=0, le=0.05, description="slow wander of the supply, in parts of the rated voltage"
    )
    supply_wander_s: float = Field(60.0, ge=5, description="period of that wander")
    ripple: bool = Field(False, description="light follows every half cycle of the mains (slower)")
    mains_hz: float = Field(50.0, ge=45, le=65, description="mains frequency")

    relay: RelayKind = Field(RelayKind.MECHANICAL, description="mechanical, zero-crossing or ideal")
    relay_operate_s: float = Field(0.008, ge=0, le=0.1, description="from coil on to contact made")
    relay_release_s: float = Field(0.005, ge=0, le=0.1, description="from coil off to contact open")
    relay_scatter_s: float = Field(
        0.0003, ge=0, le=0.01, description="standard deviation of both, from one time to the next"
    )

    easel_lux: float = Field(
        4.0, gt=0, description="illuminance at the easel with no negative, at the working aperture"
    )
    negative: NegativeKind = Field(
        NegativeKind.BANDS, description="bands (see tones) or scene (a generated picture)"
    )
    negative_mm: tuple[Annotated[float, Field(gt=1)], Annotated[float, Field(gt=1)]] = Field(
        (70.0, 56.0), description="width and height of the scene on the negative"
    )
    magnification: float = Field(
        254.0 / 70.0,
        ge=0.1,
        le=50,
        description="of the picture on the easel; the usual one makes a scene of 70 x 56 mm "
        "fill 10 x 8 in",
    )
    easel_magnification: float | None = Field(
        None, ge=0.1, le=50, description="magnification easel_lux is given at; none: the present"
    )
    pupil: float = Field(
        1.0, gt=0.2, le=5, description="exit pupil of the lens against its entrance pupil"
    )
    tones: tuple[Annotated[float, Field(ge=0, le=4)], ...] = Field(
        (0.9,),
        min_length=1,
        description="negative: densities of even bands, from the left of the sheet to its right",
    )
    contact_tablet: tuple[Annotated[float, Field(ge=0, le=5)], ...] = Field(
        (),
        description="densities of a step tablet on the paper, from its left to its right, while "
        "the negative is out",
    )
    working_aperture: float = Field(8.0, gt=0.5, description="f-number that easel_lux is given at")
    widest_aperture: float = Field(4.0, gt=0.5, description="f-number of the lens when it is open")
    filters: dict[str, float] = Field(
        default_factory=dict,
        description="graded paper: light that a filter lets through, in parts, by its name; "
        "others take none",
    )
    safelights: dict[str, float] = Field(
        default_factory=dict,
        description="actinic illuminance (lx) of each safelight on the paper, by its name",
    )
    lights: dict[str, LightSettings] = Field(
        default_factory=dict, description="the lights of the room, each in its place, by name"
    )
    trays_m: Place = Field(
        (1.5, 0.0, 0.0), description="where the trays are: x right, y back, z up from the easel"
    )
    sensors: dict[str, Place] = Field(
        default_factory=dict, description="where light sensors are, facing up, by name"
    )
    blades: BladeSettings = Field(default_factory=BladeSettings, description="the easel's blades")
    events: tuple[EventSettings, ...] = Field(
        (), description="what happens by itself: doors, telephones, the box of paper"
    )
    carried_s: float = Field(
        0.0, ge=0, description="time under the safelights from the easel to the stop bath"
    )
    carried_easel_s: float = Field(
        0.0, ge=0, description="of that time, still lying at the easel, out of the blades"
    )
    carried_walk_s: float = Field(
        0.0, ge=0, description="of that time, on the way; what then is left is over the trays"
    )
    carried_marks: dict[str, Annotated[float, Field(ge=0)]] = Field(
        default_factory=dict, description="carried_s of single sheets, by their marks"
    )
    placement_mm: float = Field(
        0.4, ge=0, le=10, description="standard deviation with which card or window is laid"
    )
    shade_soft_mm: float = Field(
        2.0, ge=0, le=50, description="width of the soft edge of a card or wand held in the beam"
    )
    cell_mm: float = Field(1.0, ge=0.25, le=2, description="grain of the simulated sheet")

    paper: PaperSettings = Field(default_factory=PaperSettings, description="the paper")
    wet: WetSettings | None = Field(
        None, description="the trays; none: a fresh and full process for every sheet"
    )
    hands: HandsSettings = Field(default_factory=HandsSettings, description="the printer")

    @model_validator(mode="after")
    def _sensible(self) -> SimulatorSettings:
        for what in ("filters", "safelights"):
            for name, value in getattr(self, what).items():
                if value < 0:
                    raise ValueError(f"{what}.{name} = {value:g}: light is not negative")
        return self

    @model_validator(mode="after")
    def _room_agrees(self) -> SimulatorSettings:
        if twice := sorted(set(self.lights) & set(self.safelights)):
            raise ValueError(f"{twice[0]!r} is in lights and in safelights: it belongs in one")
        if taken := sorted({EASEL, TRAYS} & set(self.sensors)):
            raise ValueError(f"sensors.{taken[0]}: that place has its name already; take another")
        for event in self.events:
            if event.what is EventKind.BOX and event.light is not None:
                raise ValueError(f"event at {event.at_s:g} s: a box lights no light; leave it out")
            if event.lights is not None and event.lights not in self.lights:
                raise ValueError(
                    f"event at {event.at_s:g} s: there is no light {event.lights!r} for it to "
                    "light; add it to lights"
                )
        for mark, carried_s in {"": self.carried_s, **self.carried_marks}.items():
            parts_s = self.carried_easel_s + self.carried_walk_s
            if carried_s < parts_s and (parts_s > 0.0):
                of = f"carried_marks.{mark}" if mark else "carried_s"
                raise ValueError(
                    f"{of} = {carried_s:g}: it holds carried_easel_s and carried_walk_s, "
                    f"{parts_s:g} s together"
                )
        return self
