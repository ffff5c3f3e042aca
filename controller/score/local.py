"""Strips that settle one burn or one dodge of a score, and what is picked from them. Pure."""

from __future__ import annotations

from math import log2
from typing import Literal

from pydantic import ValidationError

from controller.desk.pick import Pick
from controller.errors import BadInput
from controller.plan import SAME_S
from controller.ports import NO_FILTER
from controller.score.amount import Amount, seconds, stops
from controller.score.doses import Given, Kind, exposures, region_names
from controller.score.model import ALL_PASSES, Burn, Dodge, Score
from controller.score.plan import touching
from controller.stops import Step, StepUnit, stops_to_factor, written_s
from controller.strips.strip import Beneath, Purpose, Strip, Way, patches_of
from controller.written import bad_input

NEGLIGIBLE_STOPS = 1 / 48  # half of half a twelfth: no eye tells it


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
    _require_local(score, region, within, "score strip")
    given = touching(exposures(_unsettled(score, kind, region, within)), region)
    own = next(one for one in given if one.label == within and one.kind is Kind.PASS)
    rest = [one for one in given if one is not own and _falls_s(one) > SAME_S]
    base_s = _falls_s(own)
    if base_s <= SAME_S:
        right = "another pass, or another dodge of it"
        raise BadInput(f"{region} gets nothing of {within}", "score strip", right)
    if kind == "dodge":
        if step.unit is not StepUnit.STOPS:
            raise BadInput(f"{step} is not stops", "--step", "a step in stops, such as 1/6")
        base_s /= stops_to_factor(step.value * (patches - 1))
    try:
        return Strip(
            base_s=base_s,
            step=step,
            patches=patches,
            way=way,
            aperture=own.aperture,
            filter=own.filter if own.filter != NO_FILTER else "",
            beneath=tuple(_beneath(one, own) for one in rest),
            purpose=Purpose(kind=kind, region=region, within=within),
            place=region,
            width_mm=size_mm[0],
            height_mm=size_mm[1],
        )
    except ValidationError as error:
        raise bad_input(error, "score strip", model=Strip) from None


def with_local(score: Score, strip: Strip, picked: Pick, line: str) -> Score:
    """Put the burn or the dodge that was picked in place of the one that was there.

    Raises BadInput where the score lacks region or pass, and Refused where it does not fit.

    The strip's patches are of what the region gets of the pass; where another dodge already
    holds some of it back, that is less than the pass, from which burns and dodges are counted.
    """
    purpose = strip.purpose
    assert purpose is not None
    region, within = purpose.region, purpose.within
    _require_local(score, region, within, "pick")
    rest = _unsettled(score, purpose.kind, region, within)
    given = touching(exposures(rest), region)
    own = next(one for one in given if one.label == within and one.kind is Kind.PASS)
    part = _falls_s(own) / own.dose_s
    note = next((one.note for one in _gone(score, rest)), "")
    update: dict[str, object] = {
        "came_from": (*score.came_from, f"{line}, {purpose.kind} of {region}")
    }
    if purpose.kind == "burn":
        update["burns"] = rest.burns
        if picked.stops > NEGLIGIBLE_STOPS:
            amount = _amount(strip, picked, part)
            burn = Burn(regions=(region,), amount=amount, over=within, note=note)
            update["burns"] = (*rest.burns, burn)
    else:
        update["dodges"] = rest.dodges
        less = log2(patches_of(strip)[-1].dose_s / picked.dose_s)
        if less > NEGLIGIBLE_STOPS:
            # of the pass b, part * b * (1 - 2^-less) is to be held back
            amount = stops(-log2(1 - part * (1 - 2**-less)))
            dodge = Dodge(regions=(region,), amount=amount, within=within, note=note)
            update["dodges"] = (*rest.dodges, dodge)
    made = score.model_copy(update=update)
    exposures(made)  # two dodges of one region may not find room in the pass
    return made


# --- inside -----------------------------------------------------------------------------------


def _require_local(score: Score, region: str, within: str, where: str) -> None:
    """Refuse a burn or a dodge of a region or in a pass that the score does not have."""
    known = region_names(score) if score.sketch else ()
    if region not in known:
        right = " or ".join(known) or "a score with a sketch of its regions"
        raise BadInput(f"the score has no region {region!r}", where, right)
    labels = [one.label for one in score.passes]
    if within not in labels:
        raise BadInput(f"the score has no pass {within!r}", where, " or ".join(labels))


def _unsettled(score: Score, kind: str, region: str, within: str) -> Score:
    """Give the score without what a strip is to settle anew, and without dry-down."""
    burns, dodges = score.burns, score.dodges
    if kind == "burn":
        alone = len(score.passes) == 1
        burns = tuple(
            one
            for one in burns
            if one.regions != (region,)
            or not (one.over == within or (alone and one.over == ALL_PASSES))
        )
    else:
        dodges = tuple(one for one in dodges if one.regions != (region,) or one.within != within)
    return score.model_copy(update={"burns": burns, "dodges": dodges, "judged": "dry"})


def _falls_s(one: Given) -> float:
    """Give what of an exposure falls on the region that alone it is told for."""
    return one.dose_s - sum(held.end_s - held.begin_s for held in one.held)


def _beneath(one: Given, own: Given) -> Beneath:
    return Beneath(
        label=one.label,
        filter=one.filter if one.filter != NO_FILTER else "",
        dose_s=_falls_s(one),
        aperture=one.aperture if one.aperture != own.aperture else "",
        bare=one.kind is Kind.FLASH,
    )


def _gone(score: Score, rest: Score) -> list[Burn | Dodge]:
    """Give what one score has and the other has no more."""
    had: list[Burn | Dodge] = [*score.burns, *score.dodges]
    kept: list[Burn | Dodge] = [*rest.burns, *rest.dodges]
    return [one for one in had if one not in kept]


def _amount(strip: Strip, picked: Pick, part: float) -> Amount:
    """Give a burn in what the strip was stepped in: seconds, or stops over the pass."""
    if strip.step.unit is StepUnit.SECONDS:
        return seconds(written_s(picked.dose_s - strip.base_s))
    return stops(log2(1 + part * (2**picked.stops - 1)))
