"""A paper's curves as a picture to keep: PNG, SVG or PDF, by the ending of its name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from controller.boxes.text_plot import Drawn
from controller.errors import BadInput

ENDINGS = (".png", ".svg", ".pdf")
MARKS = ("o", "s", "^", "D", "v", "P", "X")


@dataclass(frozen=True)
class Ranges:
    """ISO range against the hard light's part in a mixture, as log2 of hard over soft dose."""

    soft: str
    hard: str
    points: Sequence[tuple[float, float]]
    soft_only: float
    hard_only: float


def require_ending(path: Path, option: str) -> None:
    """Refuse a name whose ending is no picture's. Raises BadInput."""
    if path.suffix.lower() not in ENDINGS:
        right = "a name that ends in .png, .svg or .pdf"
        raise BadInput(f"{path.name} is not the name of a picture", option, right)
    if not path.parent.is_dir():
        raise BadInput(f"there is no folder {path.parent}", option, "a folder that is there")


def paper_plot(
    curves: Sequence[Drawn], path: Path, *, title: str, absolute: bool, ranges: Ranges | None = None
) -> None:
    """Draw curves with their patches, and beside them, where it is known, range against ratio.

    ``absolute``: log exposures are of lux seconds, else of seconds of dose.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    wide = 11.0 if ranges else 7.0
    figure = Figure(figsize=(wide, 5.5), layout="constrained")
    FigureCanvasAgg(figure)
    panels = figure.subplots(1, 2 if ranges else 1, squeeze=False)[0]
    panel = panels[0]
    for index, one in enumerate(curves):
        grey = str(0.65 * index / max(1, len(curves) - 1)) if len(curves) > 1 else "0"
        if one.line:
            panel.plot(*zip(*one.line, strict=True), color=grey, linewidth=1.2)
        if one.patches:
            panel.plot(
                *zip(*one.patches, strict=True),
                MARKS[index % len(MARKS)],
                color=grey,
                markersize=4,
                label=one.name,
            )
    panel.set_xlabel("log10 of lux seconds" if absolute else "log10 of seconds of dose")
    panel.set_ylabel("density")
    panel.set_ylim(bottom=0.0)
    panel.grid(visible=True, linewidth=0.3)
    panel.legend(frameon=False)
    panel.set_title(title)
    if ranges:
        beside = panels[1]
        beside.plot(*zip(*ranges.points, strict=True), color="0", linewidth=1.2)
        for value, name in ((ranges.soft_only, ranges.soft), (ranges.hard_only, ranges.hard)):
            beside.axhline(value, color="0.6", linewidth=0.6)
            beside.annotate(f"{name} alone", (ranges.points[0][0], value), fontsize=8)
        beside.set_xlabel(f"log2 of dose {ranges.hard} over dose {ranges.soft}")
        beside.set_ylabel("100 x log exposure range")
        beside.grid(visible=True, linewidth=0.3)
        beside.set_title("range by ratio")
    figure.savefig(path, dpi=150)
