"""A print of the book, made again: its score, and what has changed since. Pure."""

from __future__ import annotations

import json
from collections.abc import Iterable

from controller.book.entries import Page, Record
from controller.boxes.model import Batch, same_box
from controller.errors import BadInput
from controller.rig.model import Rig
from controller.score.amount import Unit, seconds
from controller.score.doses import filter_of, print_factor
from controller.score.extra import Added, added_to
from controller.score.file import from_tables
from controller.score.model import ALL_PASSES, Burn, Pass, Score
from controller.score.older import from_printing
from controller.score.said import called, lamp_lines, said
from controller.stops import format_time

OF_A_SCORE = ("print", "trial piece")
STANDS = (  # what of a score tells how the bench stood
    ("paper", "name"),
    ("paper", "batch"),
    ("setup", "lens"),
    ("setup", "aperture"),
    ("setup", "magnification"),
    ("setup", "column"),
    ("setup", "head_height_mm"),
    ("setup", "lamp"),
    ("process", "developer"),
    ("process", "time"),
    ("process", "temperature"),
)
NAMED = {"name": "paper", "time": "developing time"}


def score_of_record(record: Record) -> Score:
    """Give the score that a record was made from. Raises BadInput for what is no print."""
    mark = record.marks[-1] if record.marks else record.record_id[:8]
    if record.kind in OF_A_SCORE:
        tables, where = json.loads(record.spec), f"{mark} in the book"
        # prints of one exposure were written otherwise before there were scores
        return from_tables(from_printing(tables) if "dose_s" in tables else tables, where)
    right = "the mark of a print; a strip is made again by dryside strip"
    raise BadInput(f"{mark} is a {record.kind}", "score again", right)


def with_extras(score: Score, page: Page, mark: str) -> tuple[Score, list[str]]:
    """Give the score of a print as it really was, its extras in it, and a line for each.

    An extra on a region becomes a burn, one on the whole sheet a pass, both in seconds: they
    were given as they were, whatever the base. Raises BadInput.
    """
    lines = []
    last = score.passes[-1]
    passes, burns = list(score.passes), list(_over_passes(score))
    factor = print_factor(score)  # an extra was given as it was told, with nothing taken off
    for added in added_to(page, mark):
        extra, name = added.extra, added.expose.filter
        amount = seconds(added.given_s / factor)
        note = extra.note or f"extra on {mark}"
        same = name == filter_of(last)
        if extra.region:
            own = "" if same else name
            burns.append(
                Burn(regions=(extra.region,), amount=amount, over=last.label, filter=own, note=note)
            )
        else:
            update: dict[str, object] = {"filter": name, "yellow": 0.0, "magenta": 0.0}
            kept = {} if same else update  # a colour head stays as for the last pass
            label = _own_label(passes)
            passes.append(
                last.model_copy(update={"label": label, "dose": amount, "note": note} | kept)
            )
        lines.append(extra_line(added))
    if not lines:
        return score, []
    tables = score.model_copy(update={"passes": tuple(passes), "burns": tuple(burns)})
    return from_tables(tables.model_dump(mode="json"), f"{mark} in the book"), lines


def extra_line(added: Added) -> str:
    """Tell an extra: how much, where, through which filter, and why."""
    extra = added.extra
    note = f": {extra.note}" if extra.note else ""
    return f"{extra.name}, {format_time(added.given_s)}, filter {added.expose.filter}{note}"


def _own_label(passes: list[Pass]) -> str:
    taken = {one.label for one in passes}
    labels = (f"extra {n}" if n > 1 else "extra" for n in range(1, len(passes) + 2))
    return next(label for label in labels if label not in taken)


def _over_passes(score: Score) -> list[Burn]:
    """Give the burns, each over passes by their names: a further pass makes no burn longer."""
    burns = []
    for burn in score.burns:
        over = [burn.over]
        if burn.over == ALL_PASSES:
            over = [one.label for one in score.passes]
            if burn.amount.unit is not Unit.STOPS:
                over = over[-1:]  # seconds are given once
        burns += [burn.model_copy(update={"over": label}) for label in over]
    return burns


def changed_since(record: Record, score: Score, rig: Rig, now: Score) -> list[str]:
    """Tell what is not as it was: lamp calibration, rig, paper batch, set-up.

    ``now`` is the score that was run last: how the bench stands.
    """
    lamp = rig.calibration()
    today = {"cold_lag_s": lamp.cold_lag_s, "warm_gain_s2": lamp.warm_gain_s2}
    lines = [
        f"changed since: {what} was {was}, is {is_}"
        for what, was, is_ in lamp_lines(record.lamp, today)
    ]
    if record.rig and record.rig != rig.name:
        lines.append(f"changed since: rig was {record.rig}, is {rig.name}")
    for table, name in STANDS:
        was_it, is_it = (said(getattr(getattr(one, table), name), name) for one in (score, now))
        if was_it and is_it and was_it != is_it:
            what = NAMED.get(name, called(name))
            lines.append(f"changed since: {what} was {was_it}, the last print had {is_it}")
    return lines


def boxes_since(record: Record, score: Score, boxes: Iterable[Batch]) -> list[str]:
    """Tell the newest box of a print's paper that came into the book after the print."""
    paper = score.paper
    for one in sorted(boxes, key=lambda box: box.at, reverse=True):
        later = one.at > record.begun_at
        if later and one.box and same_box(one, paper.name, one.box):
            if same_box(one, paper.name, paper.batch):
                return []
            own = f"batch {paper.batch}" if paper.batch else "a box without a number"
            return [
                f"changed since: the print is on {own} of {paper.name}, a newer box is {one.handle}"
            ]
    return []
