"""From what was read of a calibration sheet to points of a curve: exposure and density. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.book.entries import Page
from controller.boxes.model import Point
from controller.boxes.sheet import KIND, PaperSheet
from controller.boxes.tablet import numbers_asked
from controller.errors import BadInput, quoted
from controller.events import Fate
from controller.ports import NO_FILTER

TYPED_UNCERTAIN = 0.02  # of a densitometer's reading (common practice, no source)
SLIP = 0.12  # between two readings of one patch: six times their noise, so no noise
FALLS = 0.06  # by so much a later patch may be lighter: reading noise, or the sheet lies turned


@dataclass(frozen=True, slots=True)
class Given:
    """A patch of a sheet that was made: what it really got, by filter."""

    label: str
    doses_s: Mapping[str, float]


def sheet_of(page: Page | None, mark: str) -> tuple[PaperSheet, str]:
    """Give the calibration sheet of a record, and its mark. Raises BadInput."""
    if page is None or page.record.kind != KIND:
        what = f"{quoted(mark)} is a {page.record.kind}" if page else f"there is no {quoted(mark)}"
        raise BadInput(what, "paper", "the mark of a sheet that `dryside paper sheet` made")
    sheets = [s for s in page.sheets if s.fate is not Fate.SPOILED]
    if not sheets:
        raise BadInput(f"{quoted(mark)} was spoiled", "paper", "a sheet that was finished")
    return PaperSheet.model_validate_json(page.record.spec), sheets[-1].mark


def given(sheet: PaperSheet, page: Page, mark: str) -> list[Given]:
    """Give what each patch really got, by the pulses that were counted, lightest first.

    Raises BadInput where the sheet is unfinished.
    """
    counted: dict[str, float] = {}
    for one in page.exposures:
        if one.mark == mark:
            counted[one.label] = counted.get(one.label, 0.0) + one.bounds_s[0]
    name = sheet.filter or NO_FILTER

    def got(label: str) -> float:
        if counted.get(label, 0.0) <= 0.0:
            raise BadInput(
                f"{mark} was not finished: {label} got no light", "paper", "a finished sheet"
            )
        return counted[label]

    labels = sheet.labels()
    if sheet.kind == "tablet":
        dose_s = got("tablet")
        behind = reversed(sheet.tablet)
        return [
            Given(label, {name: dose_s * 10.0**-d}) for label, d in zip(labels, behind, strict=True)
        ]
    if sheet.kind == "mixed":
        return [
            Given(label, {name: got(f"{label} soft"), sheet.hard_filter: got(f"{label} hard")})
            for label in labels
        ]
    total = 0.0
    patches = []
    for label in labels:
        total = total + got(label) if sheet.way == "card" else got(label)
        patches.append(Given(label, {name: total}))
    return patches


def points_of(
    sheet: PaperSheet,
    patches: Sequence[Given],
    densities: Sequence[float | None],
    uncertain: Sequence[float] | float = TYPED_UNCERTAIN,
    beyond: Sequence[int] = (),
) -> tuple[Point, ...]:
    """Put what patches got beside what they became; None is a patch that was not read."""
    off = [uncertain] * len(patches) if isinstance(uncertain, float) else list(uncertain)
    bounds = list(beyond) or [0] * len(patches)
    return tuple(
        Point(one.label, sheet.log_h(dict(one.doses_s)), density, each, dict(one.doses_s), bound)
        for one, density, each, bound in zip(patches, densities, off, bounds, strict=True)
        if density is not None
    )


def densities_asked(text: str, sheet: PaperSheet, where: str = "--densities") -> list[float | None]:
    """Read densities from patch A on; a dash is a patch that was not read. Raises BadInput."""
    labels = sheet.labels()
    right = f"{len(labels)} densities from patch {labels[0]} to {labels[-1]}, a dash for none"
    parts = text.replace(",", " ").split()
    if len(parts) != len(labels):
        raise BadInput(f"there are {len(parts)} densities", where, right)
    found = [None if part == "-" else numbers_asked(part, where, right)[0] for part in parts]
    for label, value in zip(labels, found, strict=True):
        if value is not None:
            require_density(value, label, where, right)
    require_rising(sheet, found, where)
    return found


def require_density(value: float, label: str, where: str, right: str) -> None:
    """Refuse what no paper has. Raises BadInput."""
    if not -0.05 <= value <= 4.0:
        raise BadInput(f"{value:g} at patch {label} is no density of paper", where, right)


def mean_of(
    times: Sequence[Sequence[float | None]], sheet: PaperSheet, where: str = "--densities"
) -> tuple[list[float | None], list[float]]:
    """Average what was read of each patch, once or several times; with what that is uncertain by.

    Raises BadInput where two readings of one patch are so far apart that one is a slip.
    """
    found: list[float | None] = []
    uncertain = []
    for label, read in zip(sheet.labels(), zip(*times, strict=True), strict=True):
        known = [value for value in read if value is not None]
        if known and max(known) - min(known) > SLIP:
            raise BadInput(
                f"patch {label} was read as {min(known):.2f} and as {max(known):.2f}",
                where,
                "readings of one patch that agree: read it again",
            )
        found.append(sum(known) / len(known) if known else None)
        uncertain.append(TYPED_UNCERTAIN / math.sqrt(max(1, len(known))))
    return found, uncertain


def require_rising(sheet: PaperSheet, densities: Sequence[float | None], where: str) -> None:
    """Refuse densities of a wedge that fall from its first patch to its last. Raises BadInput."""
    if sheet.kind == "mixed":
        return
    read = [value for value in densities if value is not None]
    if len(read) >= 2 and read[-1] < read[0] - FALLS:
        raise BadInput(
            "the densities fall",
            where,
            f"those from patch {sheet.labels()[0]}, the lightest, on: the sheet may lie turned",
        )
