"""From strips to a score: what was picked becomes passes, burns and dodges. Pure."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import log2
from typing import Literal

from controller.book.entries import Judged
from controller.desk.pick import Pick
from controller.enlarger.filter_table import STARTING_POINTS, filter_name
from controller.errors import BadInput
from controller.score.amount import Amount, stops
from controller.score.doses import filter_of
from controller.score.local import local_strip, with_local
from controller.score.model import LONGEST_NAME, Pass, Score, SetUp, contradictions
from controller.stops import format_time, written_s
from controller.strips.cross import Cell, Cross
from controller.strips.strip import Strip

__all__ = [
    "from_cross",
    "from_strip",
    "goes_on",
    "local_strip",
    "picked_cell",
    "picked_patch",
    "replaced",
    "with_passes",
]

SOFT, HARD, ONLY = "soft", "hard", "print"


@dataclass(frozen=True)
class Through:
    """An exposure that was found: through which filter, and how much."""

    filter: str
    dose_s: float


def from_strip(strip: Strip, picked: Pick, mark: str, before: Score | None) -> Score:
    """Write a pick of a strip into a score, or begin one with it. Raises BadInput.

    Without a purpose the strip settles passes: what lay beneath it, and what was picked. A burn
    or dodge strip settles that, in the score that it was made for.
    """
    line = f"{mark} {picked.choice}".strip()
    if strip.purpose is None:
        found = [*(Through(b.filter, b.dose_s) for b in strip.beneath)]
        found.append(Through(strip.filter, picked.dose_s))
        return with_passes(found, line, picked.judged, strip.aperture, before)
    if strip.purpose.kind == "contact":
        right = "a strip for a print; this one tells the least exposure for full black"
        raise BadInput("a contact strip settles no print", "pick", right)
    if before is None:
        raise BadInput(f"a {strip.purpose.kind} belongs to a score", "pick", "the score's file")
    return with_local(before, strip, picked, line)


def from_cross(cross: Cross, cell: Cell, mark: str, judged: Judged, before: Score | None) -> Score:
    """Write the cell that was picked from a cross into a score, or begin one with it."""
    found = [Through(cross.soft.filter, cell.soft_s), Through(cross.hard.filter, cell.hard_s)]
    return with_passes(found, f"{mark} {cell.name}".strip(), judged, cross.aperture, before)


def with_passes(
    found: list[Through], line: str, judged: Judged, aperture: str, before: Score | None
) -> Score:
    """Give a score with these passes; the first is its base, and the others follow it in stops.

    A score that has passes through the same filters keeps their labels, notes and handwork.
    """
    base_s = written_s(found[0].dose_s)
    labels = labels_for([one.filter for one in found])
    if before is not None and len(found) > 1 and [one.label for one in before.passes] == [ONLY]:
        before = _renamed(before, found, labels)
    if before is None:
        passes = tuple(
            Pass(label=label, filter=one.filter, dose=_from_base(one.dose_s, base_s))
            for label, one in zip(labels, found, strict=True)
        )
        setup = SetUp(aperture=aperture)
        return Score(
            base_s=base_s, judged=_judged(judged), setup=setup, passes=passes, came_from=(line,)
        )
    left = list(before.passes)
    taken = {one.label for one in left}
    made: list[Pass] = []
    for label, one in zip(labels, found, strict=True):
        dose = _from_base(one.dose_s, base_s)
        # two passes through the same filter are told apart by their order
        old = next((o for o in left if _same_light(o, one)), None)
        if old is None:
            label = _free(label, taken)
            taken.add(label)
            made.append(Pass(label=label, filter=one.filter, dose=dose))
        else:
            left.remove(old)
            made.append(old.model_copy(update={"dose": dose}))
    lost = [one.label for one in left]
    handwork = [*(burn.over for burn in before.burns), *(one.within for one in before.dodges)]
    for over in handwork:
        if over in lost:
            raise BadInput(
                f"the score has handwork in the pass {over!r}, which this strip does not have",
                "pick",
                "another score, or the handwork taken out first",
            )
    update: dict[str, object] = {
        "base_s": base_s,
        "passes": tuple(made),
        "judged": _judged(judged),
        "came_from": (*before.came_from, line),
    }
    if aperture:
        update["setup"] = before.setup.model_copy(update={"aperture": aperture})
    return _agreeing(before.model_copy(update=update))


def labels_for(filters: list[str]) -> list[str]:
    """Name passes by their filters: of two, the softer is ``soft`` and the other ``hard``."""
    if len(filters) == 1:
        return [ONLY]
    order = [filter_name(name) for name in STARTING_POINTS.names]
    places = [order.index(filter_name(f)) if filter_name(f) in order else -1 for f in filters]
    if len(filters) == 2 and -1 not in places and places[0] != places[1]:
        return [SOFT, HARD] if places[0] < places[1] else [HARD, SOFT]
    named = [_as_label(f"filter {name.strip() or index + 1}") for index, name in enumerate(filters)]
    return [
        name if named.count(name) == 1 else _as_label(name, f" ({index + 1})")
        for index, name in enumerate(named)
    ]


# --- inside -----------------------------------------------------------------------------------


def _renamed(score: Score, found: list[Through], labels: list[str]) -> Score:
    """Call the only pass of a score by its place among several, wherever it is named."""
    own = filter_name(score.passes[0].filter)
    new = next(
        (la for la, one in zip(labels, found, strict=True) if filter_name(one.filter) == own), ONLY
    )
    return score.model_copy(
        update={
            "passes": (score.passes[0].model_copy(update={"label": new}),),
            "burns": tuple(
                burn.model_copy(update={"over": new}) if burn.over == ONLY else burn
                for burn in score.burns
            ),
            "dodges": tuple(one.model_copy(update={"within": new}) for one in score.dodges),
        }
    )


def _judged(judged: Judged) -> Literal["wet", "dry"]:
    return "dry" if judged is Judged.DRY else "wet"


def _from_base(dose_s: float, base_s: float) -> Amount:
    return stops(log2(dose_s / base_s))


def _same_light(one: Pass, found: Through) -> bool:
    return _light(one) == filter_name(found.filter)


def _free(label: str, taken: set[str]) -> str:
    """Give a label that no pass has."""
    number, free = 1, label
    while free in taken:
        number += 1
        free = _as_label(label, " (new)" if number == 2 else f" (new {number})")
    return free


def _as_label(text: str, after: str = "") -> str:
    """Shorten what is to be the label of a pass."""
    plain = " ".join(text.split())
    return plain[: LONGEST_NAME - len(after)].strip() + after


def _agreeing(score: Score) -> Score:
    """Refuse what was found where it contradicts the rest of the score."""
    for what, _ in contradictions(score):
        right = "another score, or the handwork changed first"
        raise BadInput(f"with these passes {what}", "pick", right)
    return score


def picked_patch(strip: Strip, picked: Pick, mark: str, before: Score | None) -> Score:
    """Write a pick into the score that lies ready, or begin another on the same paper.

    A strip through other filters than the score has is the beginning of another print. Raises
    BadInput for a burn or a dodge without its score.
    """
    if goes_on(before, strip):
        return from_strip(strip, picked, mark, before)
    return _on_same_paper(from_strip(strip, picked, mark, None), before)


def picked_cell(cross: Cross, cell: Cell, mark: str, judged: Judged, before: Score | None) -> Score:
    """Write a cell into the score that lies ready, or begin another on the same paper."""
    if goes_on(before, cross):
        return from_cross(cross, cell, mark, judged, before)
    return _on_same_paper(from_cross(cross, cell, mark, judged, None), before)


def goes_on(before: Score | None, made: Strip | Cross) -> bool:
    """Does a pick from this go into the score that lies ready, or begin another print?"""
    if isinstance(made, Cross):
        return _serves(before, [made.soft.filter, made.hard.filter])
    if made.purpose is not None:
        return True
    return _serves(before, [*(one.filter for one in made.beneath), made.filter])


def _serves(before: Score | None, filters: list[str]) -> bool:
    """Are these exposures those of the score, or its first one with more to come?"""
    if before is None:
        return False
    # two passes through one filter need two exposures through it
    return _lights(before) <= Counter(filter_name(name) for name in filters)


def _lights(score: Score) -> Counter[str]:
    return Counter(_light(one) for one in score.passes)


def replaced(before: Score, after: Score) -> list[str]:
    """Tell what of a score a pick has taken away: the base, passes' doses, and passes that go."""
    lines = []
    was, is_now = format_time(before.base_s), format_time(after.base_s)
    if was != is_now:
        lines.append(f"base: {was} -> {is_now}")
    left = list(after.passes)
    for one in before.passes:
        same = next((new for new in left if _light(new) == _light(one)), None)
        if same is None:
            through = f", filter {filter_of(one)}" if filter_of(one) else ""
            lines.append(f"pass {one.label} goes ({one.dose}{through})")
            continue
        left.remove(same)
        if same.dose != one.dose:
            lines.append(f"pass {same.label}: {one.dose} -> {same.dose}")
    return lines


def _light(one: Pass) -> str:
    return filter_name(filter_of(one))


def _on_same_paper(score: Score, before: Score | None) -> Score:
    if before is None:
        return score
    setup = before.setup
    if score.setup.aperture:
        setup = setup.model_copy(update={"aperture": score.setup.aperture})
    return score.model_copy(
        update={"paper": before.paper, "setup": setup, "negative": before.negative}
    )
