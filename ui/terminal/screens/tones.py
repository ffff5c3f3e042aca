"""The tones to be expected of strip and print, on a measured paper, before any is used."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Static

from controller.boxes.preview import filters_of
from controller.errors import DrysideError
from controller.score.model import Score
from controller.strips.strip import Strip
from ui.terminal.expected import Expected, look_up, used_by
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.strip_drawing import StripDrawing

FIELDS = (
    ("box", "paper", "the newest that has a curve"),
    ("light", "light", "lux at the strip's place: 0.4; or a patch: C=0.30"),
    ("regions", "regions", "lux of the print's regions: sky=0.3, house=0.9"),
)
ASKED = "type the light: a meter's lux on the easel, without a filter, the negative in"
NO_PRINT = "no print lies ready that these could be regions of"
LAST_WORD = "to be expected by the curve; the paper has the last word"


class TonesScreen(PageOver):
    """Where it is asked what will come out."""

    NAME = "strip"
    HELP_TEXT: ClassVar[str] = (
        "What the strip and the print that lie ready will look like on a paper that was measured. "
        "Light is what a meter reads on the easel without a filter, negative in, lens at the "
        "working aperture; or one patch whose density is known (C=0.30). The strip's own form "
        "then shows the same tones, in brackets, until the strip is made. escape goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="tones.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="tones.before"),
    ]
    AUTO_FOCUS = "#of-light"

    def __init__(self) -> None:
        super().__init__()
        self._why = "reading the book"

    def compose_room(self) -> ComposeResult:
        """Lay out the fields over strip and regions."""
        with Grid(classes="form -tight -two -wide"):
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=placeholder)
        with VerticalScroll(id="tones", can_focus=False):
            yield StripDrawing(id="drawing")
            yield Static("", id="lines", markup=False)
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Begin with what was asked before."""
        with self.prevent(Input.Changed):
            for name, _, _ in FIELDS:
                self.query_one(f"#of-{name}", Input).value = getattr(self.terminal.expected, name)
        super().on_mount()
        self.beside(self._look_up, "paper")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Show what is typed; another box is looked up first."""
        name = (event.input.id or "").removeprefix("of-")
        setattr(self.terminal.expected, name, event.value.strip())
        if name == "box":
            self.beside(self._look_up, "paper")
        else:
            self.show_room()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    async def _look_up(self) -> None:
        expected, desk = self.terminal.expected, self.link.desk
        if desk is None:
            return
        wanted = {frozenset(filters_of(desk.strip)), used_by(desk.score)} - {frozenset()}
        try:
            found = await with_book(lambda book: look_up(book, expected.box, wanted))
        except DrysideError as error:
            expected.papers, expected.handle = {}, ""
            self._why = sentence(error)
        else:
            self._why = "the book cannot be opened"
            if found is not None:
                expected.handle, expected.absolute, expected.papers, self._why = found
        self.show_room()

    def show_room(self) -> None:
        """Show the tones that are known."""
        expected, desk = self.terminal.expected, self.link.desk
        drawing, lines = self.query_one(StripDrawing), self.query_one("#lines", Static)
        drawing.show(None)
        lines.update("")
        if desk is None or not expected.papers:
            self._tell(self._why, refused=bool(self._why) and not expected.papers)
            return
        # the strip's filter may have no curve where the print's has one: each is told on its own
        whys = [self._show_strip(expected, desk.strip), self._show_regions(expected, desk.score)]
        if refused := next(filter(None, whys), ""):
            self._tell(refused, refused=True)
            return
        asked = expected.light or expected.regions
        self._tell(f"{expected.handle}: {LAST_WORD if asked else ASKED}")

    def _show_strip(self, expected: Expected, strip: Strip) -> str:
        """Show the strip's tones where its light was told; says why it cannot."""
        if not expected.light:
            return ""
        paper = expected.papers.get(frozenset(filters_of(strip)))
        if paper is None:
            return self._why
        try:
            tones = expected.strip_tones(paper, strip)
        except DrysideError as error:
            return sentence(error)
        densities = {tone.name: tone.density for tone in tones}
        self.query_one(StripDrawing).show(strip, densities, expected=True)
        return ""

    def _show_regions(self, expected: Expected, score: Score | None) -> str:
        """Show the tones of regions whose light was told; says why it cannot."""
        if not expected.regions:
            return ""
        if score is None:
            return NO_PRINT
        paper = expected.papers.get(used_by(score))
        if paper is None:
            return self._why
        try:
            shown = expected.region_lines(paper, score)
        except DrysideError as error:
            return sentence(error)
        self.query_one("#lines", Static).update("\n".join(shown))
        return ""

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")
