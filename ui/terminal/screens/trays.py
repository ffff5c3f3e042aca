"""The trays: tonight's sheets, in the order in which they left the light."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from controller.trays.free import light_words
from drivers.engine_words import OfTrays
from ui.terminal.screens.base import RoomScreen
from ui.terminal.screens.book import clock
from ui.terminal.shelf import sheets_of_tonight, with_book
from ui.terminal.widgets.title_table import TitleTable
from ui.terminal.widgets.trays_clock import DRY, TraysClock, headline, steps_of

CAUTION = (
    "Tongs and gloves, not hands; fresh air over the trays. Acid into water, never the reverse. "
    "Never touch a plug or a switch with wet hands. What the maker's data sheet says comes first."
)
NONE = "none"
CELSIUS = range(16, 27)
USUAL = range(4, 9)  # factors for prints (common practice, no source)
MOST_ASKED = 8
BESIDE = 35  # cells that the other columns need


class TraysScreen(RoomScreen):
    """Where tonight's sheets are."""

    NAME = "trays"
    HELP_TEXT = (
        "p chooses what prints go through, t its temperature. From then on a sheet is counted in "
        "ten seconds after its last light, and each move is called by its mark; nothing has to be "
        "tapped. A tap of the wet pedal, or l (no long press here), says late just after a call, "
        "and not yet just before one. f develops by factor: the first tap over the developer says "
        "that the image appears. i puts a sheet in now, x counts one no more. b opens the batches "
        "of what waits in the holding bath. Light that would outlast the next move is "
        "kept back once; a second tap overrides. Below: tonight's sheets in the order in which "
        "light last fell on them."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "process", "process", id="trays.process"),
        Binding("t", "temperature", "warm", id="trays.temperature"),
        Binding("f", "factor", "factor", id="trays.factor"),
        Binding("i", "put_in", "in", id="trays.in"),
        Binding("l", "late", "late", id="trays.late"),
        Binding("x", "take_off", "off", id="trays.off"),
        Binding("b", "app.page('batches')", "batch", id="trays.batches"),
        Binding("up", "scroll_sheets(-1)", "earlier sheets", id="trays.up", show=False),
        Binding("down", "scroll_sheets(1)", "later sheets", id="trays.down", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._tonight: list[str] = []  # the newest first

    def compose_room(self) -> ComposeResult:
        """Lay out the clock over tonight's sheets, and the cautions."""
        yield Static("", id="clock", classes="heading", markup=False)
        yield TraysClock(id="lines")
        yield Static("", id="warnings", markup=False)
        table = TitleTable(
            "mark", "last light", "came out", beside=BESIDE, id="sheets", cursor_type="none"
        )
        table.can_focus = False  # nothing to choose: enter stays the pedal
        yield table
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Count down while there is something to count."""
        super().on_mount()
        self.set_interval(0.5, self._count)

    # -- keys --------------------------------------------------------------------------------

    def action_process(self) -> None:
        """Choose what prints go through."""
        from ui.terminal.screens.ask import AskScreen

        names: dict[str, str | None] = {
            name: f"{name}: {steps_of(process)}"
            for name, process in self.link.unit.rig.processes().items()
        }
        names[NONE] = "none: the trays are not counted"

        def chosen(name: str | None) -> None:
            if name is not None:
                trays = self.link.trays
                self._choose("" if name == NONE else name, trays.celsius, trays.factor_asked)

        self.app.push_screen(AskScreen("What do prints go through?", names), chosen)

    def action_temperature(self) -> None:
        """Choose how warm developer and fixer are."""
        from ui.terminal.screens.ask import AskScreen

        trays = self.link.trays
        if not trays.process:
            self.app.notify("choose a process first: p", timeout=6)
            return
        process = self.link.unit.rig.processes()[trays.process]
        degrees: dict[str, str | None] = {
            str(celsius): f"{celsius} C: {steps_of(process.at(celsius))}" for celsius in CELSIUS
        }

        def chosen(celsius: str | None) -> None:
            if celsius is not None:
                self._choose(trays.process, float(celsius), trays.factor_asked)

        self.app.push_screen(AskScreen("How warm are the trays?", degrees), chosen)

    def action_factor(self) -> None:
        """Choose by which factor of the first image prints are developed."""
        from ui.terminal.screens.ask import AskScreen

        trays = self.link.trays
        if not trays.process:
            self.app.notify("choose a process first: p", timeout=6)
            return
        names: dict[str, str | None] = {
            str(factor): f"{factor}: an image at 20 s gives {factor * 20} s" for factor in USUAL
        }
        names[NONE] = "none: as the process says"

        def chosen(name: str | None) -> None:
            if name is not None:
                factor = None if name == NONE else float(name)
                self._choose(trays.process, trays.celsius, factor)

        self.app.push_screen(AskScreen("How many times the first image?", names), chosen)

    def action_put_in(self) -> None:
        """Put a sheet in now."""
        if not self.link.trays.process:
            self.app.notify("choose a process first: p", timeout=6)
            return
        under_way = {line.mark for line in self.link.trays.lines if line.where != DRY}
        marks = [line.mark for line in self.link.trays.lines if line.where == DRY]
        marks += [mark for mark in self._tonight if mark not in (*under_way, *marks)]
        self._of_a_sheet("Which sheet goes in now?", marks[:MOST_ASKED], "put-in")

    def action_take_off(self) -> None:
        """Count a sheet no more."""
        marks = [line.mark for line in self.link.trays.lines if line.due_ns is not None]
        self._of_a_sheet("Which sheet is counted no more?", marks, "take-off")

    def action_late(self) -> None:
        """Say late, or not yet, as a tap of the wet pedal does."""
        self.link.send(OfTrays("tap"))

    def _choose(self, name: str, celsius: float, factor: float | None) -> None:
        self.link.send(OfTrays("choose", name, celsius, factor))

    def _of_a_sheet(self, question: str, marks: list[str], what: str) -> None:
        from ui.terminal.screens.ask import AskScreen

        def chosen(mark: str | None) -> None:
            if mark is not None:
                self.link.send(OfTrays(what, mark))

        if marks:
            self.app.push_screen(AskScreen(question, dict.fromkeys(marks)), chosen)
        else:
            self.app.notify("there is no such sheet now", timeout=6)

    def action_scroll_sheets(self, by: int) -> None:
        """Go up or down a line."""
        self.query_one(TitleTable).scroll_relative(y=by, animate=False)

    def show_room(self) -> None:
        """Show the clock, and read tonight's sheets beside the screen."""
        self._count()
        if not self.link.running:
            self.beside(self._read)

    def _count(self) -> None:
        """Show how long it is to each move."""
        if not self.is_current:
            return
        trays, now_ns = self.link.trays, self.link.clock.now_ns()
        lines = self.query_one(TraysClock)
        lines.show(trays.lines, now_ns)
        lines.display = bool(trays.lines)
        self.query_one("#clock", Static).update(headline(trays, now_ns))
        warnings = self.query_one("#warnings", Static)
        told = [*trays.warnings[:2], *filter(None, [light_words(trays.free, now_ns)])]
        warnings.update("\n".join(told))
        warnings.display = bool(told)

    async def _read(self) -> None:
        sheets = await with_book(sheets_of_tonight)
        table = self.query_one(TitleTable)
        table.clear()
        self._tonight = [sheet.mark for sheet in reversed(sheets or [])]
        for sheet in sheets or []:
            at = clock(sheet.last_light_at) if sheet.last_light_at else "none yet"
            table.add(sheet.mark, at, sheet.fate, title=sheet.what)
        table.scroll_end(animate=False)
        told = self.query_one("#told", Static)
        told.update("the book cannot be opened" if sheets is None else "no sheet yet tonight")
        told.display = not sheets
        table.display = bool(sheets)
