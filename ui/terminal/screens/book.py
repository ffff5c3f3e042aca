"""The book: the newest records, and the page of one."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import DataTable, Static

from controller.report import page_lines
from ui.terminal.screens.base import RoomScreen
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.entries import Page, Record

MOST = 200


def when(at: datetime) -> str:
    """Write a wall-clock time in local time."""
    return at.astimezone().strftime("%d %b %H:%M")


class BookScreen(RoomScreen):
    """Where everything that happened is kept."""

    NAME = "book"
    HELP_TEXT = (
        "What was exposed, the newest first; enter or a click opens a page. An interrupted sheet "
        "gets its rest with: dryside book rest MARK"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "read", "read again", id="book.read"),
    ]

    def compose_room(self) -> ComposeResult:
        """Lay out the table."""
        yield DataTable(id="records", cursor_type="row")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        self.query_one(DataTable).add_columns("mark", "when", "came out", "what")
        super().on_mount()

    def show_room(self) -> None:
        """Read the records beside the screen, whenever a plan is over."""
        if not self.link.running:
            self.action_read()

    def action_read(self) -> None:
        """Read the records again."""
        self.run_worker(self._read(), exclusive=True)

    async def _read(self) -> None:
        records: list[Record] | None = await with_book(lambda book: book.records(MOST))
        told = self.query_one("#told", Static)
        table = self.query_one(DataTable)
        at = table.cursor_row
        table.clear()
        for record in records or []:
            fate = record.fate.value if record.fate else "open"
            marks = " ".join(record.marks) or "-"
            table.add_row(marks, when(record.begun_at), fate, record.title, key=record.record_id)
        if records:
            table.move_cursor(row=min(at, len(records) - 1))
        told.update(
            "the book cannot be opened" if records is None else "" if records else "it is empty"
        )

    async def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Open the page of a record."""
        record_id = str(event.row_key.value)
        page = await with_book(lambda book: book.record(record_id))
        if page is not None:
            self.app.push_screen(PageScreen(page))


class PageScreen(ModalScreen[None]):
    """One page of the book."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,enter", "close", "close", id="page.close"),
    ]

    def __init__(self, page: Page) -> None:
        super().__init__()
        self._page = page
        self._closed = False

    def action_close(self) -> None:
        """Close, once: a second key may come before the page has gone."""
        if not self._closed:
            self._closed = True
            self.dismiss()

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(id="help") as page:
            page.border_subtitle = "escape closes this"
            yield Static("\n".join(page_lines(self._page, when)), markup=False)
