"""Where the paper is, what it has had of its safe time, and what that forbids. Sans-I/O.

Hears what the runner tells, what the lights do and what the printer says, and answers with
words, remarks for the book and nothing else. The time under each set of lights is counted by
``budget``; here it is decided when a sheet is out.

A sheet is out from the prompt that asks for it (with a switch on the box: from when that opens)
until it is in the stop bath. A prompt may stand for long before paper is taken out: without a
switch a minute of it counts, and then the tap.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TypeAlias

import msgspec

from controller.desk.orders import Order
from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.events import Event, Fate, Remark, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.exposing.bench import PaperView, SheetShown
from controller.exposing.told import BoxIs
from controller.keeper import Edge
from controller.ports import Cue, NewSheet, Sound
from controller.room import budget as b
from controller.room.fogged_on_purpose import TESTS
from controller.room.groups import Doing
from controller.room.left import Left, accounts_of, left_of
from controller.room.model import Kind, Place, Room
from controller.room.names import lit_names

FORGOTTEN_S = 1800.0  # nobody leaves paper at the trays for so long without developing it
LAYING_S = 60.0  # from the box to the easel: common practice, no source
ASKED_AGAIN_S = 10.0  # within this "all the same" is meant
BOX = "box"  # the mark of the paper in the box, which an open one lets light upon
ALL_NEW, TO_THE_REST = "all new", "to the rest"
LAMP = "lamp"
WORDS = {
    b.Say.NEAR: "{}, 80 percent of the safe time",
    b.Say.FULL: "{}, the safe time is used up",
    b.Say.UNSAFE: "{}: in this light no time is proved safe",
    b.Say.UNKNOWN: "{} was never tested",
}
NAMES = {BOX: "the box", b.STOCK: "the strips"}


class ScreenIs(msgspec.Struct, frozen=True):
    """How bright the brightest of the unit's screens is, in percent; 0 where all are black."""

    percent: int


Heard: TypeAlias = Edge | ScreenIs | Cue | BoxIs | Event
Said: TypeAlias = Cue | Remark


class PaperWatch:
    """Watches over the paper of one evening.

    ``outputs`` tells what is known of the rig's outputs. ``strip_mm2``: a piece that is no
    larger is cut from the stock of strips. ``has_switch``: the box tells when it is open.
    """

    def __init__(
        self,
        room: Room,
        *,
        now_ns: int,
        day: date,
        outputs: Mapping[str, bool | None],
        strip_mm2: float,
        has_switch: bool = False,
        left: Left | None = None,
        wall_s: float = 0.0,
    ) -> None:
        self.room = room
        self._day = day
        self._outputs = dict(outputs)
        self._percent = 0
        self._strip_mm2 = strip_mm2
        self._has_switch = has_switch
        self._records: dict[str, str] = {}
        self._record_id = ""
        self._testing = False
        self._asked = ""  # the mark that a prompt asks for, until a tap says that it lies there
        self._laying_until_ns: int | None = None
        self._at_trays_ns: dict[str, int] = {}  # since when
        self._stopped_ns: dict[str, int] = {}  # sheets in the stop bath or after it, since when
        self._forbidden: tuple[str, int] = ("", 0)  # the last order that was refused, and when
        self._may_tell = False  # "lights may go on" is due once
        # a switch that has not told yet may be unplugged: the box counts as open
        self.box_open: bool | None = True if has_switch else None
        self.version = 0  # grows with every change that is worth keeping
        accounts: dict[str, b.Account] = {}
        if left is not None:
            accounts = accounts_of(left, wall_s, forgotten_s=FORGOTTEN_S)
            self._records |= {kept.mark: kept.record_id for kept in left.sheets}
        if has_switch:
            accounts[BOX] = replace(accounts.get(BOX, b.Account()), where=b.Where.EASEL)
        self._budget = b.FogBudget(
            b.rates_of(room, today=day), now_ns, self._lit(), accounts=accounts
        )

    # -- what happens ------------------------------------------------------------------------

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again, whatever happens."""
        times = [self._budget.next_cue_ns(), self._laying_until_ns, self._fixed_ns]
        times += [at_ns + ns(FORGOTTEN_S) for at_ns in self._at_trays_ns.values()]
        return min((each for each in times if each is not None), default=None)

    def step(self, now_ns: int, heard: Heard | None = None) -> list[Said]:
        """Take the time, and perhaps something heard; gives what is to be said and kept."""
        now_ns = max(now_ns, self._budget.now_ns)
        out = self._do(now_ns)
        if self._laying_until_ns is not None and now_ns >= self._laying_until_ns:
            self._laying_until_ns = None
            out += self._do(now_ns, b.InBox(self._asked))
        for mark, at_ns in list(self._at_trays_ns.items()):
            if now_ns >= at_ns + ns(FORGOTTEN_S):  # nobody said that it is in the stop bath
                out += self._put(now_ns, mark, b.InStop(mark))
        match heard:
            case Edge():
                self._outputs[heard.output] = heard.lit
                out += self._do(now_ns, b.Lights(self._lit()))
            case ScreenIs():
                self._percent = heard.percent
                out += self._do(now_ns, b.Lights(self._lit()))
            case Cue(hands=NewSheet() as sheet):
                out += self._asked_for(now_ns, sheet)
            case BoxIs():
                out += self._box_is(now_ns, heard.open)
            case RunBegun():
                self._testing = heard.kind in TESTS
                self._record_id = heard.record_id
                if heard.mark and not self._testing:
                    out += self._is_out(now_ns, heard.mark)
            case SheetBegun():
                out += self._laid(now_ns, heard.mark)
            case SheetEnded():
                out += self._ended(now_ns, heard)
            case RunEnded():
                out += self._not_laid(now_ns)
                self._testing = False
            case _:
                pass
        fixed_ns = self._fixed_ns
        if fixed_ns is not None and now_ns >= fixed_ns:
            self._may_tell = False
            out.append(Cue("lights may go on", Sound.ATTENTION))
        return out

    def with_room(self, now_ns: int, room: Room, day: date) -> list[Said]:
        """Go on with another room: new lights, or new results."""
        out = self.step(now_ns)
        self.room, self._day = room, day
        self._budget = replace(self._budget, rate_of=b.rates_of(room, today=day))
        return [*out, *self._do(now_ns, b.Lights(self._lit()))]

    # -- what is asked -----------------------------------------------------------------------

    def orders(self) -> list[Order]:
        """Give what of paper is likely to be said next; a room that was proved is worth it."""
        orders = []
        if self.box_open and not self._has_switch:
            orders.append(Order.BOX_SHUT)
        if self.room.tests and self._marks(b.Where.TRAYS):
            orders.append(Order.IN_STOP)
        return orders

    def later_orders(self) -> list[Order]:
        """Give what else can be said of paper now."""
        orders = []
        if Order.IN_STOP not in self.orders() and self._marks(b.Where.TRAYS, b.Where.EASEL):
            orders.append(Order.IN_STOP)
        if self._marks(b.Where.TRAYS, b.Where.EASEL):
            orders.append(Order.PUT_AWAY)
        if self._marks(b.Where.BOX):
            orders.append(Order.OUT_AGAIN)
        return [*orders, Order.CUTTING]

    def choices(self, order: Order) -> list[str]:
        """Give what can be chosen from for an order; none where it takes no choice."""
        match order:
            case Order.IN_STOP | Order.PUT_AWAY:
                return self._marks(b.Where.TRAYS) + self._marks(b.Where.EASEL)
            case Order.OUT_AGAIN:
                return self._marks(b.Where.BOX)
            case Order.CUTTING if b.STOCK in self._budget.accounts:
                return [ALL_NEW, TO_THE_REST]
        return []

    def order(self, now_ns: int, order: Order, choice: str = "") -> tuple[str, list[Said]]:
        """Take what the printer says of paper; gives an answer and what is to be kept.

        Raises BadInput for a sheet that is not where it would have to be.
        """
        out = self.step(now_ns)
        choices = self.choices(order)
        if order in (Order.IN_STOP, Order.PUT_AWAY, Order.OUT_AGAIN):
            if not choice and len(choices) == 1:
                choice = choices[0]
            if choice not in choices:
                right = " or ".join(choices) or "nothing now: no such sheet is known"
                raise BadInput(f"{choice or 'no mark'!r} is no sheet for that", order.value, right)
        match order:
            case Order.IN_STOP:
                said = f"{choice} in the stop bath, {self._budget.account(choice).words}"
                out += self._in_stop(now_ns, choice)
            case Order.PUT_AWAY:
                out += self._put(now_ns, choice, b.InBox(choice))
                said = f"{choice} in the box, {self._budget.account(choice).words}"
            case Order.OUT_AGAIN:
                out += self._put(now_ns, choice, b.Out(choice, Place.TRAYS))
                said = f"{choice} is out, {self._budget.account(choice).words}"
            case Order.CUTTING:
                out += self._cutting(now_ns, choice)
                said = "cutting strips; say when the box is shut"
                if self._has_switch:
                    said = "cutting strips"
            case Order.BOX_SHUT:
                out += self.step(now_ns, BoxIs(False))
                said = "the box is shut"
            case Order.NEW_BOX:
                out += self._do(now_ns, b.NewPaper(BOX))
                said = "a new box of paper"
            case _:
                raise BadInput(f"{order.value!r} is nothing that paper does", "order", "another")
        self.version += 1
        return said, out

    def may_light(self, now_ns: int, what: str) -> str:
        """Say why white light may not go on, or give nothing if it may.

        The same asked again soon is meant all the same, unless the box is open.
        """
        if self.box_open:
            return "the paper box is open"
        out = [*self._budget.paper_out, *self._not_fixed(now_ns)]
        if not out:
            return ""
        asked, at_ns = self._forbidden
        if asked == what and now_ns - at_ns <= ns(ASKED_AGAIN_S):
            self._forbidden = ("", 0)
            return ""
        self._forbidden = (what, now_ns)
        names = " and ".join(NAMES.get(mark, mark) for mark in out)
        where = "is out" if self._budget.paper_out else "is not fixed yet"
        return f"{names} {where}; ask once more to have {what} all the same"

    @property
    def doing(self) -> Doing:
        """Tell what the hands are doing, as far as paper tells it."""
        places = {one.where for one in self._budget.accounts.values()}
        if b.Where.EASEL in places or self._asked:
            return Doing.EASEL
        return Doing.TRAYS if b.Where.TRAYS in places else Doing.COMPOSING

    @property
    def paper_out(self) -> bool:
        """Can light reach any paper?"""
        return bool(self._budget.paper_out)

    def note(self, text: str) -> list[Remark]:
        """Write something down of every sheet that light can reach."""
        out = [mark for mark in self._budget.paper_out if self._records.get(mark)]
        return [Remark(self._records[mark], text, mark=mark) for mark in out]

    def view(self) -> PaperView:
        """Show the accounts of every sheet that light has reached and that is not wet yet."""
        sheets = [
            SheetShown(
                mark,
                one.where.value,
                one.used,
                self._budget.rate(one.where.place).per_s if one.where.place else 0.0,
                one.words,
            )
            for mark, one in self._budget.accounts.items()
            if one.where is not b.Where.STOP and (one.where.place or one.used or one.unknown_ns)
        ]
        at = Place.TRAYS if self.doing is Doing.TRAYS else Place.EASEL
        return PaperView(
            self._budget.now_ns,
            tuple(sheets),
            self.box_open,
            self._budget.rate(at).unknown,
        )

    def account(self, mark: str) -> b.Account:
        """Give what a sheet has had."""
        return self._budget.account(mark)

    def left(self, wall_s: float) -> Left:
        """Give what is to be kept over a restart."""
        return left_of(self._budget.accounts, self._records, wall_s)

    # -- inside ------------------------------------------------------------------------------

    def _do(self, now_ns: int, happening: b.Happening | None = None) -> list[Said]:
        self._budget, cues = self._budget.step(now_ns, happening)
        if happening is not None and not isinstance(happening, b.Lights):
            self.version += 1
        said: list[Said] = []
        for cue in cues:
            if cue.say is b.Say.UNKNOWN and not self.room.tests:
                continue  # a room that nobody has proved: the screen says so all the time
            words = WORDS[cue.say].format(NAMES.get(cue.name, cue.name))
            said.append(Cue(words, Sound.ATTENTION))
        return said

    def _lit(self) -> frozenset[str]:
        """Name the lights of the room that burn; what is not known counts as burning."""
        states: dict[str, bool | int | None] = {}
        for light in self.room.lights:
            if light.relay:
                states[light.name] = self._outputs.get(light.relay)
            elif light.kind is Kind.ENLARGER_LEAK:
                states[light.name] = self._outputs.get(LAMP)
            elif light.kind is Kind.SCREEN:
                states[light.name] = self._percent
            else:
                states[light.name] = True  # by a plug of its own
        return lit_names(self.room, states)

    def _source(self, sheet: NewSheet) -> str:
        return b.STOCK if sheet.width_mm * sheet.height_mm <= self._strip_mm2 else BOX

    def _asked_for(self, now_ns: int, sheet: NewSheet) -> list[Said]:
        if self._testing or sheet.mark == self._asked:
            return []
        self._asked = sheet.mark
        out = self._do(now_ns, b.NewPaper(sheet.mark))
        out += self._do(now_ns, b.Cut(self._source(sheet), sheet.mark))
        out += self._do(now_ns, b.InBox(sheet.mark))
        if self.box_open or not self._has_switch:
            out += self._is_out(now_ns, sheet.mark)
            self._laying_until_ns = None if self._has_switch else now_ns + ns(LAYING_S)
        return out

    def _laid(self, now_ns: int, mark: str) -> list[Said]:
        self._laying_until_ns = None
        self._asked = ""
        return [] if self._testing else self._is_out(now_ns, mark)

    def _not_laid(self, now_ns: int) -> list[Said]:
        """The run is over, and what it asked for last was never laid."""
        mark, self._asked, self._laying_until_ns = self._asked, "", None
        return self._do(now_ns, b.InStop(mark)) if mark else []

    def _is_out(self, now_ns: int, mark: str) -> list[Said]:
        self._may_tell = False
        self._stopped_ns.pop(mark, None)
        self._records.setdefault(mark, self._record_id)
        return self._put(now_ns, mark, b.Out(mark, Place.EASEL))

    def _put(self, now_ns: int, mark: str, where: b.Out | b.InBox | b.InStop) -> list[Said]:
        self._at_trays_ns.pop(mark, None)
        if isinstance(where, b.Out) and where.at is Place.TRAYS:
            self._at_trays_ns[mark] = now_ns
        return self._do(now_ns, where)

    def _ended(self, now_ns: int, ended: SheetEnded) -> list[Said]:
        if self._testing:
            return []
        if ended.fate is Fate.DONE:
            return self._put(now_ns, ended.mark, b.Out(ended.mark, Place.TRAYS))
        if self.account(ended.mark).where.place is None:
            return []
        # a spoiled sheet is thrown away, and the book tells why it may have been
        out = self._remark(ended.mark)
        return [*out, *self._put(now_ns, ended.mark, b.InStop(ended.mark))]

    def _in_stop(self, now_ns: int, mark: str) -> list[Said]:
        out = self._remark(mark)
        self._stopped_ns[mark] = now_ns
        self._may_tell = True
        return [*out, *self._put(now_ns, mark, b.InStop(mark))]

    def _remark(self, mark: str) -> list[Said]:
        account = self.account(mark)
        record_id = self._records.get(mark, "")
        if not record_id or not account.near:
            return []
        return [Remark(record_id, f"fog: {account.words}", mark=mark)]

    def _box_is(self, now_ns: int, is_open: bool) -> list[Said]:
        self.box_open = is_open
        if not is_open:
            out = self._do(now_ns, b.InBox(BOX))
            if b.STOCK in self._budget.accounts:
                out += self._do(now_ns, b.InBox(b.STOCK))
            return out
        out = self._do(now_ns, b.Out(BOX))
        if b.STOCK in self._budget.accounts:
            out += self._do(now_ns, b.Out(b.STOCK))
        if self._asked and not self._testing:
            out += self._is_out(now_ns, self._asked)
        return out

    def _cutting(self, now_ns: int, choice: str) -> list[Said]:
        out = self._do(now_ns, b.NewPaper(b.STOCK)) if choice != TO_THE_REST else []
        out += self._do(now_ns, b.Cut(BOX, b.STOCK))
        if self._has_switch:  # the box itself tells when it is shut again
            where = b.Out(b.STOCK) if self.box_open else b.InBox(b.STOCK)
            return [*out, *self._do(now_ns, where)]
        return [*out, *self._box_is(now_ns, True)]

    def _marks(self, *where: b.Where) -> list[str]:
        return [
            mark
            for mark, one in self._budget.accounts.items()
            if one.where in where and mark not in (BOX, b.STOCK) and mark != self._asked
        ]

    def _not_fixed(self, now_ns: int) -> list[str]:
        fixed_ns = ns(self.room.fixed_s)
        return [mark for mark, at in self._stopped_ns.items() if now_ns < at + fixed_ns]

    @property
    def _fixed_ns(self) -> int | None:
        """When are lights to be told to go on? None: not as things are."""
        if not self._may_tell or self.box_open or self.paper_out or not self._stopped_ns:
            return None
        return max(self._stopped_ns.values()) + ns(self.room.fixed_s)
