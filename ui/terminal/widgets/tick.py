"""Something to see to, and to tick: with space, enter or a click."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.reactive import reactive
from textual.widget import Widget


class Tick(Widget, can_focus=True):
    """One line of words behind a box."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,enter", "turn", "tick", id="tick.turn", key_display="space"),
    ]
    ticked: reactive[bool] = reactive(False)

    def __init__(self, words: str, **more: str) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self._words = words

    def render(self) -> str:
        """Draw box and words; the bracket is escaped, for it would begin markup."""
        return f"\\[{'x' if self.ticked else ' '}]  {self._words}"

    def action_turn(self) -> None:
        """Tick it, or take the tick away."""
        self.ticked = not self.ticked

    def on_click(self) -> None:
        """Tick it, or take the tick away."""
        self.action_turn()
