"""The room as it is written: every light that paper can see, and what tests have shown.

Version 1. Every field is the printer's. What follows from it is in ``results`` and ``sums``.
A light is called by its name; a screen of several levels by name and level, ``screen:40``.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from enum import Enum
from typing import Annotated, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from controller.room.limits import (
    CAUTIOUS,
    LONGEST_S,
    Bound,
    Reading,
    Rule,
    SafeTime,
    in_order,
    limit,
    smaller,
    typed,
)
from controller.written import RIGHT_IS

LEVEL_MARK = ":"
LONGEST_NAME = 40
Name = Annotated[
    str, Field(min_length=1, max_length=LONGEST_NAME, pattern=r"^[^\s:,]([^:,]*[^\s:,])?$")
]
Text = Annotated[str, Field(max_length=2000)]
Metres = Annotated[float, Field(gt=0, le=50)]
RIGHT_DATE = "a local date such as 2025-03-01, or with its time 2025-03-01T20:15:00"


def _when(value: object) -> date:
    # TOML has dates of its own; text is taken as well, from an option
    found = value
    if isinstance(value, str):
        for read in (date.fromisoformat, datetime.fromisoformat):
            try:
                found = read(value)
                break
            except ValueError:
                continue
    if isinstance(found, datetime) and found.tzinfo is not None:
        raise ValueError(f"{value} has a time zone{RIGHT_IS}{RIGHT_DATE}")
    if isinstance(found, date):
        return found
    raise ValueError(f"{value!r} is no date{RIGHT_IS}{RIGHT_DATE}")


# a time of day settles what came first on one day
When = Annotated[datetime | date, BeforeValidator(_when)]
Level = Annotated[int, Field(ge=1, le=100)]


class Place(Enum):
    """Where paper lies while it sees light."""

    EASEL = "easel"
    TRAYS = "trays"


class Kind(Enum):
    """What sort of light it is."""

    SAFELIGHT = "safelight"
    SCREEN = "screen"
    INDICATOR = "indicator"
    DOOR = "door"
    ENLARGER_LEAK = "enlarger-leak"
    OTHER = "other"


class ResultKind(Enum):
    """How a result was come by."""

    FOG = "fog"  # on a flashed grey, before and after it
    WHICH = "which"  # the same, each light in a column of its own
    CYCLE = "cycle"  # from box to fixer with the real handling
    QUICK = "quick"  # a coin on white paper: it can prove a bad room, and never a good one
    HAND = "by-hand"  # a safe time that was typed in


class Part(BaseModel):
    """What all tables of a room have in common."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Change(Part):
    """Something about a light that was changed, and when."""

    what: Literal["bulb", "filter", "place"] = Field(description='"bulb", "filter" or "place"')
    date: When = Field(description=RIGHT_DATE)


class Light(Part):
    """A light that paper can see."""

    name: Name = Field(description="what you call it, without a colon or a comma")
    kind: Kind = Field(
        description='"safelight", "screen", "indicator", "door", "enlarger-leak" or "other"'
    )
    place: Text = Field("", description="where it is, in words")
    easel_m: Metres | None = Field(
        None, description="metres from it to the easel, above 0 and up to 50"
    )
    trays_m: Metres | None = Field(
        None, description="metres from it to the trays, above 0 and up to 50"
    )
    filter: Text = Field("", description="its filter or colour")
    bulb: Text = Field("", description="what is in it, such as 15 W")
    relay: Text = Field("", description="its name in the rig; empty where no relay switches it")
    switchable: bool = Field(
        True, description="false where it must not be switched in between, as a discharge lamp"
    )
    size_m: float = Field(0.0, ge=0, le=10, description="width of what shines, in metres")
    levels: tuple[Level, ...] = Field((), description="brightness of a screen, such as [10, 100]")
    changes: tuple[Change, ...] = Field((), description="tables [[lights.changes]]")

    @property
    def names(self) -> tuple[str, ...]:
        """Name every state in which it is lit, the brightest last."""
        if not self.levels:
            return (self.name,)
        return tuple(level_name(self.name, level) for level in sorted(self.levels))

    def distance_m(self, at: Place) -> float | None:
        """Give how far it is from paper, in metres; None where that was not written."""
        return self.easel_m if at is Place.EASEL else self.trays_m


class Read(Part):
    """The two steps of one half of a test; one of them is left out where there was none."""

    clean_s: float | None = Field(
        None, gt=0, le=LONGEST_S, description="seconds of the last step like the reference"
    )
    changed_s: float | None = Field(
        None, gt=0, le=LONGEST_S, description="seconds of the first step unlike the reference"
    )

    @model_validator(mode="after")
    def _is_a_reading(self) -> Self:
        if self.clean_s is None and self.changed_s is None:
            raise ValueError(f"no step is given{RIGHT_IS}clean_s, changed_s or both")
        if not in_order(self.clean_s, self.changed_s):
            what = f"clean_s {self.clean_s:g} is not below changed_s {self.changed_s:g}"
            raise ValueError(f"{what}{RIGHT_IS}a clean step shorter than the changed one")
        return self

    @property
    def reading(self) -> Reading:
        """Give it as a reading."""
        return Reading(self.clean_s, self.changed_s)


class Seen(Part):
    """What a light was like when it was tested."""

    light: Name
    bulb: Text = ""
    filter: Text = ""
    place: Text = ""
    distance_m: Metres | None = None


class Result(Part):
    """What is known of one light, or of a set that burned together."""

    lights: tuple[str, ...] = Field(min_length=1, description="names of the lights that burned")
    at: Place = Field(description='where the paper lay, "easel" or "trays"')
    paper: Text = Field(description="the paper that was tested")
    date: When = Field(description=RIGHT_DATE)
    kind: ResultKind = Field(
        ResultKind.FOG, description='"fog", "which", "cycle", "quick" or "by-hand"'
    )
    before: Read | None = Field(None, description="the half that was lit before its image")
    after: Read | None = Field(None, description="the half that was lit after its image")
    safe_s: float | None = Field(
        None, gt=0, le=LONGEST_S, description="a safe time typed in, in seconds"
    )
    read: Literal["eye", "densities", "scan", ""] = Field("", description="how it was read")
    seen: tuple[Seen, ...] = Field((), description="what the lights were like")
    note: Text = ""

    @model_validator(mode="after")
    def _says_one_thing(self) -> Self:
        if len(set(self.lights)) < len(self.lights):
            raise ValueError(f"a light is named twice{RIGHT_IS}each light once")
        was_read = self.before is not None or self.after is not None
        if self.kind is ResultKind.HAND:
            if self.safe_s is None or was_read:
                raise ValueError(f"it is by hand{RIGHT_IS}safe_s alone, without before and after")
        elif self.safe_s is not None or not was_read:
            right = 'before, after or both; safe_s is for kind = "by-hand"'
            raise ValueError(f"it is a {self.kind.value} test{RIGHT_IS}{right}")
        return self

    @property
    def names(self) -> frozenset[str]:
        """Name the set."""
        return frozenset(self.lights)

    def half_times(self, rule: Rule) -> dict[str, SafeTime]:
        """Give the safe time of each half that was read, by the rule."""
        halves = {"before": self.before, "after": self.after}
        return {word: limit(one.reading, rule) for word, one in halves.items() if one}

    def safe(self, rule: Rule) -> SafeTime | None:
        """Give the total allowed, the smaller of before and after.

        None for a quick check that showed nothing: it never proves a room good.
        """
        if self.safe_s is not None:
            return typed(self.safe_s)
        found = smaller(tuple(self.half_times(rule).values()))
        if self.kind is not ResultKind.QUICK:
            return found
        if found.bound is Bound.AT_LEAST:
            return None
        # N is worth nothing here and C is: fog on white is certain, and fog on grey came sooner
        return SafeTime(0.0, 0.0, found.high_s, Bound.LESS_THAN, found.basis)


class Verdict(Part):
    """What a test of "what is wrong with my print?" found, other than of the lights."""

    test: Literal["leak", "dark", "evenness", "alignment", "tray", "agitation", "fix", "rinse"] = (
        Field(description="which test")
    )
    found: bool = Field(description="true where it found the fault, false where it ruled it out")
    date: When = Field(description=RIGHT_DATE)
    note: Text = ""


class Flash(Part):
    """The exposure of bare light that makes a paper a light grey, as a flash strip found it."""

    paper: Text = Field("", description="the paper, called as in its tests")
    exposure_s: float = Field(gt=0, le=600, description="in seconds")
    filter: Text = Field("", description="the filter in the light")
    aperture: Text = Field("", description="the aperture as engraved; empty: the working one")


class Groups(Part):
    """Which lights burn by what the hands are doing."""

    composing: tuple[str, ...] = ()
    easel: tuple[str, ...] = ()
    trays: tuple[str, ...] = ()

    def lists(self) -> dict[str, tuple[str, ...]]:
        """Give every group by its name."""
        return {"composing": self.composing, "easel": self.easel, "trays": self.trays}


class Room(Part):
    """All lights of a darkroom and all results; version 1."""

    version: Literal[1] = 1
    paper: Text = Field("", description="the paper in use, called as in its tests")
    rule: Rule = Field(CAUTIOUS, description='"half-clean", "half-mean" or "half-changed"')
    expiry_months: int = Field(12, ge=1, le=120, description="months until a test grows old")
    fixed_s: float = Field(
        120.0,
        ge=0,
        le=3600,
        description="seconds from the stop bath until white light may go on",
    )
    stray_light: Literal["tell", "pause"] = Field(
        "tell",
        description='what stray light does while paper is out: "tell", or "pause" (an exposure '
        "that runs is paused, too)",
    )
    flash: tuple[Flash, ...] = Field((), description="tables [[flash]], one for each paper")
    groups: Groups = Field(default_factory=Groups, description="a table [groups]")
    lights: tuple[Light, ...] = Field((), description="tables [[lights]]")
    tests: tuple[Result, ...] = Field((), description="tables [[tests]]")
    verdicts: tuple[Verdict, ...] = Field((), description="tables [[verdicts]]")

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        for what, right in contradictions(self):
            raise ValueError(what + RIGHT_IS + right)
        return self

    @property
    def names(self) -> tuple[str, ...]:
        """Name every state of every light in which it is lit."""
        return tuple(name for light in self.lights for name in light.names)

    def light(self, name: str) -> Light | None:
        """Give the light of this name, with or without a level."""
        bare = name.partition(LEVEL_MARK)[0]
        return next((one for one in self.lights if one.name == bare), None)


def level_name(name: str, level: int) -> str:
    """Name a screen at a level of brightness, in percent."""
    return f"{name}{LEVEL_MARK}{level}"


def day_of(when: date) -> date:
    """Give the day of a date, with or without a time."""
    return when.date() if isinstance(when, datetime) else when


def contradictions(room: Room) -> Iterator[tuple[str, str]]:
    """Give what in a room contradicts itself, and what would be right."""
    called = [one.name for one in room.lights]
    for name in called:
        if called.count(name) > 1:
            yield f"two lights are called {name!r}", "a name of its own for each light"
    for light in room.lights:
        if light.levels and light.kind is not Kind.SCREEN:
            yield f"{light.name!r} has levels and is no screen", 'none, or kind = "screen"'
        if len(set(light.levels)) < len(light.levels):
            yield f"{light.name!r} has a level twice", "each level once"
    known = room.names
    right = f"one of {', '.join(known)}" if known else "a table [[lights]] for it"
    named = [("a test", test.lights) for test in room.tests]
    named += [(f"the group {word}", names) for word, names in room.groups.lists().items()]
    for what, names in named:
        for name in names:
            if name not in known:
                yield f"{what} is of {name!r}, which is no light of the room", right
        bare = [name.partition(LEVEL_MARK)[0] for name in names]
        if len(set(bare)) < len(bare):
            yield f"{what} names a light twice: {', '.join(names)}", "each light once"
    for test in room.tests:
        for one in test.seen:
            if one.light not in called:
                yield f"a test has seen {one.light!r}, which is no light of the room", right
