"""The trays: tonight's sheets, in the order in which they left the light."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.report import sheets_of
from ui.terminal.screens.base import RoomScreen
from ui.terminal.screens.book import when
from ui.terminal.shelf import with_book

CAUTION = (
    "Tongs and gloves, not hands; fresh air over the trays. Acid into water, never the reverse. "
    "Never touch a plug or a switch with wet hands. What the maker's data sheet says comes first."
)
MOST = 40


class TraysScreen(RoomScreen):
    """Where tonight's sheets are."""

    NAME = "trays"
    HELP_TEXT = (
        "The sheets and strips of tonight by the mark on their backs, the newest first, and what "
        "each of them got. The clock of the trays comes later."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        yield DataTable(id="sheets", cursor_type="none", show_cursor=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        self.query_one(DataTable).add_columns("mark", "when", "what", "came out")
        super().on_mount()

    def show_room(self) -> None:
        """Read tonight's sheets beside the screen."""
        if not self.link.running:
            self.run_worker(self._read(), exclusive=True)

    async def _read(self) -> None:
        rows = await with_book(lambda book: sheets_of(book.records(MOST)))
        table = self.query_one(DataTable)
        table.clear()
        for row in rows or []:
            table.add_row(row.mark, when(row.begun_at), row.what, row.fate)
