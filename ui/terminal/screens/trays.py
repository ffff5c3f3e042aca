"""The trays: tonight's sheets, in the order in which they left the light."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from ui.terminal.screens.base import RoomScreen
from ui.terminal.screens.book import clock
from ui.terminal.shelf import sheets_of_tonight, with_book

CAUTION = (
    "Tongs and gloves, not hands; fresh air over the trays. Acid into water, never the reverse. "
    "Never touch a plug or a switch with wet hands. What the maker's data sheet says comes first."
)


class TraysScreen(RoomScreen):
    """Where tonight's sheets are."""

    NAME = "trays"
    HELP_TEXT = (
        "The sheets and strips of tonight by the mark on their backs, in the order in which light "
        "last fell on them. The clock of the trays comes later."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        yield DataTable(id="sheets", cursor_type="none", show_cursor=False)
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        self.query_one(DataTable).add_columns("mark", "last light", "came out", "what")
        super().on_mount()

    def show_room(self) -> None:
        """Read tonight's sheets beside the screen."""
        if not self.link.running:
            self.run_worker(self._read(), exclusive=True)

    async def _read(self) -> None:
        sheets = await with_book(sheets_of_tonight)
        table = self.query_one(DataTable)
        table.clear()
        for sheet in sheets or []:
            at = clock(sheet.last_light_at) if sheet.last_light_at else "none yet"
            table.add_row(sheet.mark, at, sheet.fate, sheet.what)
        table.scroll_end(animate=False)
        told = self.query_one("#told", Static)
        told.update("the book cannot be opened" if sheets is None else "no sheet yet tonight")
        told.display = not sheets
        table.display = bool(sheets)
