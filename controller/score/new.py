"""The beginning of a score: from what is typed, and the one that shows what a score can be."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from controller.score.change import pass_asked
from controller.score.file import from_tables, score_of
from controller.score.model import Score


def new_score(base_s: float, passes: list[str], fields: dict[str, Any], file: str) -> Score:
    """Begin a score: a base, passes as they are typed (else one), and other fields.

    Raises BadInput.
    """
    entries = [pass_asked(text) for text in passes] or [{"label": "print"}]
    return from_tables({"base_s": base_s, "passes": entries, **fields}, file)


def demonstration() -> Score:
    """Give the demonstration: a harbour that was never photographed, two filters, handwork."""
    text = (files("controller.score") / "harbour.toml").read_text(encoding="utf-8")
    return score_of(text, "harbour.toml")
