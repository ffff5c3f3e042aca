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
from controller.fields import pair_asked
from controller.ports import NO_FILTER
from controller.score.doses import print_factor, region_doses, region_names
from controller.score.model import Score
from controller.stops import Step, series
from controller.strips.strip import LETTERS, Strip, patches_of

MOST_LUX = 1e5
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


def light_asked(text: str) -> float | tuple[str, float]:
    """Read the light of a strip: lux, or a patch whose density is known. Raises BadInput."""
    letter, equals, value = (part.strip() for part in text.rpartition("="))
    right = "lux on the easel such as 0.4, or a patch and its density: C=0.30"
    try:
        number = float(value)
        if not 0.0 < number < MOST_LUX or (equals and not letter):
            raise ValueError
    except ValueError:
        raise BadInput(f"{quoted(text)} is not understood", "light", right) from None
    return (letter, number) if equals else number


def regions_asked(text: str) -> dict[str, float]:
    """Read the light of regions, ``sky=0.3 house=0.9``, in lux. Raises BadInput."""
    right = "a region and its light in lux, several with commas: sky=0.3, old house=0.9"
    found = {}
    for part in filter(None, (one.strip() for one in text.split(","))):
        name, value = pair_asked(part, "regions", right)
        try:
            found[name] = float(value)
            if not 0.0 < found[name] < MOST_LUX:
                raise ValueError
        except ValueError:
            raise BadInput(f"{quoted(part)} is not understood", "regions", right) from None
    return found


def filters_of(strip: Strip) -> set[str]:
    """Name the filters of a strip and of what lies beneath it."""
    return {name or NO_FILTER for name in (strip.filter, *(one.filter for one in strip.beneath))}


def tones_of(
    paper: Answers, strip: Strip, light: float | tuple[str, float], *, absolute: bool
) -> list[Tone]:
    """Give the tones of a strip as it is laid out, with what lies beneath, patch A first.

    ``light`` is in lux, which a paper that was measured in mere seconds (``absolute`` is False)
    says nothing of, or one patch with its density. Raises BadInput and Refused.
    """
    if any(one.bare for one in strip.beneath):
        raise Refused("a flash is light of another kind, which no curve here counts")
    if any(one.aperture not in ("", strip.aperture) for one in strip.beneath):
        raise Refused("what lies beneath has another aperture, and a curve knows of one light")
    doses = {}
    for patch in patches_of(strip):
        doses[patch.letter] = {strip.filter or NO_FILTER: patch.dose_s}
        for one in strip.beneath:
            name = one.filter or NO_FILTER
            doses[patch.letter][name] = doses[patch.letter].get(name, 0.0) + one.dose_s
    if isinstance(light, tuple):
        letter, density = light[0].upper(), light[1]
        if letter not in doses:
            raise BadInput(
                f"there is no patch {quoted(light[0])}", "light", f"one to {[*doses][-1]}"
            )
        log_light = light_for(paper, doses[letter], density, f"patch {letter}")
    else:
        require_absolute(absolute)
        log_light = math.log10(light)
    return [_tone(paper, letter, each, log_light) for letter, each in doses.items()]


def require_absolute(absolute: bool) -> None:
    """Refuse lux for a paper that was measured in seconds alone. Raises Refused."""
    if not absolute:
        raise Refused(
            "this paper was measured in seconds alone, so that lux say nothing of it",
            ("a patch with its density: C=0.30", "a sheet made with --lux"),
        )


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
