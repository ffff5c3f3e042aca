"""Two tones that are wanted, solved on a measured box: what was found lies ready as a print."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.errors import DrysideError
from controller.score.report import ready_words
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.paper_form import CLOSED, MOVING, PaperForm, chooser
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.boxes.model import Batch
    from controller.boxes.solved import Measured, Solved

BOTH, ONE = "both", "one"
WAYS = (("soft+hard", BOTH), ("one alone", ONE))
LEAVE, LAY = "leave", "lay"
WHAT = "type a light and the density that it is to have: 0.2=0.12 and 2=1.70"
FITTING = "the curves are fitted"
READY = "ctrl+s lays it ready as a print"


class DosesScreen(PaperForm):
    """Where two tones become exposures."""

    HELP_TEXT: ClassVar[str] = (
        "Two places of the picture: the light that a meter reads there on the easel, in lux, the "
        "negative in and no filter, and the density that the dry print is to have: 0.2=0.12. Or "
        "by the negative's densities, D1.3=0.12, with the bare easel's light. Where the split "
        "sheets were read, soft and hard dose hold both; else the one filter that comes nearest. "
        "Further lights tell where they fall. ctrl+s lays the print ready in the Score room: lens "
        "and head must stay as they were metered."
    )
    FIELDS = (
        ("highlight", "highlight", "0.2=0.12"),
        ("shadow", "shadow", "2=1.70"),
        ("also", "also, lux", "0.5, 1"),
        ("bare", "bare, lux", "for D1.3=0.12"),
        ("aperture", "lens", "as metered"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "lay", "lay it ready", id="doses.lay"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-highlight"

    def __init__(self, batch: Batch) -> None:
        super().__init__()
        self._batch = batch
        self._measured: Measured | None = None
        self._solved: Solved | None = None
        self._why = FITTING

    def compose_room(self) -> ComposeResult:
        """Lay out the fields over what is found."""
        with Grid(classes="form -tight"):
            yield from self.fields("highlight", "shadow", "also", "bare")
            yield Label("with")
            yield chooser("way", WAYS, BOTH)
            yield from self.fields("aperture")
        yield Static(FITTING, id="told", markup=False)
        with VerticalScroll(id="change-lines", can_focus=False):
            yield Static("", id="lines", markup=False)

    def on_mount(self) -> None:
        """Fit the curves beside the screen."""
        super().on_mount()
        self.beside(self._fit, "fit")

    def on_select_changed(self, event: Select.Changed) -> None:  # type: ignore[override]
        """Fit for the other way."""
        del event
        self.beside(self._fit, "fit")

    async def _fit(self) -> None:
        one_filter = self.chosen("way") == ONE
        self._measured, self._solved, self._why = None, None, FITTING
        self.judge()

        def read(book: Book) -> tuple[Measured, str]:
            from controller.boxes.sheets_made import lens_of
            from controller.boxes.solved import measured_of

            readings = book.papers.readings(self._batch)
            found = measured_of(readings, self._batch.handle, one_filter=one_filter)
            return found, lens_of(book, readings)

        try:
            found = await with_book(read)
        except DrysideError as error:
            self._why = sentence(error)
            self.tell(self._why, refused=True)
            return
        if found is None:
            self._why = CLOSED
            self.tell(CLOSED, refused=True)
            return
        self._measured, lens = found
        field = self.query_one("#of-aperture", Input)
        if lens and not field.value:
            with self.prevent(Input.Changed):
                field.value = lens
        self.judge()

    def judge(self) -> None:
        """Solve what is typed, beside the screen."""
        self._solved = None
        self.query_one("#lines", Static).update("")
        if self._measured is None:
            self.tell(self._why, refused=self._why != FITTING)
        elif not self.typed("highlight") or not self.typed("shadow"):
            self.tell(WHAT)
        else:
            self.beside(partial(self._solve, self._measured), "solve")

    async def _solve(self, measured: Measured) -> None:
        texts = {name: self.typed(name) for name in ("highlight", "shadow", "also", "bare")}

        def work() -> Solved:
            from controller.boxes.solved import AskedTones, solved, tones_typed

            also = tuple(texts["also"].replace(",", " ").split())
            asked = AskedTones(texts["highlight"], texts["shadow"], also, texts["bare"])
            return solved(measured, tones_typed(asked))

        try:
            self._solved = await asyncio.to_thread(work)
        except DrysideError as error:
            self.tell(sentence(error), refused=True)
            return
        self.query_one("#lines", Static).update("\n".join(self._solved.lines))
        self.tell(READY)

    # -- laying it ready ---------------------------------------------------------------------

    def action_lay(self) -> None:
        """Lay it ready; what lies there and is kept nowhere is asked about first."""
        desk = self.link.desk
        if self._solved is None or desk is None:
            return
        if desk.score is None or desk.kept_as:
            self._lay(self._solved)
            return
        found = self._solved

        def answered(answer: str | None) -> None:
            if answer == LAY:
                self._lay(found)

        question = f"What lies ready is kept nowhere: {ready_words(desk.score, desk.sheets)}"
        answers = {LEAVE: "leave it as it is", LAY: "put it away for good, and lay this ready"}
        self.app.push_screen(AskScreen(question, answers), answered)

    def _lay(self, found: Solved) -> None:
        from controller.boxes.solved import score_of_solved

        try:
            score = score_of_solved(found, self._batch, self.typed("aperture"))
        except DrysideError as error:
            self.tell(sentence(error), refused=True)
            return
        self.link.lay_print(score)
        self.terminal.action_room("score")
