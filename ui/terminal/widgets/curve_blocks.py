"""A print's curve as block graphics, its regions on it by the letters of the sketch."""

from __future__ import annotations

from controller.boxes.text_plot import LABEL, Drawn, plot
from controller.record_sheet.model import Curve
from controller.score.model import ELSEWHERE, Score

LEAST = LABEL + 12  # columns: less shows no curve
FRAME = 2  # rows that the axis takes
NOWHERE = "*"


def curve_lines(curve: Curve | None, score: Score | None, columns: int, rows: int) -> list[str]:
    """Draw the curve and, beneath it, the densities of the regions as far as there is room."""
    if curve is None or columns < LEAST or rows < 2 * FRAME + 4:
        return []
    letters = {name: letter for letter, name in score.regions.items()} if score else {}
    letters[ELSEWHERE] = NOWHERE
    tones = sorted(curve.tones, key=lambda one: one.density)
    # zero is where the curve begins: nothing is known of light itself
    zero = curve.points[0][0]
    drawn = [Drawn("", [(x - zero, y) for x, y in curve.points])]
    drawn += [Drawn(letters.get(t.name, "?"), (), [(t.at - zero, t.density)]) for t in tones]
    high = max(4, min(rows - FRAME - 1 - (len(tones) + 1) // 2, columns // 3))
    lines = plot(drawn, columns=columns, rows=high)
    lines.append("density over log light"[:columns])
    half = columns // 2
    # a long name is cut, and never the figure behind it
    told = [f"{letters.get(t.name, '?')} {t.name[: half - 8]} {t.density:.2f}" for t in tones]
    for left, right in zip(told[::2], [*told[1::2], ""], strict=False):
        lines.append(f"{left[: half - 1]:{half}}{right[:half]}".rstrip())
    return [line[:columns] for line in lines[:rows]]
