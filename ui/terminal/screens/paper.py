"""Paper, a page of the book: each box with its curves, drawn in half blocks, and its figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from ui.terminal.screens.page import PageOver
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.boxes.model import Batch, PaperCurve, PaperReading

COLUMNS, ROWS = 74, 11  # of the drawing: with the figures it fits 80 x 24
NONE_YET = (
    "No box of paper is written down yet. At the prompt:\n\n"
    "  dryside paper new NAME          writes one down\n"
    "  dryside paper sheet NAME        makes a calibration sheet of it\n"
    "  dryside paper read MARK ...     says what it became"
)
CLOSED = "the book cannot be opened"


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
        "The boxes of paper in the book, the newest first; n and b go through them. Each "
        "shows the newest curve of every filter, drawn with its patches (the sign is the first "
        "letter of the filter's name), and its ISO figures. Calibration sheets, conversions and "
        "control charts are made at the prompt: dryside paper --help. escape goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="page.back"),
        Binding("n", "turn(1)", "next box", id="paper.next"),
        Binding("b", "turn(-1)", "box before", id="paper.before"),
    ]
    AUTO_FOCUS = "VerticalScroll"

    def __init__(self) -> None:
        super().__init__()
        self._boxes: list[Box] = []
        self._at = 0

    def compose_room(self) -> ComposeResult:
        """Lay out the box that is looked at."""
        with VerticalScroll(id="paper"):
            yield Static("reading the book", id="paper-box", markup=False)

    def show_room(self) -> None:
        """Read the boxes beside the screen."""
        self.beside(self._read, "read")

    def action_turn(self, by: int) -> None:
        """Go to another box; the first and the last stay where they are."""
        if self._boxes:
            self._at = max(0, min(len(self._boxes) - 1, self._at + by))
            self._show()

    async def _read(self) -> None:
        found = await with_book(boxes)
        if found is None:
            self.query_one("#paper-box", Static).update(CLOSED)
            return
        self._boxes = found
        self._at = min(self._at, max(0, len(found) - 1))
        self._show()

    def _show(self) -> None:
        text = "\n".join(self._boxes[self._at].lines) if self._boxes else NONE_YET
        if len(self._boxes) > 1:
            text = f"box {self._at + 1} of {len(self._boxes)}: {text}"
        self.query_one("#paper-box", Static).update(text)


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
    from controller.boxes.drawn import family
    from controller.boxes.text_plot import plot
    from controller.boxes.told import curve_line, in_order, told_batch

    lines = [told_batch(batch)]
    if not curves:
        seen = {  # the newest of each filter is the last put in
            one.filter: f"filter {one.filter or 'none'}, by eye: {one.note}"
            for one in reversed(readings)
            if one.how.value == "by eye" and one.note
        }
        return [
            *lines,
            "",
            *seen.values(),
            f"no curve yet: dryside paper sheet {batch.handle} --filter 2",
        ]
    lines += plot(family(curves, readings), columns=COLUMNS, rows=ROWS)
    return [*lines, *map(curve_line, in_order(curves))]
