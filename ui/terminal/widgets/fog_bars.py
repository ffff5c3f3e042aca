"""What each sheet has used of its safe time, a bar for each; it counts itself."""

from __future__ import annotations

import time

from textual.widgets import Static

from controller.bench import PaperView, SheetShown

CELLS = 20
MOST = 4  # bars; more sheets are told by their marks
NAMES = {"box": "the box", "strips": "strips"}


def used_now(sheet: SheetShown, at_ns: int, now_ns: int) -> float:
    """Give what a sheet has used by now, 1 being all of its safe time."""
    return sheet.used + sheet.per_s * max(0, now_ns - at_ns) / 1e9


def bar(used: float) -> str:
    """Draw it in thin strokes: few lit cells, for a screen is a light too."""
    full = round(min(1.0, used) * CELLS)
    return "━" * full + "┄" * (CELLS - full)


def lines(paper: PaperView, now_ns: int) -> list[str]:
    """Give a line for each sheet, those first that light reaches and that have had the most."""
    sheets = sorted(paper.sheets, key=lambda one: (not one.per_s, -one.used))
    told = []
    for sheet in sheets[:MOST]:
        used = used_now(sheet, paper.at_ns, now_ns)
        name = NAMES.get(sheet.mark, sheet.mark)
        more = sheet.words.partition(", and ")[2]  # what the figure does not say
        told.append(
            f"{name:8}{bar(used)} {used:4.0%} of the safe time, {sheet.where}"
            f"{f'; {more}' if more else ''}"
        )
    if len(sheets) > MOST:
        told.append(f"and {', '.join(NAMES.get(s.mark, s.mark) for s in sheets[MOST:])}")
    if paper.box_open:
        told.append("the paper box is open: no light")
    if paper.unproved and any(sheet.per_s or "unknown" in sheet.words for sheet in sheets):
        told.append(f"never tested: {', '.join(paper.unproved)}")
    return told


class FogBars(Static):
    """The bars; with no paper out they take no room."""

    def __init__(self) -> None:
        super().__init__("", id="fog", markup=False)
        self._told: list[str] = []

    def show(self, paper: PaperView | None) -> None:
        """Show these accounts as they are now."""
        told = lines(paper, time.monotonic_ns()) if paper else []
        if told != self._told:
            self._told = told
            self.update("\n".join(told))
        self.display = bool(told)
