"""A test of the room: a small form that shows the plan as it is typed, refusals in place."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.errors import DrysideError
from controller.plan import Plan
from controller.room.asking import CAUTION, AskedTest, RoomTest, plan_sheet, sheet_asked
from controller.room.change import flash_of
from controller.room.fog_sheets import COIN_PROVES
from controller.room.model import Room
from controller.room.reading import FogSheet
from controller.stops import format_time
from ui.rooms import open_room
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence

LABELS = {
    "lights": ("lights", "all, or with commas"),
    "steps": ("steps", "1m,2m,4m,8m"),
    "time": ("time", ""),
    "flash": ("flash", "as it was found"),
    "filter": ("filter", "none"),
    "aperture": ("lens", "aperture"),
    "paper": ("paper", "the room's own"),
}
OF_FLASH = ("flash", "filter", "aperture", "paper")
FIELDS = {
    RoomTest.FLASH: OF_FLASH,
    RoomTest.FOG: ("lights", "steps", *OF_FLASH),
    RoomTest.WHICH: ("lights", "time", *OF_FLASH),
    RoomTest.COIN: ("lights", "time", "paper"),
    RoomTest.CYCLE: ("lights", "time", *OF_FLASH),
}
USUAL = {RoomTest.WHICH: "4m", RoomTest.COIN: "5m", RoomTest.CYCLE: "5m"}
PLACES = (("easel", "easel"), ("trays", "trays"))
WHY = {
    RoomTest.FLASH: "finds the exposure that gives a light grey, on which fog shows first",
    RoomTest.FOG: "growing times under the lights, before the flash and after it: a safe time",
    RoomTest.WHICH: "each light alone in a column of its own, and all together",
    RoomTest.COIN: COIN_PROVES,
    RoomTest.CYCLE: "the final proof: from the box to the fixer, half of the sheet under a card",
}


class RoomTestScreen(PageOver):
    """Where a test of the room is prepared, and started."""

    NAME = "room"
    HELP_TEXT: ClassVar[str] = (
        "What the test is to be; empty fields are as usual, and the flash as the room's file "
        "knows it for this paper. The plan is shown as you type, and what cannot be done is "
        "refused here. ctrl+s starts it: the bench then tells each move, and the sheet is "
        "developed in the dark. Steps and times: 1m,2m,4m. escape goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "start it", id="room.make"),
        Binding("escape", "back", "back", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="room.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="room.before"),
    ]

    def __init__(self, kind: RoomTest) -> None:
        super().__init__()
        self._kind = kind
        self._room: Room | None = None

    def compose_room(self) -> ComposeResult:
        """Lay out the form over the plan."""
        yield Static(f"{self._kind.value.capitalize()}: {WHY[self._kind]}", markup=False)
        with Grid(classes="form -tight"):
            if self._kind is not RoomTest.FLASH:
                yield Label("paper at")
                yield Select(PLACES, id="of-at", allow_blank=False, compact=True)
            for name in FIELDS[self._kind]:
                label, hint = LABELS[name]
                if self._kind is RoomTest.FLASH and name == "flash":
                    label, hint = "from", "0.4s"
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=hint or USUAL[self._kind])
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static("", id="lines", classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Read the room's file; what it knows of the flash stands in the form's hints."""
        super().on_mount()
        try:
            self._room = open_room(self.link.unit.rig)
        except DrysideError as error:
            self._tell(str(error), refused=True)
            return
        known = flash_of(self._room)
        if known is not None and self._kind not in (RoomTest.FLASH, RoomTest.COIN):
            self.query_one("#of-flash", Input).placeholder = format_time(known.exposure_s)
            self.query_one("#of-filter", Input).placeholder = known.filter or "none"
            self.query_one("#of-aperture", Input).placeholder = known.aperture or "as set"
        self._judge()

    def on_input_changed(self) -> None:
        """Show what is typed."""
        self._judge()

    def on_select_changed(self) -> None:
        """Show what is chosen."""
        self._judge()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def _asked(self) -> AskedTest:
        typed = {
            name: self.query_one(f"#of-{name}", Input).value.strip() for name in FIELDS[self._kind]
        }
        if self._kind is not RoomTest.FLASH:
            typed["at"] = str(self.query_one("#of-at", Select).value)
        return AskedTest(**typed)

    def _judge(self) -> tuple[Plan, FogSheet] | None:
        """Show the plan, or why there is none."""
        if self._room is None:
            return None
        lines = self.query_one("#lines", Static)
        try:
            sheet = sheet_asked(self._kind, self._asked(), self._room)
            plan = plan_sheet(sheet, self.link.unit.rig, self._room)
        except DrysideError as error:
            lines.update("")
            said = sentence(error)
            self._tell(said, refused=True)
            return None
        lines.update("\n".join((CAUTION, "", *plan.lines())))
        self._tell(f"{plan.title}; ctrl+s starts it")
        return plan, sheet

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    def action_make(self) -> None:
        """Start it, and go to the bench."""
        judged = self._judge()
        if judged is None:
            return
        if self.link.running:
            self._tell("a plan is running already; this can be started when it is over")
            return
        plan, sheet = judged
        self.link.run(plan, sheet.model_dump_json())
        self.terminal.action_room("bench")
