"""A print of the book: its picture in blocks, all that is known of it, and what may be told."""

from __future__ import annotations

from enum import Enum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Static

from controller.book.print_entries import numbers_left
from controller.book_told.edition_words import edition_head
from controller.book_told.print_words import whole_lines
from controller.errors import BadInput, DrysideError
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.curve_blocks import curve_lines
from ui.terminal.widgets.picture_blocks import picture_lines
from ui.terminal.widgets.strip_blocks import strips_lines

if TYPE_CHECKING:
    from datetime import datetime

    from controller.book.book import Book
    from controller.book.print_entries import Edition, PrintEntry
    from controller.book.whole import WholePrint
    from controller.book_told.compared import Compared
    from ui.print_evidence import Beside

BESIDE = 46  # cells that the lines need beside the picture
MOST_OTHERS = 8
MOST_NUMBERS = 40  # copies that are offered at once
CLOSED = "the book cannot be opened"
NO_STRIPS = "no strip is known that led to it; dryside book print attach lays one beside it"
NO_CURVE = "no curve: its box of paper was not measured through its filters"
NO_PICTURE = "no picture; dryside book print attach keeps one"


class View(Enum):
    """What is looked at beside the lines."""

    PICTURE = "picture"
    STRIPS = "strips"
    CURVE = "curve"


def when(at: datetime) -> str:
    """Write a wall-clock time in local time."""
    return at.astimezone().strftime("%d %b %H:%M")


class PrintScreen(PageOver):
    """Where one print is looked at."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "A print: its picture, what it was made by, what it really got, and what was written "
        "beside it. c lays another print of the negative beside it: every difference in stops. "
        "r rates it, e numbers it in an edition, once it is dry and signed: as the lowest copy, "
        "any other, or a proof. n makes copies of it for an edition, or begins one. v turns from "
        "the picture to the strips that led to it (the picked patch in brackets) and to its curve, "
        "where the paper was measured: there each letter is a region of the sketch."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "compare", "pair", id="print.compare"),
        Binding("r", "rate", "rate", id="print.rate"),
        Binding("e", "sign", "sign", id="print.sign"),
        Binding("n", "copies", "copies", id="print.copies"),
        Binding("v", "view", "see", id="print.view"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "VerticalScroll"

    def __init__(self, whole: WholePrint, folder: Path) -> None:
        super().__init__()
        self._whole = whole
        self._folder = folder
        self._view = View.PICTURE
        self._beside: Beside | None = None  # read when it is first looked at

    def compose_room(self) -> ComposeResult:
        """Lay out the picture beside the lines."""
        with Horizontal(id="print-page"):
            yield Static("", id="print-picture", markup=False)
            with VerticalScroll():
                yield Static("", id="lines", markup=False)
        yield Static("", id="told", markup=False)

    def on_resize(self) -> None:
        """Draw anew when it is known how much room there is."""
        self.call_after_refresh(self.show_room)

    def show_room(self) -> None:
        """Draw the print."""
        self.query_one("#lines", Static).update("\n".join(whole_lines(self._whole, when)))
        room = self.query_one("#print-page").size
        picture = self.query_one("#print-picture", Static)
        wide = room.width - BESIDE
        if wide > 0 and room.height > 0:
            picture.update("\n".join(self._viewed(wide - 2, room.height)))

    def _viewed(self, wide: int, high: int) -> list[str]:
        """Draw what is looked at."""
        if self._view is View.PICTURE:
            return self._picture(wide, high)
        if self._beside is None:
            return ["reading the book"]
        if self._view is View.STRIPS:
            lines = strips_lines(self._beside.strips, self._beside.pictures, wide, high)
            return lines or _folded(NO_STRIPS, wide)
        curve = self._beside.curve
        return curve_lines(curve, self._whole.score, wide, high) or _folded(NO_CURVE, wide)

    def action_view(self) -> None:
        """Turn to the next thing that can be looked at."""
        order = list(View)
        self._view = order[(order.index(self._view) + 1) % len(order)]
        self.show_room()
        if self._beside is None:
            self.beside(self._read_beside, "beside")

    async def _read_beside(self) -> None:
        from ui.print_evidence import beside_print

        whole = self._whole
        self._beside = await with_book(lambda book: beside_print(book, whole, self._folder))
        if self._beside is None:
            self._view = View.PICTURE
            self._tell(CLOSED)
        self.show_room()

    def _picture(self, wide: int, high: int) -> list[str]:
        """Draw the newest picture that can be; the simulator's own counts where none was kept."""
        one = self._whole.print
        names = [picture.file for picture in self._whole.pictures]
        for name in (*names, f"{one.mark}-{one.record_id[:8]}.png"):
            try:
                return picture_lines(self._folder / name, wide, high)
            except (OSError, ValueError):
                continue
        return _folded(NO_PICTURE, wide)

    def _tell(self, text: str) -> None:
        self.query_one("#told", Static).update(text)

    # -- another beside it ---------------------------------------------------------------------

    def action_compare(self) -> None:
        """Ask which other print of the negative is to lie beside it."""
        self.beside(self._others, "page")

    async def _others(self) -> None:
        from controller.book.finding import Looked, find

        one = self._whole.print

        def read(book: Book) -> list[PrintEntry]:
            return find(book, Looked(negative=one.negative), MOST_OTHERS + 1)

        found = await with_book(read)
        others = [each for each in found or [] if each.print_id != one.print_id]
        if not others:
            self._tell(CLOSED if found is None else "there is no other print of this negative")
            return
        answers = {f"#{each.print_id}": _briefly(each) for each in others[:MOST_OTHERS]}

        def answered(key: str | None) -> None:
            if key:
                self.beside(partial(self._compare, key), "page")

        self.app.push_screen(AskScreen(f"{one.mark}, beside which?", answers), answered)

    async def _compare(self, key: str) -> None:
        from controller.book_told.compared import compared

        def read(book: Book) -> Compared | str:
            try:
                return compared(book, key, self._key)
            except DrysideError as error:
                return sentence(error)

        found = await with_book(read)
        if found is None or isinstance(found, str):
            self._tell(found or CLOSED)
            return
        self.app.push_screen(CompareScreen(found))

    # -- told of it ----------------------------------------------------------------------------

    def action_rate(self) -> None:
        """Ask how good it is."""
        answers = {str(n): "*" * n for n in range(5, 0, -1)}

        def answered(answer: str | None) -> None:
            if answer:
                self.beside(partial(self._rate, int(answer)), "page")

        self.app.push_screen(AskScreen(f"{self._whole.print.mark}: how good?", answers), answered)

    async def _rate(self, rating: int) -> None:
        from controller.book.prints import tell_of

        def rate(book: Book) -> bool:
            tell_of(book, self._key, rating=rating)
            return True

        await self._changed(await with_book(rate), f"rated {rating} of 5")

    def action_sign(self) -> None:
        """Ask in which edition it is numbered; a number that it has stays."""
        for place in self._whole.editions:
            self._tell(f"it is {place.written} of {place.edition}: a number is never given anew")
            return
        self.beside(self._editions, "page")

    async def _editions(self) -> None:
        from controller.book.editions import editions

        found = await with_book(editions)
        if not found:
            self._tell(
                CLOSED if found is None else "the book has no edition yet: n, then b, begins one"
            )
            return
        by_name = {each.name: each for each in found}
        answers = {"": "leave it without a number"}
        answers |= {each.name: edition_head(each)[0] for each in found}

        def answered(name: str | None) -> None:
            if name:
                self._number(by_name[name])

        mark = self._whole.print.mark
        self.app.push_screen(AskScreen(f"{mark}, dry and signed, of which?", answers), answered)

    def _number(self, edition: Edition) -> None:
        """Ask what is pencilled beneath it."""
        answers = {"": "leave it without a number"}
        answers |= {one: one for one in numbers_left(edition, MOST_NUMBERS)}

        def answered(number: str | None) -> None:
            if number:
                self.beside(partial(self._sign, edition.name, number), "page")

        question = f"{self._whole.print.mark} of {edition.name}, as which?"
        self.app.push_screen(AskScreen(question, answers), answered)

    async def _sign(self, name: str, as_: str) -> None:
        from controller.book.editions import sign

        def number(book: Book) -> str:
            try:
                signed = sign(book, name, self._key, as_)
            except BadInput as error:
                return sentence(error)
            return f"{signed.mark} is {signed.written} of {name}"

        said = await with_book(number)
        await self._changed(bool(said) or None, said or "")

    def action_copies(self) -> None:
        """Show the editions, to make copies of this print for one."""
        self.beside(self._copies, "page")

    async def _copies(self) -> None:
        from controller.book_told.edition_run import ToCopy, to_copy
        from ui.terminal.screens.editions import EditionsScreen

        def read(book: Book) -> ToCopy | str:
            try:
                return to_copy(book, self._whole.print)
            except DrysideError as error:
                return sentence(error)

        found = await with_book(read)
        if found is None or isinstance(found, str):
            self._tell(found or CLOSED)
        else:
            self.app.push_screen(EditionsScreen(found))

    @property
    def _key(self) -> str:
        return f"#{self._whole.print.print_id}"

    async def _changed(self, done: bool | None, said: str) -> None:
        from controller.book.whole import whole_print

        anew = await with_book(lambda book: [whole_print(book, self._key)]) if done else None
        if not anew:
            self._tell(CLOSED)
            return
        self._whole = anew[0]
        self.show_room()
        self._tell(said)


class CompareScreen(PageOver):
    """Where two prints of one negative lie beside each other."""

    NAME = "book"
    HELP_TEXT: ClassVar[str] = (
        "Every difference of two prints, in stops and in words. Plus is more light in the second."
    )
    AUTO_FOCUS = "VerticalScroll"

    def __init__(self, found: Compared) -> None:
        super().__init__()
        self._found = found

    def compose_room(self) -> ComposeResult:
        """Lay out the differences."""
        yield Static(self._found.heading, classes="heading")
        with VerticalScroll():
            yield Static("\n".join(self._found.lines), id="lines", markup=False)


def _briefly(one: PrintEntry) -> str:
    stars = f" {'*' * one.rating}" if one.rating else ""
    return f"{one.mark}  {when(one.made_at)}{stars}  {one.title}"


def _folded(text: str, wide: int) -> list[str]:
    import textwrap

    return textwrap.wrap(text, max(8, wide))
