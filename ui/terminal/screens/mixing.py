"""Mixing: the card is shown as it is typed, and the bath put down when it was mixed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.chemistry.asked import AskedCard, card_asked
from controller.chemistry.bath import Bath, Place
from controller.chemistry.card import Card, card_lines
from controller.chemistry.dilution import both_readings, has_two_readings
from controller.chemistry.product import Product
from controller.chemistry.shelf import Occupied, bath_of, made, set_of_two
from controller.errors import BadInput, DrysideError
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.book import Book

ONE, TWO, FULL, HALF = "one", "two", "full", "half"
WAYS = (("a tray", ONE), ("two trays", TWO), ("full bottle", FULL), ("half bottle", HALF))
PLACES = {ONE: Place.TRAY, FULL: Place.FULL, HALF: Place.HALF}
FIELDS = (
    ("dilution", "parts", ""),
    ("volume", "volume", "1000, 1.5l"),
    ("tray", "or tray", "30x40"),
    ("depth", "deep cm", "2"),
    ("left", "bottle has", "of A, of B"),
    ("vessel", "vessel", "any"),
    ("name", "called", "by its kind"),
)
CALLED = {"volume": "volume", "tray": "or tray", "depth": "deep cm", "left": "bottle has"}
READY = "ctrl+s: it is mixed, put it down; escape leaves all as it was"
LEAVE, GONE = "leave", "gone"


class MixingScreen(PageOver):
    """Where a bath is mixed."""

    NAME = "chemistry"
    HELP_TEXT: ClassVar[str] = (
        "What is mixed, and how much: a volume, or a tray by its size and depth. Parts stand with "
        "a plus: 1+9 is one part and nine of water, 1+1+8 are A, B and water; left empty they are "
        "the product's. What is left in the bottle tells what it still makes. ctrl+s puts the "
        "bath down as mixed, so that it grows old; escape only looked at the card."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "it is mixed", id="mixing.keep"),
        Binding("escape", "back", "leave it", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="mixing.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="mixing.before"),
        Binding("pagedown", "scroll_card(5)", "down", show=False, id="mixing.page.down"),
        Binding("pageup", "scroll_card(-5)", "up", show=False, id="mixing.page.up"),
    ]
    AUTO_FOCUS = "#of-volume"

    def __init__(self, products: Mapping[str, Product]) -> None:
        super().__init__()
        self._products = products

    def compose_room(self) -> ComposeResult:
        """Lay out the fields over the card."""
        names = [(product.name, key) for key, product in self._products.items()]
        with Grid(classes="form -tight"):
            yield Label("product")
            yield Select(names, id="of-product", allow_blank=False, compact=True)
            yield Label("in")
            yield Select(WAYS, id="of-in", allow_blank=False, compact=True)
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=placeholder)
        yield Static("", id="told", markup=False)
        with VerticalScroll(id="card-box", can_focus=False):
            yield Static("", id="card", markup=False)

    def on_input_changed(self) -> None:
        """Show what is typed."""
        self._judge()

    def on_select_changed(self) -> None:
        """Show what is chosen."""
        product = self._product
        self.query_one("#of-dilution", Input).placeholder = product.dilution
        self.query_one("#of-name", Input).placeholder = product.kind.words
        self._judge()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    @property
    def _product(self) -> Product:
        return self._products[str(self.query_one("#of-product", Select).value)]

    def _field(self, name: str) -> str:
        return self.query_one(f"#of-{name}", Input).value.strip()

    def _judge(self) -> Card | None:
        """Show the card; gives it where it can be made."""
        card = self.query_one("#card", Static)
        dilution = self._field("dilution")
        if not (self._field("volume") or self._field("tray")):
            card.update("")
            self._tell("type a volume, or the size of a tray: the card is shown as you type")
            return None
        try:
            if has_two_readings(dilution):
                self._tell(f"{both_readings(dilution)}: type it with a plus", refused=True)
                return None
            made_of = card_asked(
                AskedCard(
                    product=self._product.name,
                    dilution=dilution,
                    volume=self._field("volume"),
                    tray=self._field("tray"),
                    depth=self._field("depth") or "2",
                    vessel=self._field("vessel"),
                    left=tuple(self._field("left").replace(",", " ").split()),
                ),
                self._products,
            )
        except BadInput as error:
            card.update("")
            self._tell(sentence(error, CALLED), refused=True)
            return None
        card.update("\n".join(card_lines(made_of)))
        self._tell(READY)
        return made_of

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    def action_scroll_card(self, by: int) -> None:
        """Go up or down in the card."""
        self.query_one("#card-box").scroll_relative(y=by, animate=False)

    # -- putting it down ---------------------------------------------------------------------

    def _baths(self) -> tuple[Bath, ...] | None:
        card = self._judge()
        if card is None:
            return None
        parts, product = card.mixed.dilution.parts, self._product
        volume_ml, at = float(card.mixed.volume_ml), datetime.now(UTC)
        way = str(self.query_one("#of-in", Select).value)
        if way == TWO:
            return set_of_two(product, volume_ml, at, dilution=parts)
        tray, place = self._field("name"), PLACES[way]
        return (bath_of(product, volume_ml, at, tray=tray, place=place, dilution=parts),)

    def action_keep(self) -> None:
        """Put it down as mixed, and go back."""
        if (baths := self._baths()) is not None:
            self.beside(partial(self._keep, baths, over=False), "page")

    async def _keep(self, baths: tuple[Bath, ...], *, over: bool) -> None:
        def write(book: Book) -> bool:
            made(book, *baths, over=over)
            return True

        try:
            done = await with_book(write)
        except Occupied as error:
            self._ask(baths, error.before.tray, error.before.bath.product)
            return
        except DrysideError as error:
            self._tell(sentence(error, CALLED), refused=True)
            return
        if not done:
            self._tell("the book cannot be written now; nothing was put down", refused=True)
            return
        self.action_back()

    def _ask(self, baths: tuple[Bath, ...], tray: str, product: str) -> None:
        answers = {
            LEAVE: "leave it as it is, for now",
            GONE: "it was poured out or handed in; this one stands there now",
        }

        def answered(answer: str | None) -> None:
            if answer == GONE:
                self.beside(partial(self._keep, baths, over=True), "page")

        self.app.push_screen(AskScreen(f"{product} stands in {tray} already", answers), answered)
