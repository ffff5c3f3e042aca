"""Large figures, to be read from the other end of the bench: as large as there is room for."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text
from textual.events import Resize
from textual.widget import Widget
from textual.widgets import Static

# Our own figures, three by five; a point is one wide.
SHAPES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("  #", "  #", "  #", "  #", "  #"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ".": (" ", " ", " ", " ", "#"),
}
ROWS = 5
USUAL = 4 * 4 + 2  # dots across in "888.8" with the gaps: the size does not change as it counts
LARGEST = 3
CELLS_OF_A_DOT = 2  # across, for a cell is about twice as high as it is wide


def drawn(text: str, scale: int) -> list[str]:
    """Draw figures; ``scale`` is rows for each dot, 0 for the narrow ones of one cell a dot."""
    across = CELLS_OF_A_DOT * scale or 1
    lines = []
    for row in range(ROWS):
        dots = " ".join(SHAPES[figure][row] for figure in text if figure in SHAPES)
        line = "".join(("█" if dot == "#" else " ") * across for dot in dots).rstrip()
        lines += [line] * max(1, scale)
    return lines


def scale_for(text: str, columns: int, rows: int) -> int:
    """Give the largest scale at which the figures fit."""
    dots = max(USUAL, sum(len(SHAPES[figure][0]) + 1 for figure in text if figure in SHAPES))
    for scale in range(LARGEST, 0, -1):
        if dots * CELLS_OF_A_DOT * scale <= columns and ROWS * scale * 2 <= rows:
            return scale
    return 0


class Figures(Static):
    """Shows a number of seconds; empty, it takes no room."""

    def __init__(self, **more: str) -> None:
        super().__init__("", markup=False, **more)  # type: ignore[arg-type]
        self.value = ""

    def show(self, value: str) -> None:
        """Show these figures."""
        if value != self.value:
            self.value = value
            self._draw()

    def on_resize(self, _: Resize) -> None:
        """Be as large as there is room for."""
        self._draw()

    def _draw(self) -> None:
        self.display = bool(self.value)
        room = self.parent.size if isinstance(self.parent, Widget) else self.size
        lines = drawn(self.value, scale_for(self.value, room.width, room.height))
        ink = self.styles.color.rich_color
        text = Text("\n".join(lines), no_wrap=True)
        # the ground too: in some fonts a block leaves a gap between two lines
        text.highlight_regex("█+", Style(color=ink, bgcolor=ink))
        self.update(text)
