"""Calibration sheets: patches of known exposure on the paper alone, the negative out. Pure.

Three of them. *Steps*: a wedge of exposures through the lamp, as a strip is made. *Tablet*: one
exposure through a step tablet in contact with the paper. *Mixed*: fifteen patches that get soft
and hard light together, three ratios at five levels, for a paper of variable contrast.
"""

from __future__ import annotations

import math
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import Refused
from controller.exposing.around import BARE, Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import Action, Confirm, Expose, Go, Plan, Sheet
from controller.ports import NO_FILTER, Move
from controller.stops import differences, format_time, parse_step, series
from controller.strips.strip import LEAST_PATCH_MM, LETTERS, LONGEST_S, StepField
from controller.written import RIGHT_IS

KIND = "calibration sheet"  # of its plan and its record
SPLIT_PATCHES = 21  # of the soft and of the hard wedge
MIXED_LEVELS = 5
MIXED_RATIOS = (0.25, 1.0, 4.0)  # of the hard dose, in parts of what was given as equal


class PaperSheet(BaseModel):
    """A calibration sheet as it is wanted; version 1."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    version: Literal[1] = 1
    paper: str = Field(description="the box of paper, as the book calls it")
    kind: Literal["steps", "tablet", "mixed"] = "steps"
    way: Literal["card", "window"] = Field("card", description="the tool in the hand, for steps")
    filter: str = Field("", description="filter in the light; of a mixed sheet the soft one")
    base_s: float = Field(gt=0, le=LONGEST_S, description="dose of patch A, or through the tablet")
    step: StepField = Field(
        default_factory=lambda: parse_step("1/3"), description="from patch to patch, or level"
    )
    patches: int = Field(SPLIT_PATCHES, ge=5, le=26)
    tablet: tuple[float, ...] = Field((), description="densities of the tablet, thin end first")
    hard_filter: str = Field("", description="of a mixed sheet")
    hard_s: float | None = Field(
        None, gt=0, le=LONGEST_S, description="of a mixed sheet: dose that darkens as base_s does"
    )
    lux: float | None = Field(None, gt=0, description="easel light without a filter, if metered")
    developer: str = ""
    time_s: float | None = Field(None, gt=0, le=3600, description="in the developer")
    aperture: str = ""
    width_mm: float = Field(203.0, gt=0)
    height_mm: float = Field(25.0, gt=0)

    @model_validator(mode="after")
    def _whole(self) -> PaperSheet:
        if self.kind == "tablet" and len(self.tablet) < 3:
            raise ValueError(f"a tablet of {len(self.tablet)} steps{RIGHT_IS}three or more")
        if self.kind == "mixed" and (not self.hard_filter or self.hard_s is None):
            raise ValueError(f"a mixed sheet without its hard filter{RIGHT_IS}both filters")
        return self

    def labels(self) -> list[str]:
        """Name the patches: letters, or the numbers of a tablet's steps."""
        if self.kind == "tablet":
            # the densest step of a tablet leaves the lightest patch
            return [str(number) for number in range(len(self.tablet), 0, -1)]
        return list(LETTERS[: len(self.doses())])

    def doses(self) -> list[dict[str, float]]:
        """Give what each patch gets, in seconds of dose by filter, the lightest patch first.

        Behind a tablet it is what the tablet leaves.
        """
        name = self.filter or NO_FILTER
        if self.kind == "tablet":
            return [{name: self.base_s * 10.0**-d} for d in reversed(self.tablet)]
        if self.kind == "steps":
            return [{name: dose} for dose in series(self.base_s, self.step, self.patches)]
        levels = series(1.0, self.step, MIXED_LEVELS)
        hard_s = self.hard_s or 0.0
        return [
            {name: self.base_s * level, self.hard_filter: hard_s * level * ratio}
            for ratio in MIXED_RATIOS
            for level in levels
        ]

    def log_h(self, doses_s: dict[str, float]) -> float:
        """Give log10 of an exposure: in lux seconds where the light is known, else in seconds."""
        return math.log10(sum(doses_s.values()) * (self.lux or 1.0))

    @property
    def filters(self) -> str:
        """Say which filter the sheet is for; both, with a plus, of a mixed one."""
        return f"{self.filter}+{self.hard_filter}" if self.kind == "mixed" else self.filter

    def title(self) -> str:
        """Give the title of its record."""
        through = f"filter {self.filters}" if self.filters else "no filter"
        what = {
            "steps": f"{self.patches} steps of {self.step} from {format_time(self.base_s)}",
            "tablet": f"tablet of {len(self.tablet)} steps, {format_time(self.base_s)}",
            "mixed": f"{MIXED_LEVELS * len(MIXED_RATIOS)} mixed patches",
        }[self.kind]
        return f"calibration of {self.paper}, {through}, {what}"


def plan_paper_sheet(
    sheet: PaperSheet, lamp: Calibration, limits: LampLimits, around: Around = BARE
) -> Plan:
    """Make the plan of a calibration sheet. Raises Refused for what lamp or hand cannot do."""
    _require(sheet, lamp, limits)
    needs = Needs(sheet.filter or NO_FILTER, sheet.aperture, negative=False)
    actions: list[Action] = [*ask_for(needs)]
    actions.append(Sheet(sheet.width_mm, sheet.height_mm, "new piece of the paper, A at the left"))
    if sheet.kind == "tablet":
        actions.append(Confirm("tablet on the paper, in contact, its dense end at the left"))
        actions.append(Go(f"through the tablet, {format_time(sheet.base_s)}", None))
        actions += around.darken()
        actions.append(Expose("tablet", sheet.base_s, filter=sheet.filter))
    elif sheet.kind == "steps":
        actions += _steps(sheet, around)
    else:
        actions += _mixed(sheet, needs, around)
    return Plan(KIND, sheet.title(), tuple(actions), around.after())


# --- inside -----------------------------------------------------------------------------------


def _steps(sheet: PaperSheet, around: Around) -> list[Action]:
    actions: list[Action] = []
    totals = series(sheet.base_s, sheet.step, sheet.patches)
    pulses = differences(totals) if sheet.way == "card" else totals
    for index, dose_s in enumerate(pulses):
        letter, before = LETTERS[index], LETTERS[index - 1] if index else ""
        if sheet.way == "window":
            said = f"window on {letter}"
        else:
            said = f"card over {before}, patch {letter}" if index else "card away, patch A"
        move = Move(sheet.way, index, sheet.patches)
        actions.append(Go(said, move, around.lead_in_s))
        if index == 0:
            actions += around.darken()
        late = (before or letter,) if sheet.way == "card" else (*filter(None, [before]), letter)
        actions.append(Expose(letter, dose_s, doubtful=late, filter=sheet.filter))
    return actions


def _mixed(sheet: PaperSheet, needs: Needs, around: Around) -> list[Action]:
    actions: list[Action] = []
    doses = sheet.doses()
    hard = Needs(sheet.hard_filter, sheet.aperture, negative=False)
    for name, said in ((needs.filter, "soft"), (sheet.hard_filter, "hard")):
        if said == "hard":
            actions += ask_for(hard, needs)
        for index, both in enumerate(doses):
            letter = LETTERS[index]
            move = Move("window", index, len(doses))
            told = f"window on {letter}, {said}, {format_time(both[name])}"
            actions.append(Go(told, move, around.lead_in_s))
            if index == 0 and said == "soft":
                actions += around.darken()
            late = (LETTERS[index - 1], letter) if index else (letter,)
            given = "" if name == NO_FILTER else name
            actions.append(Expose(f"{letter} {said}", both[name], doubtful=late, filter=given))
    return actions


def _require(sheet: PaperSheet, lamp: Calibration, limits: LampLimits) -> None:
    count = len(sheet.labels())
    each_mm = sheet.width_mm / count
    if sheet.kind != "tablet" and each_mm < LEAST_PATCH_MM:
        raise Refused(
            f"{count} patches along {sheet.width_mm:.0f} mm are {each_mm:.1f} mm each, and a hand "
            f"needs {LEAST_PATCH_MM:g} mm",
            ("a longer piece (--size 254x30)", "fewer patches"),
        )
    if sheet.kind == "tablet":
        require_dose("through the tablet", sheet.base_s, lamp, limits)
        return
    if sheet.kind == "mixed":
        for letter, both in zip(sheet.labels(), sheet.doses(), strict=True):
            for name, dose_s in both.items():
                require_dose(f"patch {letter}, filter {name}", dose_s, lamp, limits)
        return
    totals = series(sheet.base_s, sheet.step, sheet.patches)
    for index, dose_s in enumerate(differences(totals) if sheet.way == "card" else totals):
        require_dose(f"patch {LETTERS[index]}", dose_s, lamp, limits)
