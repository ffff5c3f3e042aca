"""Editions: how far each has come, what its copies got, and further copies laid ready."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.book_told.edition_words import edition_head, got_lines, signed_lines
from controller.errors import BadInput
from controller.numbered import numbered
from controller.score.report import ready_words
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.page import PageOver
from ui.terminal.shelf import with_book
from ui.terminal.widgets.title_table import TitleTable

if TYPE_CHECKING:
    from datetime import datetime

    from controller.book.book import Book
    from controller.book.print_entries import Edition
    from controller.book_told.edition_run import EditionGot, ToCopy
    from controller.score.model import Score

BESIDE = 10
CLOSED = "the book cannot be opened"
NONE = "the book has no edition yet: b begins one"
NO_SCORE = "it has no print yet: lay its score ready in the Score room first, then come back"
FROM = "copies of {}: enter opens the edition that they are for, b begins one"
COUNTS = (1, 2, 3, 5, 10)  # sheets that are offered, beside all that are left


def when(at: datetime) -> str:
    """Write a day in local time."""
    return at.astimezone().strftime("%d %b %Y")


class EditionsScreen(PageOver):
    """Where the editions are looked through."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "The editions, and how many numbers of each are left. Enter or a second click opens one: "
        "what each of its prints got, and how far they are apart; there n lays copies ready. b "
        "begins an edition. From the page of a print, copies are made from that print's score."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("b", "begin", "begin one", id="editions.begin"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "TitleTable"

    def __init__(self, from_print: ToCopy | None = None) -> None:
        super().__init__()
        self._from = from_print  # the print that one came from, to make copies of
        self._names: frozenset[str] = frozenset()

    def compose_room(self) -> ComposeResult:
        """Lay out the table."""
        yield TitleTable("left", beside=BESIDE, id="records", cursor_type="row")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Read the editions beside the screen."""
        super().on_mount()
        self.beside(self._read)

    async def _read(self) -> None:
        from controller.book.editions import editions

        found = await with_book(editions)
        if not found:
            self.query_one("#told", Static).update(CLOSED if found is None else NONE)
            return
        self._names = frozenset(one.name.casefold() for one in found)
        self.query_one("#told", Static).update(FROM.format(self._from.mark) if self._from else "")
        table = self.query_one(TitleTable)
        table.clear()
        for one in found:
            table.add(str(len(one.left)), title=edition_head(one)[0], key=one.name)

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Open an edition."""
        self.beside(partial(self._open, str(event.row_key.value)), "page")

    async def _open(self, name: str) -> None:
        found = await with_book(partial(_looked_up, name))
        if found is None:
            self.query_one("#told", Static).update(CLOSED)
            return
        edition, got, last = found
        self.app.push_screen(EditionScreen(edition, got, self._from or last))

    def action_begin(self) -> None:
        """Begin an edition, and open its page."""
        from ui.terminal.screens.edition_begun import BeginEditionScreen

        negative = self._from.negative if self._from else ""
        self.app.push_screen(BeginEditionScreen(self._names, negative, self._begun))

    def _begun(self, name: str) -> None:
        self.beside(partial(self._begun_shown, name), "page")

    async def _begun_shown(self, name: str) -> None:
        await self._read()
        await self._open(name)


class EditionScreen(PageOver):
    """One edition."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "An edition: its signed copies, what each print really got, and how far those that are "
        "alike are apart. n lays copies ready at the Bench: from the print that you came from, "
        "else from the score of the last print, or the first ones from the score that lies ready; "
        "sheet by sheet, each with its mark; a spoiled one is made anew. Numbers are given when "
        "the prints are dry: e on the page of a print."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "copies", "copies", id="edition.copies"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "VerticalScroll"

    def __init__(
        self,
        edition: Edition,
        got: EditionGot,
        from_print: ToCopy | None,
    ) -> None:
        super().__init__()
        self._edition = edition
        self._got = got
        self._from = from_print  # which further copies are made of

    def compose_room(self) -> ComposeResult:
        """Lay out what is known of it."""
        lines = [*edition_head(self._edition), *signed_lines(self._edition, when)]
        with VerticalScroll():
            yield Static("\n".join([*lines, *got_lines(self._got)]), id="lines", markup=False)
        yield Static("", id="told", markup=False)

    def action_copies(self) -> None:
        """Ask how many copies, and lay them ready."""
        told = self.query_one("#told", Static)
        score, kept_as = self._wanted()
        if score is None:
            told.update(NO_SCORE)
            return
        if self.link.running:
            told.update("a plan is running; the next has to wait")
            return
        left = len(self._edition.left)
        counts = sorted({*(count for count in COUNTS if count < left), *([left] if left else [1])})
        answers = {"": "leave what lies ready as it is"}
        answers |= {str(n): _sheets(n, left) for n in counts}
        lay = partial(self._lay, score, kept_as)
        self.app.push_screen(AskScreen(self._question(score), answers), lay)

    def _wanted(self) -> tuple[Score | None, str]:
        """Give the score of its last print; of an edition without one, what lies ready."""
        if self._from is not None:
            return self._from.score, ""
        desk = self.link.desk
        return (desk.score, desk.kept_as) if desk else (None, "")

    def _question(self, score: Score) -> str:
        """Ask; from which score, and what would be lost, is said first."""
        desk = self.link.desk
        of = f", from {self._from.mark}" if self._from else ""
        lines = [f"copies of {self._edition.name}{of}"]
        lines += [f"with its {line}" for line in self._from.extras] if self._from else []
        if desk is None or desk.score is None:
            return "\n".join(lines)
        lies = ready_words(desk.score, desk.sheets)
        if self._from is None:
            lines.append(f"It has no print yet: from what lies ready, {lies}")
        elif desk.score != score and not desk.kept_as:
            lines.append(f"What lies ready is kept nowhere, and goes: {lies}")
        return "\n".join(lines)

    def _lay(self, score: Score, kept_as: str, count: str | None) -> None:
        if not count:
            return
        self.link.lay_print(score, kept_as, sheets=int(count), edition=self._edition.name)
        self.terminal.action_room("bench")


def _looked_up(name: str, book: Book) -> tuple[Edition, EditionGot, ToCopy | None]:
    from controller.book.editions import edition
    from controller.book_told.edition_run import got_of, last_to_copy

    found = edition(book, name)
    try:
        last = last_to_copy(book, found)
    except BadInput:
        last = None
    return found, got_of(book, name), last


def _sheets(count: int, left: int) -> str:
    if not left:
        return "1 sheet, though no number is left"
    sheets = numbered(count, "sheet")
    return f"{sheets}, all that are left" if count == left else sheets
