"""What a box of paper answers to light, by all that was measured of it. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from controller.boxes.answers import Answers, EachFilter
from controller.boxes.match import nearest
from controller.boxes.model import Box
from controller.errors import BadInput, DrysideError, Refused
from controller.ports import NO_FILTER


def answers(box: Box, used: Collection[str]) -> Answers:
    """Give what a box answers to light of the filters ``used``, each alone or two together.

    Raises Refused where that was not measured.
    """
    # fitting loads numpy and scipy, which a box that is only named can do without
    from controller.boxes.fitting import curve_of
    from controller.boxes.split import split_of, split_pairs

    handle = box.batch.handle
    if len(used) == 2:
        pairs = [pair for pair in split_pairs(box.readings) if set(pair) == set(used)]
        soft, hard = pairs[0] if pairs else sorted(used)
        return split_of(box.readings, soft, hard, handle)
    if not box.curves:
        raise Refused(
            f"{handle} has no curve yet",
            (f"a calibration sheet: dryside paper sheet {handle} --filter 2",),
        )
    return EachFilter({name or NO_FILTER: curve_of(c) for name, c in box.curves.items()}, handle)


def nearest_filter(old: Box, new: Box, used: str) -> dict[str, str]:
    """Choose the new box's filter whose range is nearest; the same name where it is as near."""
    named = {name or NO_FILTER: one for name, one in old.curves.items()}
    if used not in named or not new.curves:
        return {}
    return {used: nearest(named[used], new.curves).filter or NO_FILTER}


def answers_or_why(
    box: Box, wanted: Iterable[frozenset[str]]
) -> tuple[dict[frozenset[str], Answers], str]:
    """Give what a box answers to each set of filters, and why the last of the others is missing."""
    found: dict[frozenset[str], Answers] = {}
    why = ""
    for filters in wanted:
        try:
            paper = answers(box, filters)
            require_filters(paper, box, filters)
            found[filters] = paper
        except DrysideError as error:
            why = str(error)
    return found, why


def require_filters(paper: Answers, box: Box, filters: Collection[str]) -> None:
    """Refuse filters that the box was not measured through. Raises BadInput."""
    handle = box.batch.handle
    for name in sorted(set(filters) - set(paper.filters)):
        bare = name == NO_FILTER
        raise BadInput(
            f"{handle} has no curve {'without' if bare else 'of'} filter"
            + ("" if bare else f" {name}"),
            "paper",
            f"dryside paper sheet {handle}" + ("" if bare else f" --filter {name}"),
        )


def is_absolute(box: Box) -> bool:
    """Do lux say something of its curves?"""
    return all(curve.iso_speed is not None for curve in box.curves.values())
