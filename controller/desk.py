"""The desk: what lies ready to be done next, whoever asks for it, a foot or a key."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from controller.book.entries import Judged
from controller.errors import BadInput
from controller.focus import plan_focus, plan_placing
from controller.orders import Order as Order
from controller.pick import Pick, pick_from
from controller.plan import Plan
from controller.printing import Printing, from_pick, plan_print
from controller.rig.lights import around
from controller.rig.model import Rig
from controller.strip import LETTERS, Strip, plan_strip


class Made(BaseModel):
    """A strip that was made and can be picked from."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    record_id: str
    mark: str
    strip: Strip


class Desk(BaseModel):
    """What lies ready; version 1. Kept over the night."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    strip: Strip = Field(default_factory=lambda: Strip(base_s=8))
    made: Made | None = None
    printing: Printing | None = None
    judged: Literal["wet", "dry"] = "wet"
    focus_s: float = Field(120.0, gt=0, le=3600)
    placing_s: float = Field(15.0, gt=0, le=120)

    def orders(self) -> list[Order]:
        """Give what can be asked for now, the likeliest first."""
        orders: list[Order] = []
        picked = (
            self.made and self.printing and self.printing.picked_from.startswith(self.made.mark)
        )
        if self.made and not picked:
            orders.append(Order.PICK)
        if self.printing:
            orders.append(Order.PRINT)
        if self.made and picked:
            orders.append(Order.PICK)
        return [*orders, Order.STRIP, Order.FOCUS, Order.PLACING]

    def choices(self) -> list[str]:
        """Give what can be picked from the strip that was made: each patch, each half-way."""
        if self.made is None:
            return []
        letters = LETTERS[: self.made.strip.patches]
        pairs = [f"{a}-{b}" for a, b in pairwise(letters)]
        both = [each for pair in zip(letters, [*pairs, ""], strict=False) for each in pair]
        return [each for each in both if each]

    def pick(self, choice: str) -> tuple[Desk, Pick]:
        """Pick from the strip that was made; the next print follows. Raises BadInput."""
        if self.made is None:
            raise BadInput("there is no strip to pick from", "pick", "a strip first")
        picked = pick_from(self.made.strip, choice, Judged(self.judged))
        printing = from_pick(picked, self.made.strip, self.made.mark, self.printing)
        return self.model_copy(update={"printing": printing}), picked

    def plan(self, order: Order, rig: Rig) -> tuple[Plan, str]:
        """Make the plan of an order, and give its spec as JSON. Raises BadInput or Refused."""
        lamp, limits = rig.calibration(), rig.limits()
        off = self.strip.safelights == "off" and order is Order.STRIP
        bench = around(rig, safelights_off=off)
        match order:
            case Order.STRIP:
                plan = plan_strip(self.strip, lamp, limits, bench)
                return plan, self.strip.model_dump_json()
            case Order.PRINT if self.printing:
                plan = plan_print(self.printing, lamp, limits, bench)
                return plan, self.printing.model_dump_json()
            case Order.FOCUS:
                return plan_focus(
                    min(self.focus_s, limits.longest_on_s), self.strip.aperture, limits
                ), "{}"
            case Order.PLACING:
                return plan_placing(min(self.placing_s, limits.longest_on_s), limits), "{}"
        raise BadInput(f"there is nothing to {order.value}", "order", "a strip first")
