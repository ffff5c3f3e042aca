"""Two tones that are wanted of a print, solved on a box: soft and hard dose, or one filter. Pure.

What was found is told line by line, and becomes a score.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.boxes.fitting import fits_of
from controller.boxes.model import Batch, PaperReading
from controller.boxes.split import split_fit_of, split_pairs
from controller.errors import BadInput, Refused, quoted
from controller.paper import iso
from controller.paper.curve import Floats
from controller.paper.fit import Fit
from controller.paper.solving import (
    Doses,
    OneFilter,
    Tone,
    behind,
    check_tones,
    choose_filter,
    solve_split,
)
from controller.paper.split import SplitFit, split_paper_of
from controller.ports import NO_FILTER
from controller.score.model import Score
from controller.score.new import new_score
from controller.stops import written_s

RIGHT_TONE = "easel lux and a density, such as 0.5=0.12, or D1.2=0.12 by the negative's density"
MOST_NEGATIVE = 4.0  # density that no negative has (common practice, no source)
LEAST_S = 0.005  # a dose below it is none: it would be written as 0.00 s


@dataclass(frozen=True)
class Measured:
    """What a box was measured by: its split sheets, or else the curve of each filter.

    ``soft`` and ``hard`` are the filters of the split sheets.
    """

    soft: str = ""
    hard: str = ""
    split: SplitFit | None = None
    fits: Mapping[str, Fit] | None = None


@dataclass(frozen=True)
class AskedTones:
    """Two tones as they were typed, and the light of further places."""

    highlight: str = ""
    shadow: str = ""
    also: tuple[str, ...] = ()
    bare: str = ""  # the easel's lux with no negative


@dataclass(frozen=True)
class Tones:
    """Two tones, and further easel lights in lux."""

    light: Tone
    dark: Tone
    further: tuple[float, ...] = ()


@dataclass(frozen=True)
class Solved:
    """Exposures in seconds of full light, each with what it is called and its filter; in words."""

    passes: tuple[tuple[str, str, float], ...]
    lines: tuple[str, ...]


def tones_typed(asked: AskedTones) -> Tones:
    """Read two tones. Raises BadInput naming the option."""
    light = tone(asked.highlight, "--highlight", asked.bare)
    dark = tone(asked.shadow, "--shadow", asked.bare)
    check_tones(light, dark)
    return Tones(light, dark, tuple(light_of(each, "--also", asked.bare) for each in asked.also))


def measured_of(
    readings: Sequence[PaperReading], box: str, *, one_filter: bool = False
) -> Measured:
    """Fit a box's sheets: the split ones, where there are any and not ``one_filter``.

    ``readings`` are the newest first. Raises Refused.
    """
    pairs = split_pairs(readings)
    if one_filter or not pairs:
        return Measured(fits=fits_of(readings, box))
    soft, hard = pairs[0]
    fit, light = split_fit_of(readings, soft, hard, box)
    if light is None:
        raise Refused(
            f"the split sheets of {box} were exposed in seconds alone",
            (f"new ones: dryside paper sheet {box} --split {soft},{hard} --lux 0.5",),
        )
    return Measured(soft, hard, fit)


def solved(measured: Measured, wanted: Tones) -> Solved:
    """Solve two tones on what was measured. Raises BadInput and Refused."""
    if measured.split is None:
        fits = measured.fits or {}
        curves = {name: fit.curve for name, fit in fits.items()}
        chosen = choose_filter(curves, wanted.light, wanted.dark)
        name = "" if chosen.name == NO_FILTER else chosen.name
        return Solved((("print", name, chosen.dose_s),), tuple(filter_lines(chosen, wanted)))
    doses = doses_of(measured.split, wanted)
    passes = (
        ("soft", measured.soft, doses.soft_dose_s),
        ("hard", measured.hard, doses.hard_dose_s),
    )
    names = f"filter {measured.soft}", f"filter {measured.hard}"
    lines = split_lines(*names, measured.split, doses, wanted)
    return Solved(tuple(each for each in passes if each[2] >= LEAST_S), tuple(lines))


def doses_of(fit: SplitFit, wanted: Tones) -> Doses:
    """Find soft and hard dose. Raises BadInput and Refused."""
    try:
        doses = solve_split(fit.paper, wanted.light, wanted.dark)
        iso.points_of(doses.curve)  # a curve without them has no range to tell
    except ValueError as error:
        raise Refused(str(error)) from None
    return doses


def score_of_solved(found: Solved, batch: Batch, aperture: str) -> Score:
    """Make a score of what was found, judged dry as the paper was read. Raises BadInput.

    ``aperture`` is that at which the light was metered.
    """
    # the softest is the base, and every dose stands as seconds
    passes = [f"{label}:{name}:{written_s(dose_s)}s" for label, name, dose_s in found.passes]
    paper = {"name": batch.name, "batch": batch.box, "base": batch.base.value if batch.base else ""}
    fields = {"judged": "dry", "paper": paper, "setup": {"aperture": aperture}}
    return new_score(written_s(found.passes[0][2]), passes, fields, "")


def split_lines(soft: str, hard: str, fit: SplitFit, doses: Doses, wanted: Tones) -> list[str]:
    """Tell soft and hard dose, and the tones that they give; ± is twice the standard error."""
    ler = iso.points_of(doses.curve).ler
    lines = [
        f"{soft} {doses.soft_dose_s:.2f} s, {hard} {doses.hard_dose_s:.2f} s "
        "(seconds of full light)",
        _range_line(ler),
    ]
    for name, lux in (("highlight", wanted.light.lux), ("shadow", wanted.dark.lux)):
        lines.append(f"{name} {lux:g} lux: {_predicted(fit, doses, lux)}")
    lines += [f"also {lux:g} lux: {_predicted(fit, doses, lux)}" for lux in wanted.further]
    return [*lines, *fit_lines(fit)]


def filter_lines(chosen: OneFilter, wanted: Tones) -> list[str]:
    """Tell the one filter and its dose, and the tones that it gives."""
    ler = iso.points_of(chosen.curve).ler
    lines = [f"filter {chosen.name}, {chosen.dose_s:.2f} s (seconds of full light)"]
    lines.append(_range_line(ler))
    for name, each in (("highlight", wanted.light), ("shadow", wanted.dark)):
        lines.append(
            f"{name} {each.lux:g} lux: density {chosen.density_at(each.lux):.2f}, "
            f"wanted {each.density:.2f}"
        )
    for lux in wanted.further:
        lines.append(f"also {lux:g} lux: density {chosen.density_at(lux):.2f}")
    return lines


def fit_lines(fit: SplitFit) -> list[str]:
    """Tell how well soft and hard sheets were fitted, and what was left out."""
    count = len(fit.paper.hard)
    lines = [
        f"the paper as {count} parts, from {int(fit.solved.kept.sum())} patches "
        f"({fit.mixed_patches} mixed); residuals {fit.residual_rms:.3f}; ± is twice the "
        "standard error"
    ]
    for reading, off in fit.outliers:
        way = "above" if off > 0 else "below"
        lines.append(
            f"left out: density {reading.density:.2f} in line {reading.line} of its file, "
            f"{abs(off):.2f} {way} the fit"
        )
    return lines


def tone(text: str, where: str, bare: str = "") -> Tone:
    """Read LUX=DENSITY, or the negative's density in place of lux. Raises BadInput."""
    left, equals, right = text.partition("=")
    if not equals:
        raise BadInput(f"{quoted(text)} is no tone", where, RIGHT_TONE)
    return Tone(light_of(left, where, bare), _number(right, where))


def light_of(text: str, where: str, bare: str) -> float:
    """Read easel light in lux: as it was metered, or D1.2, behind that density. Raises BadInput."""
    plain = text.strip()
    if plain[:1] not in ("D", "d"):
        return lux(plain, where)
    density = _number(plain[1:], where)
    if not 0.0 <= density <= MOST_NEGATIVE:
        right = f"D0 to D{MOST_NEGATIVE:g}"
        raise BadInput(f"{quoted(plain)} is no density of a negative", where, right)
    if not bare:
        right = "--bare LUX as well, the easel's light with the carrier empty"
        raise BadInput(f"{quoted(plain)} alone is no light", where, right)
    return behind(lux(bare, "--bare"), density)


def lux(text: str, where: str) -> float:
    """Read an illuminance above 0. Raises BadInput."""
    value = _number(text, where)
    if not value > 0.0:
        raise BadInput(f"{quoted(text)} lux is no light", where, "lux above 0")
    return value


# --- inside -----------------------------------------------------------------------------------


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(f"{quoted(text)} is no number", where, RIGHT_TONE)
    return value


def _range_line(ler: float) -> str:
    return f"ISO range R{iso.iso_range(round(ler, 6))} (log exposure range {ler:.2f})"


def _predicted(fit: SplitFit, doses: Doses, at_lux: float) -> str:
    def density(values: Floats) -> float:
        paper = split_paper_of(values)
        return paper.density(at_lux * doses.soft_dose_s, at_lux * doses.hard_dose_s)

    return f"density {doses.density_at(at_lux):.2f} ± {2 * fit.solved.error_of(density):.2f}"
