"""The score: the print that lies ready, and what dry-down makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Grid, Horizontal, Vertical
from textual.widgets import Digits, Input, Label, Select, Static

from controller.asked import AskedPrint, print_asked, typed_print
from controller.errors import DrysideError
from controller.orders import Order
from controller.printing import both_exposures
from ui.terminal.screens.base import RoomScreen

JUDGED = (("wet", "wet"), ("dry", "dry"))
FIELDS = ("dose", "dry_down", "aperture", "filter", "size")


class ScoreScreen(RoomScreen):
    """Where the next print is laid out."""

    NAME = "score"
    HELP_TEXT = (
        "The print that lies ready: its exposure comes from the patch you picked, or is typed "
        "here. Dry-down is this paper's, in percent; it is taken off once, when the print is "
        "made, and only where the strip was judged wet. ctrl+s prints; escape leaves a field."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "print it", id="score.make"),
        Binding("escape", "leave_field", "leave the field", id="score.leave", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._shown: object = None

    def compose_room(self) -> ComposeResult:
        """Lay out the form over what comes of it."""
        with Grid(classes="form"):
            yield Label("exposure")
            yield Input(id="dose", compact=True, placeholder="seconds")
            yield Label("judged")
            yield Select(JUDGED, id="judged", allow_blank=False, compact=True)
            yield Label("dry-down %")
            yield Input(id="dry_down", compact=True)
            yield Label("lens")
            yield Input(id="aperture", compact=True, placeholder="aperture")
            yield Label("filter")
            yield Input(id="filter", compact=True)
            yield Label("paper mm")
            yield Input(id="size", compact=True)
        with Horizontal(id="both"):
            for name in ("picked", "printed"):
                with Vertical(id=name):
                    yield Static("", classes="quiet", markup=False)
                    yield Digits("")
        yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Fill the form when another print lies ready."""
        desk = self.link.desk
        if desk is not None and desk.printing != self._shown and self.focused is None:
            self._shown = desk.printing
            with self.prevent(Input.Changed, Select.Changed):
                asked = typed_print(desk.printing)
                for name in FIELDS:
                    self.query_one(f"#{name}", Input).value = getattr(asked, name)
                self.query_one("#judged", Select).value = asked.judged
        self._judge()

    def _judge(self) -> bool:
        told = self.query_one("#told", Static)
        values = {name: self.query_one(f"#{name}", Input).value.strip() for name in FIELDS}
        judged = str(self.query_one("#judged", Select).value)
        desk = self.link.desk
        told.set_class(False, "-refused")
        self.query_one("#both").display = False
        if not values["dose"]:
            told.update("no print lies ready: pick a patch on the bench, or type an exposure")
            return False
        try:
            before = desk.printing if desk else None
            printing = print_asked(AskedPrint(**values, judged=judged), before)
            if desk is not None:
                if printing != desk.printing:
                    self._shown = printing
                    self.link.arrange(desk.model_copy(update={"printing": printing}))
                desk.model_copy(update={"printing": printing}).plan(Order.PRINT, self.link.unit.rig)
        except DrysideError as error:
            told.update(str(error))
            told.set_class(True, "-refused")
            return False
        told.update("it lies ready on the bench (ctrl+s prints it)")
        self.query_one("#both").display = True
        for name, exposure in zip(("picked", "printed"), both_exposures(printing), strict=True):
            self.query_one(f"#{name} Static", Static).update(exposure.what)
            self.query_one(f"#{name} Digits", Digits).update(exposure.time)
        return True

    def on_input_changed(self) -> None:
        """Judge what is typed, and lay it ready."""
        self._judge()

    def on_select_changed(self) -> None:
        """Judge what is chosen, and lay it ready."""
        self._judge()

    def action_make(self) -> None:
        """Print it, and go to the bench."""
        if self._judge():
            self.link.order(Order.PRINT.value)
            self.terminal.action_room("bench")

    def action_leave_field(self) -> None:
        """Leave the field, so that the keys of the room are heard again."""
        self.set_focus(None)

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Print it", "as it is laid out", self.action_make)
