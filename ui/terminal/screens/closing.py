"""Closing the evening: tonight's sheets with only the blanks to fill in, and the baths."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.chemistry.shelf import poured_out
from controller.desk.evening import (
    BATHS,
    BathFate,
    TonightSheet,
    closed,
    keep_evening,
)
from controller.errors import BadInput
from controller.events import Remark
from controller.trays.notes import Note, notes_in
from drivers.places import data_folder
from ui.terminal.screens.page import PageOver
from ui.terminal.shelf import evening_so_far, sheets_of_tonight, with_book

if TYPE_CHECKING:
    from controller.book.book import Book


def _spoken() -> list[Note]:
    return [note for note in notes_in(data_folder()) if not note.typed]


FATES = tuple((fate.value, fate.name) for fate in BathFate)
GONE = (BathFate.POURED, BathFate.COLLECTED)  # what is kept as a bath ends with these


class ClosingScreen(PageOver):
    """Where an evening ends."""

    NAME = "close"
    HELP_TEXT: ClassVar[str] = (
        "Tonight's sheets in the order in which they left the light. Where nothing was remarked "
        "yet there is a blank for it: what it is of, how it came out. Then what becomes of the "
        "baths. ctrl+s keeps it; escape skips it all."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "keep it", id="evening.keep"),
        Binding("escape", "back", "skip", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="evening.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="evening.before"),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._blanks: list[tuple[TonightSheet, Input]] = []
        self._tonight: list[str] = []  # records

    def compose_room(self) -> ComposeResult:
        """Lay out the sheets over the baths."""
        yield Static("The evening ends", classes="heading")
        with VerticalScroll(id="tonight", can_focus=False):
            yield Static("the book is read", classes="quiet", id="reading", markup=False)
        with Grid(classes="form -baths"):
            for index, bath in enumerate(BATHS):
                yield Label(bath)
                yield Select(FATES, id=f"bath{index}", allow_blank=False, compact=True)
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Read tonight's sheets beside the screen."""
        super().on_mount()
        self.beside(self._fill)

    async def _fill(self) -> None:
        sheets = await with_book(sheets_of_tonight)
        if spoken := len(await asyncio.to_thread(_spoken)):
            self.query_one("#told", Static).update(
                f"{spoken} spoken {'note waits' if spoken == 1 else 'notes wait'} to be typed: "
                "dryside book notes"
            )
        reading = self.query_one("#reading", Static)
        if not sheets:
            reading.update(
                "the book cannot be opened" if sheets is None else "no sheet was exposed tonight"
            )
            return
        await reading.remove()
        self._tonight = [sheet.record_id for sheet in sheets]
        tray = self.query_one("#tonight", VerticalScroll)
        for sheet in sheets:
            what = f"{sheet.mark:4} {sheet.what}, {sheet.fate}"
            if sheet.remark:
                await tray.mount(Static(f"{what}\n     {sheet.remark}", markup=False))
                continue
            blank = Input(compact=True, classes="blank", placeholder="what it is, how it came out")
            self._blanks.append((sheet, blank))
            await tray.mount(Static(what, markup=False), blank)
        if self._blanks and self.focused is None:
            self.set_focus(self._blanks[0][1])

    def on_input_submitted(self) -> None:
        """Go on to the next blank."""
        self.focus_next()

    def action_keep(self) -> None:
        """Keep what was filled in, and go back."""
        self.beside(self._keep)

    async def _keep(self) -> None:
        told = self.query_one("#told", Static)
        filled = [pair for pair in self._blanks if pair[1].value.strip()]
        baths = {
            bath: BathFate[str(self.query_one(f"#bath{index}", Select).value)]
            for index, bath in enumerate(BATHS)
        }

        def keep() -> None:
            keep_evening(data_folder(), closed(evening_so_far(), datetime.now(UTC), baths))

        def write(book: Book) -> bool:
            for pair in filled:
                sheet, blank = pair
                book.write(Remark(sheet.record_id, blank.value.strip(), mark=sheet.mark))
                self._blanks.remove(pair)  # written once, should a later one fail
            return True

        try:
            await asyncio.to_thread(keep)
        except BadInput as error:
            told.update(str(error))
            told.set_class(True, "-refused")
            return
        if filled and not await with_book(write):
            told.update("the book cannot be written now; what you wrote still stands here")
            told.set_class(True, "-refused")
            return
        gone = [bath for bath, fate in baths.items() if fate in GONE]
        if gone:
            await with_book(lambda book: poured_out(book, gone, datetime.now(UTC)))
        if self._tonight:
            await with_book(self._keep_room)
        self.action_back()

    def _keep_room(self, book: Book) -> bool:
        """Put the room down beside tonight's prints; what is wrong with it its own screen tells."""
        from ui.room_then import keep_room

        try:
            keep_room(book, self.link.unit.rig, self._tonight)
        except BadInput:
            return False
        return True
