"""What the compositor is about to send, cell by cell."""

from __future__ import annotations

from collections import Counter
from typing import Any

from rich.segment import Segment
from textual.app import App


def segments(app: App[Any]) -> list[Segment]:
    """Give all segments of the whole picture, with what stands behind a dialog."""
    update = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    return [segment for line in update.strips for strip in line for segment in strip]


def cell_offences(app: App[Any]) -> list[str]:
    """List what is not red, or left to the terminal, in the picture as it would be sent now."""
    found: Counter[str] = Counter()
    for text, style, control in segments(app):
        if control:
            continue
        if style is None:
            found[f"no style at all: {text[:20]!r}"] += 1
            continue
        for name, colour in (("ink", style.color), ("ground", style.bgcolor)):
            if colour is None or colour.triplet is None:
                found[f"{name} is the terminal's own: {text[:20]!r}"] += 1
            elif colour.triplet.green or colour.triplet.blue:
                found[f"{name} is {colour.triplet.hex}: {text[:20]!r}"] += 1
        for extra in ("reverse", "dim", "blink", "blink2", "conceal", "link"):
            if getattr(style, extra):
                found[f"{extra}: {text[:20]!r}"] += 1
    return [f"{what} ({count} times)" for what, count in found.items()]


def brightest(app: App[Any]) -> int:
    """Give the brightest red of the picture."""
    return max(
        max(style.color.triplet.red, style.bgcolor.triplet.red)
        for _, style, _ in segments(app)
        if style is not None
    )
