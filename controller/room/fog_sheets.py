"""The sheets that prove a room, and the plans that make them. Pure.

Fog on top of an image shows long before fog on white, so the paper is first given a light grey
by the enlarger with every light out (publication K-4, "How Safe Is Your Safelight?", seen in
excerpts: 0.15 to 0.40 above paper; times before and after the image are told apart). The sheet
is developed in total darkness, so that no light over the trays fogs steps and reference alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Annotated, Literal, Protocol

from pydantic import BaseModel, ConfigDict, Field, field_validator

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import Refused
from controller.exposing.around import Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Confirm, Dwell, Expose, Go, Plan, Sheet, Wait
from controller.ports import NO_FILTER, Carry, Move, Switch
from controller.stops import format_time
from controller.strips.strip import LEAST_PATCH_MM, LETTERS
from controller.written import RIGHT_IS

Place = Literal["easel", "trays"]
Seconds = Annotated[float, Field(gt=0, le=4 * 3600)]

# Each step twice the one before: the answer is then known within a factor of two (our choice).
USUAL_STEPS_S = (60.0, 120.0, 240.0, 480.0)
REFERENCE = "reference"
TOGETHER = "all together"
BRIEFLY = "all briefly"
# Columns that are clean after a time t have rates below 1/t each, so that n of them together are
# clean after t/n. Half of that again is kept for columns that lie nearer to a light, and for
# paper on which dim lights together count for a little more than their sum (our choice).
BRIEF = 1.5
SCREEN = "screen"  # the unit's own, which the curtain puts out


class Flashed(Protocol):
    """What a sheet says of the flash that it gets."""

    @property
    def flash_filter(self) -> str:
        """The filter in the light."""

    @property
    def aperture(self) -> str:
        """The aperture as engraved; empty for the working one."""

    @property
    def width_mm(self) -> float:
        """Its length."""

    @property
    def height_mm(self) -> float:
        """Its width."""


class _Sheet(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    place: Place = Field("easel", description="where the paper lies meanwhile")
    lights: tuple[str, ...] = Field(min_length=1, description="lights of the room under test")
    flash_s: float = Field(gt=0, le=600, description="exposure that gives the light grey")
    flash_filter: str = ""
    aperture: str = ""
    paper: str = Field("", description="the paper that is proved with it")
    developer_s: float = Field(180.0, gt=0, le=3600, description="in the developer")
    width_mm: float = Field(203.0, gt=0)
    height_mm: float = Field(25.0, gt=0)


class FogTest(_Sheet):
    """Graded times under lights, before the flash on one side and after it on the other."""

    steps_s: tuple[Seconds, ...] = Field(
        USUAL_STEPS_S, min_length=2, max_length=8, description="growing times in seconds"
    )

    @field_validator("steps_s")
    @classmethod
    def _grows(cls, steps: tuple[float, ...]) -> tuple[float, ...]:
        if any(b <= a for a, b in pairwise(steps)):
            raise ValueError(f"the times do not grow{RIGHT_IS}such as 1m,2m,4m,8m")
        return steps

    @property
    def patches(self) -> int:
        """Give the number of patches: both sides, and the reference between them."""
        return 2 * len(self.steps_s) + 1

    def names(self) -> list[str]:
        """Name the patches from the left: before, longest first; the reference; after."""
        steps = range(1, len(self.steps_s) + 1)
        before = [f"before {n}" for n in reversed(steps)]
        return [*before, REFERENCE, *(f"after {n}" for n in steps)]


class WhichLight(_Sheet):
    """One column for each light alone, two for all together, and a reference; after the flash.

    All together are tried for the full time and briefly: so short that lights which are clean
    alone must be clean together. If they are not, something else burned as well.
    """

    time_s: float = Field(240.0, gt=0, le=4 * 3600, description="time under each")

    @property
    def patches(self) -> int:
        """Give the number of columns."""
        return len(self.names())

    def names(self) -> list[str]:
        """Name the columns from the left."""
        together = [BRIEFLY, TOGETHER] if len(self.lights) > 1 else []
        return [REFERENCE, *self.lights, *together]

    @property
    def brief_s(self) -> float:
        """Give the time of the brief column of all lights."""
        return self.time_s / (BRIEF * len(self.lights))

    def column_s(self, name: str) -> float:
        """Give the time of a column; none for the reference."""
        if name == REFERENCE:
            return 0.0
        return self.brief_s if name == BRIEFLY else self.time_s

    def burning(self, name: str) -> tuple[str, ...]:
        """Name the lights that burn over a column."""
        if name == REFERENCE:
            return ()
        return self.lights if name in (BRIEFLY, TOGETHER) else (name,)


class FlashStrip(BaseModel):
    """Small exposures of bare light, half a stop apart, to find the one that is light grey."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    base_s: float = Field(0.4, gt=0, le=600, description="the least of them")
    patches: int = Field(8, ge=3, le=16)
    flash_filter: str = ""
    aperture: str = ""
    paper: str = Field("", description="the paper whose light grey is looked for")
    developer_s: float = Field(180.0, gt=0, le=3600)
    width_mm: float = Field(203.0, gt=0)
    height_mm: float = Field(25.0, gt=0)

    def doses_s(self) -> list[float]:
        """Give the exposure of each patch, in seconds."""
        return [self.base_s * 2 ** (n / 2) for n in range(self.patches)]


class CoinCheck(BaseModel):
    """A coin on white paper, in the light as it is in use; it can prove a bad room only."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    place: Place = "easel"
    lights: tuple[str, ...] = Field(min_length=1)
    time_s: float = Field(300.0, gt=0, le=4 * 3600)
    paper: str = ""
    width_mm: float = Field(60.0, gt=0)
    height_mm: float = Field(25.0, gt=0)


class WholeCycle(_Sheet):
    """From box to fixer with the real handling, half of the sheet under a card."""

    time_s: float = Field(300.0, gt=0, le=4 * 3600, description="as long as the handling takes")


COIN_PROVES = (
    "a coin that shows proves a bad room; a coin that does not show proves nothing, since fog on "
    "top of a picture shows long before fog on white"
)


# The lights that the unit switches, each with the output that does it.
Switched = Mapping[str, str]


def plan_fog_test(
    test: FogTest, lamp: Calibration, limits: LampLimits, room: Around, switched: Switched
) -> Plan:
    """Make the plan of a fog test; ``switched`` are the lights that a relay can switch.

    A light that only a hand switches burns while the card moves as well: its steps are some
    seconds longer than they say, and the time that is found is shorter than the true one.

    Raises Refused for patches that a hand cannot lay, and a flash that the lamp cannot give.
    """
    _require(test.patches, test.width_mm)
    require_dose("flash", test.flash_s, lamp, limits)
    side, count = len(test.steps_s) + 1, test.patches
    actions = begin_in_the_dark(test, room, "new strip for the fog test")
    actions += _steps(test, "before", "right", side, count, room, switched)
    actions += _flash(test, count, room)
    actions += _steps(test, "after", "left", side, count, room, switched)
    actions += in_the_dark(test.developer_s)
    title = f"fog test at the {test.place}, {named(test.lights)}, {len(test.steps_s)} steps"
    return Plan("fog test", title, tuple(actions), room.after())


def plan_which_light(
    test: WhichLight, lamp: Calibration, limits: LampLimits, room: Around, switched: Switched
) -> Plan:
    """Make the plan of a sheet that finds the guilty light. Raises Refused."""
    _require(test.patches, test.width_mm)
    require_dose("flash", test.flash_s, lamp, limits)
    actions = begin_in_the_dark(test, room, "new strip, which light is it")
    actions += _flash(test, test.patches, room, first=True)
    actions += _carried(test.place)
    for index, name in enumerate(test.names()):
        if name == REFERENCE:
            continue
        lights = test.burning(name)
        move = Move("window", index, test.patches, "left")
        said = f"window on {index + 1}, {name}"
        # the window lies before a hand lights anything: the columns beside it stay dark
        actions += by_hand(lights, switched, on=True, first=Confirm(said, move))
        actions.append(Go(said, move, room.lead_in_s))
        actions.append(dwell_under(name, test.column_s(name), lights, switched))
        actions += by_hand(lights, switched, on=False)
    actions += in_the_dark(test.developer_s)
    title = f"which light, at the {test.place}, {named(test.lights)}, {test.time_s:g} s each"
    return Plan("which light", title, tuple(actions), room.after())


def plan_flash(test: FlashStrip, lamp: Calibration, limits: LampLimits, room: Around) -> Plan:
    """Make the plan of a flash strip. Raises Refused."""
    _require(test.patches, test.width_mm)
    actions = begin_in_the_dark(test, room, "new strip for the flash")
    for index, dose_s in enumerate(test.doses_s()):
        letter = LETTERS[index]
        require_dose(f"patch {letter}", dose_s, lamp, limits)
        move = Move("window", index, test.patches, "left")
        actions.append(Go(f"window on {letter}", move, room.lead_in_s))
        actions.append(Expose(letter, dose_s, filter=test.flash_filter))
    actions += in_the_dark(test.developer_s)
    title = f"flash strip from {format_time(test.base_s)} by 1/2 stop, {test.patches} patches"
    return Plan("flash strip", title, tuple(actions), room.after())


def plan_coin(test: CoinCheck, room: Around, switched: Switched) -> Plan:
    """Make the plan of a quick check: a coin on white paper."""
    actions: list[Action] = [Sheet(test.width_mm, test.height_mm, "a white piece of paper")]
    actions += _carried(test.place)
    actions.append(Confirm("a coin on its middle"))
    actions += by_hand(test.lights, switched, on=True)
    actions += [Go("quick check", None, room.lead_in_s), *room.darken()]
    actions.append(dwell_under("coin", test.time_s, test.lights, switched))
    title = f"quick check with a coin at the {test.place}, {test.time_s:g} s"
    return Plan("coin check", title, tuple(actions), room.after())


def plan_whole_cycle(
    test: WholeCycle, lamp: Calibration, limits: LampLimits, room: Around, switched: Switched
) -> Plan:
    """Make the plan of the final proof: real handling, half of the sheet under a card."""
    require_dose("flash", test.flash_s, lamp, limits)
    actions = begin_in_the_dark(test, room, "new sheet for the whole cycle")
    actions += _flash(test, 2, room, first=True)
    card = Move("card", 1, 2, "left")
    covered = Confirm("card over the left half", card)
    actions += by_hand(test.lights, switched, on=True, first=covered)
    told = "card over the left half; then handle it as you always do, from the box to the fixer"
    actions.append(Go(told, card, room.lead_in_s))
    actions.append(dwell_under("whole cycle", test.time_s, test.lights, switched))
    actions += by_hand(test.lights, switched, on=False)
    actions += in_the_dark(test.developer_s)
    title = f"whole cycle, {named(test.lights)}, {test.time_s:g} s"
    return Plan("whole cycle", title, tuple(actions), room.after())


# --- inside -----------------------------------------------------------------------------------


def _require(patches: int, width_mm: float) -> None:
    if width_mm / patches < LEAST_PATCH_MM:
        raise Refused(
            f"{patches} patches along {width_mm:g} mm are {width_mm / patches:.1f} mm wide each, "
            f"and a hand needs {LEAST_PATCH_MM:g} mm",
            ("fewer steps", "a longer strip"),
        )


def begin_in_the_dark(test: Flashed, room: Around, say: str) -> list[Action]:
    """Ask for the enlarger's set-up, put every light out, and have the paper laid."""
    actions: list[Action] = [
        *ask_for(Needs(test.flash_filter or NO_FILTER, test.aperture, negative=False)),
        Confirm("every light that is not on the unit out", Switch((), lit=False)),
    ]
    # the paper comes out of its box in the dark: nothing may fog it before the first step
    actions += [Go("lights go out now; have the paper at hand", None, room.lead_in_s)]
    actions += room.darken()
    actions.append(Sheet(test.width_mm, test.height_mm, f"{say}, in the dark"))
    return actions


def _steps(
    test: FogTest,
    when: str,
    edge: Literal["left", "right"],
    first: int,
    patches: int,
    room: Around,
    switched: Switched,
) -> list[Action]:
    """Give the times of one side: the card covers one patch more after each."""
    actions = _carried(test.place)
    all_of_it = Confirm("card over all of it", Move("card", patches, patches, edge))
    actions += by_hand(test.lights, switched, on=True, first=all_of_it)
    before_s = 0.0
    for number, until_s in enumerate(test.steps_s, start=1):
        move = Move("card", first + number - 1, patches, edge)
        covered = f"step {number - 1}" if number > 1 else "the reference"
        said = f"card from the {edge}, over {covered}"
        if number == 1:
            said = f"{when} the flash, {said}"
        actions.append(Go(said, move, room.lead_in_s))
        label = f"{when} {number}"
        dwell = dwell_under(label, until_s - before_s, test.lights, switched)
        actions.append(dwell)
        before_s = until_s
    actions += by_hand(test.lights, switched, on=False, first=all_of_it)
    if test.place == "trays":
        actions.append(Confirm("back to the easel", Carry("easel")))
    return actions


def _flash(test: _Sheet, patches: int, room: Around, *, first: bool = False) -> list[Action]:
    open_all = Move("card", 0, patches, "left")
    said = "all open, flash" if first else "card away, flash"
    return [
        Go(said, open_all, room.lead_in_s),
        Expose("flash", test.flash_s, filter=test.flash_filter),
    ]


def dwell_under(label: str, time_s: float, lights: Sequence[str], switched: Switched) -> Dwell:
    """Leave the paper under some lights; those that no relay switches are asked for before."""
    own = dict.fromkeys(switched[name] for name in lights if name in switched)
    return Dwell(label, time_s, tuple(own), screen=SCREEN in lights)


def by_hand(
    lights: Sequence[str], switched: Switched, *, on: bool, first: Confirm | None = None
) -> list[Action]:
    """Ask for the lights that no relay switches; ``first`` is asked for before them."""
    names = [name for name in lights if name not in switched and name != SCREEN]
    if not names:
        return []
    said = f"{named(names)} {'on' if on else 'off'}, by hand"
    return [*([first] if first else []), Confirm(said, Switch(tuple(names), lit=on))]


def _carried(place: Place) -> list[Action]:
    return [Confirm("to the trays", Carry("trays"))] if place == "trays" else []


def in_the_dark(developer_s: float) -> list[Action]:
    """Have the sheet developed with every light out, timed by ear."""
    return [
        Confirm(
            "every light stays out; gloves on; tap as it goes into the developer",
            Carry("developer"),
        ),
        Wait("developer", developer_s),
        Wait("stop bath", 30.0),
        Wait("fixer, then lights may go on", 60.0),
    ]


def named(names: Sequence[str]) -> str:
    """Give names as a person lists them."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
