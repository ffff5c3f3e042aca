"""The curve of a print: what its passes make of the negative's light, on the measured paper. Pure.

Light is told as in ``controller.boxes.answers``. A region whose density is known has its light by
that: the negative itself is never asked. Where a region got no handwork its dot lies on the curve;
where it was burned or dodged the dot lies above or beneath what its light alone would have become.
"""

from __future__ import annotations

from collections.abc import Iterable

from controller.boxes.answers import LIGHT_HIGH, LIGHT_LOW, Answers, light_for, solve
from controller.errors import DrysideError
from controller.record_sheet.model import Curve, ToneMark
from controller.score.doses import region_doses
from controller.score.model import ELSEWHERE, Score

NEARLY = 0.015  # density from white and from black between which the curve is drawn
POINTS = 60


def print_curve(
    paper: Answers, score: Score, tones: Iterable[tuple[str, float]], name: str
) -> Curve | None:
    """Draw the curve, and on it the regions whose (name, density) are known.

    None where the curve says nothing of this print: a flash is light of another kind, and not
    every filter was measured. Regions whose density the paper cannot have are left out.
    """
    if score.flash is not None:
        return None
    bare_score = score.model_copy(update={"burns": (), "dodges": (), "sketch": (), "regions": {}})
    bare = region_doses(bare_score)[ELSEWHERE]
    own = region_doses(score)
    try:
        low = _light_of(paper, bare, paper.d_min + NEARLY)
        high = _light_of(paper, bare, paper.d_max - NEARLY)
    except DrysideError:
        return None
    marks = []
    for region, density in tones:
        if region not in own:
            continue
        try:
            light = light_for(paper, own[region], density, region)
        except DrysideError:
            continue
        marks.append(ToneMark(region, light, density, paper.density(bare, light)))
        low, high = min(low, light), max(high, light)
    step = (high - low) / (POINTS - 1)
    lights = [low + number * step for number in range(POINTS)]
    points = tuple((light, paper.density(bare, light)) for light in lights)
    return Curve(name, points, tuple(marks))


def _light_of(paper: Answers, doses_s: dict[str, float], density: float) -> float:
    return solve(lambda light: paper.density(doses_s, light) - density, LIGHT_LOW, LIGHT_HIGH)
