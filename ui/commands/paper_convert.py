"""``dryside paper convert``: a score from one box of paper to another, by their curves."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from controller.boxes.match import nearest
from controller.boxes.model import Batch, PaperCurve, PaperReading
from controller.errors import BadInput, Refused, quoted
from controller.ports import NO_FILTER
from controller.score.doses import exposures, region_names
from controller.score.model import Score
from ui import show
from ui.commands.paper_control import require_one_measure
from ui.commands.score import score_json
from ui.scores import keep, open_score, path_of
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.boxes.answers import Answers
    from controller.boxes.convert import ToPaper


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
        old = book.papers.batch(from_ or paper_of(score))
        new = book.papers.batch(onto)
        old_curves = book.papers.newest_curves(old)
        new_curves = book.papers.newest_curves(new)
        old_readings, new_readings = book.papers.readings(old), book.papers.readings(new)
    require_one_measure(old, old_curves, new, new_curves)
    chosen = dict(
        pair_asked(text, "--filter", "the old filter and the new one: 2=3") for text in filters
    )
    used = {one.filter for one in exposures(score)}
    if not chosen and len(used) == 1:
        chosen = _nearest(old_curves, new_curves, next(iter(used)))
    then = {chosen.get(name, name) for name in used}
    converted = convert_to_paper(
        score,
        answers(old, old_curves, old_readings, used),
        answers(new, new_curves, new_readings, then),
        densities=densities_asked(densities),
        to_filter=chosen,
        paper=(new.name, new.box),
    )
    if to:
        path = path_of(to)
        if path.exists():
            raise BadInput("there is a score already", str(path), "another name")
        keep(converted.score, path)
    _tell(converted, score, to, json_=json_)


def answers(
    batch: Batch,
    curves: dict[str, PaperCurve],
    readings: Sequence[PaperReading],
    used: Collection[str],
) -> Answers:
    """Give what a box answers to light of the filters ``used``, each alone or two together.

    Raises Refused where that was not measured.
    """
    from controller.boxes.answers import EachFilter
    from controller.boxes.fitting import curve_of
    from controller.boxes.split import split_of, split_pairs

    if len(used) == 2:
        pairs = [pair for pair in split_pairs(readings) if set(pair) == set(used)]
        soft, hard = pairs[0] if pairs else sorted(used)
        return split_of(readings, soft, hard, batch.handle)

    if not curves:
        raise Refused(
            f"{batch.handle} has no curve yet",
            (f"a calibration sheet: dryside paper sheet {batch.handle} --filter 2",),
        )
    return EachFilter(
        {name or NO_FILTER: curve_of(one) for name, one in curves.items()}, batch.handle
    )


def densities_asked(texts: Sequence[str]) -> dict[str, float]:
    """Read densities of regions such as ``sky=0.30``. Raises BadInput."""
    right = "a region and its density on the dry print, such as sky=0.30"
    found = {}
    for text in texts:
        name, value = pair_asked(text, "--density", right)
        try:
            found[name] = float(value)
        except ValueError:
            raise BadInput(f"{quoted(value)} is no density", "--density", right) from None
    return found


# --- inside -----------------------------------------------------------------------------------


def pair_asked(text: str, option: str, right: str) -> tuple[str, str]:
    """Read a name and what it stands for, with = between. Raises BadInput."""
    name, equals, value = (part.strip() for part in text.rpartition("="))
    if not equals or not name or not value:
        raise BadInput(f"{quoted(text)} is not understood", option, right)
    return name, value


def paper_of(score: Score) -> str:
    """Name the box of paper that a score was made on. Raises BadInput."""
    paper = score.paper
    if not paper.name:
        raise BadInput("the score names no paper", "--from", "the box of paper that it was made on")
    return f"{paper.name}/{paper.batch}" if paper.batch else paper.name


def _nearest(old: dict[str, PaperCurve], new: dict[str, PaperCurve], used: str) -> dict[str, str]:
    """Choose the new paper's filter whose range is nearest; the same name where it is as near."""
    named = {name or NO_FILTER: one for name, one in old.items()}
    if used not in named or not new:
        return {}
    return {used: nearest(named[used], new).filter or NO_FILTER}


def _tell(converted: ToPaper, old: Score, to: str, *, json_: bool) -> None:
    if json_:
        show.as_json(
            {
                "lines": converted.lines,
                "regions": [
                    {
                        "name": one.name,
                        "before": one.before,
                        "after": round(one.after, 3),
                        "kept": one.kept,
                        "why": one.why,
                    }
                    for one in converted.regions
                ],
                "unsettled": converted.unsettled,
                "score": score_json(converted.score),
            }
        )
        return
    show.lines(converted.lines)
    for one in converted.regions:
        end = "kept" if one.kept else one.why
        print(f"  {one.name}: {one.before:.2f} to {one.after:.2f}, {end}")
    if not converted.regions:
        known = ", ".join(region_names(old))
        print(f"no density was given (--density of {known}): the print's usual tones were kept")
    show.lines(converted.unsettled)
    print("an estimate by two curves: one strip on the highlight before the first sheet")
    print(f"score: {path_of(to)}" if to else "kept nowhere yet: --to NAME keeps it")
