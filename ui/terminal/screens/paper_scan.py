"""A calibration sheet read from a scan: what was found is shown before it is kept."""

from __future__ import annotations

import asyncio
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Label, Static

from controller.boxes.model import How, Point
from controller.boxes.scanned import scan_points
from controller.boxes.sheets_made import MadeSheet, keep_sheet
from controller.boxes.told import scan_lines
from controller.errors import DrysideError
from ui.commands.paper_keep import typed_or_file
from ui.terminal.screens.paper_form import MOVING, NOT_WRITTEN, PaperForm, chooser
from ui.terminal.screens.paper_reading import CONTROL, CURVE, PURPOSES
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from collections.abc import Callable

    from controller.book.book import Book
    from controller.boxes.sheets_made import Kept

ABOVE, BELOW = "above", "below"
LIES = (("above the strip", ABOVE), ("below it, or right of it", BELOW))
WHAT = "type where the scan lies and the tablet's densities; ctrl+s reads it"
READING = "reading the scan"
AGAIN = "ctrl+s again keeps this; escape leaves it"


class ScanScreen(PaperForm):
    """Where a scan is read."""

    HELP_TEXT: ClassVar[str] = (
        "A scan of the dry sheet beside a reflection step tablet: side by side, 5 mm or more "
        "apart, white around both, 300 dpi, no automatic exposure. The tablet's densities from "
        "its white end, or a text file that holds them. ctrl+s reads the scan and shows what was "
        "found and what is doubtful; ctrl+s again keeps it."
    )
    FIELDS = (
        ("file", "scan", "a PNG, TIFF or JPEG: folder/scan.png"),
        ("tablet", "tablet", "0.05, 0.15, 0.25, or a file of them"),
        ("note", "remark", ""),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "go", "read it", id="scan.go"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-file"

    def __init__(self, made: MadeSheet, kept: Callable[[Kept], None]) -> None:
        super().__init__()
        self._made = made
        self._kept = kept
        self._found: tuple[Point, ...] | None = None  # what was read, and is not kept yet

    def compose_room(self) -> ComposeResult:
        """Lay out the fields over what is found."""
        title = self._made.sheet.title().partition(", ")[2]
        yield Static(f"{self._made.mark}: {title}", classes="heading", markup=False)
        with Grid(classes="form -tight -two -wide"):
            yield from self.fields()
            yield Label("it lies")
            yield chooser("lies", LIES, ABOVE)
            yield Label("for")
            yield chooser("purpose", PURPOSES, CURVE)
        yield Static(WHAT, id="told", markup=False)
        with VerticalScroll(id="change-lines", can_focus=False):
            yield Static("", id="lines", markup=False)

    def judge(self) -> None:
        """What was found holds no longer, once something else is typed."""
        if self._found is not None:
            self._found = None
            self.query_one("#lines", Static).update("")
        self.tell(WHAT)

    def action_go(self) -> None:
        """Read it; what was read already is kept."""
        if self._found is None:
            self.tell(READING)
            self.beside(self._read, "page")
        else:
            self.beside(partial(self._keep, self._found), "page")

    async def _read(self) -> None:
        file = str(Path(self.typed("file")).expanduser())
        below, typed = self.chosen("lies") == BELOW, self.typed("tablet")

        def read() -> tuple[tuple[Point, ...], tuple[str, ...]]:
            tablet = typed_or_file(typed, "--tablet")
            return scan_points(self._made, file, tablet, below=below)

        try:
            points, warnings = await asyncio.to_thread(read)
        except DrysideError as error:
            self.query_one("#lines", Static).update("")
            self.tell(sentence(error), refused=True)
            return
        self._found = points
        self.query_one("#lines", Static).update("\n".join(scan_lines(points, warnings)))
        self.tell(AGAIN)

    async def _keep(self, points: tuple[Point, ...]) -> None:
        control, note = self.chosen("purpose") == CONTROL, self.typed("note")

        def write(book: Book) -> Kept:
            return keep_sheet(book, self._made, points, How.SCAN, control=control, note=note)

        kept = await with_book(write)
        if kept is None:
            self.tell(NOT_WRITTEN, refused=True)
            return
        self._kept(kept)
        self.action_back()
