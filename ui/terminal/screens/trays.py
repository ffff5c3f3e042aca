"""The trays: tonight's sheets, in the order in which they left the light."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from ui.terminal.screens.base import RoomScreen
from ui.terminal.screens.book import clock
from ui.terminal.shelf import sheets_of_tonight, with_book
from ui.terminal.widgets.title_table import TitleTable

CAUTION = (
    "Tongs and gloves, not hands; fresh air over the trays. Acid into water, never the reverse. "
    "Never touch a plug or a switch with wet hands. What the maker's data sheet says comes first."
)
BESIDE = 35  # cells that the other columns need


class TraysScreen(RoomScreen):
    """Where tonight's sheets are."""

    NAME = "trays"
    HELP_TEXT = (
        "The sheets and strips of tonight by the mark on their backs, in the order in which light "
        "last fell on them. The clock of the trays comes later."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_sheets(-1)", "earlier sheets", id="trays.up", show=False),
        Binding("down", "scroll_sheets(1)", "later sheets", id="trays.down", show=False),
    ]

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        table = TitleTable(
            "mark", "last light", "came out", beside=BESIDE, id="sheets", cursor_type="none"
        )
        table.can_focus = False  # nothing to choose: enter stays the pedal
        yield table
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def action_scroll_sheets(self, by: int) -> None:
        """Go up or down a line."""
        self.query_one(TitleTable).scroll_relative(y=by, animate=False)

    def show_room(self) -> None:
        """Read tonight's sheets beside the screen."""
        if not self.link.running:
            self.beside(self._read)

    async def _read(self) -> None:
        sheets = await with_book(sheets_of_tonight)
        table = self.query_one(TitleTable)
        table.clear()
        for sheet in sheets or []:
            at = clock(sheet.last_light_at) if sheet.last_light_at else "none yet"
            table.add(sheet.mark, at, sheet.fate, title=sheet.what)
        table.scroll_end(animate=False)
        told = self.query_one("#told", Static)
        told.update("the book cannot be opened" if sheets is None else "no sheet yet tonight")
        told.display = not sheets
        table.display = bool(sheets)
