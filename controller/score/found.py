"""From strips to a score: what was picked becomes passes, burns and dodges. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from math import log2
from typing import Literal

from controller.book.entries import Judged
from controller.cross import Cell, Cross
from controller.errors import BadInput
from controller.filter_table import STARTING_POINTS, filter_name
from controller.pick import Pick
from controller.score.amount import Amount, seconds, stops
from controller.score.doses import Given, Kind, exposures, region_names
from controller.score.model import Burn, Dodge, Pass, Score, SetUp
from controller.score.plan import touching
from controller.stops import Step, StepUnit, stops_to_factor
from controller.strip import Beneath, Purpose, Strip, Way, patches_of

SOFT, HARD, ONLY = "soft", "hard", "print"
NEGLIGIBLE_STOPS = 1 / 48  # half of half a twelfth: no eye tells it


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
    return _with_local(before, strip, picked, line)


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
    base_s = found[0].dose_s
    labels = labels_for([one.filter for one in found])
    if before is None:
        passes = tuple(
            Pass(label=label, filter=one.filter, dose=_from_base(one.dose_s, base_s))
            for label, one in zip(labels, found, strict=True)
        )
        setup = SetUp(aperture=aperture)
        return Score(
            base_s=base_s, judged=_judged(judged), setup=setup, passes=passes, came_from=(line,)
        )
    if len(found) > 1 and [one.label for one in before.passes] == [ONLY]:
        before = _renamed(before, found, labels)
    known = {filter_name(one.filter): one for one in before.passes}
    made, used = [], set()
    for label, one in zip(labels, found, strict=True):
        old = known.get(filter_name(one.filter))
        dose = _from_base(one.dose_s, base_s)
        if old is None:
            made.append(Pass(label=_free(label, before), filter=one.filter, dose=dose))
        else:
            used.add(old.label)
            made.append(old.model_copy(update={"dose": dose}))
    lost = [one.label for one in before.passes if one.label not in used]
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
    return before.model_copy(update=update)


def labels_for(filters: list[str]) -> list[str]:
    """Name passes by their filters: of two, the softer is ``soft`` and the other ``hard``."""
    if len(filters) == 1:
        return [ONLY]
    order = [filter_name(name) for name in STARTING_POINTS.names]
    places = [order.index(filter_name(f)) if filter_name(f) in order else -1 for f in filters]
    if len(filters) == 2 and -1 not in places and places[0] != places[1]:
        return [SOFT, HARD] if places[0] < places[1] else [HARD, SOFT]
    named = [f"filter {name or index + 1}" for index, name in enumerate(filters)]
    return [
        name if named.count(name) == 1 else f"{name} ({index + 1})"
        for index, name in enumerate(named)
    ]


def local_strip(
    score: Score,
    kind: Literal["burn", "dodge"],
    region: str,
    within: str,
    step: Step,
    patches: int,
    *,
    way: Way = "card",
    size_mm: tuple[float, float],
) -> Strip:
    """Give the strip that settles a burn or a dodge of one region, in one pass.

    The region's other exposures lie beneath it. A burn strip begins at what the pass gives (A
    is no burn), a dodge strip ends there. Nothing is taken off for dry-down. Raises BadInput.
    """
    known = region_names(score)
    if region not in known:
        raise BadInput(f"the score has no region {region!r}", "region", " or ".join(known))
    labels = [one.label for one in score.passes]
    if within not in labels:
        raise BadInput(f"the score has no pass {within!r}", "pass", " or ".join(labels))
    given = touching(exposures(score.model_copy(update={"judged": "dry"})), region)
    own = next(one for one in given if one.label == within and one.kind is Kind.PASS)
    rest = [one for one in given if one is not own and not _settled(one, score, region, within)]
    base_s = own.dose_s
    if kind == "dodge":
        if step.unit is not StepUnit.STOPS:
            raise BadInput(f"{step} is not stops", "step", "a step in stops, such as 1/6")
        base_s /= stops_to_factor(step.value * (patches - 1))
    return Strip(
        base_s=base_s,
        step=step,
        patches=patches,
        way=way,
        aperture=score.setup.aperture,
        filter=own.filter if own.filter != "none" else "",
        beneath=tuple(_beneath(one, region) for one in rest),
        purpose=Purpose(kind=kind, region=region, within=within),
        place=region,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
    )


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
    return stops(round(log2(dose_s / base_s), 5))


def _free(label: str, score: Score) -> str:
    taken = {one.label for one in score.passes}
    return label if label not in taken else f"{label} (new)"


def _settled(one: Given, score: Score, region: str, within: str) -> bool:
    """Is this the very burn that the strip is to settle anew?"""
    return (
        any(
            burn.over == within
            and burn.regions == (region,)
            and one.label.startswith(f"burn {region}")
            for burn in score.burns
        )
        and one.kind is Kind.BURN
    )


def _beneath(one: Given, region: str) -> Beneath:
    held_s = sum(held.end_s - held.begin_s for held in one.held if region in held.regions)
    name = one.filter if one.filter != "none" else ""
    return Beneath(label=one.label, filter=name, dose_s=one.dose_s - held_s)


def _with_local(score: Score, strip: Strip, picked: Pick, line: str) -> Score:
    purpose = strip.purpose
    assert purpose is not None
    if purpose.region not in region_names(score):
        right = " or ".join(region_names(score))
        raise BadInput(f"the score has no region {purpose.region!r}", "pick", right)
    came_from = (*score.came_from, f"{line}, {purpose.kind} of {purpose.region}")
    if purpose.kind == "burn":
        others = tuple(
            burn
            for burn in score.burns
            if burn.regions != (purpose.region,) or burn.over != purpose.within
        )
        if picked.stops > NEGLIGIBLE_STOPS:
            new = Burn(
                regions=(purpose.region,), amount=_amount(strip, picked), over=purpose.within
            )
            others = (*others, new)
        return score.model_copy(update={"burns": others, "came_from": came_from})
    kept = tuple(
        dodge
        for dodge in score.dodges
        if dodge.regions != (purpose.region,) or dodge.within != purpose.within
    )
    whole_s = patches_of(strip)[-1].dose_s
    less = log2(whole_s / picked.dose_s)
    if less > NEGLIGIBLE_STOPS:
        held = Dodge(regions=(purpose.region,), amount=stops(round(less, 5)), within=purpose.within)
        kept = (*kept, held)
    return score.model_copy(update={"dodges": kept, "came_from": came_from})


def _amount(strip: Strip, picked: Pick) -> Amount:
    """Give a burn in what the strip was stepped in: stops, or seconds."""
    if strip.step.unit is StepUnit.SECONDS:
        return seconds(picked.dose_s - strip.base_s)
    return stops(round(picked.stops, 5))


def picked_patch(strip: Strip, picked: Pick, mark: str, before: Score | None) -> Score:
    """Write a pick into the score that lies ready, or begin another on the same paper.

    A strip through other filters than the score has is the beginning of another print. Raises
    BadInput for a burn or a dodge without its score.
    """
    if strip.purpose is not None:
        return from_strip(strip, picked, mark, before)
    filters = [*(one.filter for one in strip.beneath), strip.filter]
    if _serves(before, filters):
        return from_strip(strip, picked, mark, before)
    return _on_same_paper(from_strip(strip, picked, mark, None), before)


def picked_cell(cross: Cross, cell: Cell, mark: str, judged: Judged, before: Score | None) -> Score:
    """Write a cell into the score that lies ready, or begin another on the same paper."""
    if _serves(before, [cross.soft.filter, cross.hard.filter]):
        return from_cross(cross, cell, mark, judged, before)
    return _on_same_paper(from_cross(cross, cell, mark, judged, None), before)


def _serves(before: Score | None, filters: list[str]) -> bool:
    """Are these exposures those of the score, or its first one with more to come?"""
    if before is None:
        return False
    had = {filter_name(one.filter) for one in before.passes}
    return had <= {filter_name(name) for name in filters}


def _on_same_paper(score: Score, before: Score | None) -> Score:
    if before is None:
        return score
    setup = before.setup
    if score.setup.aperture:
        setup = setup.model_copy(update={"aperture": score.setup.aperture})
    return score.model_copy(
        update={"paper": before.paper, "setup": setup, "negative": before.negative}
    )
