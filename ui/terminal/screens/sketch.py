"""The sketch of the score that lies ready, as large as there is room for."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Static

from controller.score.drawing import draw_sketch, sketch_key
from ui.terminal.screens.page import PageOver

NONE = (
    "the print that lies ready has no sketch; `dryside score edit NAME --sketch-of OTHER` gives "
    "it that of another"
)


class SketchScreen(PageOver):
    """Where the regions are looked at."""

    NAME = "score"
    HELP_TEXT: ClassVar[str] = (
        "The regions of the picture, + where they are burned and - where they are dodged; the "
        "letters stand beside it. t turns it as the image lies on the easel, upside down."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("t", "turn", "turn it", id="sketch.turn"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._upright = True

    def compose_room(self) -> ComposeResult:
        """Lay out the sketch beside its key."""
        with Horizontal(id="sketch-page"):
            yield Static("", id="sketch", markup=False)
            yield Static("", id="sketch-key", markup=False)
        yield Static("", id="told", markup=False)

    def on_resize(self) -> None:
        """Draw anew when it is known how much room there is."""
        self.call_after_refresh(self.show_room)

    def show_room(self) -> None:
        """Draw the sketch of what lies ready."""
        desk = self.link.desk
        score = desk.score if desk else None
        room = self.query_one("#sketch-page").size
        key = sketch_key(score) if score else []
        wide = room.width - max(map(len, key), default=0) - 4
        drawing = draw_sketch(score, wide, room.height, upright=self._upright) if score else []
        self.query_one("#sketch", Static).update("\n".join(drawing))
        self.query_one("#sketch-key", Static).update("\n".join(key))
        lies = "as it will hang" if self._upright else "as the image lies on the easel"
        self.query_one("#told", Static).update(lies if drawing else NONE)

    def action_turn(self) -> None:
        """Turn it upside down, or back."""
        self._upright = not self._upright
        self.show_room()
