"""``dryside paper strip`` and ``preview``: tones to be expected, before paper is used."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from controller.boxes.answering import answers, is_absolute, require_filters
from controller.boxes.preview import (
    Tone,
    bar,
    contradictions,
    dry_down_words,
    light_known,
    require_absolute,
    score_tones,
    strip_tones,
)
from controller.errors import BadInput, quoted
from controller.fields import pair_asked, whole_asked
from controller.ports import NO_FILTER
from controller.score.doses import exposures
from controller.stops import Step, parse_step, parse_time
from ui import show
from ui.commands.paper_convert import paper_of
from ui.developed import require_writable
from ui.scores import open_score
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.boxes.answers import Answers

RIGHT_LIGHT = "--lux with the light at the place, or --known with a patch and its density: C=0.30"


def strip(
    name: str,
    filter_: str,
    base: str,
    step: str,
    patches: str,
    *,
    lux: str,
    known: str,
    picture: str | None,
    json_: bool,
) -> None:
    """Tell the tones of a strip. Raises BadInput and Refused."""
    if bool(lux) == bool(known):
        raise BadInput("the light is not told", "paper strip", RIGHT_LIGHT)
    with open_book() as book:
        box = book.papers.box(name)
    named = filter_ or NO_FILTER
    paper = answers(box, {named})
    require_filters(paper, box, {named})
    base_s, wanted = parse_time(base, "--base"), parse_step(step, "--step")
    count = whole_asked(patches, "--patches", 2, 26)
    if known:
        letter, density = pair_asked(known, "--known", "a patch and its density: C=0.30")
        pair = (letter, _number(density, "--known"))
        log_light = light_known(paper, named, base_s, wanted, count, pair)
    else:
        require_absolute(is_absolute(box))
        log_light = math.log10(_number(lux, "--lux"))
    tones = strip_tones(paper, named, base_s, wanted, count, log_light)
    _tell(paper, tones, json_=json_)
    if picture:
        require_writable(Path(picture))
        _draw(tones, Path(picture), f"{box.batch.handle}, to be expected", base_s, wanted)
        if not json_:
            print(f"picture: {picture}")


def preview(name: str, on: str, lux: Sequence[str], *, json_: bool) -> None:
    """Tell the tones of a score's regions. Raises BadInput and Refused."""
    _, score = open_score(name)
    with open_book() as book:
        box = book.papers.box(on or paper_of(score))
    read = {}
    for text in lux:
        region, value = pair_asked(text, "--lux", "a region and its light, such as sky=0.02")
        read[region] = _number(value, "--lux")
    if not read:
        right = "the light of a region or more on the easel: --lux sky=0.02"
        raise BadInput("no light was read", "paper preview", right)
    require_absolute(is_absolute(box))
    used = {one.filter for one in exposures(score)}
    paper = answers(box, used)
    _tell(paper, score_tones(paper, score, read), json_=json_)
    if not json_ and (said := dry_down_words(score)):
        print(said)


# --- inside -----------------------------------------------------------------------------------


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
        if not 0.0 < value < 1e5:
            raise ValueError
    except ValueError:
        raise BadInput(f"{quoted(text)} is no figure", where, "a number above 0") from None
    return value


def _tell(paper: Answers, tones: Sequence[Tone], *, json_: bool) -> None:
    if json_:
        show.as_json(
            [
                {
                    "name": one.name,
                    "doses_s": one.doses_s,
                    "density": round(one.density, 3),
                    "words": one.words,
                }
                for one in tones
            ]
        )
        return
    wide = max(len(one.name) for one in tones)
    for one in tones:
        doses = " and ".join(
            f"{dose_s:.2f} s" + ("" if name == NO_FILTER else f" through {name}")
            for name, dose_s in one.doses_s.items()
        )
        print(
            f"{one.name:{wide}}  {one.density:4.2f} {bar(paper, one.density)} {one.words}, {doses}"
        )
    show.lines(contradictions(tones))
    print("to be expected by the curve; the paper has the last word")


def _draw(tones: Sequence[Tone], path: Path, title: str, base_s: float, step: Step) -> None:
    import numpy as np

    from controller.pictures.strips import Axis, Caption, PatchLabel, developed

    each = 203.0 / len(tones)
    density = np.repeat(np.array([[one.density for one in tones]]), 20, axis=1)
    rows = np.repeat(density, 25, axis=0)
    labels = [
        PatchLabel(
            one.name,
            sum(one.doses_s.values()),
            math.log2(sum(one.doses_s.values()) / base_s),
            index * each,
            (index + 1) * each,
            one.density,
        )
        for index, one in enumerate(tones)
    ]
    caption = Caption(title, "", str(step), "no paper was used")
    cell = (203.0 / rows.shape[1], 1.0)
    developed(rows, labels, path, mm_per_cell=cell, axis=Axis.HORIZONTAL, caption=caption)
