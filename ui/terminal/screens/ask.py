"""A question with a few answers; escape gives none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from ui.terminal.screens.over import Over


class AskScreen(Over[str], ModalScreen[str]):
    """Asks; gives the key of the answer that was chosen.

    Where an answer cannot be taken back, the first one is to change nothing.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "leave it", id="ask.close"),
    ]

    def __init__(self, question: str, answers: Mapping[str, str | None]) -> None:
        super().__init__()
        self._question = question
        self._answers = answers

    def compose(self) -> ComposeResult:
        """Lay out question and answers."""
        with Vertical(id="help") as page:
            page.border_subtitle = "arrows and enter, or a click; escape leaves it as it is"
            yield Static(self._question, classes="heading", markup=False)
            yield Static("")
            options = (Option(words or key, id=key) for key, words in self._answers.items())
            yield OptionList(*options, markup=False)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take the answer."""
        self.leave(event.option_id)

    def action_close(self) -> None:
        """Give no answer."""
        self.leave()
