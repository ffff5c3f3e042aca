"""A cross as it lies, to scale where there is room: soft steps across, hard ones down."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text
from textual.widget import Widget
from textual.widgets import Static

from controller.stops import format_time
from controller.strips.cross import Cross, cells_of
from controller.strips.strip import LETTERS

LIGHTEST, DARKEST = 0xE0, 0x48  # an order from light to dark, no promise of tones
MARGIN = 8  # cells at the left, for the hard seconds
LEAST = 8  # cells across, for a name and seconds above it
NARROWEST = 4  # for a name alone
TALL = 2.0  # a character's height over its width, near enough in every terminal's typeface


class CrossDrawing(Static):
    """Draws the sheet cell by cell, the seconds of both filters along its edges."""

    def show(self, cross: Cross) -> None:
        """Show a cross."""
        columns, rows = cross.soft.steps, cross.hard.steps
        room = (self.parent if isinstance(self.parent, Widget) else self).size
        across = TALL * cross.width_mm / cross.height_mm * rows / columns  # of a cell, for a line
        wide = max(NARROWEST, (room.width - MARGIN) // columns)
        high = max(1, min((room.height - 1) // rows, round(wide / across)))
        each = max(min(LEAST, wide), min(wide, round(high * across)))
        text = Text(no_wrap=True)
        text.append(" " * MARGIN)
        for dose_s in cross.soft.totals_s():
            told = format_time(dose_s)
            text.append((told if len(told) < each else f"{dose_s:.0f}").center(each))
        by_name = {cell.name: cell for cell in cells_of(cross)}
        for row, dose_s in enumerate(cross.hard.totals_s()):
            for line in range(high):
                named = line == (high - 1) // 2
                text.append("\n" + (format_time(dose_s) if named else "").rjust(MARGIN - 2) + "  ")
                for column in range(1, columns + 1):
                    cell = by_name[f"{LETTERS[row]}{column}"]
                    place = (row / (rows - 1) + (column - 1) / (columns - 1)) / 2
                    text.append((cell.name if named else "").center(each), _style(place))
        self.update(text)


def _style(place: float) -> Style:
    red = round(LIGHTEST + (DARKEST - LIGHTEST) * place)
    ink = "#000000" if red > 140 else "#ff0000"
    return Style(bgcolor=f"#{red:02x}0000", color=ink, bold=True)
