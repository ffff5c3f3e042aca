"""The room around the paper: which lights burn by where paper is, and white light kept back.

Sans-I/O. Composes ``PaperWatch``, which knows where paper is, with the lights that a rig
switches. Whoever drives the runner, in real or in virtual time, lets this hear the same things.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TypeAlias

from controller.desk.orders import OF_LIGHT, OF_PAPER, Order, Ordered
from controller.errors import BadInput
from controller.events import Remark, RunBegun, RunEnded
from controller.exposing.bench import PaperView
from controller.keeper import Edge, Put
from controller.ports import Cue
from controller.rig.model import Rig
from controller.room.fogged_on_purpose import TESTS
from controller.room.groups import Doing, group_lights
from controller.room.left import Left
from controller.room.model import Room
from controller.room.watch import Heard, PaperWatch

BOX_TOLD_OPEN = "the paper box is open; say box shut first"
Done: TypeAlias = Cue | Remark | Put


class RoomWatch:
    """Watches over paper and lights of one evening."""

    def __init__(
        self,
        rig: Rig,
        room: Room,
        *,
        now_ns: int,
        day: date,
        outputs: Mapping[str, bool | None],
        left: Left | None = None,
        wall_s: float = 0.0,
    ) -> None:
        self._white = [e for e in rig.light if e.kind != "contact-frame" and e.may_be_switched]
        self._may_switch = {light.name: light.may_be_switched for light in rig.lights()}
        self._has_switch = rig.box is not None
        self._lit = dict(outputs)
        self._at_work = False
        self._testing = False
        self._doing: Doing | None = None  # that the lights were chosen for last
        self._paper = PaperWatch(
            room,
            now_ns=now_ns,
            day=day,
            outputs=outputs,
            # half a sheet and less was cut from the stock
            strip_mm2=rig.paper.sheet_width_mm * rig.paper.sheet_height_mm / 2,
            has_switch=self._has_switch,
            left=left,
            wall_s=wall_s,
        )
        self._was_out = self._paper.paper_out

    # -- what happens ------------------------------------------------------------------------

    @property
    def paper(self) -> PaperWatch:
        """The accounts of the paper."""
        return self._paper

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again, whatever happens."""
        return self._paper.next_ns

    @property
    def box_open(self) -> bool:
        """Would light reach the paper in the box?"""
        return bool(self._paper.box_open)

    def step(self, now_ns: int, heard: Heard | None = None) -> list[Done]:
        """Take the time, and perhaps something heard; gives what is to be said and done."""
        match heard:
            case Edge():
                self._lit[heard.output] = heard.lit
            case RunBegun():
                self._at_work, self._testing = True, heard.kind in TESTS
            case RunEnded():
                self._at_work = self._testing = False
            case _:
                pass
        return [*self._paper.step(now_ns, heard), *self._lights()]

    def with_room(self, now_ns: int, room: Room, day: date) -> list[Done]:
        """Go on with another room: new lights, new groups or new results."""
        self._doing = None
        return [*self._paper.with_room(now_ns, room, day), *self._lights()]

    def lights_anew(self) -> list[Done]:
        """Choose the lights once more, after something else has switched them."""
        self._doing = None
        return self._lights()

    def keeps_back(self, put: Put) -> bool:
        """Is this a light that a plan would bring back, and that its group leaves dark?"""
        if not put.lit or self._testing or self._doing is None:
            return False
        return (
            group_lights(self._paper.room, self._doing, self._may_switch).get(put.output) is False
        )

    def view(self) -> PaperView:
        """Show what sheets have had."""
        return self._paper.view()

    # -- what is asked -----------------------------------------------------------------------

    def why_not_begin(self) -> str | None:
        """Say why nothing may be begun now: a box that nobody will see being shut."""
        return BOX_TOLD_OPEN if self.box_open and not self._has_switch else None

    def orders(self) -> list[Order]:
        """Give what of paper is likely to be said next."""
        return self._paper.orders()

    def later_orders(self) -> list[Order]:
        """Give what else can be said of paper, and asked of white light."""
        kinds = {light.kind for light in self._white}
        lights = (order for order, kind in OF_LIGHT.items() if kind in kinds)
        return [*self._paper.later_orders(), *lights]

    def choices(self, order: Order) -> list[str]:
        """Give what can be chosen from for an order."""
        return self._paper.choices(order) if order in OF_PAPER else []

    def order(self, now_ns: int, ordered: Ordered) -> tuple[str, list[Done]]:
        """Carry an order out; gives what is told, and what is to be done.

        Raises BadInput where that can't be.
        """
        order = Order(ordered.order)
        if order in OF_LIGHT:
            return self._light(now_ns, order)
        if order is Order.CUTTING and self._at_work:
            raise BadInput("a plan is running", order.value, "when it is over")
        said, done = self._paper.order(now_ns, order, ordered.choice)
        return said, [*done, *self._lights()]

    def _light(self, now_ns: int, order: Order) -> tuple[str, list[Done]]:
        kind = OF_LIGHT[order]
        names = [light.name for light in self._white if light.kind == kind]
        if not names:
            raise BadInput(
                f"the rig switches no {order.value}", order.value, f'a [[light]] of kind "{kind}"'
            )
        if any(self._lit.get(name) is not False for name in names):
            return f"{order.value} off", [Put(name, False) for name in names]
        if self._at_work:
            raise BadInput("a plan is running", order.value, "when it is over")
        why = self._paper.may_light(now_ns, order.value)
        if why:
            raise BadInput(why, order.value, "when lights may go on")
        return f"{order.value} on", [Put(name, True) for name in names]

    # -- inside ------------------------------------------------------------------------------

    def _lights(self) -> list[Done]:
        """Give what follows for lights from where paper is now."""
        done: list[Done] = []
        is_out = self._paper.paper_out
        if is_out and not self._was_out:
            lit = [light.name for light in self._white if self._lit.get(light.name) is not False]
            done += [Put(name, False) for name in lit]
        self._was_out = is_out
        doing = self._paper.doing
        if self._testing or (self._at_work and doing is not Doing.EASEL):
            return done  # a plan that runs has its own say
        if doing is not self._doing:
            self._doing = doing
            wanted = group_lights(self._paper.room, doing, self._may_switch)
            done += [Put(n, lit) for n, lit in wanted.items() if self._lit.get(n) is not lit]
        return done
