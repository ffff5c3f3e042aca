"""What lies ready on the desk as somebody typed it: a strip, a cross, the head of a score."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from controller.errors import BadInput
from controller.fields import pair_asked, size_asked, whole_asked
from controller.rig.model import Rig
from controller.score.file import from_tables, tables_of
from controller.score.model import Score
from controller.score.plan import MOST_SHEETS
from controller.stops import aperture_value, parse_step, parse_time
from controller.strips.cross import MOST_STEPS, Cross, Steps
from controller.strips.cutting import Cutting
from controller.strips.strip import LONGEST_S, Beneath, Purpose, Strip

SHEET_MM = (254.0, 203.2)  # of a print, if nothing is said
LEAST_ADVANCE_S = 2.0  # sooner is too soon for a hand


@dataclass(frozen=True)
class Asked:
    """A strip as it was typed, field by field."""

    base: str = "8"
    step: str = "1/3"
    patches: str = "5"
    mode: str = "card"
    side: str = "left"
    advance: str | None = None
    place: str = ""
    filter: str = ""
    aperture: str = ""
    size: str = ""
    safelights: str = "as-they-are"
    over: tuple[str, ...] = ()  # FILTER=TIME: what the whole piece gets first
    contact: bool = False


def strip_asked(asked: Asked, rig: Rig, before: Strip | None = None) -> Strip:
    """Turn what was typed into a strip. Raises BadInput naming the option.

    What it is for, and what lies beneath it, is more than can be typed: where that was left as
    it was written, it is kept as it was ``before``.
    """
    for value, option, known in (
        (asked.mode, "--mode", ("card", "window", "same-spot")),
        (asked.side, "--side", ("left", "right", "top", "bottom")),
        (asked.safelights, "--safelights", ("as-they-are", "off")),
    ):
        if value not in known:
            raise BadInput(f"{value!r} is not known", option, " or ".join(known))
    cut = rig.paper
    piece = Cutting(cut.sheet_width_mm, cut.sheet_height_mm, cut.strips_per_sheet).strip_mm
    width_mm, height_mm = size_asked(asked.size, "--size") if asked.size else piece
    advance_s = parse_time(asked.advance, "--advance") if asked.advance else None
    if advance_s is not None and advance_s < LEAST_ADVANCE_S:
        raise BadInput(f"{asked.advance!r} is too soon for a hand", "--advance", "2s or more")
    base_s = parse_time(asked.base, "--base")
    if base_s > LONGEST_S:
        raise BadInput(f"{asked.base!r} is more than an hour", "--base", "a time such as 8 or 1m30")
    if asked.aperture:
        aperture_value(asked.aperture, where="--aperture")
    fields: dict[str, Any] = {
        "base_s": base_s,
        "step": parse_step(asked.step, "--step"),
        "patches": whole_asked(asked.patches, "--patches", 2, 26),
        "way": asked.mode,
        "side": asked.side,
        "advance_after_s": advance_s,
        "safelights": asked.safelights,
        "aperture": asked.aperture,
        "filter": asked.filter,
        "place": asked.place,
        "width_mm": width_mm,
        "height_mm": height_mm,
        "beneath": tuple(_beneath_asked(text) for text in asked.over),
        "purpose": Purpose(kind="contact") if asked.contact else None,
    }
    if before is not None:
        was = typed(before)
        if (asked.over, asked.contact) == (was.over, was.contact):
            fields |= {"beneath": before.beneath, "purpose": before.purpose}
    return Strip(**fields)


def through_asked(text: str, option: str) -> tuple[str, float]:
    """Read a filter and an exposure, such as ``00=8.2s``. Raises BadInput naming the option."""
    name, time = pair_asked(text, option, "a filter and a time, such as 00=8.2s, or none=8s")
    return name, parse_time(time, option)


def _beneath_asked(text: str) -> Beneath:
    name, dose_s = through_asked(text, "--over")
    return Beneath(filter="" if name == "none" else name, dose_s=dose_s)


@dataclass(frozen=True)
class AskedCross:
    """A cross as it was typed, field by field."""

    soft: str = "00=8s"
    hard: str = "5=4s"
    columns: str = "5"
    rows: str = "4"
    step: str = "1/3"
    hard_step: str = ""
    aperture: str = ""
    size: str = ""
    place: str = ""


def cross_asked(asked: AskedCross) -> Cross:
    """Turn what was typed into a cross. Raises BadInput naming the option."""
    soft, soft_s = through_asked(asked.soft, "--soft")
    hard, hard_s = through_asked(asked.hard, "--hard")
    if soft == hard:
        raise BadInput(f"both filters are {soft}", "--hard", "a harder filter than the soft one")
    if asked.aperture:
        aperture_value(asked.aperture, where="--aperture")
    width_mm, height_mm = size_asked(asked.size, "--size") if asked.size else SHEET_MM
    across, down = "--columns", "--rows"
    return Cross(
        soft=Steps(
            filter=soft,
            base_s=soft_s,
            step=parse_step(asked.step, "--step"),
            steps=whole_asked(asked.columns, across, 2, MOST_STEPS),
        ),
        hard=Steps(
            filter=hard,
            base_s=hard_s,
            step=parse_step(asked.hard_step or asked.step, "--hard-step"),
            steps=whole_asked(asked.rows, down, 2, MOST_STEPS),
        ),
        aperture=asked.aperture,
        place=asked.place,
        width_mm=width_mm,
        height_mm=height_mm,
    )


def typed_cross(cross: Cross) -> AskedCross:
    """Write a cross as somebody would type it."""
    soft, hard = cross.soft, cross.hard
    return AskedCross(
        soft=f"{soft.filter}={soft.base_s:g}s",
        hard=f"{hard.filter}={hard.base_s:g}s",
        columns=str(soft.steps),
        rows=str(hard.steps),
        step=str(soft.step),
        hard_step=str(hard.step) if hard.step != soft.step else "",
        aperture=cross.aperture,
        size=f"{cross.width_mm:g}x{cross.height_mm:g}",
        place=cross.place,
    )


def typed(strip: Strip) -> Asked:
    """Write a strip as somebody would type it."""
    return Asked(
        base=f"{strip.base_s:g}",
        step=str(strip.step),
        patches=str(strip.patches),
        mode=strip.way,
        side=strip.side,
        advance=f"{strip.advance_after_s:g}" if strip.advance_after_s else None,
        place=strip.place,
        filter=strip.filter,
        aperture=strip.aperture,
        size=f"{strip.width_mm:g}x{strip.height_mm:g}",
        safelights=strip.safelights,
        over=tuple(f"{one.filter or 'none'}={one.dose_s:g}" for one in strip.beneath),
        contact=strip.purpose is not None and strip.purpose.kind == "contact",
    )


@dataclass(frozen=True)
class AskedScore:
    """The head of a score as it was typed, field by field."""

    base: str = ""
    judged: str = "wet"
    dry_down: str = ""
    title: str = ""
    negative: str = ""
    paper: str = ""
    batch: str = ""
    size: str = ""
    aperture: str = ""
    sheets: str = "1"


def typed_score(score: Score | None, sheets: int = 1) -> AskedScore:
    """Write the head of a score as somebody would type it."""
    if score is None:
        return AskedScore()
    paper = score.paper
    return AskedScore(
        base=f"{score.base_s:.4g}",
        judged=score.judged,
        dry_down=paper.dry_down,
        title=score.title,
        negative=score.negative,
        paper=paper.name,
        batch=paper.batch,
        size=f"{paper.width_mm:g}x{paper.height_mm:g}",
        aperture=score.setup.aperture,
        sheets=str(sheets),
    )


def score_asked(asked: AskedScore, before: Score | None) -> tuple[Score, int]:
    """Turn what was typed into a score and a number of sheets. Raises BadInput naming the field.

    Where the base was left as it was written, it is kept to its last digit; without a score
    before, one pass is begun.
    """
    base_s = parse_time(asked.base, "base")
    if before is not None and asked.base == typed_score(before).base:
        base_s = before.base_s
    width_mm, height_mm = size_asked(asked.size, "paper") if asked.size else SHEET_MM
    tables: dict[str, Any] = tables_of(before) if before else {"passes": [{"label": "print"}]}
    texts = {"title": asked.title, "negative": asked.negative, "judged": asked.judged}
    paper = {
        "name": asked.paper,
        "batch": asked.batch,
        "dry_down": _dry_down(asked.dry_down),
        "width_mm": width_mm,
        "height_mm": height_mm,
    }
    tables |= {"base_s": base_s, **texts}
    tables["paper"] = {**tables.get("paper", {}), **paper}
    tables["setup"] = {**tables.get("setup", {}), "aperture": asked.aperture}
    return from_tables(tables, ""), whole_asked(asked.sheets or "1", "sheets", 1, MOST_SHEETS)


def _dry_down(text: str) -> str:
    """Take a bare number for what it was in the trade's words: percent."""
    return f"{text}%" if re.fullmatch(r"[0-9.]+", text.strip()) else text.strip()
