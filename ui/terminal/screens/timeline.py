"""The book as evenings: what was exposed on each."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.widgets import DataTable, Static

from controller.book_told.timeline import Evening, evenings
from ui.terminal.screens.page import PageOver
from ui.terminal.shelf import with_book
from ui.terminal.widgets.title_table import TitleTable

if TYPE_CHECKING:
    from controller.book.book import Book

MOST = 1000  # records that are laid into evenings
BESIDE = 16


class TimelineScreen(PageOver):
    """Where the evenings are looked back on."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "The evenings in the darkroom, the newest first: how many sheets, how many prints, and "
        "the marks in the order of the clock. What is under the cursor is named below."
    )
    AUTO_FOCUS = "TitleTable"

    def __init__(self) -> None:
        super().__init__()
        self._evenings: list[Evening] = []

    def compose_room(self) -> ComposeResult:
        """Lay out the table."""
        yield TitleTable("evening", beside=BESIDE, id="records", cursor_type="row")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Read the records beside the screen."""
        super().on_mount()
        self.beside(self._read)

    async def _read(self) -> None:
        from controller.book.prints import good_prints

        def read(book: Book) -> list[Evening]:
            records = book.records(MOST)
            return evenings(records, good_prints(book, [one.record_id for one in records]))

        found = await with_book(read)
        if not found:
            none = "the book cannot be opened" if found is None else "the book is empty"
            self.query_one("#told", Static).update(none)
            return
        self._evenings = found
        table = self.query_one(TitleTable)
        for one in self._evenings:
            table.add(f"{one.day:%d %b %Y}", title=one.line)

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Name what was made on that evening."""
        if event.cursor_row < len(self._evenings):
            titles = self._evenings[event.cursor_row].titles
            self.query_one("#told", Static).update("\n".join(titles[:4]))
