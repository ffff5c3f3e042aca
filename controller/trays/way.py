"""A way from the holding bath to the line: the steps that a batch of prints takes together.

It is data: shipped files in ``shipped/``, and files of one's own. Their figures are common
practice and yield to the maker's data sheet.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from controller.errors import BadInput
from controller.written import RIGHT_IS, bad_input, parse, text_of

SHIPPED = Path(__file__).with_name("shipped")
OWN = "ways"  # the folder of one's own, beside the rig file
STANDARD_C = 20.0
COLDEST_C, HOTTEST_C = 5.0, 30.0
COLD_Q10 = 2.0  # washing and fixing take twice as long 10 C below 20 C (TM 11-2323)

Text = Annotated[str, Field(min_length=1, max_length=60)]


class Work(Enum):
    """What a step does to the print."""

    FIX = "fix"
    RINSE = "rinse"
    CLEAR = "clear"
    WASH = "wash"
    TONE = "tone"
    OTHER = "other"


COLD_SLOWS = {Work.FIX, Work.WASH}


class Step(BaseModel):
    """A step: how long, at least and at most; a wash may be ``changes`` of standing water."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Text = Field(description='what it is called, such as "clearing bath"')
    work: Work = Field(description="fix, rinse, clear, wash, tone or other")
    time_s: float = Field(
        gt=0, le=86_400, allow_inf_nan=False, description="its time at 20 C, in seconds"
    )
    least_s: float = Field(0.0, ge=0, le=86_400, description="less than that is warned of")
    most_s: float | None = Field(
        None, gt=0, le=604_800, description="more than that is warned of; none: any time"
    )
    changes: int = Field(1, ge=1, le=40, description="fills of the tray, time_s in all")
    dilution: str = Field("", max_length=40, description='such as "1+9"')
    agitation: str = Field(
        "", max_length=80, description="how prints are moved, in words, such as kept apart"
    )
    source: Text = Field(description="where the figures come from")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least_s > self.time_s:
            raise ValueError(f"least_s is above time_s{RIGHT_IS}at most {self.time_s:g}")
        if self.most_s is not None and self.most_s < self.time_s:
            raise ValueError(f"most_s is below time_s{RIGHT_IS}at least {self.time_s:g}")
        return self

    def at(self, seconds: float, celsius: float) -> float:
        """Give a time as it is at a temperature: cold water lengthens, warm never shortens.

        ``t = t20 * 2^((20 - T) / 10)`` below 20 C. Raises BadInput outside 5 to 30 C.
        """
        if not COLDEST_C <= celsius <= HOTTEST_C:
            raise BadInput(
                f"{celsius:g} C is no temperature for prints",
                "temperature",
                f"{COLDEST_C:g} to {HOTTEST_C:g} C",
            )
        if self.work not in COLD_SLOWS:
            return seconds
        return float(seconds * COLD_Q10 ** (max(STANDARD_C - celsius, 0.0) / 10.0))


class Way(BaseModel):
    """The steps in their order, and what is to be borne in mind."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = Field(description="1")
    name: Text = Field(description='what it is called, such as "selenium"')
    about: Text = Field(description="what it is for, in a few words")
    step: tuple[Step, ...] = Field(min_length=1, max_length=30, description="its steps, in order")
    caution: tuple[str, ...] = Field((), description="sentences for the card")

    @model_validator(mode="after")
    def _told_apart(self) -> Self:
        names = [step.name.casefold() for step in self.step]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            what = f'two steps are called "{twice}"'
            raise ValueError(f'{what}{RIGHT_IS}a name for each, such as "last wash"')
        return self


def read_way(text: str, file: str) -> Way:
    """Read a way from TOML. Raises BadInput."""
    try:
        return Way.model_validate(parse(text, file))
    except ValidationError as error:
        raise bad_input(error, file, model=Way) from None


def shipped() -> dict[str, Way]:
    """Give the shipped ways by their names."""
    files = sorted(SHIPPED.glob("*.toml"))
    ways = [read_way(file.read_text("utf-8"), file.name) for file in files]
    return {way.name: way for way in ways}


def known_ways(folder: Path) -> dict[str, Way]:
    """Give the ways by their names: those of one's own in ``folder``, and the shipped ones.

    One of your own takes the place of a shipped one of its name. Raises BadInput for a file that
    is none.
    """
    found = shipped()
    for file in sorted((folder / OWN).glob("*.toml")):
        way = read_way(text_of(file, str(file), "a file with a way"), str(file))
        found[way.name] = way
    return found


def same_way(one: Way, other: Way) -> bool:
    """Tell whether two ways ask the same of a print; how it is moved may be told otherwise."""
    told = {"step": {"__all__": {"agitation"}}}
    return one.model_dump(exclude=told) == other.model_dump(exclude=told)


def way_named(name: str, known: Mapping[str, Way] | None = None) -> Way:
    """Find a way: a shipped one by its name, or a file. Raises BadInput."""
    known = shipped() if known is None else known
    if name in known:
        return known[name]
    right = f"a file, or one of {', '.join(known)}"
    if not (name.endswith(".toml") or "/" in name):
        raise BadInput(f'there is no way "{name}"', "--way", right)
    return read_way(text_of(Path(name).expanduser(), name, right), name)
