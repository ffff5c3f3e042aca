"""All of a conversion: the enlarger by arithmetic, the paper by curves where both have them. Pure.

Without curves the paper's speed stands for them, as far as it is told; then a line says what is
missing. What the printer says, speeds or a strip's stops, always goes before what was measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from controller.boxes.answering import answers, nearest_filter
from controller.boxes.answers import light_for
from controller.boxes.convert import Region, ToPaper, convert_to_paper
from controller.boxes.model import Box, one_measure
from controller.enlarger.converting import ADVICE
from controller.enlarger.filter_table import STARTING_POINTS, FilterTable
from controller.errors import BadInput, Refused
from controller.score.convert import Wanted, convert
from controller.score.doses import exposures, region_doses
from controller.score.model import Score

BY_CURVES = "an estimate by two curves: one strip on the highlight before the first sheet"


@dataclass(frozen=True)
class Onto:
    """A converted score, and what was done to it line by line.

    ``factor`` is that of the enlarger's changes and, without curves, of the paper's. ``regions``
    are those whose densities were known, where the papers' curves were used; ``unsettled`` is
    what a strip must settle.
    """

    score: Score
    lines: tuple[str, ...]
    factor: float = 1.0
    regions: tuple[Region, ...] = ()
    unsettled: tuple[str, ...] = ()


def papers_of(score: Score, wanted: Wanted) -> tuple[str, str] | None:
    """Name the boxes of paper, before and after; None where the paper stays, or is not known."""
    if not (wanted.paper or wanted.batch) or wanted.to_speed_p is not None:
        return None
    name = wanted.paper or score.paper.name
    if not score.paper.name or not name:
        return None
    return _handle(score.paper.name, score.paper.batch), _handle(name, wanted.batch)


def convert_onto(
    score: Score,
    wanted: Wanted,
    was: Box | None,
    now: Box | None,
    *,
    tones: Mapping[str, float] | None = None,
    densities: Mapping[str, float] | None = None,
    table: FilterTable = STARTING_POINTS,
) -> Onto:
    """Convert a score by all that is wanted.

    ``was`` and ``now`` are the boxes that ``papers_of`` names, None where the book has none.
    ``tones`` are what the book knows of the print's regions: those that the old curve cannot
    place are left out and told. ``densities`` are typed: they must fit. Raises BadInput and
    Refused.
    """
    named = papers_of(score, wanted)
    if named is None:
        return _by_figures(score, wanted, table)
    missing = [
        f"{handle} {'is not in the book' if box is None else 'has no curve yet'}"
        for handle, box in zip(named, (was, now), strict=True)
        if box is None or not box.curves
    ]
    if missing or was is None or now is None:
        if densities:
            raise Refused(
                f"densities need the curves of both papers: {' and '.join(missing)}",
                ("without them: no --density", f"dryside paper sheet {named[1]} measures one"),
            )
        made = _by_figures(score, wanted, table)
        line = f"{' and '.join(missing)}: nothing but figures to go by"
        return replace(made, lines=(line, *made.lines))
    return _by_curves(score, wanted, was, now, tones or {}, densities or {}, table)


def region_lines(regions: Iterable[Region]) -> list[str]:
    """Tell of each region what becomes of it."""
    return [
        f"  {one.name}: {one.before:.2f} to {one.after:.2f}, {'kept' if one.kept else one.why}"
        for one in regions
    ]


# --- inside -----------------------------------------------------------------------------------


def _handle(name: str, box: str) -> str:
    return f"{name}/{box}" if box else name


def _by_figures(score: Score, wanted: Wanted, table: FilterTable) -> Onto:
    made = convert(score, wanted, table)
    open_ = tuple(one.line for one in made.conversion.unsettled)
    return Onto(made.score, made.lines, made.conversion.factor, (), open_)


def _by_curves(
    score: Score,
    wanted: Wanted,
    was: Box,
    now: Box,
    tones: Mapping[str, float],
    densities: Mapping[str, float],
    table: FilterTable,
) -> Onto:
    condition = one_measure(was, now)
    rest = replace(wanted, paper="", batch="", filters=(), from_speed_p=None)
    first = Onto(score, ())
    if rest != Wanted():
        first = _by_figures(score, rest, table)
    used = {one.filter for one in exposures(score.model_copy(update={"flash": None}))}
    chosen = _filters(wanted, was, now, used)
    old = answers(was, used)
    placed, lines = dict(densities), []
    doses = region_doses(first.score.model_copy(update={"flash": None}))
    for name, density in tones.items():
        if name in placed or name not in doses:
            continue
        try:
            light_for(old, doses[name], density, name)
        except BadInput:
            lines.append(f"{name}: {density:.2f} is as white or as black as the old curve goes")
            continue
        placed[name] = density
    made: ToPaper = convert_to_paper(
        first.score,
        old,
        answers(now, {chosen.get(name, name) for name in used}),
        densities=placed,
        to_filter=chosen,
        paper=(now.batch.name, now.batch.box),
    )
    if not placed:
        lines.append("no density is known of any region: the print's usual tones are kept")
    told = [one for one in first.lines if one != ADVICE]
    told += [f"by the curves of {was.batch.handle} and {now.batch.handle}:", *made.lines]
    told += [*region_lines(made.regions), *lines, *filter(None, [condition]), BY_CURVES]
    open_ = (*first.unsettled, *made.unsettled)
    return Onto(made.score, tuple(told), first.factor, made.regions, open_)


def _filters(wanted: Wanted, was: Box, now: Box, used: set[str]) -> dict[str, str]:
    """Give the new filter of each old one that is changed."""
    if wanted.filters:
        return dict(wanted.filters)
    return nearest_filter(was, now, next(iter(used))) if len(used) == 1 else {}
