"""How the columns of somebody's old notes become fields of a print: a small TOML file.

[file]
delimiter = ";"          # "," where nothing is said; "tab" for a tabulator
decimal = ","            # "." where nothing is said
encoding = "latin-1"     # utf-8 where nothing is said

[columns]
Day = { field = "date", format = "%d.%m.%Y" }
Neg = "negative"
Time = { field = "base", unit = "s" }
Hard = { field = "pass", label = "hard", filter = "5", unit = "s" }
Size = { field = "size", unit = "in" }
"What I did" = { field = "remark", before = "handwork" }

[defaults]
paper = "pearl"
"""

from __future__ import annotations

import codecs
from datetime import date, datetime
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from controller.written import RIGHT_IS, bad_input, parse

Name = Literal[
    "date", "title", "negative", "base", "pass", "filter", "aperture", "lens", "magnification",
    "column", "paper", "batch", "size", "dry_down", "developer", "time", "temperature", "toning",
    "mark", "remark", "rating", "went",
]  # fmt: skip
SECONDS = {"s": 1.0, "min": 60.0, "m:s": 0.0}
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
UNITS = {"base": SECONDS, "pass": SECONDS, "size": MM}
BEST = 5
MANY = ("pass", "remark")  # fields that several columns may go into


class Target(BaseModel):
    """What a column becomes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    field: Name = Field(description="the field of a print: date, negative, base, remark ...")
    unit: str = Field("", description="of times: s, min or m:s; of sizes: mm, cm or in")
    format: str = Field("%Y-%m-%d", description="how a day is written, such as %d.%m.%Y")
    label: str = Field("", max_length=40, description="of a pass: what it is called")
    filter: str = Field("", description="of a pass: the filter it went through")
    before: str = Field("", description="of a remark: a word that stands before it")

    @model_validator(mode="after")
    def _fits(self) -> Self:
        units = UNITS.get(self.field, {})
        if self.unit and self.unit not in units:
            right = " or ".join(units) or f"no unit with {self.field}"
            raise ValueError(f"{self.unit!r} is no unit of {self.field}{RIGHT_IS}{right}")
        if self.field == "pass" and not self.label:
            raise ValueError(f"a pass has no label{RIGHT_IS}what it is called, such as soft")
        return self


def _target(value: Any) -> Any:
    return {"field": value} if isinstance(value, str) else value


class FileHabits(BaseModel):
    """How the file is written."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    delimiter: str = Field(",", description='one character, or "tab"')
    decimal: Literal[".", ","] = Field(".", description='"." or ","')
    encoding: str = Field("utf-8-sig", description="such as utf-8 or latin-1")

    @model_validator(mode="after")
    def _known(self) -> Self:
        if self.delimiter != "tab" and len(self.delimiter) != 1:
            raise ValueError(f'{self.delimiter!r} parts nothing{RIGHT_IS}"," or ";" or "tab"')
        try:
            codecs.lookup(self.encoding)
        except LookupError:
            raise ValueError(
                f"{self.encoding!r} is no encoding{RIGHT_IS}utf-8 or latin-1"
            ) from None
        return self


class Mapping(BaseModel):
    """A whole mapping file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    file: FileHabits = Field(default_factory=FileHabits)
    columns: dict[str, Annotated[Target, BeforeValidator(_target)]] = Field(
        min_length=1, description="head of the column = field of a print"
    )
    defaults: dict[Name, str] = Field(
        default_factory=dict, description="fields that no column has, the same for every line"
    )

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        fields = [target.field for target in self.columns.values()]
        for field in dict.fromkeys(fields):
            if fields.count(field) > 1 and field not in MANY:
                raise ValueError(f"two columns are {field}{RIGHT_IS}one of them")
        given = {*fields, *self.defaults}
        for many in MANY:
            if many in self.defaults:
                raise ValueError(f"{many} has a default{RIGHT_IS}a column of its own")
        if "date" not in given:
            raise ValueError(f'no column is the date{RIGHT_IS}one with field = "date"')
        if not given & {"base", "pass"}:
            raise ValueError(f'no column is an exposure{RIGHT_IS}one with field = "base"')
        return self


def mapping_of(text: str, file: str) -> Mapping:
    """Read a mapping. Raises BadInput naming file, field and remedy."""
    try:
        return Mapping.model_validate(parse(text, file))
    except ValidationError as error:
        raise bad_input(error, file, model=Mapping) from None


# --- what stands in a cell --------------------------------------------------------------------


def number(text: str, decimal: str) -> float:
    """Read a number that is more than nothing. Raises ValueError with what would be right."""
    plain = text.replace("\u00a0", "").replace(" ", "")
    if decimal == ",":
        plain = plain.replace(".", "").replace(",", ".")
    try:
        value = float(plain)
    except ValueError:
        value = 0.0
    if not 0 < value < 1e6:
        right = f"a number more than 0 such as 12{decimal}5"
        raise ValueError(f"{text!r:.40} is no number{RIGHT_IS}{right}")
    return value


def seconds(text: str, unit: str, decimal: str) -> float:
    """Read a time in a unit; a unit that stands in the cell itself may stay. Raises ValueError."""
    plain = text.strip().lower()
    if unit == "m:s":
        minutes, colon, rest = plain.partition(":")
        if not (colon and minutes.isdecimal() and rest.isdecimal() and int(rest) < 60):
            raise ValueError(f"{text!r:.40} is no time{RIGHT_IS}minutes and seconds such as 1:30")
        return 60.0 * int(minutes) + int(rest)
    for name in ("seconds", "secs", "sec", "s", "''", '"') if unit in ("", "s") else ("min",):
        if plain.endswith(name):
            plain = plain.removesuffix(name).strip()
            break
    return number(plain, decimal) * SECONDS[unit or "s"]


def rating(text: str) -> int:
    """Read a rating, 1 to 5, as a figure or as so many stars. Raises ValueError."""
    plain = text.replace("\u2605", "*").replace(" ", "")
    value = len(plain) if plain and set(plain) == {"*"} else int(plain) if plain.isdecimal() else 0
    if not 1 <= value <= BEST:
        right = f"1 (worst) to {BEST} (best), or so many stars"
        raise ValueError(f"{text!r:.40} is no rating{RIGHT_IS}{right}")
    return value


def size_mm(text: str, unit: str, decimal: str) -> tuple[float, float]:
    """Read width and height such as ``24x30``. Raises ValueError."""
    plain = text.lower().replace("\u00d7", "x").replace("by", "x").replace("*", "x")
    for name in MM:
        plain = plain.replace(name, "")
    sides = plain.replace('"', "").split("x")
    if len(sides) != 2:
        raise ValueError(f"{text!r:.40} is no size{RIGHT_IS}width and height such as 24x30")
    wide, high = (number(side.strip(), decimal) * MM[unit or "mm"] for side in sides)
    return wide, high


def day(text: str, form: str, today: date) -> date:
    """Read a day up to today. Raises ValueError with an example of what would be right."""
    try:
        found = datetime.strptime(text.strip(), form).date()
    except ValueError:
        example = date(2019, 3, 28).strftime(form)
        raise ValueError(f"{text!r:.40} is no day{RIGHT_IS}one such as {example}") from None
    if found > today:
        raise ValueError(f"{text!r:.40} is still to come{RIGHT_IS}a day that has been")
    return found
