"""Converting a score: every exposure moves together, and the flash does not. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from math import log2

from controller.converting import (
    ADVICE,
    Conversion,
    Factor,
    Unsettled,
    another_lamp,
    aperture_factor,
    combine,
    filter_factor,
    magnification_factor,
    paper_factor,
    reading_factor,
    told_factor,
)
from controller.errors import BadInput
from controller.filter_table import STARTING_POINTS, FilterTable
from controller.score.amount import Amount, seconds, stops
from controller.score.doses import exposures
from controller.score.model import Burn, Dodge, Score, begin_s
from controller.stops import Stops, format_time


@dataclass(frozen=True)
class Wanted:
    """What is to change. None or empty: as it is.

    A ``from_`` value stands for what the score does not know.
    """

    from_magnification: float | None = None
    to_magnification: float | None = None
    from_aperture: str = ""
    to_aperture: str = ""
    filters: tuple[tuple[str, str], ...] = ()  # from, to
    from_lux: float | None = None
    to_lux: float | None = None
    lamp: str = ""
    paper: str = ""
    batch: str = ""
    from_speed_p: float | None = None
    to_speed_p: float | None = None
    stops: Stops | None = None  # as a strip has told
    size_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class Converted:
    """A converted score, and what was done to it, line by line."""

    score: Score
    conversion: Conversion
    lines: tuple[str, ...]


def convert(score: Score, wanted: Wanted, table: FilterTable = STARTING_POINTS) -> Converted:
    """Convert a score. Raises BadInput naming what is missing or would be right.

    Passes, burns and dodges move together; stops stay stops, and seconds are multiplied. A
    filter's factor moves only what was exposed through it.
    """
    changes = _common(score, wanted)
    moved = _filters(score, wanted, table)
    if not changes and not moved and not wanted.size_mm:
        raise BadInput("nothing is changed", "convert", "one change or more, such as another size")
    conversion = combine(changes) if changes else Conversion(1.0, (ADVICE,), ())
    made = _multiplied(score, conversion.factor)
    for factor, before, after in moved:
        made = _through_other(made, before, after, factor.value)
    told = (*conversion.lines[:-1], *(factor.line for factor, _, _ in moved))
    made = _noted(made, wanted, told)
    return Converted(made, conversion, (*told, *compared(score, made), conversion.lines[-1]))


def compared(before: Score, after: Score) -> list[str]:
    """Tell each exposure before and after, a line for each."""
    lines = []
    for old, new in zip(exposures(before), exposures(after), strict=True):
        how = "as it was" if abs(old.dose_s - new.dose_s) < 1e-9 else format_time(new.dose_s)
        name = old.label if old.filter == new.filter else f"{old.label}, filter {new.filter}"
        lines.append(f"{name}: {format_time(old.dose_s)} to {how}")
        for held_old, held_new in zip(old.held, new.held, strict=True):
            was_s = held_old.end_s - held_old.begin_s
            is_s = held_new.end_s - held_new.begin_s
            lines.append(
                f"  {held_old.name} held back: {format_time(was_s)} to {format_time(is_s)}"
            )
    return lines


# --- inside -----------------------------------------------------------------------------------


def _common(score: Score, wanted: Wanted) -> list[Factor | Unsettled]:
    """Give the changes that move every exposure."""
    changes: list[Factor | Unsettled] = []
    if wanted.to_magnification is not None:
        known = wanted.from_magnification or score.setup.magnification
        if known is None:
            right = "--from-magnification (length on the easel over length on the negative)"
            raise BadInput("the score does not say its magnification", "convert", right)
        changes.append(
            magnification_factor(known, wanted.to_magnification, pupil=score.setup.pupil)
        )
    if wanted.to_lux is not None:
        if wanted.from_lux is None:
            raise BadInput("one reading tells nothing", "--to-lux", "--from-lux as well")
        changes.append(reading_factor(wanted.from_lux, wanted.to_lux))
    if wanted.to_aperture:
        known_n = wanted.from_aperture or score.setup.aperture
        if not known_n:
            raise BadInput("the score does not say its aperture", "convert", "--from-aperture")
        changes.append(aperture_factor(known_n, wanted.to_aperture))
    if wanted.lamp:
        changes.append(another_lamp(score.setup.lamp, wanted.lamp))
    if wanted.paper or wanted.batch or wanted.to_speed_p is not None:
        changes.append(paper_factor(wanted.from_speed_p, wanted.to_speed_p))
    if wanted.stops is not None:
        changes.append(told_factor(wanted.stops))
    return changes


def _filters(score: Score, wanted: Wanted, table: FilterTable) -> list[tuple[Factor, str, str]]:
    used = {one.filter for one in score.passes} | {one.filter for one in score.burns}
    moved = []
    for before, after in wanted.filters:
        if before not in used:
            names = ", ".join(sorted(name for name in used if name)) or "none"
            raise BadInput(f"no pass uses filter {before!r}", "--filter", f"one of {names}")
        moved.append((filter_factor(before, after, table), before, after))
    return moved


def _multiplied(score: Score, factor: float) -> Score:
    """Multiply every exposure; stops follow the base by themselves."""
    return score.model_copy(
        update={
            "base_s": score.base_s * factor,
            "passes": tuple(
                one.model_copy(update={"dose": one.dose.times(factor)}) for one in score.passes
            ),
            "burns": tuple(
                one.model_copy(update={"amount": one.amount.times(factor)}) for one in score.burns
            ),
            "dodges": tuple(_dodge_times(one, factor) for one in score.dodges),
        }
    )


def _dodge_times(dodge: Dodge, factor: float) -> Dodge:
    begin = dodge.begin
    if begin and begin[0].isdigit():
        begin = f"{begin_s(begin) * factor:.4f}s"
    return dodge.model_copy(update={"amount": dodge.amount.times(factor), "begin": begin})


def _through_other(score: Score, before: str, after: str, factor: float) -> Score:
    """Move what went through one filter to another; a dose from the base becomes more stops."""

    def moved(dose: Amount) -> Amount:
        if dose.follows:
            return stops(float(dose.value) + log2(factor))
        return dose.times(factor)

    passes = tuple(
        one.model_copy(update={"filter": after, "dose": moved(one.dose)})
        if one.filter == before
        else one
        for one in score.passes
    )
    labels = {one.label for one in score.passes if one.filter == before}
    burns = tuple(_burn_moved(score, one, before, after, factor) for one in score.burns)
    dodges = tuple(
        _dodge_times(one, factor) if one.within in labels else one for one in score.dodges
    )
    return score.model_copy(update={"passes": passes, "burns": burns, "dodges": dodges})


def _burn_moved(score: Score, burn: Burn, before: str, after: str, factor: float) -> Burn:
    """Move a burn if it went through the filter; stops over a pass have moved with the pass."""
    over = [one for one in score.passes if one.label == burn.over]
    through = burn.filter or (over[0].filter if over else "")
    if burn.filter == before:
        burn = burn.model_copy(update={"filter": after})
    if through == before and not burn.amount.follows:
        return burn.model_copy(update={"amount": burn.amount.times(factor)})
    if through != before and burn.amount.follows and over and over[0].filter == before:
        # its own filter stays, so the light over the pass that moved is kept in seconds
        given_s = burn.amount.over_s(over[0].dose.from_base_s(score.base_s))
        return burn.model_copy(update={"amount": seconds(given_s)})
    return burn


def _noted(score: Score, wanted: Wanted, told: tuple[str, ...]) -> Score:
    """Write the new set-up down, and where the score came from."""
    setup: dict[str, object] = {}
    if wanted.to_magnification is not None:
        setup |= {"magnification": wanted.to_magnification, "head_height_mm": None, "column": ""}
    if wanted.to_aperture:
        setup["aperture"] = wanted.to_aperture
    if wanted.lamp:
        setup["lamp"] = wanted.lamp
    paper: dict[str, object] = {}
    if wanted.paper:
        paper |= {"name": wanted.paper, "batch": wanted.batch, "dry_down": ""}
    elif wanted.batch:
        paper["batch"] = wanted.batch
    if wanted.size_mm:
        paper |= {"width_mm": wanted.size_mm[0], "height_mm": wanted.size_mm[1]}
    line = f"converted: {'; '.join(told)}"
    return score.model_copy(
        update={
            "setup": score.setup.model_copy(update=setup),
            "paper": score.paper.model_copy(update=paper),
            "came_from": (*score.came_from, line),
        }
    )
