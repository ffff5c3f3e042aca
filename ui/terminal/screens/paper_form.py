"""What the forms about a box of paper share: fields in a row, refusals in place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Label, Select, Static

from ui.terminal.screens.page import PageOver

CLOSED = "the book cannot be opened"
NOT_WRITTEN = "the book cannot be written now; nothing was put down"

MOVING: tuple[BindingType, ...] = (
    Binding("escape", "back", "leave it", id="page.back"),
    Binding("down", "app.focus_next", "next", show=False, id="form.next"),
    Binding("up", "app.focus_previous", "before", show=False, id="form.before"),
    Binding("pagedown", "scroll_lines(5)", "down", show=False, id="form.page.down"),
    Binding("pageup", "scroll_lines(-5)", "up", show=False, id="form.page.up"),
)


def chooser(name: str, choices: Sequence[tuple[str, str]], value: str) -> Select[str]:
    """Give a field of a few choices, each a word and what it means."""
    return Select(choices, id=f"of-{name}", value=value, allow_blank=False, compact=True)


class PaperForm(PageOver):
    """A form of the Paper page; ``judge`` shows what is typed."""

    NAME = "book"
    FIELDS: ClassVar[tuple[tuple[str, str, str], ...]] = ()  # name, label, hint

    def fields(self, *names: str) -> ComposeResult:
        """Lay out fields with their labels: all of them, or these."""
        for name, label, hint in self.FIELDS:
            if not names or name in names:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=hint)

    def on_input_changed(self) -> None:
        """Show what is typed."""
        self.judge()

    def on_select_changed(self) -> None:
        """Show what is chosen."""
        self.judge()

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def judge(self) -> None:
        """Show what is typed, or why it cannot be."""

    def typed(self, name: str) -> str:
        """Give what stands in a field."""
        return self.query_one(f"#of-{name}", Input).value.strip()

    def chosen(self, name: str) -> str:
        """Give what is chosen in a field of choices."""
        return str(self.query_one(f"#of-{name}", Select).value)

    def tell(self, words: str, *, refused: bool = False) -> None:
        """Say something under the form."""
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    def action_scroll_lines(self, by: int) -> None:
        """Go up or down in what is shown."""
        for box in self.query("#change-lines"):
            box.scroll_relative(y=by, animate=False)
