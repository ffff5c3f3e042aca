"""What a sheet got in the trays, as it really was."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

import msgspec

ENOUGH_SHORT_S = 5.0  # a fix that much too short still counts (common practice, no source)


class StepWet(msgspec.Struct, frozen=True):
    """A sheet lay in a tray: as long as was planned, as it really was; draining is part of it."""

    name: str
    planned_s: float
    actual_s: float
    at: datetime
    tray: str = ""
    late_s: float = 0.0
    temperature_c: float | None = None
    note: str = ""

    @property
    def is_fix(self) -> bool:
        """Did it fix?"""
        return "fix" in self.name.casefold()


class SheetWet(msgspec.Struct, frozen=True):
    """A sheet's way through the trays. ``record_id`` is empty for one that the book has not."""

    mark: str
    record_id: str
    process: str
    steps: tuple[StepWet, ...]
    warnings: tuple[str, ...] = ()
    under_fixed: bool = False


def is_under_fixed(steps: Sequence[StepWet]) -> bool:
    """Say whether the fixers together got clearly less time than was planned.

    Two fixers count together, since each is planned for half. Without any fixer: no.
    """
    return is_fixed_short((step.planned_s, step.actual_s) for step in steps if step.is_fix)


def is_fixed_short(fixing: Iterable[tuple[float, float]]) -> bool:
    """Say the same of the seconds that were planned and given in each fixer."""
    given = list(fixing)
    short_s = sum(planned_s - actual_s for planned_s, actual_s in given)
    return short_s > ENOUGH_SHORT_S


def sheet_wet(
    mark: str,
    record_id: str,
    process: str,
    steps: Sequence[StepWet],
    *,
    under_fixed: bool = False,
) -> SheetWet:
    """Put a sheet's steps together, judged, with the remedy where it was fixed too little.

    ``under_fixed``: that is known otherwise, as of one that was taken away before its fixer.
    """
    under = under_fixed or is_under_fixed(steps)
    warnings = tuple(f"{s.name} {s.late_s:.0f} s late" for s in steps if s.late_s >= 1.0)
    if under:
        warnings += (f"{mark} is under-fixed: {REMEDY}",)
    return SheetWet(mark, record_id, process, tuple(steps), warnings, under)


REMEDY = "fix again in fresh fixer before toning; silver that is left stains in the toner"
