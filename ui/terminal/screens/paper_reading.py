"""What a dry calibration sheet became: typed patch by patch, or as an eye sees it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Static

from controller.boxes.asked import AskedEye, patches_asked, seen_asked
from controller.boxes.model import How, Point
from controller.boxes.sheets_made import (
    MadeSheet,
    eye_points,
    imagined_points,
    keep_sheet,
    typed_points,
)
from controller.boxes.told import range_note
from controller.errors import DrysideError
from ui.commands.paper_keep import told as told_of
from ui.terminal.screens.paper_form import MOVING, NOT_WRITTEN, PaperForm, chooser
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from collections.abc import Callable

    from controller.book.book import Book
    from controller.boxes.sheets_made import Kept

READ, EYE = "densities", "by eye"
CURVE, CONTROL = "curve", "control"
WAYS = (("densities", READ), ("by eye", EYE))
PURPOSES = (("its curve", CURVE), ("control", CONTROL))
CALLED = {"by-eye": "grey and black from", "densities": "densities"}
TYPE = "type what the densitometer reads; enter goes on to the next patch"
LOOK = "the first patch that is no white, and the first that is as black as the rest"
TELLS = "the simulator tells what its paper became; ctrl+s keeps it"


class ReadingScreen(PaperForm):
    """Where a sheet is read."""

    HELP_TEXT: ClassVar[str] = (
        "The dry sheet, from patch A, the lightest, on. Densities as a densitometer reads them: "
        "enter goes to the next patch, a dash or nothing leaves one out, two readings of a patch "
        "stand with a space between and count by their mean. By eye: the first patch that can be "
        "told from white and the first that cannot from black give a range and no curve; a grey "
        "of known density that matches a patch helps. For control it is a strip that only watches "
        "the process. ctrl+s keeps it; the curve is fitted at once."
    )
    FIELDS = (
        ("light", "grey from", "E"),
        ("dark", "black from", "O"),
        ("grey", "as a grey", "J=0.90"),
        ("white", "white", "0.06"),
        ("black", "black", "2.05"),
        ("note", "remark", ""),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "keep it", id="reading.keep"),
        *MOVING,
    ]
    AUTO_FOCUS = "#patches Input"

    def __init__(
        self, made: MadeSheet, imagined: list[float] | None, kept: Callable[[Kept], None]
    ) -> None:
        super().__init__()
        self._made = made
        self._imagined = imagined  # by the simulator
        self._told = [f"{value:.3f}" for value in imagined or ()]
        self._kept = kept

    def compose_room(self) -> ComposeResult:
        """Lay out a field for each patch, and those of the eye."""
        title = self._made.sheet.title().partition(", ")[2]
        yield Static(f"{self._made.mark}: {title}", classes="heading", markup=False)
        with Grid(classes="form -tight -head"):
            yield Label("read")
            yield chooser("way", WAYS, READ)
            yield Label("for")
            yield chooser("purpose", PURPOSES, CURVE)
            yield from self.fields("note")
        yield Static(TYPE, id="told", markup=False)
        with VerticalScroll(id="change-lines", can_focus=False):
            with Grid(id="patches"):
                for at, label in enumerate(self._labels):
                    yield Label(label)
                    value = self._told[at] if at < len(self._told) else ""
                    yield Input(value, id=f"patch-{at}", compact=True)
            with Grid(id="eye", classes="form -tight"):
                yield from self.fields("light", "dark", "grey", "white", "black")

    @property
    def _labels(self) -> list[str]:
        return [one.label for one in self._made.patches]

    def on_mount(self) -> None:
        """Show the fields of the way that is chosen."""
        super().on_mount()
        self.judge()

    def judge(self) -> tuple[tuple[Point, ...], How, str] | None:  # type: ignore[override]
        """Say what is read so far, or what is wrong with it; gives it where it can be kept."""
        by_eye = self.chosen("way") == EYE
        self.query_one("#patches").display = not by_eye
        self.query_one("#eye").display = by_eye
        try:
            return self._by_eye() if by_eye else self._by_densities()
        except DrysideError as error:
            self.tell(sentence(error, CALLED), refused=True)
            return None

    def _by_densities(self) -> tuple[tuple[Point, ...], How, str] | None:
        texts = [self.query_one(f"#patch-{at}", Input).value for at in range(len(self._labels))]
        if self._imagined and texts == self._told:
            self.tell(TELLS)
            return imagined_points(self._made, self._imagined), How.IMAGINED, ""
        typed = dict(zip(self._labels, texts, strict=True))
        times = patches_asked(typed, self._made.sheet)
        if not times:
            self.tell(TYPE)
            return None
        points = typed_points(self._made, times)
        self.tell(f"{len(points)} of {len(self._labels)} patches are read; ctrl+s keeps them")
        return points, How.DENSITOMETER, ""

    def _by_eye(self) -> tuple[tuple[Point, ...], How, str] | None:
        light, dark = self.typed("light"), self.typed("dark")
        if not light or not dark:
            self.tell(LOOK)
            return None
        asked = AskedEye(
            f"{light},{dark}", self.typed("grey"), self.typed("white"), self.typed("black")
        )
        points, seen = eye_points(self._made, seen_asked(asked))
        self.tell(f"{seen.tell()}; ctrl+s keeps it")
        return points, How.BY_EYE, range_note(seen)

    def action_keep(self) -> None:
        """Keep it, and go back."""
        if (read := self.judge()) is not None:
            self.beside(partial(self._keep, *read), "page")

    async def _keep(self, points: tuple[Point, ...], how: How, note: str) -> None:
        control, remark = self.chosen("purpose") == CONTROL, self.typed("note") or note

        def write(book: Book) -> Kept:
            return keep_sheet(book, self._made, points, how, control=control, note=remark)

        self.tell("it is kept, and its curve fitted")
        kept = await with_book(write)
        if kept is None:
            self.tell(NOT_WRITTEN, refused=True)
            return
        self._kept(kept)
        self.action_back()


def words_of(kept: Kept) -> str:
    """Tell what was kept in a few words."""
    said = told_of(kept)
    return f"{kept.reading.mark} is kept" + (f": {said[0]}" if said else "")
