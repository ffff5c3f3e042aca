"""``dryside paper convert``: a score from one box of paper to another, by their curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from controller.boxes.answering import answers, nearest_filter
from controller.boxes.model import one_measure
from controller.boxes.onto import BY_CURVES, region_lines
from controller.errors import BadInput
from controller.fields import pair_asked, tones_asked
from controller.score.doses import exposures, region_names
from controller.score.model import Score
from ui import show
from ui.commands.score import score_json
from ui.scores import keep, open_score, path_of
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.boxes.convert import Region, ToPaper


def convert(
    name: str,
    from_: str,
    onto: str,
    densities: Sequence[str],
    filters: Sequence[str],
    *,
    to: str,
    json_: bool,
) -> None:
    """Convert a score, tell what becomes of each region, and keep it where a name is given."""
    from controller.boxes.convert import convert_to_paper

    _, score = open_score(name)
    with open_book() as book:
        old, new = book.papers.box(from_ or paper_of(score)), book.papers.box(onto)
    if condition := one_measure(old, new):
        show.note(condition)
    chosen = dict(
        pair_asked(text, "--filter", "the old filter and the new one: 2=3") for text in filters
    )
    used = {one.filter for one in exposures(score)}
    if not chosen and len(used) == 1:
        chosen = nearest_filter(old, new, next(iter(used)))
    converted = convert_to_paper(
        score,
        answers(old, used),
        answers(new, {chosen.get(name, name) for name in used}),
        densities=tones_asked(densities),
        to_filter=chosen,
        paper=(new.batch.name, new.batch.box),
    )
    if to:
        path = path_of(to)
        if path.exists():
            raise BadInput("there is a score already", str(path), "another name")
        keep(converted.score, path)
    _tell(converted, score, to, json_=json_)


# --- inside -----------------------------------------------------------------------------------


def paper_of(score: Score) -> str:
    """Name the box of paper that a score was made on. Raises BadInput."""
    paper = score.paper
    if not paper.name:
        raise BadInput("the score names no paper", "--from", "the box of paper that it was made on")
    return f"{paper.name}/{paper.batch}" if paper.batch else paper.name


def regions_json(regions: Iterable[Region]) -> list[dict[str, object]]:
    """Give what becomes of regions, as data."""
    return [
        {
            "name": one.name,
            "before": one.before,
            "after": round(one.after, 3),
            "kept": one.kept,
            "why": one.why,
        }
        for one in regions
    ]


def _tell(converted: ToPaper, old: Score, to: str, *, json_: bool) -> None:
    if json_:
        show.as_json(
            {
                "lines": converted.lines,
                "regions": regions_json(converted.regions),
                "unsettled": converted.unsettled,
                "score": score_json(converted.score),
            }
        )
        return
    show.lines(converted.lines)
    show.lines(region_lines(converted.regions))
    if not converted.regions:
        known = ", ".join(region_names(old))
        print(f"no density was given (--density of {known}): the print's usual tones were kept")
    show.lines(converted.unsettled)
    print(BY_CURVES)
    print(f"score: {path_of(to)}" if to else "kept nowhere yet: --to NAME keeps it")
