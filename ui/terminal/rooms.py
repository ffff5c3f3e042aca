"""The rooms of the terminal, one key each, loaded when they are entered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.screen import Screen


@dataclass(frozen=True, slots=True)
class Room:
    """A room: its name, what stands over its door, and where its screen is."""

    name: str
    title: str
    where: str  # module and class

    @property
    def screen(self) -> Callable[[], Screen[None]]:
        """Give what makes the screen."""

        def make() -> Screen[None]:
            module, _, name = self.where.partition(":")
            made: Screen[None] = getattr(import_module(module), name)()
            return made

        return make


PAGES = {
    page.name: page
    for page in (
        Room("sounds", "Sounds", "ui.terminal.screens.sounds:SoundsScreen"),
        Room("open", "Open the evening", "ui.terminal.screens.opening:OpeningScreen"),
        Room("close", "Close the evening", "ui.terminal.screens.closing:ClosingScreen"),
        Room("scores", "Scores that are kept", "ui.terminal.screens.scores:ScoresScreen"),
        Room("convert", "Convert the score", "ui.terminal.screens.converting:ConvertingScreen"),
        Room("sketch", "Sketch of the score", "ui.terminal.screens.sketch:SketchScreen"),
        Room("batches", "Batches of prints", "ui.terminal.screens.batches:BatchesScreen"),
        Room("tones", "Which tones will come", "ui.terminal.screens.tones:TonesScreen"),
        Room("paper", "Boxes of paper", "ui.terminal.screens.paper:PaperScreen"),
        Room("cross", "Lay out a cross", "ui.terminal.screens.crossing:CrossingScreen"),
    )
}

ROOMS = (
    Room("bench", "Bench", "ui.terminal.screens.bench:BenchScreen"),
    Room("strip", "Strip", "ui.terminal.screens.strip:StripScreen"),
    Room("score", "Score", "ui.terminal.screens.score:ScoreScreen"),
    Room("room", "Room", "ui.terminal.screens.lights:LightsScreen"),
    Room("trays", "Trays", "ui.terminal.screens.trays:TraysScreen"),
    Room("chemistry", "Chemistry", "ui.terminal.screens.chemistry:ChemistryScreen"),
    Room("book", "Book", "ui.terminal.screens.book:BookScreen"),
)
