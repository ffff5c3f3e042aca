"""The room: every light that paper can see, as it really is."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.desk.orders import OF_A_SHEET, OF_LIGHT, OF_PAPER, Order
from controller.errors import DrysideError
from controller.exposing.bench import ProvingView
from controller.rig.lights import lights_of
from ui.terminal.screens.base import RoomScreen

if TYPE_CHECKING:
    from controller.rig.model import Rig
    from controller.room.overview import Overview

KNOWN = {True: "on", False: "off", None: "unknown"}
CAUTION = (
    "A light is proved by a fog test (key t). This screen is a light too: black on a "
    "liquid-crystal panel leaks white, and half a metre from paper it can fog within seconds. "
    "Lay a deep red sheet over it or use an emissive display, tilt it away, keep it far, and "
    "let its backlight go off while paper is out (backlight_off = true in terminal.toml). "
    "In the dark: know where the trays, the steps and the hot lamp are."
)


class LightsScreen(RoomScreen):
    """Where the lights are seen, and proved."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("t", "test", "test", id="room.test"),
        Binding("r", "read", "read the test", id="room.read"),
        Binding("p", "paper", "paper", id="room.paper"),
    ]

    NAME = "room"
    HELP_TEXT = (
        "Every light that paper can see: the enlarger's lamp, the safelights, other lights, and "
        "this screen. The state is what the keeper measured, and unknown where it is unknown. "
        "Safe: how long paper may lie at the easel under it alone, by the rule that is named. "
        "t makes a sheet that proves the room (first a flash strip, which finds the light grey "
        "that shows fog best), r reads it by eye, one question after the other; both can be done "
        "by foot, after a long press. p says where paper is: in the stop bath, back in the box. "
        "Fails to: what it does when all else has failed."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        table: DataTable[str] = DataTable(id="lights-table", cursor_type="none", show_cursor=False)
        table.can_focus = False  # nothing to choose: enter stays the pedal
        yield table
        yield Static("", id="safe-now", classes="heading", markup=False)
        yield Static("", id="advice", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        table = self.query_one(DataTable)
        table.add_columns("light", "kind", "is", "safe", "switched", "fails to")
        super().on_mount()

    def __init__(self) -> None:
        super().__init__()
        self._safe: dict[str, str] = {}
        self._answered: ProvingView | None = None  # until the unit asks something else

    # -- keys --------------------------------------------------------------------------------

    def action_test(self) -> None:
        """Choose a test of the room, and lay it out."""
        from controller.room.asking import RoomTest
        from ui.terminal.screens.ask import AskScreen
        from ui.terminal.screens.room_test import WHY, RoomTestScreen

        if not self.link.proving.tests:
            self.app.notify("no light is listed: dryside room light add NAME", timeout=6)
            return
        kinds: dict[str, str | None] = {
            one.value: f"{one.value.capitalize()}: {WHY[one]}" for one in RoomTest
        }

        def chosen(kind: str | None) -> None:
            if kind is not None:
                self.app.push_screen(RoomTestScreen(RoomTest(kind)))

        self.app.push_screen(AskScreen("Which test? It is made in the dark.", kinds), chosen)

    def action_read(self) -> None:
        """Answer what is asked of the sheet that was made last."""
        proving = self.link.proving
        if not proving.question:
            self.app.notify("no test of the room waits to be read", timeout=6)
            return
        self._ask(proving.question, proving.answers, Order.READ_TEST)

    def action_paper(self) -> None:
        """Say where paper is, or ask for white light."""
        orders = {order.value: order.value.capitalize() for order in (*OF_PAPER, *OF_LIGHT)}
        self._order_of(dict(sorted(orders.items())))

    def _order_of(self, orders: dict[str, str]) -> None:
        from ui.terminal.screens.ask import AskScreen

        def answered(order: str | None) -> None:
            if order is None:
                return
            marks = [one.mark for one in self.link.paper.sheets] if self.link.paper else []
            if Order(order) in OF_A_SHEET and len(marks) > 1:
                self._ask("Which sheet?", tuple(marks), Order(order))
            else:
                self.link.order(order, marks[0] if Order(order) in OF_A_SHEET and marks else "")

        self.app.push_screen(AskScreen("What of the paper?", orders), answered)

    def _ask(self, question: str, answers: tuple[str, ...], order: Order) -> None:
        from ui.terminal.screens.ask import AskScreen

        def answered(choice: str | None) -> None:
            if choice is not None:
                self._answered = self.link.proving if order is Order.READ_TEST else None
                self.link.order(order.value, choice)

        self.app.push_screen(AskScreen(question, dict.fromkeys(answers)), answered)

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give the tests that are worth asking for now."""
        for test in self.link.proving.tests:
            yield SystemCommand(
                test.capitalize(),
                "a test of the room",
                lambda test=test: self.link.order(Order.ROOM_TEST.value, test),
            )

    def show_room(self) -> None:
        """Show each light, and look beside the screen what is known of it."""
        self._list()
        self.beside(self._look, group="known")
        proving = self.link.proving
        if self._answered not in (None, proving) and self.is_current:
            self._answered = None
            if proving.question:
                self.action_read()  # the next question follows by itself

    async def _look(self) -> None:
        rig, lit = self.link.unit.rig, dict(self.link.view.lit)
        try:
            found = await asyncio.to_thread(_known, rig, lit)
        except DrysideError as error:
            self.query_one("#safe-now", Static).update(str(error))
            return
        self.query_one("#safe-now", Static).update(found.now)
        self.query_one("#advice", Static).update("\n".join(found.advice))
        if found.safe != self._safe:
            self._safe = found.safe
            self._list()

    def _list(self) -> None:
        table = self.query_one(DataTable)
        if not table.columns:
            return
        table.clear()
        lit = self.link.view.lit
        for light in lights_of(self.link.unit.rig):
            state = KNOWN[lit[light.name]] if light.name in lit else light.otherwise
            table.add_row(
                light.name,
                light.kind,
                state,
                self._safe.get(light.name, ""),
                light.switched,
                light.failing,
            )
        level = self.terminal.brightness + 1
        table.add_row("this screen", "screen", f"level {level}", "", "curtain", "as it is")


def _known(rig: Rig, lit: dict[str, bool | None]) -> Overview:
    """Read the room, and look it over: for a thread. Raises BadInput."""
    from controller.room.model import Place
    from controller.room.overview import overview
    from ui.rooms import open_room

    today = datetime.now().astimezone().date()
    return overview(open_room(rig), lit, at=Place.EASEL, today=today)
