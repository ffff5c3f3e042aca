"""Paper, a page of the book: each box with its curves and figures, and all that is done with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from controller.boxes.text_plot import plot
from controller.boxes.told import curve_line, in_order, told_batch
from controller.errors import DrysideError
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.ready_lines import ReadyLines

if TYPE_CHECKING:
    from pathlib import Path

    from controller.book.book import Book
    from controller.boxes.model import Batch, PaperCurve, PaperReading
    from controller.boxes.sheets_made import Kept, Listed, MadeSheet

COLUMNS, ROWS = 74, 11  # of the drawing: with the figures it fits 80 x 24
MOST_SHEETS = 12  # that are offered to be read
NONE_YET = (
    "No box of paper is written down yet: a writes one down. Then s makes a calibration sheet of "
    "it, and r takes what it became when it is dry."
)
CLOSED = "the book cannot be opened"
NO_SHEET = "no calibration sheet of this box was made yet: s makes one"
NO_CURVE = "no curve yet: s makes a calibration sheet, r reads it when it is dry"
NO_OTHER = "there is no other box of paper; a writes one down"
READ, SCAN = "read", "scan"
MATCHED = (
    "For each filter of the first box the nearest of the other, by range, and what it wants: plus "
    "is more light. A score is converted with v on the page of its new box."
)
DO = {  # what is done with boxes: key, word, and for the palette
    "new": ("a", "new box", "write a box of paper down"),
    "sheet": ("s", "sheet", "make a calibration sheet"),
    "read": ("r", "read", "type in what a sheet became"),
    "scan": ("i", "scan", "read a sheet from a scan"),
    "doses": ("d", "doses", "for two tones, soft and hard"),
    "match": ("m", "match", "with another box"),
    "control": ("c", "control", "the chart of its control strips"),
    "convert": ("v", "convert", "the score onto this box"),
    "picture": ("g", "picture", "its curves into a file"),
}
LINES = (("new", "sheet", "read", "scan", "doses"), ("match", "control", "convert", "picture"))


@dataclass(frozen=True)
class Box:
    """A box of paper as it is shown."""

    batch: Batch
    curves: dict[str, PaperCurve]
    readings: list[PaperReading]
    lines: tuple[str, ...] = ()


class PaperScreen(PageOver):
    """Every box of paper, one at a time, the newest first."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "The boxes of paper in the book, the newest first; n and b go through them. Each shows the "
        "newest curve of every filter, drawn with its patches (the sign is the first letter of the "
        "filter's name), and its ISO figures. a writes a new box down. s has a calibration sheet "
        "made, r takes what it became when it is dry, i reads it from a scan. d finds the doses "
        "for two tones and lays a print ready; m compares with another box, v brings the score "
        "that lies ready onto this one, c shows its control strips, g draws the curves into a "
        "file. escape goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "turn(1)", "next box", id="paper.next"),
        Binding("b", "turn(-1)", "box before", id="paper.before"),
        *(
            Binding(key, f"do('{name}')", word, id=f"paper.{name}", show=False)
            for name, (key, word, _) in DO.items()
        ),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "VerticalScroll"

    def __init__(self) -> None:
        super().__init__()
        self._boxes: list[Box] = []
        self._at = 0
        self._is_read = False
        self._wanted = ""  # what was asked for before the boxes were read
        self._newest: int | None = None  # a box that was just written down

    def compose_room(self) -> ComposeResult:
        """Lay out the box that is looked at, over what can be done with it."""
        with VerticalScroll(id="paper"):
            yield Static("reading the book", id="paper-box", markup=False)
        yield Static("", id="told", markup=False)
        yield ReadyLines(id="ready")

    def show_room(self) -> None:
        """Read the boxes beside the screen."""
        self.beside(self._read, "read")

    def action_turn(self, by: int) -> None:
        """Go to another box; the first and the last stay where they are."""
        if self._boxes:
            self._at = max(0, min(len(self._boxes) - 1, self._at + by))
            self._tell("")
            self._show()

    async def _read(self) -> None:
        found = await with_book(boxes)
        if found is None:
            self.query_one("#paper-box", Static).update(CLOSED)
            return
        self._boxes = found
        numbers = [box.batch.number for box in found]
        if self._newest in numbers:
            self._at = numbers.index(self._newest)
        self._newest = None
        self._at = min(self._at, max(0, len(found) - 1))
        self._is_read = True
        self._show()
        wanted, self._wanted = self._wanted, ""
        if wanted:
            self.action_do(wanted)

    def _show(self) -> None:
        text = "\n".join(self._boxes[self._at].lines) if self._boxes else NONE_YET
        if len(self._boxes) > 1:
            text = f"box {self._at + 1} of {len(self._boxes)}: {text}"
        self.query_one("#paper-box", Static).update(text)
        lines = LINES if self._boxes else (("new",),)
        self.query_one(ReadyLines).show([[DO[name][:2] for name in line] for line in lines])

    def _tell(self, words: str) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.display = bool(words)

    # -- what is done with a box -------------------------------------------------------------

    def action_do(self, name: str) -> None:
        """Do something with the box that is looked at."""
        self._tell("")
        if name == "new":
            self._new()
        elif not self._is_read:
            self._wanted = name
        elif not self._boxes:
            self._tell(NONE_YET)
        else:
            do: dict[str, Callable[[Box], None]] = {
                "sheet": self._sheet,
                "read": partial(self._ask_sheet, READ),
                "scan": partial(self._ask_sheet, SCAN),
                "doses": self._doses,
                "match": self._match,
                "control": self._control,
                "convert": self._convert,
                "picture": self._picture,
            }
            do[name](self._boxes[self._at])

    def _new(self) -> None:
        from ui.terminal.screens.paper_box import NewBoxScreen

        def written(batch: Batch) -> None:
            # the next key may come before the book was read again
            self._newest, self._at = batch.number, 0
            self._boxes.insert(0, Box(batch, {}, [], tuple(box_lines(batch, {}, []))))
            self._show()
            self._tell(f"{batch.handle} is written down; s makes a calibration sheet of it")

        self.app.push_screen(NewBoxScreen(written))

    def _sheet(self, box: Box) -> None:
        from ui.terminal.screens.paper_sheet import SheetScreen

        self.app.push_screen(SheetScreen(box.batch))

    def _doses(self, box: Box) -> None:
        from ui.terminal.screens.paper_doses import DosesScreen

        self.app.push_screen(DosesScreen(box.batch))

    def _control(self, box: Box) -> None:
        from ui.terminal.screens.paper_control import ControlScreen

        self.app.push_screen(ControlScreen(box.batch))

    def _convert(self, box: Box) -> None:
        from ui.terminal.screens.converting import ConvertingScreen

        self.app.push_screen(ConvertingScreen(onto=(box.batch.name, box.batch.box)))

    # -- reading a sheet ---------------------------------------------------------------------

    def _ask_sheet(self, way: str, box: Box) -> None:
        self.beside(partial(self._sheets, way, box.batch), "page")

    async def _sheets(self, way: str, batch: Batch) -> None:
        def read(book: Book) -> list[Listed]:
            from controller.boxes.sheets_made import sheets_made

            return sheets_made(book, batch)

        found = await with_book(read)
        if not found:
            self._tell(CLOSED if found is None else NO_SHEET)
            return
        answers = {
            one.mark: f"{one.mark}  {one.title}{', read already' if one.is_read else ''}"
            for one in found[:MOST_SHEETS]
        }

        def answered(mark: str | None) -> None:
            if mark:
                self.beside(partial(self._open_sheet, way, mark), "page")

        self.app.push_screen(AskScreen(f"which sheet of {batch.handle}?", answers), answered)

    async def _open_sheet(self, way: str, mark: str) -> None:
        def look(book: Book) -> MadeSheet:
            from controller.boxes.sheets_made import sheet_made

            return sheet_made(book, mark)

        try:
            made = await with_book(look)
        except DrysideError as error:
            self._tell(sentence(error))
            return
        if made is None:
            self._tell(CLOSED)
            return
        self.app.push_screen(self._reading(way, made))

    def _reading(self, way: str, made: MadeSheet) -> Screen[None]:
        from ui.terminal.screens.paper_reading import ReadingScreen, words_of
        from ui.terminal.screens.paper_scan import ScanScreen

        def kept(kept: Kept) -> None:
            self._tell(words_of(kept))

        if way == SCAN:
            return ScanScreen(made, kept)
        return ReadingScreen(made, self.link.imagined.get(made.mark), kept)

    # -- comparing, and drawing --------------------------------------------------------------

    def _match(self, box: Box) -> None:
        others = [one.batch for one in self._boxes if one is not box]
        if not others:
            self._tell(NO_OTHER)
            return

        def answered(handle: str | None) -> None:
            if handle:
                self.beside(partial(self._matched, box.batch.handle, handle), "page")

        answers = dict.fromkeys(one.handle for one in others)
        self.app.push_screen(AskScreen(f"{box.batch.handle}, beside which?", answers), answered)

    async def _matched(self, first: str, second: str) -> None:
        def read(book: Book) -> list[str]:
            from controller.boxes.match import match_lines

            return match_lines(book.papers.box(first), book.papers.box(second))

        try:
            lines = await with_book(read)
        except DrysideError as error:
            self._tell(sentence(error))
            return
        if lines is None:
            self._tell(CLOSED)
            return
        from ui.terminal.screens.lines_page import LinesPage

        self.app.push_screen(LinesPage("book", f"{first} to {second}", lines, MATCHED))

    def _picture(self, box: Box) -> None:
        if not box.curves:
            self._tell(NO_CURVE)
            return
        from ui.terminal.screens.paper_picture import PictureScreen

        def draw(path: Path) -> str:
            from controller.pictures.box_plot import draw_box

            return draw_box(box.batch, box.curves, box.readings, path, "file")

        handle = box.batch.handle
        name = f"{handle.replace('/', '-').replace(' ', '-')}.png"
        self.app.push_screen(PictureScreen(f"The curves of {handle}", name, draw))

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        for name, (_, word, words) in DO.items():
            yield SystemCommand(f"Paper: {word}", words, lambda name=name: self.action_do(name))


def boxes(book: Book) -> list[Box]:
    """Read every box, and draw it; in a thread, since drawing a curve loads much."""
    return [
        Box(batch, curves, readings, tuple(box_lines(batch, curves, readings)))
        for batch in book.papers.batches()
        for curves, readings in [(book.papers.newest_curves(batch), book.papers.readings(batch))]
    ]


def box_lines(
    batch: Batch, curves: dict[str, PaperCurve], readings: list[PaperReading]
) -> list[str]:
    """Tell a box: its name, its curves drawn, and their figures."""
    lines = [told_batch(batch)]
    if not curves:
        seen = {  # the newest of each filter is the last put in
            one.filter: f"filter {one.filter or 'none'}, by eye: {one.note}"
            for one in reversed(readings)
            if one.how.value == "by eye" and one.note
        }
        return [*lines, "", *seen.values(), NO_CURVE]
    from controller.boxes.drawn import family  # loads numpy and scipy

    lines += plot(family(curves, readings), columns=COLUMNS, rows=ROWS)
    return [*lines, *map(curve_line, in_order(curves))]
