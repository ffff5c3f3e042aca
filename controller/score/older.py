"""Prints of one exposure, as they were written before there were scores."""

from __future__ import annotations

from typing import Any


def from_printing(printing: dict[str, Any]) -> dict[str, Any]:
    """Turn the tables of such a print into those of a score."""
    percent = float(printing.get("dry_down_percent") or 0.0)
    only: dict[str, Any] = {"label": "print"}
    if printing.get("filter"):
        only["filter"] = printing["filter"]
    tables: dict[str, Any] = {
        "base_s": printing["dose_s"],
        "judged": printing.get("judged", "wet"),
        "passes": [only],
        "paper": {
            "width_mm": printing.get("width_mm", 254.0),
            "height_mm": printing.get("height_mm", 203.2),
            "dry_down": f"{percent:g}%" if percent else "",
        },
    }
    if printing.get("aperture"):
        tables["setup"] = {"aperture": printing["aperture"]}
    if printing.get("picked_from"):
        tables["came_from"] = [printing["picked_from"]]
    return tables
