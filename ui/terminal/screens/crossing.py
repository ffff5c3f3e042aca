"""The cross: a form that shows the sheet cell by cell as it is typed, refusals in place."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Static

from controller.desk.asked import AskedCross, cross_asked, typed_cross
from controller.desk.orders import Order
from controller.errors import DrysideError
from controller.strips.cross import Cross
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.widgets.cross_drawing import CrossDrawing

FIELDS = (
    ("soft", "soft", "00=8s"),
    ("columns", "columns", "5"),
    ("step", "step", "1/3"),
    ("hard", "hard", "5=4s"),
    ("rows", "rows", "4"),
    ("hard_step", "step", "the same"),
    ("aperture", "lens", "aperture"),
    ("size", "size mm", "254x203.2"),
    ("place", "place", "on print"),
)


class CrossingScreen(PageOver):
    """Where a cross is laid out."""

    NAME = "strip"
    HELP_TEXT: ClassVar[str] = (
        "One sheet, two filters: the soft one in steps across, the hard one in steps down, by a "
        "card along both edges. Each is a filter and the shortest exposure, such as 00=8s. It lies "
        "ready on the bench as you type; there the cell you pick becomes both passes. ctrl+s "
        "makes it; escape goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "make it", id="cross.make"),
        Binding("escape", "back", "back", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="cross.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="cross.before"),
    ]
    AUTO_FOCUS = "#of-soft"

    def __init__(self) -> None:
        super().__init__()
        self._filled = False

    def compose_room(self) -> ComposeResult:
        """Lay out the form over the drawing."""
        with Grid(classes="form -tight"):
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=placeholder)
        with VerticalScroll(id="cross-box", can_focus=False):
            yield CrossDrawing(id="cross-drawing")
        yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Fill the form once the desk is known."""
        desk = self.link.desk
        if desk is not None and not self._filled:
            self._filled = True
            known = typed_cross(desk.cross) if desk.cross else AskedCross()
            with self.prevent(Input.Changed):
                for name, _, _ in FIELDS:
                    self.query_one(f"#of-{name}", Input).value = getattr(known, name)
        self._judge()

    def on_resize(self) -> None:
        """Draw anew when it is known how much room there is."""
        self.call_after_refresh(self._judge)

    def on_input_changed(self) -> None:
        """Judge what is typed, and lay it ready."""
        self._lay_ready()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def _judge(self) -> Cross | None:
        """Draw what is typed; give the cross if it can be made."""
        desk = self.link.desk
        if desk is None:
            return None
        told = self.query_one("#told", Static)
        fields = {name: self.query_one(f"#of-{name}", Input).value.strip() for name, _, _ in FIELDS}
        try:
            cross = cross_asked(AskedCross(**fields))
            ready = desk.model_copy(update={"cross": cross})
            plan, _ = ready.plan(Order.CROSS, self.link.unit.rig)
        except DrysideError as error:
            told.update(sentence(error))
            told.set_class(True, "-refused")
            return None
        self.query_one(CrossDrawing).show(cross)
        exposures = sum(1 for _ in plan.exposures())
        told.update(f"{exposures} exposures on one sheet; ctrl+s makes it")
        told.set_class(False, "-refused")
        return cross

    def _lay_ready(self) -> bool:
        cross, desk = self._judge(), self.link.desk
        if cross is None or desk is None:
            return False
        if cross != desk.cross:
            self.link.arrange(desk.model_copy(update={"cross": cross}))
        return True

    def action_make(self) -> None:
        """Make it, and go to the bench."""
        if self._lay_ready():
            self.link.order(Order.CROSS.value)
            self.terminal.action_room("bench")
