"""Opening the evening: what the unit cannot know. Short, and nothing depends on it."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.widgets import Input, Label, Static

from controller.chemistry.freshness import State
from controller.chemistry.shelf import standing
from controller.chemistry.words import last_warning
from controller.desk.evening import Check, keep_evening, opened
from controller.errors import BadInput
from controller.fields import whole_asked
from drivers.places import data_folder
from ui.terminal.screens.page import PageOver
from ui.terminal.shelf import with_book
from ui.terminal.widgets.tick import Tick

if TYPE_CHECKING:
    from controller.book.book import Book

MOST_STRIPS = 10_000


def worn_out(book: Book) -> list[str]:
    """Say which baths are used up, or nearly: it is better known before the first sheet."""
    found = standing(book, datetime.now(UTC))
    return [last_warning(each) for each in found if each.state in (State.LOW, State.OVER)]


class OpeningScreen(PageOver):
    """Where an evening begins."""

    NAME = "open"
    HELP_TEXT: ClassVar[str] = (
        "What the unit cannot know: see to it, tick it, and say when the baths were mixed and how "
        "many strips are left. ctrl+s keeps it; escape skips it all, and nothing is refused for it."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "keep", "keep it", id="evening.keep"),
        Binding("escape", "back", "skip", id="page.back"),
        Binding("down", "app.focus_next", "next", show=False, id="evening.next"),
        Binding("up", "app.focus_previous", "before", show=False, id="evening.before"),
    ]
    AUTO_FOCUS = "Tick"

    def __init__(self) -> None:
        super().__init__()
        self._counted = ""  # strips, as the book had them

    def compose_room(self) -> ComposeResult:
        """Lay out the questions."""
        yield Static("The evening begins", classes="heading")
        for check in Check:
            yield Tick(check.value, id=check.name.lower())
        with Grid(classes="form -two"):
            yield Label("baths mixed")
            yield Input(id="mixed", compact=True, placeholder="when, in your own words")
            yield Label("strips left")
            yield Input(id="strips", compact=True, placeholder="not counted")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Ask the book how many strips it thinks are left."""
        super().on_mount()
        self.beside(self._fill)

    async def _fill(self) -> None:
        strips = await with_book(lambda book: book.strips_left())
        field = self.query_one("#strips", Input)
        if strips and not field.value:
            field.value = str(strips)
        self._counted = field.value
        worn = await with_book(worn_out)
        if worn:
            self.query_one("#told", Static).update("\n".join(worn))

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def action_keep(self) -> None:
        """Keep what was answered, and go back."""
        self.beside(self._keep)

    async def _keep(self) -> None:
        told = self.query_one("#told", Static)
        seen_to = [c for c in Check if self.query_one(f"#{c.name.lower()}", Tick).ticked]
        mixed = self.query_one("#mixed", Input).value
        typed = self.query_one("#strips", Input).value.strip()
        evening = opened(datetime.now(UTC), seen_to, mixed)
        try:
            strips = whole_asked(typed, "strips left", 0, MOST_STRIPS) if typed else None
            await asyncio.to_thread(lambda: keep_evening(data_folder(), evening))
        except BadInput as error:
            told.update(str(error))
            told.set_class(True, "-refused")
            return
        if strips is not None and typed != self._counted:
            await with_book(lambda book: book.count_strips(strips))
        left = [check.value for check in Check if check not in seen_to]
        self.action_back()
        if left:
            self.app.notify("not seen to: " + "; ".join(left), timeout=6)
