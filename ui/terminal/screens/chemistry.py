"""Chemistry: the baths, how much of each is used up, what to do, and the cautions."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Place
from controller.chemistry.freshness import Status
from controller.chemistry.product import find_product, load_products
from controller.chemistry.rotation import Move, Rotation
from controller.chemistry.shelf import (
    cleaned,
    count_sheet,
    discarded,
    moved,
    rotate,
    sets,
    standing,
    to_clean,
)
from controller.chemistry.words import bath_lines, short_left, span, what_to_do, why
from controller.errors import BadInput, DrysideError
from drivers.places import config_folder
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.base import RoomScreen
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.title_table import TitleTable

if TYPE_CHECKING:
    from controller.book.book import Book

NOTHING = "No bath is kept: m mixes one, and puts it down."
CLOSED = "the book cannot be opened"
CELLS = 8  # of a bar
LONGEST = 12  # cells of a tray's name
BESIDE = 49  # cells that the other columns need
CAUTIONS = (
    "Gloves, goggles and fresh air; tongs in the trays. Developers make skin sensitive in time.",
    "Acid into water, never water into acid. No food, no drink, no bare glass.",
    "Fixer with acid gives off sulfur dioxide; keep the air moving.",
    "Selenium toner is toxic, and is never made acid.",
    "Bleach and fixer never meet in one tray. Used fixer holds silver: give it where your local "
    "rules want it, never into a septic tank.",
    "In the eyes: rinse for a quarter of an hour, and get medical help.",
    "The maker's safety data sheet of each product comes first, and local rules with it.",
)
LEAVE = "leave"
ANSWERS = {
    LEAVE: "leave it as it is",
    "fibre": "a sheet of 8x10 in, fibre, went through it",
    "coated": "a sheet of 8x10 in, resin-coated, went through it",
    "full": "it stands in a full bottle now",
    "half": "it stands in a half bottle now",
    "tray": "it is back in its tray",
    "cleaned": "its tray was cleaned",
    "gone": "it was poured out or handed in, by local rules",
}
Shown = tuple[list[Status], list[tuple[Status, Status | None, Rotation]], list[str]]


def bar(share: float | None) -> str:
    """Draw how much is used up in thin strokes: few lit cells, for a screen is a light too."""
    if share is None:
        return "?" * CELLS
    full = min(CELLS, round(share * CELLS))
    return "━" * full + "┄" * (CELLS - full)


def shortened(name: str) -> str:
    """Write a tray's name in a column."""
    return name if len(name) <= LONGEST else name[: LONGEST - 1] + "…"


class ChemistryScreen(RoomScreen):
    """Where the baths are."""

    NAME = "chemistry"
    HELP_TEXT = (
        "The baths that stand there: how much of each is used up, by its age or by the paper that "
        "went through it. From four fifths on it is said what to do. enter or a click tells more "
        "of a bath, and takes what became of it. m mixes one; r makes the second fixing bath the "
        "first. The figures are advice: the data sheet and your tests lead."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "mix", "mix", id="chemistry.mix"),
        Binding("r", "rotate", "rotate", id="chemistry.rotate"),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._found: list[Status] = []

    def compose_room(self) -> ComposeResult:
        """Lay out the baths over the cautions."""
        yield Static(NOTHING, classes="heading", id="nothing", markup=False)
        table = TitleTable(
            "tray",
            "age",
            "used up",
            beside=BESIDE,
            last="left (8x10), to do",
            id="baths",
            cursor_type="row",
        )
        table.display = table.can_focus = False
        yield table
        yield Static("", id="todo", markup=False)
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static("\n" + "\n\n".join(CAUTIONS), classes="quiet", markup=False)

    def show_room(self) -> None:
        """Read the baths beside the screen; a plan that runs has the book to itself."""
        if not self.link.running:
            self.beside(self._read, "read")

    async def _read(self) -> None:
        def read(book: Book) -> Shown:
            now = datetime.now(UTC)
            found = standing(book, now)
            return found, sets(found, now), to_clean(book, [each.tray for each in found])

        shown = await with_book(read)
        self.query_one("#nothing", Static).update(CLOSED if shown is None else NOTHING)
        self._show(shown or ([], [], []))

    def _show(self, shown: Shown) -> None:
        self._found, pairs, dirty = shown
        table = self.query_one(TitleTable)
        row = table.cursor_row
        had = table.display
        table.clear()
        for each in self._found:
            used = f"{bar(each.share)} {why(each)}"
            title = what_to_do(each) or short_left(each)
            table.add(
                shortened(each.tray),
                span(each.age_h),
                used,
                title=title,
                key=str(each.bath.bath_id),
            )
        table.display = table.can_focus = bool(self._found)
        if self._found:
            table.move_cursor(row=min(row, len(self._found) - 1))
        if self._found and not had and self.is_current:
            table.focus()
        self.query_one("#nothing", Static).display = not self._found
        lines = [f"two baths: {each.move.value}; {each.why}" for _, _, each in pairs] + dirty
        todo = self.query_one("#todo", Static)
        todo.update("\n".join(lines))
        todo.display = bool(lines)

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    # -- what became of a bath ---------------------------------------------------------------

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Tell more of a bath, and ask what became of it."""
        number = event.row_key.value
        found = next((one for one in self._found if str(one.bath.bath_id) == number), None)
        if found is None:
            return

        def answered(answer: str | None) -> None:
            if answer not in (None, LEAVE):
                self._change(partial(self._take, str(answer), found.tray))

        self.app.push_screen(AskScreen("\n".join(bath_lines(found)), ANSWERS), answered)

    @staticmethod
    def _take(answer: str, tray: str, book: Book) -> str:
        """Put down what became of a bath; gives what to say."""
        at = datetime.now(UTC)
        bases = {"fibre": Base.FIBRE, "coated": Base.RESIN_COATED}
        places = {"full": Place.FULL, "half": Place.HALF, "tray": Place.TRAY}
        if answer in bases:
            base = bases[answer]
            counted = count_sheet(
                book, tray=tray, area_m2=EIGHT_BY_TEN_M2, base=base, mark="", at=at
            )
            return counted.say or f"{tray}: counted"
        if answer in places:
            return f"{tray}: in a {moved(book, tray, places[answer], at).place.value} now"
        if answer == "cleaned":
            cleaned(book, tray, at)
            return f"{tray}: cleaned"
        discarded(book, tray, at)
        return f"{tray}: put down as poured out"

    def _change(self, work: Callable[[Book], str]) -> None:
        self.beside(partial(self._do, work), "page")

    async def _do(self, work: Callable[[Book], str]) -> None:
        try:
            said = await with_book(work)
        except DrysideError as error:
            self._tell(sentence(error), refused=True)
            return
        self._tell(said or CLOSED)
        self.beside(self._read, "read")  # in place of an older look, that may end later

    # -- two baths ---------------------------------------------------------------------------

    def action_rotate(self) -> None:
        """Ask before the first fixing bath is put down as gone."""
        pairs = sets(self._found, datetime.now(UTC))
        pair = next((each for each in pairs if each[1] is not None), None)
        if pair is None:
            self._tell("there are no two fixing baths; m mixes two")
            return
        first, second, found = pair
        assert second is not None
        if found.move is Move.REPLACE_BOTH:
            self._tell(f"{found.why}: replace both; m mixes two", refused=True)
            return
        tray, product = second.tray, second.bath.product
        is_early, question = found.is_early, found.why
        if is_early:
            question += ": it is too early to pour it out. Rotate all the same?"
        answers = {
            LEAVE: "leave them as they are",
            "rotate": f"{first.tray} is poured out, {tray} takes its place, a fresh one is mixed",
        }

        def answered(answer: str | None) -> None:
            if answer == "rotate":
                self._change(partial(self._rotate, product, second.bath.volume_ml, is_early))

        self.app.push_screen(AskScreen(question, answers), answered)

    @staticmethod
    def _rotate(name: str, volume_ml: float, anyway: bool, book: Book) -> str:
        try:
            of = find_product(load_products(config_folder()), name, "product")
        except BadInput:
            raise BadInput(f"{name!r} is no product any more", "rotate", "m, to mix two") from None
        rotate(book, of, volume_ml, datetime.now(UTC), anyway=anyway)
        return "the second is the first now, and a fresh one the second"

    # -- mixing ------------------------------------------------------------------------------

    def action_mix(self) -> None:
        """Open the form."""
        self.beside(self._open, "page")

    async def _open(self) -> None:
        from ui.terminal.screens.mixing import MixingScreen

        try:
            products = await asyncio.to_thread(lambda: load_products(config_folder()))
        except DrysideError as error:
            self._tell(sentence(error), refused=True)
            return
        self._tell("")
        self.app.push_screen(MixingScreen(products))

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Mix a bath", "a card, and it is put down", self.action_mix)
        yield SystemCommand(
            "Rotate", "the second fixing bath becomes the first", self.action_rotate
        )
