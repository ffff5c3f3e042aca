"""A control chart as a picture: a row for each figure, with its limits."""

from __future__ import annotations

from pathlib import Path

from controller.boxes.control import Chart, Figure, Limits


def control_plot(charted: Chart, path: Path, *, title: str, limits: Limits) -> None:
    """Draw by how much each figure of each strip is off its aim."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Drawing

    drawing = Drawing(figsize=(8.0, 8.0), layout="constrained")
    FigureCanvasAgg(drawing)
    panels = drawing.subplots(len(Figure), 1, sharex=True, squeeze=False)[:, 0]
    places = range(1, len(charted.strips) + 1)
    for panel, figure in zip(panels, Figure, strict=True):
        watch, act = limits.of(figure)
        off = [one.off[figure] for one in charted.strips]
        panel.axhline(0.0, color="0.4", linewidth=0.8)
        for limit, style in ((watch, ":"), (act, "--")):
            for side in (-limit, limit):
                panel.axhline(side, color="0", linestyle=style, linewidth=0.8)
        panel.plot(places, off, "o-", color="0", markersize=4, linewidth=1.0)
        most = max(1.2 * act, 1.1 * max(abs(value) for value in off))
        panel.set_ylim(-most, most)
        panel.set_ylabel(figure.value)
    panels[0].set_title(f"control strips of {title}")
    panels[-1].set_xticks(list(places), [one.reading.mark for one in charted.strips])
    drawing.savefig(path, dpi=150)
