"""A print of the book, made again: its score, and what has changed since. Pure."""

from __future__ import annotations

import json

from controller.book.entries import Record
from controller.errors import BadInput
from controller.rig.model import Rig
from controller.score.file import from_tables
from controller.score.model import Score
from controller.score.older import from_printing

OF_A_SCORE = ("print", "trial piece")


def score_of_record(record: Record) -> Score:
    """Give the score that a record was made from. Raises BadInput for what is no print."""
    mark = record.marks[-1] if record.marks else record.record_id[:8]
    if record.kind in OF_A_SCORE:
        tables, where = json.loads(record.spec), f"{mark} in the book"
        # prints of one exposure were written otherwise before there were scores
        return from_tables(from_printing(tables) if "dose_s" in tables else tables, where)
    right = "the mark of a print; a strip is made again by dryside strip"
    raise BadInput(f"{mark} is a {record.kind}", "score again", right)


def changed_since(record: Record, score: Score, rig: Rig, now: Score) -> list[str]:
    """Tell what is not as it was: lamp calibration, rig, paper batch, set-up.

    ``now`` is the score that was run last: how the bench stands.
    """
    lines = []
    lamp = rig.calibration()
    today = {"cold_lag_s": lamp.cold_lag_s, "warm_gain_s2": lamp.warm_gain_s2}
    for name, value in today.items():
        was = record.lamp.get(name, 0.0)
        if abs(was - value) > 1e-4:
            lines.append(f"changed since: lamp {name} was {was:g}, is {value:g}")
    if record.rig and record.rig != rig.name:
        lines.append(f"changed since: rig was {record.rig}, is {rig.name}")
    for what, was_it, is_it in (
        ("paper", score.paper.name, now.paper.name),
        ("batch", score.paper.batch, now.paper.batch),
        ("lens", score.setup.lens, now.setup.lens),
        ("aperture", score.setup.aperture, now.setup.aperture),
        ("magnification", score.setup.magnification, now.setup.magnification),
        ("column", score.setup.column, now.setup.column),
        ("lamp", score.setup.lamp, now.setup.lamp),
    ):
        if was_it and is_it and was_it != is_it:
            lines.append(f"changed since: {what} was {was_it}, the last print had {is_it}")
    return lines
