"""Converting a score: every exposure moves together, and the flash does not. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, log1p, log2

from controller.enlarger.converting import (
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
from controller.enlarger.filter_table import STARTING_POINTS, FilterTable, filter_name
from controller.errors import BadInput, Refused, quoted
from controller.score.amount import seconds, stops
from controller.score.doses import exposures, filter_of
from controller.score.file import from_tables, tables_of
from controller.score.model import ALL_PASSES, IN_WORDS, Burn, Dodge, Pass, Score, begin_s
from controller.stops import Stops, aperture_value, format_time, written_s
from controller.strips.strip import LONGEST_S

ALIKE = 0.02  # by so much sizes may differ before a region lies elsewhere (our choice)


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
    """Convert a score. Raises BadInput naming what is missing or would be right, and Refused.

    Passes, burns and dodges move together; stops stay stops, and seconds are multiplied. A
    filter's factor moves only what was exposed through it.
    """
    changes = _common(score, wanted)
    moved = _filters(score, wanted, table)
    if wanted.to_aperture:
        score = _apertures_apart(score, wanted)
    if not changes and not moved and not wanted.size_mm:
        raise BadInput("nothing is changed", "convert", "one change or more, such as another size")
    conversion = combine(changes) if changes else Conversion(1.0, (ADVICE,), ())
    made = _multiplied(score, conversion.factor)
    if moved:
        made = _through_others(made, moved)
    _require_possible(made)
    size_mm, laid = _laid_as_before(score, wanted.size_mm)
    laid += _grown(score, wanted, size_mm)
    told = (*conversion.lines[:-1], *(other.factor.line for other in moved.values()), *laid)
    made = _noted(made, replace(wanted, size_mm=size_mm), told)
    return Converted(made, conversion, (*told, *compared(score, made), conversion.lines[-1]))


def compared(before: Score, after: Score) -> list[str]:
    """Tell each exposure before and after, a line for each."""
    lines = []
    for old, new in zip(exposures(before), exposures(after), strict=True):
        same = abs(old.dose_s - new.dose_s) < 1e-9
        how = ", as it was" if same else f" to {format_time(new.dose_s)}"
        name = old.label if old.filter == new.filter else f"{old.label}, filter {new.filter}"
        lines.append(f"{name}: {format_time(old.dose_s)}{how}")
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


@dataclass(frozen=True)
class _Other:
    """The filter that comes in place of another, and what it makes of a dose."""

    name: str
    factor: Factor


def _filters(score: Score, wanted: Wanted, table: FilterTable) -> dict[str, _Other]:
    """Give what becomes of each filter that is changed, by the one spelling of its name."""
    used = [_in_light(one) for one in score.passes]
    used += [filter_name(one.filter) for one in score.burns if one.filter]
    moved: dict[str, _Other] = {}
    for before, after in wanted.filters:
        name = filter_name(before)
        if name not in used:
            right = f"one of {', '.join(dict.fromkeys(used))}"
            raise BadInput(f"no pass uses filter {quoted(before)}", "--filter", right)
        if name in moved:
            raise BadInput(f"filter {name} is changed twice", "--filter", "one change of each")
        moved[name] = _Other(after, filter_factor(before, after, table))
    return moved


def _in_light(one: Pass) -> str:
    return filter_name(filter_of(one))


def _apertures_apart(score: Score, wanted: Wanted) -> Score:
    """Keep the flash at the aperture that it was found with; it follows nothing.

    Raises BadInput for a pass whose aperture differs from the set-up's: it would not change.
    """
    known = wanted.from_aperture or score.setup.aperture
    passes = []
    for one in score.passes:
        if one.aperture and aperture_value(one.aperture) != aperture_value(known):
            right = f"{known} or nothing there, and its dose settled with it"
            what = f"the pass {one.label!r} has an aperture of its own, {one.aperture}"
            raise BadInput(what, "--to-aperture", right)
        passes.append(one.model_copy(update={"aperture": ""}))
    update: dict[str, object] = {"passes": tuple(passes)}
    if score.flash and not score.flash.aperture:
        update["flash"] = score.flash.model_copy(update={"aperture": known})
    return score.model_copy(update=update)


def _require_possible(score: Score) -> None:
    """Refuse what a file could not hold."""
    instead = ("the lens opened or closed by some stops as well", "a smaller change")
    if score.base_s > LONGEST_S:
        why = f"the base would be {format_time(score.base_s)}, and an hour is the most"
        raise Refused(why, instead)
    try:
        from_tables(tables_of(score), "the converted score")
    except BadInput as error:
        raise Refused(f"in the converted score, {error.what}", instead) from None


def _multiplied(score: Score, factor: float) -> Score:
    """Multiply every exposure; stops follow the base by themselves."""
    return score.model_copy(
        update={
            "base_s": written_s(score.base_s * factor),
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
    if begin not in IN_WORDS:
        begin = str(seconds(written_s(begin_s(begin) * factor)))
    return dodge.model_copy(update={"amount": dodge.amount.times(factor), "begin": begin})


def _through_others(score: Score, moved: dict[str, _Other]) -> Score:
    """Move what went through filters to others, all at once: two may change places.

    A dose from the base becomes more stops, or fewer.
    """

    def pass_moved(one: Pass) -> Pass:
        other = moved.get(_in_light(one))
        if other is None:
            return one
        by = other.factor.value
        follows = one.dose.follows
        dose = stops(float(one.dose.value) + log2(by)) if follows else one.dose.times(by)
        return one.model_copy(update={"filter": other.name, "dose": dose})

    def dodge_moved(one: Dodge) -> Dodge:
        other = moved.get(_in_light(score.pass_called(one.within)))
        return _dodge_times(one, other.factor.value) if other else one

    return score.model_copy(
        update={
            "passes": tuple(pass_moved(one) for one in score.passes),
            "burns": tuple(_burn_moved(score, one, moved) for one in score.burns),
            "dodges": tuple(dodge_moved(one) for one in score.dodges),
        }
    )


def _burn_moved(score: Score, burn: Burn, moved: dict[str, _Other]) -> Burn:
    """Move a burn if it went through a filter that is changed.

    Stops over a pass have moved with the pass; where the burn should not, or has a filter of
    its own, they are counted anew, so that the light through its filter is what it should be.
    """
    if burn.over == ALL_PASSES and burn.amount.follows and len(score.passes) > 1:
        return burn  # it takes the filters of the passes, and moves with each
    over = score.passes[-1] if burn.over == ALL_PASSES else score.pass_called(burn.over)
    through = filter_name(burn.filter) if burn.filter else _in_light(over)
    own, beneath = moved.get(through), moved.get(_in_light(over))
    by = own.factor.value if own else 1.0
    if own and burn.filter:
        burn = burn.model_copy(update={"filter": own.name})
    if not burn.amount.follows:
        return burn.model_copy(update={"amount": burn.amount.times(by)}) if own else burn
    by /= beneath.factor.value if beneath else 1.0
    if abs(by - 1.0) < 1e-12:
        return burn
    # b(2^n - 1) times a factor is b(2^m - 1) for m = log2(1 + factor(2^n - 1))
    counted = log1p(burn.amount.over_s(1.0) * by) / log(2)
    return burn.model_copy(update={"amount": stops(counted)})


def _laid_as_before(
    score: Score, size_mm: tuple[float, float] | None
) -> tuple[tuple[float, float] | None, tuple[str, ...]]:
    """Turn a sheet so that it lies as the old one lay, and tell it.

    Sizes are spoken of with the shorter side first, however the picture lies.
    """
    if size_mm is None:
        return None, ()
    before, after = (w - h for w, h in ((score.paper.width_mm, score.paper.height_mm), size_mm))
    if before * after >= 0.0:
        return size_mm, ()
    turned = (size_mm[1], size_mm[0])
    return turned, (f"laid as the old one: {turned[0]:g} x {turned[1]:g} mm",)


def _grown(score: Score, wanted: Wanted, size_mm: tuple[float, float] | None) -> tuple[str, ...]:
    """Say where sheet and picture do not grow alike: the sketch is one of the sheet."""
    if size_mm is None:
        return ()
    across, down = size_mm[0] / score.paper.width_mm, size_mm[1] / score.paper.height_mm
    known = wanted.from_magnification or score.setup.magnification
    if wanted.to_magnification is None or known is None:
        alike = wanted.to_lux is not None or max(abs(across - 1), abs(down - 1)) < ALIKE
        return (
            () if alike else ("the sheet alone is another: --to-magnification if the head moves",)
        )
    picture = wanted.to_magnification / known
    if max(abs(across / picture - 1), abs(down / picture - 1)) < ALIKE:
        return ()
    return (
        f"the picture grows {picture:.2f} times, the sheet {across:.2f} by {down:.2f}: "
        "the sketch may lie elsewhere on it",
    )


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
