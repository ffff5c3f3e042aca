"""The desk: what lies ready to be done next, whoever asks for it, a foot or a key."""

from __future__ import annotations

import uuid
from itertools import pairwise
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from controller.book.entries import Judged
from controller.desk.orders import Order
from controller.desk.pick import pick_from
from controller.enlarger.focus import plan_focus, plan_placing
from controller.errors import BadInput
from controller.exposing.told import Run
from controller.plan import Plan
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.score.doses import region_names
from controller.score.dry_down import DryDownTest, plan_dry_down
from controller.score.extra import EXTRAS, extra_of, plan_extra
from controller.score.file import to_json
from controller.score.found import goes_on, picked_cell, picked_patch
from controller.score.model import Score
from controller.score.older import from_printing
from controller.score.plan import MOST_SHEETS, plan_score, plan_trial
from controller.stops import factor_to_stops
from controller.strips.cross import Cross, cells_of, pick_cell, plan_cross
from controller.strips.strip import LETTERS, Strip, plan_strip


class Made(BaseModel):
    """A strip or a cross that was made and can be picked from."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    record_id: str
    mark: str
    strip: Strip | None = None
    cross: Cross | None = None


class Lying(BaseModel):
    """A print that has had its score and may lie there still.

    ``number`` is that of the last exposure of its record.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    record_id: str
    mark: str
    number: int
    score: Score


class Picked(BaseModel):
    """What a pick comes to, for the book and for the ear."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    choice: str
    dose_s: float
    stops: float
    filter: str
    said: str


class Desk(BaseModel):
    """What lies ready; version 2. Kept over the night."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[2] = 2
    strip: Strip = Field(default_factory=lambda: Strip(base_s=8))
    cross: Cross | None = None
    made: Made | None = None
    score: Score | None = None
    kept_as: str = Field("", description="the file that the score is kept in, if any")
    sheets: int = Field(1, ge=1, le=MOST_SHEETS)
    edition: str = Field("", description="the edition that the print's sheets are for, if any")
    lying: Lying | None = None
    judged: Literal["wet", "dry"] = "wet"
    focus_s: float = Field(120.0, gt=0, le=3600)
    placing_s: float = Field(15.0, gt=0, le=120)

    @model_validator(mode="before")
    @classmethod
    def _from_older(cls, raw: Any) -> Any:
        """Bring a desk of version 1, whose print had one exposure, to the present."""
        if not isinstance(raw, dict) or raw.get("version", 2) != 1:
            return raw
        tables = {**raw, "version": 2}
        printing = tables.pop("printing", None)
        if isinstance(printing, dict):
            tables["score"] = from_printing(printing)
        return tables

    def orders(self) -> list[Order]:
        """Give what can be asked for now, the likeliest first."""
        orders: list[Order] = []
        if self.made and not self.picked:
            orders.append(Order.PICK)
        if self.score:
            orders.append(Order.PRINT)
        if self.lying:
            orders.append(Order.ADD)
        if self.made and self.picked:
            orders.append(Order.PICK)
        orders.append(Order.STRIP)
        if self.cross:
            orders.append(Order.CROSS)
        if self.score and self.score.regions:
            orders.append(Order.TRIAL)
        if self.score and self.score.judged == "wet" and not self.score.paper.dry_down:
            orders.append(Order.DRY_DOWN)  # nobody has told yet what this paper needs
        return [*orders, Order.FOCUS, Order.PLACING]

    @property
    def picked(self) -> bool:
        """Has the strip that was made been picked from?"""
        if self.made is None or self.score is None or not self.score.came_from:
            return False
        return any(line.startswith(f"{self.made.mark} ") for line in self.score.came_from)

    def choices(self, order: Order = Order.PICK) -> list[str]:
        """Give what can be chosen from for an order; none where it takes no choice."""
        match order:
            case Order.PICK if self.made and self.made.cross:
                return [cell.name for cell in cells_of(self.made.cross)]
            case Order.PICK if self.made and self.made.strip:
                letters = LETTERS[: self.made.strip.patches]
                pairs = [f"{a}-{b}" for a, b in pairwise(letters)]
                both = [each for pair in zip(letters, [*pairs, ""], strict=False) for each in pair]
                return [each for each in both if each]
            case Order.TRIAL if self.score:
                return list(region_names(self.score))
            case Order.ADD if self.lying:
                return list(EXTRAS)
        return []

    def pick(self, choice: str) -> tuple[Desk, Picked]:
        """Pick from what was made; the score follows. Raises BadInput."""
        made, judged = self.made, Judged(self.judged)
        if made is None:
            raise BadInput("there is no strip to pick from", "pick", "a strip first")
        if made.cross is not None:
            kept_on = goes_on(self.score, made.cross)
            cell = pick_cell(made.cross, choice)
            score = picked_cell(made.cross, cell, made.mark, judged, self.score)
            found = Picked(
                choice=choice,
                dose_s=cell.soft_s,
                stops=factor_to_stops(cell.soft_s / made.cross.soft.base_s),
                filter=made.cross.soft.filter,
                said=f"picked {choice}, {cell.soft_s:.1f} and {cell.hard_s:.1f} seconds",
            )
        else:
            strip = made.strip
            assert strip is not None
            kept_on = goes_on(self.score, strip)
            patch = pick_from(strip, choice, judged)
            score = picked_patch(strip, patch, made.mark, self.score)
            found = Picked(
                choice=patch.choice,
                dose_s=patch.dose_s,
                stops=patch.stops,
                filter=strip.filter,
                said=f"picked {patch.choice.replace('-', ' ')}, {patch.dose_s:.1f} seconds",
            )
        # another print than the one that is kept does not go into its file
        kept_as = self.kept_as if kept_on else ""
        update: dict[str, object] = {"score": score, "kept_as": kept_as}
        if not kept_on:
            update["edition"] = ""
        return self.model_copy(update=update), found

    def plan(self, order: Order, rig: Rig, choice: str = "") -> tuple[Plan, str]:
        """Make the plan of an order, and give its spec as JSON. Raises BadInput or Refused."""
        lamp, limits = rig.calibration(), rig.limits()
        off = self.strip.safelights == "off" and order is Order.STRIP
        bench = around(rig, safelights_off=off)
        match order:
            case Order.STRIP:
                return plan_strip(self.strip, lamp, limits, bench), self.strip.model_dump_json()
            case Order.CROSS if self.cross:
                return plan_cross(self.cross, lamp, limits, bench), self.cross.model_dump_json()
            case Order.PRINT if self.score:
                plan = plan_score(self.score, lamp, limits, bench, sheets=self.sheets)
                return plan, spec_of(self.score)
            case Order.TRIAL if self.score:
                size = (self.strip.width_mm, self.strip.height_mm)
                plan = plan_trial(self.score, choice, lamp, limits, bench, size_mm=size)
                return plan, spec_of(self.score)
            case Order.DRY_DOWN if self.score:
                strip = self.strip
                test = DryDownTest(
                    score=self.score, width_mm=strip.width_mm, height_mm=strip.height_mm
                )
                return plan_dry_down(test, lamp, limits, bench), test.model_dump_json()
            case Order.ADD if self.lying:
                extra = extra_of(self.lying.score, choice)
                number = self.lying.number
                plan = plan_extra(self.lying.score, extra, number, lamp, limits, bench)
                return plan, spec_of(self.lying.score)
            case Order.FOCUS:
                aperture = self.score.setup.aperture if self.score else self.strip.aperture
                focus_s = min(self.focus_s, limits.longest_on_s)
                return plan_focus(focus_s, aperture, limits), "{}"
            case Order.PLACING:
                return plan_placing(min(self.placing_s, limits.longest_on_s), limits), "{}"
        raise BadInput(f"there is nothing to {order.value}", "order", "a strip first")

    def run(self, order: Order, rig: Rig, choice: str = "") -> Run:
        """Make the run of an order; an extra goes on with its print. Raises BadInput or Refused."""
        plan, spec = self.plan(order, rig, choice)
        if order is Order.ADD and self.lying:
            lying = self.lying
            extra = extra_of(lying.score, choice).to_json()
            return Run(lying.record_id, plan, spec, rig.name, lying.mark, lying.number, extra)
        edition = self.edition if order is Order.PRINT else ""
        return Run(uuid.uuid4().hex, plan, spec, rig.name, edition=edition)


def spec_of(score: Score) -> str:
    """Write a score for the book: its version, and set values only."""
    return to_json(score)
