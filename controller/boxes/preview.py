"""What a strip or a score will look like on a measured paper, before any paper is used. Pure.

Light is what a meter reads on the easel, in lux without a filter, at the place that counts: the
negative in, the lens at the working aperture. It is an estimate by the curve, and says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.boxes.answers import Answers, light_for
from controller.errors import BadInput, Refused, quoted
from controller.score.doses import print_factor, region_doses, region_names
from controller.score.model import Score
from controller.stops import Step, series
from controller.strip import LETTERS

NEARLY_WHITE, NEARLY_BLACK = 0.04, 0.90  # over white; of the net range (ISO's two points)


@dataclass(frozen=True, slots=True)
class Tone:
    """A patch or a region: what it gets, the density that is to be expected, and in words."""

    name: str
    doses_s: Mapping[str, float]
    density: float
    words: str


def strip_tones(
    paper: Answers, filter_: str, base_s: float, step: Step, patches: int, log_light: float
) -> list[Tone]:
    """Give the tones of a strip under one filter, patch A first."""
    totals = series(base_s, step, patches)
    return [
        _tone(paper, LETTERS[index], {filter_: dose_s}, log_light)
        for index, dose_s in enumerate(totals)
    ]


def light_known(
    paper: Answers, filter_: str, base_s: float, step: Step, patches: int, known: tuple[str, float]
) -> float:
    """Find the light of a strip of which one patch's density is known. Raises BadInput."""
    letter, density = known
    totals = series(base_s, step, patches)
    names = list(LETTERS[:patches])
    if letter.upper() not in names:
        right = f"a patch from A to {names[-1]}"
        raise BadInput(f"there is no patch {quoted(letter)}", "--known", right)
    doses = {filter_: totals[names.index(letter.upper())]}
    return light_for(paper, doses, density, f"patch {letter.upper()}")


def score_tones(paper: Answers, score: Score, lux: Mapping[str, float]) -> list[Tone]:
    """Give the tones of a score's regions whose light was read. Raises BadInput and Refused.

    Dry-down is in the doses; the curve is of dry paper, so that what is told is the dry print.
    """
    names = region_names(score)
    for name in lux:
        if name not in names:
            right = f"one of {', '.join(names)}"
            raise BadInput(f"there is no region {quoted(name)}", "--lux", right)
    if score.flash:
        raise Refused("a flash is light of another kind, which no curve here counts")
    doses = region_doses(score)
    return [_tone(paper, name, doses[name], math.log10(value)) for name, value in lux.items()]


def dry_down_words(score: Score) -> str:
    """Say what dry-down is in the doses; nothing where it is none."""
    factor = print_factor(score)
    return "" if factor == 1.0 else f"doses with dry-down ({100 * (1 - factor):.0f} % less)"


def bar(paper: Answers, density: float, columns: int = 24) -> str:
    """Draw a tone as a bar: empty is paper white, full is black."""
    part = (density - paper.d_min) / (paper.d_max - paper.d_min)
    full = max(0, min(columns, round(part * columns)))
    return "█" * full + "·" * (columns - full)


def contradictions(tones: Sequence[Tone]) -> list[str]:
    """Say where nothing will be seen: all white, or all black."""
    words = {tone.words for tone in tones}
    if words == {"paper white"}:
        return ["every tone is paper white: give more"]
    if words == {"full black"}:
        return ["every tone is full black: give less"]
    return []


def _tone(paper: Answers, name: str, doses_s: Mapping[str, float], log_light: float) -> Tone:
    density = paper.density(doses_s, log_light)
    net = paper.d_max - paper.d_min
    if density < paper.d_min + NEARLY_WHITE:
        words = "paper white"
    elif density > paper.d_min + NEARLY_BLACK * net:
        words = "full black"
    else:
        part = (density - paper.d_min) / net
        words = "light grey" if part < 0.2 else "middle grey" if part < 0.55 else "dark grey"
    return Tone(name, dict(doses_s), density, words)
