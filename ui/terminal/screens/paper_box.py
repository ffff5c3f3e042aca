"""A new box of paper: what stands on it, and how it will be developed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.widgets import Label, Static

from controller.boxes.asked import AskedBox, NewBox, box_asked
from controller.errors import DrysideError
from ui.terminal.screens.paper_form import MOVING, NOT_WRITTEN, PaperForm, chooser
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.boxes.model import Batch

BASES = (("not said", ""), ("fibre", "fibre"), ("resin-coated", "resin-coated"))
CALLED = {"box": "box number", "time": "time in it"}
WHAT = "type a name: what you call the paper, in your scores too"


class NewBoxScreen(PaperForm):
    """Where a box of paper is written down."""

    HELP_TEXT: ClassVar[str] = (
        "A new box of paper. Its name is what you call it, in your scores too; the box number "
        "tells boxes of one paper apart. Maker, type and surface stand on the box. Developer and "
        "time are those that it will have: a curve holds for these alone. ctrl+s writes it down; "
        "escape leaves it."
    )
    FIELDS = (
        ("name", "name", "pearl"),
        ("box", "box number", "or the emulsion's"),
        ("maker", "maker", "as printed"),
        ("type", "type", "as printed"),
        ("surface", "surface", "glossy"),
        ("opened", "opened", "2026-11-26"),
        ("developer", "developer", "and dilution"),
        ("time", "time in it", "90s, 2m"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "write it down", id="box.keep"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-name"

    def __init__(self, written: Callable[[Batch], None]) -> None:
        super().__init__()
        self._written = written  # called when it stands in the book

    def compose_room(self) -> ComposeResult:
        """Lay out the fields."""
        yield Static("A new box of paper", classes="heading")
        with Grid(classes="form -tight -paper"):
            yield from self.fields("name", "box", "maker", "type", "surface")
            yield Label("base")
            yield chooser("base", BASES, "")
            yield from self.fields("opened", "developer", "time")
        yield Static(WHAT, id="told", markup=False)

    def judge(self) -> NewBox | None:  # type: ignore[override]
        """Say whether it can be written down; gives it then."""
        if not self.typed("name"):
            self.tell(WHAT)
            return None
        fields = {name: self.typed(name) for name, _, _ in self.FIELDS}
        try:
            box = box_asked(AskedBox(**fields, base=self.chosen("base")))
        except DrysideError as error:
            self.tell(sentence(error, CALLED), refused=True)
            return None
        self.tell("ctrl+s writes it down")
        return box

    def action_keep(self) -> None:
        """Write it down, and go back."""
        if (box := self.judge()) is not None:
            self.beside(partial(self._keep, box), "page")

    async def _keep(self, box: NewBox) -> None:
        def write(book: Book) -> Batch:
            return book.papers.add_batch(**asdict(box))

        try:
            batch = await with_book(write)
        except DrysideError as error:
            self.tell(sentence(error, CALLED), refused=True)
            return
        if batch is None:
            self.tell(NOT_WRITTEN, refused=True)
            return
        self._written(batch)
        self.action_back()
