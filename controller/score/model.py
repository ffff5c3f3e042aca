"""The score as it is written: passes, burns, dodges, flash, set-up and a sketch of regions.

Version 1. Every field is the printer's; what a plan makes of them is in ``doses`` and ``plan``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from controller.score.amount import AmountField, Unit, stops
from controller.stops import aperture_value, parse_stops, parse_time
from controller.strips.strip import LONGEST_S
from controller.written import RIGHT_IS

ALL_PASSES = "all"
ELSEWHERE = "elsewhere"  # what no region covers
NO_CELL = "."
IN_WORDS = ("", "start", "middle", "end")  # when a dodge begins, if not at a second of the pass
_AT_ONCE = re.compile(r"0{1,6}(\.0{0,9})? ?s?")  # the very beginning, in seconds
LONGEST_NAME = 40
Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME, pattern=r"^\S(.*\S)?$")]
Text = Annotated[str, Field(max_length=2000)]


class Part(BaseModel):
    """What all tables of a score have in common."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, allow_inf_nan=False
    )


class PaperUsed(Part):
    """The paper that the score was found on."""

    name: Text = Field("", description="maker's name and type, as you call it")
    batch: Text = Field("", description="box or batch number")
    base: Literal["fibre", "resin-coated", ""] = Field("", description="fibre or resin-coated")
    width_mm: float = Field(254.0, gt=0, le=3000, description="width of the sheet in mm")
    height_mm: float = Field(203.2, gt=0, le=3000, description="height of the sheet in mm")
    dry_down: Text = Field(
        "", description="what the print gets less, as it darkens in drying: 8% or 1/12 (stops)"
    )

    @field_validator("dry_down")
    @classmethod
    def _dry_down(cls, text: str) -> str:
        dry_down_factor(text)
        return text


class SetUp(Part):
    """How the enlarger stood."""

    lens: Text = ""
    aperture: Text = Field("", description="working aperture as engraved, such as 8")
    magnification: float | None = Field(
        None, gt=0, le=100, description="length on the easel over length on the negative"
    )
    head_height_mm: float | None = Field(None, gt=0, description="height of the head in mm")
    column: Text = Field("", description="what the column's scale reads")
    pupil: float = Field(
        1.0,
        gt=0.2,
        le=5,
        description="width of the aperture seen from the paper over that seen from the negative",
    )
    lamp: Text = ""
    focus_note: Text = ""

    @field_validator("aperture")
    @classmethod
    def _aperture(cls, text: str) -> str:
        return _engraved(text)


class Pass(Part):
    """One exposure of the whole sheet."""

    label: Name = Field(description="what it is called: soft, hard")
    dose: AmountField = Field(
        default_factory=lambda: stops(0), description="in stops from base_s (+1/3), or seconds (8s)"
    )
    filter: Text = ""
    yellow: float = Field(0.0, ge=0, le=300, description="yellow of a colour head")
    magenta: float = Field(0.0, ge=0, le=300, description="magenta of a colour head")
    aperture: Text = Field("", description="only if it differs from the set-up's")
    note: Text = ""

    @field_validator("aperture")
    @classmethod
    def _aperture(cls, text: str) -> str:
        return _engraved(text)


class Burn(Part):
    """More light for a region, after the passes."""

    regions: tuple[Name, ...] = Field(min_length=1, description="names of regions of the sketch")
    amount: AmountField = Field(description="stops over the pass named (+1), or seconds (4s)")
    over: Name = Field(ALL_PASSES, description="label of a pass, or all passes in proportion")
    filter: Text = Field("", description="empty: that of the pass it is over")
    note: Text = ""


class Dodge(Part):
    """Light held back from a region during a pass."""

    regions: tuple[Name, ...] = Field(min_length=1, description="names of regions of the sketch")
    amount: AmountField = Field(description="stops held back (1/3), or seconds (2.5s)")
    within: Name = Field(description="label of the pass")
    begin: Text = Field(
        "", description="start, middle, end, or seconds of the pass; empty: one after another"
    )
    note: Text = ""

    @field_validator("begin")
    @classmethod
    def _begin(cls, text: str) -> str:
        if text not in IN_WORDS:
            begin_s(text)
        return text


class Flash(Part):
    """A weak even exposure before the others, of bare easel light; it follows nothing."""

    dose_s: float = Field(gt=0, le=LONGEST_S, description="in seconds")
    filter: Text = ""
    aperture: Text = ""
    note: Text = ""


class Process(Part):
    """What happens in the trays, in the printer's words."""

    developer: Text = ""
    time: Text = ""
    temperature: Text = ""
    toning: Text = ""
    note: Text = ""


class Score(Part):
    """All that makes one print; version 1."""

    version: Literal[1] = 1
    title: Text = ""
    negative: Text = ""
    base_s: float = Field(gt=0, le=LONGEST_S, description="base exposure in seconds")
    judged: Literal["wet", "dry"] = Field(
        "wet", description="how the strips were looked at; dry ones need no dry-down"
    )
    paper: PaperUsed = Field(default_factory=PaperUsed)
    setup: SetUp = Field(default_factory=SetUp)
    sketch: tuple[str, ...] = Field(
        (), max_length=60, description='rows of cells, a letter for each region and "." for none'
    )
    regions: dict[str, Name] = Field(default_factory=dict, description="letter = name of a region")
    flash: Flash | None = None
    passes: tuple[Pass, ...] = Field(min_length=1, description="one table [[passes]] or more")
    burns: tuple[Burn, ...] = ()
    dodges: tuple[Dodge, ...] = ()
    process: Process = Field(default_factory=Process)
    remarks: Text = ""
    came_from: tuple[str, ...] = Field((), description="where it came from, a line for each step")

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        """Refuse names that point nowhere; each with what would be right."""
        for what, right in contradictions(self):
            raise ValueError(what + RIGHT_IS + right)
        return self

    def pass_called(self, label: str) -> Pass:
        """Give the pass with this label."""
        return next(one for one in self.passes if one.label == label)

    def area(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """Give the cells of some regions as rows of "#" and "."; elsewhere is the rest."""
        letters = {letter for letter, name in self.regions.items() if name in names}
        if ELSEWHERE in names:
            letters.add(NO_CELL)
        return tuple("".join("#" if c in letters else "." for c in row) for row in self.sketch)


def dry_down_factor(text: str) -> float:
    """Give the factor of exposure for a dry-down, in percent or in stops; "" is none.

    Raises ValueError with what would be right.
    """
    plain = text.strip().removeprefix("-").strip()
    right = "a percentage such as 8%, or stops such as 1/12, below a stop"
    if not plain:
        return 1.0
    try:
        if plain.endswith("%"):
            factor = 1.0 - float(plain[:-1]) / 100.0
        else:
            factor = 2.0 ** -float(parse_stops(plain))
    except Exception:
        factor = 0.0
    if not 0.5 < factor <= 1.0:
        raise ValueError(f"{text!r} is no dry-down{RIGHT_IS}{right}")
    return factor


def begin_s(text: str) -> float:
    """Give the seconds of a pass at which a dodge is to begin. Raises ValueError."""
    try:
        return 0.0 if _AT_ONCE.fullmatch(text.strip()) else parse_time(text)
    except Exception:
        raise ValueError(
            f"{text!r} is no time within a pass{RIGHT_IS}start, middle, end, or seconds such as 3s"
        ) from None


def contradictions(score: Score) -> Iterator[tuple[str, str]]:
    """Give what in a score contradicts itself, and what would be right."""
    labels = [one.label for one in score.passes]
    for label in labels:
        if labels.count(label) > 1:
            yield f"two passes are called {label!r}", "a label of its own for each pass"
        if label == ALL_PASSES:
            yield "a pass is called 'all'", "another label, since all means every pass"
    widths = {len(row) for row in score.sketch}
    if len(widths) > 1 or 0 in widths:
        yield "the rows of the sketch are not equally long", "as many cells in each row"
    names = list(score.regions.values())
    for letter, name in score.regions.items():
        if len(letter) != 1 or letter in (NO_CELL, "#", " ") or not letter.isprintable():
            yield f"{letter!r} cannot be a cell", "one letter for each region"
        if names.count(name) > 1 or name == ELSEWHERE:
            yield f"the name {name!r} means two regions", "a name of its own for each region"
        if not any(letter in row for row in score.sketch):
            yield f"no cell of the sketch is {letter!r}", f"cells {letter} where {name} is"
    used = set("".join(score.sketch)) - {NO_CELL}
    for letter in sorted(used - set(score.regions)):
        yield f"the sketch has cells {letter!r} without a name", f'{letter} = "a name" in [regions]'
    known = [*names, *([ELSEWHERE] if any(NO_CELL in row for row in score.sketch) else [])]
    right = f"one of {', '.join(known)}" if known else "a sketch, and names in [regions]"
    named = [("burn", burn.regions) for burn in score.burns]
    named += [("dodge", dodge.regions) for dodge in score.dodges]
    for what, of in named:
        for name in of:
            if name not in known:
                yield f"a {what} is of {name!r}, which the sketch does not have", right
        if len(set(of)) < len(of):
            yield f"a {what} names a region twice: {', '.join(of)}", "each region once"
    for burn in score.burns:
        if burn.over != ALL_PASSES and burn.over not in labels:
            yield f"a burn is over {burn.over!r}", f"one of all, {', '.join(labels)}"
        everywhere = burn.over == ALL_PASSES and len(labels) > 1
        if everywhere and burn.amount.follows and burn.filter:
            yield "a burn in stops over all passes has a filter", "none: it takes theirs"
        if everywhere and not (burn.amount.follows or burn.filter):
            yield "a burn in seconds is over all passes", f"a filter, or one of {', '.join(labels)}"
        if burn.amount.value <= 0:
            yield f"a burn of {burn.amount} adds nothing", "more than nothing, such as +1/2 or 4s"
    for dodge in score.dodges:
        if dodge.within not in labels:
            yield f"a dodge is within {dodge.within!r}", f"one of {', '.join(labels)}"
        if dodge.amount.value <= 0:
            yield f"a dodge of {dodge.amount} holds nothing back", "such as 1/3 or 2.5s"
    for one in score.passes:
        if one.dose.unit is Unit.SECONDS and one.dose.value <= 0:
            yield f"the pass {one.label} has no exposure", "a dose such as +0, -1/3 or 8s"


def _engraved(text: str) -> str:
    if text:
        try:
            aperture_value(text)
        except Exception as error:
            what, right = getattr(error, "what", str(error)), getattr(error, "right", "such as 8")
            raise ValueError(what + RIGHT_IS + right) from None
    return text
