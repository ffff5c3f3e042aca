"""The dry-down test: pieces with less and less exposure, dried, against one that is kept wet.

The paper darkens as it dries. Each piece but the first gets a few percent less; all are dried
except the first, which stays wet as the reference. The dried piece that looks like the wet one
under the viewing light tells what to take off.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput
from controller.exposing.around import Around
from controller.plan import Action, Curtain, Plan, Sheet
from controller.score.doses import Given, Kind, exposures, region_names
from controller.score.model import Score
from controller.score.plan import on_one_sheet, require_given, touching

# The usual series of the trade (common practice, no source).
USUAL_PERCENT = (4.0, 6.0, 8.0, 10.0, 12.0, 14.0)
Percent = Annotated[float, Field(gt=0, lt=50)]


class DryDownTest(BaseModel):
    """A dry-down test as it is wanted; version 1."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    score: Score
    percents: tuple[Percent, ...] = Field(USUAL_PERCENT, min_length=1, max_length=20)
    place: str = Field("", description="region that the pieces are laid on")
    width_mm: float = Field(gt=0)
    height_mm: float = Field(gt=0)

    def taken_off(self) -> tuple[float, ...]:
        """Give what each piece gets less, in percent; the first is the wet reference."""
        return (0.0, *self.percents)


def plan_dry_down(test: DryDownTest, lamp: Calibration, limits: LampLimits, around: Around) -> Plan:
    """Make the plan of a dry-down test.

    Raises Refused, and BadInput for an unknown region or two pieces that would be alike.
    """
    told = [f"{percent:g}" for percent in test.percents]  # as pieces are called
    if len(set(told)) < len(told):
        twice = next(percent for percent in told if told.count(percent) > 1)
        raise BadInput(f"two pieces would get {twice} % less", "--percent", "each once")
    undried = test.score.model_copy(update={"judged": "dry"})
    known = region_names(test.score)
    if test.place and test.place not in known:
        raise BadInput(f"the score has no region {test.place!r}", "region", " or ".join(known))
    whole = exposures(undried)
    if test.place:
        whole = touching(whole, test.place)
    else:
        whole = [replace(one, held=()) for one in whole if not one.regions]
    actions: list[Action] = []
    count = len(test.taken_off())
    last: Given | None = None
    for number, percent in enumerate(test.taken_off(), start=1):
        factor = 1 - percent / 100
        given = [
            one  # the flash belongs to bare easel light, and dries down with nothing
            if one.kind is Kind.FLASH
            else replace(
                one,
                dose_s=one.dose_s * factor,
                held=tuple(
                    replace(h, begin_s=h.begin_s * factor, end_s=h.end_s * factor) for h in one.held
                ),
            )
            for one in whole
        ]
        require_given(given, lamp, limits)
        kept = "to be kept wet" if percent == 0 else f"{percent:g} percent less"
        sheet = Sheet(
            test.width_mm, test.height_mm, f"piece {number} of {count}, {kept}", test.place
        )
        suffix = f", {percent:g} % less"
        actions += on_one_sheet(undried, given, sheet, around, limits, lamp, suffix, last)
        last = given[-1]
        if number < count:
            actions.append(Curtain(False))
    title = f"dry-down test, {', '.join(f'{p:g}' for p in test.percents)} % less"
    return Plan("dry-down test", title, tuple(actions), around.after())


def matched(test: DryDownTest, percent: float) -> float:
    """Give the percentage that a piece stands for, or the middle of two. Raises BadInput."""
    if percent == 0 or min(test.percents) <= percent <= max(test.percents):
        return percent
    low, high = min(test.percents), max(test.percents)
    right = f"0, or {low:g} to {high:g}; a test that goes further could tell more"
    raise BadInput(f"no piece had {percent:g} % less", "dry-down", right)


def with_remembered(score: Score, percent: float) -> Score:
    """Give a score whose paper has a dry-down that was found for it and is remembered."""
    paper = score.paper.model_copy(update={"dry_down": f"{percent:g}%"})
    return score.model_copy(update={"paper": paper})
