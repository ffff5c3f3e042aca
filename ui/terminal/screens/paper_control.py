"""Control strips of a box: the chart with its limits, and what drifted."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Static

from controller.boxes.asked import limits_asked
from controller.boxes.control import Limits
from controller.boxes.control_text import control_blocks
from controller.boxes.model import Batch, Purpose
from controller.boxes.told import aims_line, chart_lines, drift_lines
from controller.boxes.watched import Watched, watched
from controller.errors import DrysideError
from ui.terminal.screens.paper_form import CLOSED, MOVING, PaperForm
from ui.terminal.screens.paper_picture import PictureScreen
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from controller.book.book import Book

ROWS = 12  # of the four panels: with what is told of them they fit 80 x 24
BESIDE = 8  # columns at the edges, and for the scrollbar


def when(at: datetime) -> str:
    """Write a wall-clock time in local time."""
    return at.astimezone().strftime("%d %b %H:%M")


class ControlScreen(PaperForm):
    """Where control strips are looked at."""

    HELP_TEXT: ClassVar[str] = (
        "The control strips of this box, one after the other: by how much white, speed (a light "
        "grey), contrast (a dark grey less the light one) and black are off their aim, the mean of "
        "the first three strips. Dots are the limits of watching, double lines those of acting; "
        "both can be typed. To add one: s on the page of the box exposes a wedge, and r there "
        "types in what it became, as control strip. ctrl+g keeps the chart as a picture."
    )
    FIELDS = (
        ("filter", "filter", "the newest's"),
        ("watch", "watch", "0.05"),
        ("act", "act", "0.10"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+g", "picture", "picture", id="control.picture"),
        *MOVING,
    ]
    AUTO_FOCUS = "#change-lines"

    def __init__(self, batch: Batch) -> None:
        super().__init__()
        self._batch = batch
        self._found: tuple[Watched, Limits] | None = None

    def compose_room(self) -> ComposeResult:
        """Lay out filter and limits over the chart."""
        with Grid(classes="form -tight -head"):
            yield from self.fields()
        with VerticalScroll(id="change-lines"):
            yield Static("reading the book", id="lines", markup=False)
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Read the strips beside the screen."""
        super().on_mount()
        self.judge()

    def on_resize(self) -> None:
        """Draw anew when it is known how much room there is."""
        self.call_after_refresh(self._show)

    def judge(self) -> None:
        """Chart what is wanted, or say why it cannot be."""
        self._found = None
        try:
            limits = limits_asked(self.typed("watch"), self.typed("act"))
        except DrysideError as error:
            self.tell(sentence(error), refused=True)
            return
        self.beside(partial(self._read, self.typed("filter"), limits), "read")

    async def _read(self, filter_: str, limits: Limits) -> None:
        wanted = {"": None, "none": ""}.get(filter_, filter_)

        def read(book: Book) -> Watched:
            strips = book.papers.readings(self._batch, Purpose.CONTROL)
            return watched(self._batch, strips, book.papers.curves(self._batch), wanted, limits)

        try:
            found = await with_book(read)
        except DrysideError as error:
            self.query_one("#lines", Static).update("")
            self.tell(sentence(error), refused=True)
            return
        if found is None:
            self.tell(CLOSED, refused=True)
            return
        self._found = found, limits
        if found.filter is not None:
            self.query_one("#of-filter", Input).placeholder = found.filter or "none"
        self._show()

    def _show(self) -> None:
        if self._found is None:
            return
        found, limits = self._found
        lines, advice = [], []
        if found.chart:
            columns = max(40, self.size.width - BESIDE)
            lines += control_blocks(found.chart, limits, columns=columns, rows=ROWS)
            lines += [aims_line(found.chart), *chart_lines(found.chart, when)[1:]]
            advice = list(found.chart.advice) or ["all is within its limits"]
        if found.drift:
            lines += ["", "last calibration against the one before:"]
            lines += drift_lines(found.drift, when)
        self.query_one("#lines", Static).update("\n".join(lines))
        self.tell(advice[0] if advice else "")

    def action_picture(self) -> None:
        """Keep the chart as a picture."""
        if self._found is None or self._found[0].chart is None:
            self.tell("there is no chart to be drawn", refused=True)
            return
        charted, limits, title = self._found[0].chart, self._found[1], self._batch.handle

        def draw(path: Path) -> str:
            from controller.pictures.control_plot import control_plot
            from controller.pictures.paper_plot import require_ending

            require_ending(path, "file")
            control_plot(charted, path, title=title, limits=limits)
            return ""

        name = f"control-{self._batch.handle.replace('/', '-')}.png"
        self.app.push_screen(PictureScreen(f"The chart of {title}", name, draw))
