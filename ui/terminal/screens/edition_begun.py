"""A new edition: its name, how many copies and proofs, and of which negative."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.widgets import Input, Static

from controller.book.print_entries import MOST_COPIES, of_how_many, proofs_warning
from controller.errors import BadInput, DrysideError
from controller.fields import whole_asked
from ui.terminal.screens.paper_form import MOVING, NOT_WRITTEN, PaperForm
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.print_entries import Edition

WHAT = "type a name, such as the picture's title, and how many copies there are to be, ever"
CALLED = {"copies": "copies", "proofs": "artist's proofs"}


class AskedEdition(NamedTuple):
    """What was typed, understood."""

    name: str
    copies: int
    proofs: int
    negative: str
    remark: str


class BeginEditionScreen(PaperForm):
    """Where an edition is begun."""

    HELP_TEXT: ClassVar[str] = (
        "A new edition. How many copies there are to be is fixed once the first is signed; "
        "artist's proofs (AP) are counted beside them, printer's proofs (PP) need no count. "
        "ctrl+s begins it and shows its page, where n lays copies ready; escape leaves it."
    )
    FIELDS = (
        ("name", "name", "Low tide"),
        ("copies", "copies", "25"),
        ("proofs", "proofs", "AP, 0 if empty"),
        ("negative", "negative", "24-17/3"),
        ("remark", "remark", "anything else"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "begin it", id="edition.keep"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-name"

    def __init__(self, names: frozenset[str], negative: str, begun: Callable[[str], None]) -> None:
        super().__init__()
        self._names = names  # of editions that are there, so that none is changed by accident
        self._negative = negative
        self._begun = begun  # called with its name when it stands in the book

    def compose_room(self) -> ComposeResult:
        """Lay out the fields."""
        yield Static("A new edition", classes="heading")
        with Grid(classes="form -tight -paper"):
            yield from self.fields()
        yield Static(WHAT, id="told", markup=False)

    def on_mount(self) -> None:
        """Begin with the negative of the print that one came from."""
        super().on_mount()
        self.query_one("#of-negative", Input).value = self._negative

    def judge(self) -> AskedEdition | None:  # type: ignore[override]
        """Say whether it can begin; gives it then."""
        name, copies = self.typed("name"), self.typed("copies")
        if not (name and copies):
            self.tell(WHAT)
            return None
        try:
            if name.casefold() in self._names:
                raise BadInput(f"there is an edition {name}", "name", "another name")
            asked = AskedEdition(
                name,
                whole_asked(copies, "--copies", 1, MOST_COPIES),
                whole_asked(self.typed("proofs") or "0", "--proofs", 0, MOST_COPIES),
                self.typed("negative"),
                self.typed("remark"),
            )
        except BadInput as error:
            self.tell(sentence(error, CALLED), refused=True)
            return None
        begins = f"ctrl+s begins it: {of_how_many(asked.copies, asked.proofs)}"
        warning = proofs_warning(asked.copies, asked.proofs)
        self.tell(f"{begins}\n{warning}" if warning else begins)
        return asked

    def action_keep(self) -> None:
        """Begin it, and show its page."""
        if (asked := self.judge()) is not None:
            self.beside(partial(self._keep, asked), "page")

    async def _keep(self, asked: AskedEdition) -> None:
        from controller.book.editions import begin_edition

        def write(book: Book) -> Edition:
            return begin_edition(
                book,
                asked.name,
                asked.copies,
                artist_proofs=asked.proofs,
                negative=asked.negative,
                remark=asked.remark,
            )

        try:
            edition = await with_book(write)
        except DrysideError as error:
            self.tell(sentence(error, CALLED), refused=True)
            return
        if edition is None:
            self.tell(NOT_WRITTEN, refused=True)
            return
        self.action_back()
        self._begun(edition.name)
