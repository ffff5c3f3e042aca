"""What the printer says of an exposure once it has been made: a remark on it, and its echo."""

from __future__ import annotations

from collections.abc import Sequence

from controller import events
from controller.exposing.told import Output
from controller.ports import Cue


def unsure(record_id: str, labels: Sequence[str]) -> list[Output]:
    """Doubt these patches, since the card moved late; nothing where none was exposed yet."""
    if not labels:
        return []
    text = "unsure: the card moved late"
    remarks = [events.Remark(record_id, text, label) for label in labels]
    return [*remarks, Cue(f"{' and '.join(labels)} unsure")]


def wrong_filter(record_id: str, label: str, asked: str) -> list[Output]:
    """Another filter than ``asked`` was in the light; nothing where none was asked for."""
    if not asked:
        return []
    text = f"wrong filter: not the {asked} that was asked for"
    return [events.Remark(record_id, text, label), Cue(f"{label}, wrong filter, written down")]
