"""The score: the print that lies ready, every exposure of it, and its sketch."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Grid, Horizontal, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.asked import AskedScore, score_asked, typed_score
from controller.errors import DrysideError
from controller.orders import Order
from controller.score.drawing import draw_sketch
from controller.score.model import Score
from controller.score.report import row_line, score_rows
from controller.score.typed import change_typed
from ui.terminal.screens.base import RoomScreen

JUDGED = (("wet", "wet"), ("dry", "dry"))
FIELDS = (
    ("base", "base", "seconds"),
    ("dry_down", "dry-down", "8%, or 1/12"),
    ("sheets", "sheets", ""),
    ("title", "title", ""),
    ("negative", "negative", ""),
    ("paper", "paper", ""),
    ("batch", "batch", ""),
    ("size", "size mm", ""),
    ("aperture", "lens", "aperture"),
)


class ScoreScreen(RoomScreen):
    """Where the next print is laid out."""

    NAME = "score"
    HELP_TEXT = (
        "The print that lies ready. It comes from the patch or cell you picked, or is begun here "
        "with a base. The line 'change' takes one thing at a time: pass hard:5:-1/3, "
        "burn sky=+1@soft, dodge door=1/3@hard, drop burn:sky. What is in stops follows the "
        "base, what is in seconds is fixed. Dry-down is this paper's, taken off once, and only "
        "where the strips were judged wet. ctrl+s prints; escape leaves a field."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "print it", id="score.make"),
        Binding("slash", "change", "change", id="score.change"),
        Binding("escape", "leave_field", "leave the field", id="score.leave", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._shown: object = None

    def compose_room(self) -> ComposeResult:
        """Lay out the head over the exposures and the sketch."""
        with Grid(classes="form"):
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=name, compact=True, placeholder=placeholder)
            yield Label("judged")
            yield Select(JUDGED, id="judged", allow_blank=False, compact=True)
        with Horizontal(id="score"):
            with VerticalScroll(id="exposures"):
                yield Static("", id="rows", markup=False)
            yield Static("", id="sketch", markup=False)
        with Horizontal(id="changing"):
            yield Label("change")
            yield Input(id="change", compact=True, placeholder="burn sky=+1@soft")
        yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Fill the form when another print lies ready."""
        desk = self.link.desk
        shown = (desk.score, desk.sheets) if desk is not None else None
        if desk is not None and shown != self._shown and self.focused is None:
            self._shown = shown
            with self.prevent(Input.Changed, Select.Changed):
                asked = typed_score(desk.score, desk.sheets)
                for name, _, _ in FIELDS:
                    self.query_one(f"#{name}", Input).value = getattr(asked, name)
                self.query_one("#judged", Select).value = asked.judged
        self._judge()

    def _judge(self) -> bool:
        """Show what is typed; lay it ready if it can be made."""
        told = self.query_one("#told", Static)
        told.set_class(False, "-refused")
        values: dict[str, Any] = {
            name: self.query_one(f"#{name}", Input).value.strip() for name, _, _ in FIELDS
        }
        desk = self.link.desk
        if not values["base"] or desk is None:
            self._draw(None)
            told.update("no print lies ready: pick a patch on the bench, or type a base")
            return False
        judged = str(self.query_one("#judged", Select).value)
        try:
            score, sheets = score_asked(AskedScore(**values, judged=judged), desk.score)
            self._lay_ready(score, sheets)
        except DrysideError as error:
            return self._refuse(error)
        self._draw(score)
        told.update("it lies ready on the bench (ctrl+s prints it)")
        return True

    def _lay_ready(self, score: Score, sheets: int) -> None:
        """Lay a score ready on the desk. Raises what the lamp cannot do, and then lays nothing."""
        desk = self.link.desk
        assert desk is not None
        wanted = desk.model_copy(update={"score": score, "sheets": sheets})
        wanted.plan(Order.PRINT, self.link.unit.rig)
        if (score, sheets) != (desk.score, desk.sheets):
            self._shown = (score, sheets)
            self.link.arrange(wanted)

    def _refuse(self, error: DrysideError) -> bool:
        told = self.query_one("#told", Static)
        told.update(str(error))
        told.set_class(True, "-refused")
        return False

    def _draw(self, score: Score | None) -> None:
        rows = self.query_one("#rows", Static)
        sketch = self.query_one("#sketch", Static)
        if score is None:
            rows.update("")
            sketch.display = False
            return
        lines = [row_line(row) for row in score_rows(score)]
        rows.update("\n".join(lines))
        wide = max(0, self.size.width - ROWS_WIDE)
        drawing = draw_sketch(score, wide, max(0, self.size.height - 12)) if wide > 20 else []
        sketch.display = bool(drawing)
        sketch.update("\n".join(drawing))

    # -- what is typed -----------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        """Judge what is typed, and lay it ready; a change waits until it is whole."""
        if event.input.id != "change":
            self._judge()

    def on_select_changed(self) -> None:
        """Judge what is chosen, and lay it ready."""
        self._judge()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go on to the next field; make the change that is typed."""
        if event.input.id != "change":
            self.focus_next()
            return
        desk = self.link.desk
        if desk is None or desk.score is None or not event.value.strip():
            return
        try:
            score = change_typed(desk.score, event.value)
            self._lay_ready(score, desk.sheets)
        except DrysideError as error:
            self._refuse(error)
            return
        event.input.value = ""
        self._draw(score)

    def action_change(self) -> None:
        """Go to the line that changes the score."""
        self.query_one("#change", Input).focus()

    def action_make(self) -> None:
        """Print it, and go to the bench."""
        if self._judge():
            self.link.order(Order.PRINT.value)
            self.terminal.action_room("bench")

    def action_leave_field(self) -> None:
        """Leave the field, so that the keys of the room are heard again."""
        self.set_focus(None)

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Print it", "as it is laid out", self.action_make)
        yield SystemCommand("Change the score", "one thing at a time", self.action_change)


ROWS_WIDE = 68  # columns that the exposures take
