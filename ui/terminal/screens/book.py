"""The book: the newest records, the page of one, and the rest of what was cut off."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Input, OptionList, Static

from controller.book.marks import looks_like_mark
from controller.book_told.strip_report import page_lines
from controller.desk.going_on import UNCERTAIN, go_on_with
from controller.errors import BadInput
from controller.exposing.told import Run
from controller.score.again import OF_A_SCORE, score_of_record, with_extras
from controller.score.report import good_mark, ready_words
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.base import RoomScreen
from ui.terminal.screens.over import Over
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.title_table import TitleTable

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page
    from controller.book.interrupted import Interrupted
    from controller.rig.model import Rig
    from controller.score.model import Score
    from ui.terminal.app import Terminal

MOST = 200
MOST_FOUND = 12  # prints with the words that were asked for
BESIDE = 37  # cells that the other columns need
CLOSED = "the book cannot be opened"
LEAVE, STILL, MOVED, READY = "leave", "still", "moved", "ready"


def when(at: datetime) -> str:
    """Write a wall-clock time in local time."""
    return at.astimezone().strftime("%d %b %H:%M")


def clock(at: datetime) -> str:
    """Write the time of an evening in local time."""
    return at.astimezone().strftime("%H:%M")


class BookScreen(RoomScreen):
    """Where everything that happened is kept."""

    NAME = "book"
    HELP_TEXT = (
        "What was exposed, the newest first; enter or a second click opens a page. / finds a "
        "record by the mark on the sheet's back, and prints by words that were written; t tells "
        "the evenings, p shows the boxes of paper and their curves, e the editions. A sheet that "
        "was cut off, by a power cut or in another way, is interrupted: r gives it the light that "
        "it is still owed, "
        "if it lies as it lay, or closes it as spoiled."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "find", "find", id="book.find", key_display="/"),
        Binding("r", "rest", "rest", id="book.rest"),
        Binding("t", "timeline", "days", id="book.timeline"),
        Binding("p", "paper", "box", id="book.paper"),
        Binding("e", "editions", "copies", id="book.editions"),
        Binding("escape", "leave_field", "leave the field", id="book.leave", show=False),
    ]

    AUTO_FOCUS = "TitleTable"

    def compose_room(self) -> ComposeResult:
        """Lay out the table."""
        yield Input(id="find", compact=True, placeholder="a mark, or words")
        yield TitleTable("mark", "when", "came out", beside=BESIDE, id="records", cursor_type="row")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Hide the field until a mark is asked for."""
        self.query_one("#find", Input).display = False
        super().on_mount()

    def show_room(self) -> None:
        """Read the records beside the screen, whenever a plan is over."""
        if not self.link.running:
            self.action_read()

    def action_read(self) -> None:
        """Read the records again."""
        self.beside(self._read, "read")

    async def _read(self) -> None:
        records = await with_book(lambda book: book.records(MOST))
        table = self.query_one(TitleTable)
        here = self._here() if table.cursor_row > 0 else None  # the first stays the newest
        nothing = not table.row_count
        table.clear()
        for record in records or []:
            cut_off = record.fate is None or record.extra_open
            fate = record.fate.value if record.fate and not cut_off else "interrupted"
            marks = " ".join(record.marks) or "-"
            at = when(record.begun_at)
            table.add(marks, at, fate, title=record.title, key=record.record_id)
        if records:
            keys = [record.record_id for record in records]
            table.move_cursor(row=keys.index(here) if here in keys else 0)
            if nothing:
                self._tell("")
        else:
            self._tell(CLOSED if records is None else "the book is empty")

    def _here(self) -> str | None:
        """Give the record under the cursor."""
        table = self.query_one(TitleTable)
        if not table.row_count:
            return None
        return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value

    def _tell(self, sentence: str) -> None:
        self.query_one("#told", Static).update(sentence)

    # -- a page ------------------------------------------------------------------------------

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Open the page of a record."""
        self._open(str(event.row_key.value))

    def _open(self, key: str) -> None:
        self.beside(partial(self._page, key), "page")

    async def _page(self, key: str) -> None:
        def read(book: Book) -> list[Page]:
            page = book.record(key)
            return [page] if page is not None else []

        found = await with_book(read)
        if found:
            self._tell("")
            self.app.push_screen(PageScreen(found[0], key if looks_like_mark(key) else ""))
        else:
            self._tell(CLOSED if found is None else f"no sheet has the mark {key}")

    def action_find(self) -> None:
        """Ask for a mark."""
        field = self.query_one("#find", Input)
        field.display = True
        field.value = ""
        field.focus()

    def action_timeline(self) -> None:
        """Look back on the evenings."""
        from ui.terminal.screens.timeline import TimelineScreen

        self.app.push_screen(TimelineScreen())

    def action_leave_field(self) -> None:
        """Put the field away."""
        self.query_one("#find", Input).display = False
        self.query_one(TitleTable).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Open the page of the sheet with this mark, or list the prints with these words."""
        self.action_leave_field()
        asked = event.value.strip()
        if looks_like_mark(asked):
            self._open(asked.upper())
        elif asked:
            self.beside(partial(self._search, asked), "page")

    async def _search(self, words: str) -> None:
        from controller.book.finding import Looked, find

        found = await with_book(lambda book: find(book, Looked(words=words), MOST_FOUND))
        if not found:
            self._tell(CLOSED if found is None else f"no print has the words {words}")
            return
        answers = {one.record_id: f"{one.mark}  {when(one.made_at)}  {one.title}" for one in found}

        def answered(record_id: str | None) -> None:
            if record_id:
                self._open(record_id)

        self.app.push_screen(AskScreen(f"prints with {words}", answers), answered)

    # -- what was cut off --------------------------------------------------------------------

    def action_rest(self) -> None:
        """Give the sheet under the cursor its rest."""
        here = self._here()
        if self.link.running:
            self._tell("a plan is running; what was cut off has to wait")
        elif here is not None:
            self.beside(partial(self._rest, here), "page")

    async def _rest(self, record_id: str) -> None:
        def read(book: Book) -> list[Interrupted]:
            return [i for i in book.interrupted() if i.record.record_id == record_id]

        found = await with_book(read)
        if not found:
            self._tell(CLOSED if found is None else "this was not interrupted: nothing is owed")
            return
        cut_off = found[0]
        if cut_off.record.rig != self.link.unit.rig.name:
            self._tell(
                f"it was begun on another rig ({cut_off.record.rig}), and only there goes on"
            )
            return
        answers = {
            LEAVE: "leave it as it is, for now",
            STILL: "it lies as it lay, in the dark: give it the rest",
            MOVED: "it was moved, or light reached it: it is spoiled",
        }
        question = cut_off.tell() + ("" if cut_off.certain else f"; {UNCERTAIN}")

        def answered(answer: str | None) -> None:
            if answer in (STILL, MOVED):
                self.beside(partial(self._go_on, cut_off, moved=answer == MOVED), "page")

        self.app.push_screen(AskScreen(question, answers), answered)

    async def _go_on(self, cut_off: Interrupted, *, moved: bool) -> None:
        came = await with_book(lambda book: go_on_with(book, cut_off, moved=moved))
        if isinstance(came, Run):
            self.link.send(came)
            self.terminal.action_room("bench")
            return
        self._tell(came or CLOSED)
        self.action_read()

    def action_paper(self) -> None:
        """Show the boxes of paper."""
        from ui.terminal.screens.paper import PaperScreen

        self.app.push_screen(PaperScreen())

    def action_editions(self) -> None:
        """Show the editions."""
        from ui.terminal.screens.editions import EditionsScreen

        self.app.push_screen(EditionsScreen())

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Find a mark", "its page is opened", self.action_find)
        yield SystemCommand("Evenings", "what was exposed on each", self.action_timeline)
        yield SystemCommand("Give the rest", "to an interrupted sheet", self.action_rest)
        yield SystemCommand("Paper", "boxes of paper and their curves", self.action_paper)
        yield SystemCommand("Editions", "their numbers, and further copies", self.action_editions)
        yield SystemCommand("Read again", "the newest records", self.action_read)


class PageScreen(Over[None]):
    """One page of the book; the pedal and the doors work from here too."""

    NAME = "book"
    HELP_TEXT = (
        "A page of the book: what was wanted, and the light that each sheet really got. n lays a "
        "print ready again, as it was; what has changed since is said first."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "again", "print again", id="page.again"),
        Binding("p", "print", "the print", id="page.print"),
        Binding("escape,q", "leave", "close", id="page.close"),
    ]
    AUTO_FOCUS = "VerticalScroll"

    def __init__(self, page: Page, mark: str = "") -> None:
        super().__init__()
        self.set_class(True, "-page")
        self._mark = mark  # the sheet that was asked for, where one was
        self._page = page
        self._is_print = page.record.kind in OF_A_SCORE

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only a print has a score."""
        of_prints = action in ("again", "print")
        return self._is_print if of_prints else super().check_action(action, parameters)

    def action_leave(self) -> None:
        """Close the page."""
        self.leave()

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(id="help") as page:
            page.border_subtitle = "escape closes this"
            yield Static("\n".join(page_lines(self._page, when)), markup=False)
            if self._is_print:
                yield OptionList("print again (n)", "all of the print (p)", id="again")

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Print it again, or show all of it."""
        if event.option_index == 0:
            self.action_again()
        else:
            self.action_print()

    # -- all of it -----------------------------------------------------------------------------

    def action_print(self) -> None:
        """Show the print with its picture."""
        self.run_worker(self._print(), exclusive=True, group="page")

    async def _print(self) -> None:
        from controller.book.whole import WholePrint, whole_print
        from drivers.places import data_folder
        from ui.terminal.screens.print_page import PrintScreen

        def read(book: Book) -> WholePrint | str:
            try:
                return whole_print(book, self._mark or self._page.record.record_id)
            except BadInput:
                return "no sheet of it became a print"

        found = await with_book(read)
        if found is None or isinstance(found, str):
            self.app.notify(found or CLOSED, timeout=8, markup=False)
            return
        self.app.push_screen(PrintScreen(found, data_folder() / "pictures"))

    # -- the print again ---------------------------------------------------------------------

    def action_again(self) -> None:
        """Say what has changed since, and lay it ready."""
        self.run_worker(self._again(), exclusive=True, group="page")

    async def _again(self) -> None:
        link = cast("Terminal", self.app).link
        desk = link.desk
        mark = self._mark or good_mark(self._page)
        try:
            score = score_of_record(self._page.record)
            was, extras = with_extras(score, self._page, mark)
            found = await with_book(partial(_since, self._page, score, link.unit.rig, mark))
        except BadInput as error:
            self.app.notify(sentence(error), timeout=8, markup=False)
            return
        changed = found if found is not None else [CLOSED]
        lines = [self._page.record.title, *(f"with its {line}" for line in extras)]
        lines += changed or ["nothing that is known has changed since"]
        if desk and desk.score and not desk.kept_as:
            lies = ready_words(desk.score, desk.sheets)
            lines.append(f"What lies ready is kept nowhere, and goes: {lies}")

        def answered(answer: str | None) -> None:
            if answer == READY:
                link.lay_print(was)
                cast("Terminal", self.app).action_room("score")

        answers = {LEAVE: "leave what lies ready as it is", READY: "lay it ready"}
        self.app.push_screen(AskScreen("\n".join(lines), answers), answered)


def _since(page: Page, score: Score, rig: Rig, mark: str, book: Book) -> list[str]:
    """Tell what has changed since; loaded when it is asked for."""
    from ui.since import all_since

    return all_since(book, page, score, rig, mark)
