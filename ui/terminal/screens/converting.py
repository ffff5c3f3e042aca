"""Converting what lies ready: the change is shown as it is typed, and taken or left."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Static

from controller.desk.orders import Order
from controller.errors import DrysideError
from controller.fields import tones_asked
from controller.score.model import Score
from controller.score.typed import AskedConversion, conversion_asked, typed_conversion
from ui.converted import converted_by_book
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence

if TYPE_CHECKING:
    from controller.boxes.onto import Onto

FIELDS = (
    ("magnification", "magnified", "as it was, 3.5"),
    ("to_magnification", "now", "5.2"),
    ("size", "size mm", "305x254"),
    ("lux", "lux", "as it was"),
    ("to_lux", "now", "of the meter"),
    ("to_aperture", "lens now", "aperture"),
    ("filters", "filters", "5=4, 00=0"),
    ("stops", "stops", "+1/3"),
    ("lamp", "lamp", "another"),
    ("paper", "paper", "another"),
    ("batch", "batch", "another"),
    ("speeds", "speeds P", "200=250"),
    ("tones", "densities", "of the dry print by region, where both papers are measured: sky=0.25"),
)
CALLED = {  # what the command line calls by other names
    "from-magnification": "magnified",
    "to-magnification": "now",
    "from-aperture": "the lens in the score's own form",
    "to-aperture": "lens now",
    "from-lux": "lux",
    "to-lux": "now",
    "filter": "filters",
    "from-filter": "filters",
    "to-filter": "filters",
    "density": "densities",
}
NOTHING = "type what changes: it is shown here line by line, and nothing is taken before ctrl+s"


class ConvertingScreen(PageOver):
    """Where a print is brought to another size, lens, filter, lamp or paper."""

    NAME = "score"
    HELP_TEXT: ClassVar[str] = (
        "What is to change, and only that: passes, burns and dodges move together, the flash does "
        "not. Magnification is length on the easel over length on the negative. Filters: old=new, "
        "several with commas. Stops: as a strip has told. Speeds: ISO P of the old and the new "
        "paper; where the boxes of both were measured their curves count instead, and every "
        "region whose density on the dry print you type keeps it. Two readings of a meter on the "
        "easel serve where nothing was measured. ctrl+s takes what is shown as a new print, kept "
        "nowhere yet; escape leaves all as it was."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "take", "take it", id="convert.take"),
        Binding("escape", "back", "leave it", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="convert.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="convert.before"),
        Binding("pagedown", "scroll_change(5)", "down", show=False, id="convert.page.down"),
        Binding("pageup", "scroll_change(-5)", "up", show=False, id="convert.page.up"),
    ]
    AUTO_FOCUS = "#of-to_magnification"

    def __init__(self, onto: tuple[str, str] | None = None) -> None:
        super().__init__()
        self._onto = onto  # name and number of a box of paper
        self._score: Score | None = None  # that the form was made for
        self._typed: AskedConversion | None = None

    def compose_room(self) -> ComposeResult:
        """Lay out the fields over the change."""
        with Grid(classes="form -tight"):
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=placeholder)
        with VerticalScroll(id="change-lines", can_focus=False):
            yield Static("", id="lines", markup=False)
        yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Begin with what the score knows; judge again when another lies ready."""
        desk = self.link.desk
        if desk is None or desk.score == self._score:
            return
        first, self._score = self._score is None, desk.score
        if first and desk.score is not None:
            known = typed_conversion(desk.score)
            with self.prevent(Input.Changed):
                self.query_one("#of-magnification", Input).value = known.magnification
                for name, value in zip(("paper", "batch"), self._onto or (), strict=False):
                    self.query_one(f"#of-{name}", Input).value = value
        self._judge()

    def on_input_changed(self) -> None:
        """Show what is typed."""
        self._judge()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def _judge(self) -> Onto | None:
        """Show the change line by line; gives it where it can be made."""
        desk = self.link.desk
        score = desk.score if desk else None
        if desk is None or score is None:
            self._tell("no print lies ready to be converted")
            return None
        fields = {name: self.query_one(f"#of-{name}", Input).value.strip() for name, _, _ in FIELDS}
        typed = fields.pop("tones")
        try:
            wanted = conversion_asked(AskedConversion(**fields))
            if wanted is None:
                self._show(())
                self._tell(NOTHING)
                return None
            densities = tones_asked(tuple(filter(None, typed.split(","))), "densities")
            converted = converted_by_book(score, wanted, densities=densities)
        except DrysideError as error:
            self._tell(sentence(error, CALLED), refused=True)
            return None
        self._show(converted.lines)
        try:
            ready = desk.model_copy(update={"score": converted.score})
            ready.plan(Order.PRINT, self.link.unit.rig)
        except DrysideError as error:
            self._tell(f"this lamp cannot give it yet: {sentence(error, CALLED)}", refused=True)
            return converted
        self._tell("ctrl+s takes it; escape leaves all as it was")
        return converted

    def _show(self, lines: tuple[str, ...]) -> None:
        self.query_one("#lines", Static).update("\n".join(lines))

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    def action_scroll_change(self, by: int) -> None:
        """Go up or down in the lines of the change."""
        self.query_one("#change-lines").scroll_relative(y=by, animate=False)

    def action_take(self) -> None:
        """Take it: it lies ready as a print of its own, and the kept one stays as it is."""
        converted = self._judge()
        if converted is not None:
            self.link.lay_print(converted.score)
            self.terminal.action_room("score")
            self.app.notify(converted.lines[-1], timeout=8, markup=False)
