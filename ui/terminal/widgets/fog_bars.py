"""What sheets have used of their safe time; it counts itself, and takes a line or two."""

from __future__ import annotations

from rich.text import Text
from textual.widgets import Static

from controller.exposing.bench import PaperView, SheetShown

CELLS = 20
NAMES = {"box": "the box", "strips": "strips"}


def used_now(sheet: SheetShown, at_ns: int, now_ns: int) -> float:
    """Give what a sheet has used by now, 1 being all of its safe time."""
    return sheet.used + sheet.per_s * max(0, now_ns - at_ns) / 1e9


def bar(used: float) -> str:
    """Draw it in thin strokes: few lit cells, for a screen is a light too."""
    full = round(min(1.0, used) * CELLS)
    return "━" * full + "┄" * (CELLS - full)


def lines(paper: PaperView, now_ns: int) -> list[str]:
    """Give a line with the sheet that has had the most, and the others behind it.

    A second line where the box is open, or lights burn that were never tested.
    """
    sheets = sorted(paper.sheets, key=lambda one: (not one.per_s, -one.used))
    told = []
    used = {one.mark: used_now(one, paper.at_ns, now_ns) for one in sheets}
    counted = [one for one in sheets if used[one.mark] or one.per_s]
    if counted:
        first = counted[0]
        more = first.words.partition(", and ")[2]  # what the figure does not say
        told.append(
            f"{_name(first)} {bar(used[first.mark])} {used[first.mark]:.0%}, {first.where}"
            + (f", and {more}" if more else "")
            + "".join(f"   {_name(one)} {used[one.mark]:.0%}" for one in counted[1:])
        )
    elif sheets:
        told.append(f"{', '.join(_name(one) for one in sheets)} out, under light never tested")
    if paper.box_open:
        told.append("the paper box is open: no light")
    elif counted and paper.unproved:
        told.append(f"never tested, and in no figure: {', '.join(paper.unproved)}")
    return told


def _name(sheet: SheetShown) -> str:
    return NAMES.get(sheet.mark, sheet.mark)


class FogBars(Static):
    """The bars; with no paper out they take no room."""

    def __init__(self) -> None:
        super().__init__("", id="fog", markup=False)
        self._told: list[str] = []

    def show(self, paper: PaperView | None, now_ns: int) -> None:
        """Show these accounts as they are now."""
        told = lines(paper, now_ns) if paper else []
        if told != self._told:
            self._told = told
            self.update(Text("\n".join(told), no_wrap=True, overflow="ellipsis"))
        self.display = bool(told)
