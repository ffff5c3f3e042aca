"""What a scan of a sheet says: which parts differ from the reference, and how surely. Pure.

**The criterion.** A part is *changed* where its difference from the reference, with twice its
uncertainty added, reaches what is just seen (0.02, to be set); so what cannot be told for sure
counts as changed. Lighter counts as well. The uncertainty is what the blocks of both parts
scatter within themselves, and what the slope common to all parts is uncertain by, over the way
between them. A scan in which twice the uncertainty alone reaches what is just seen says nothing,
and is refused.
Differences are those of the scan's own tones: no density of the print is claimed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from controller.errors import BadInput
from controller.room.fog_sheets import REFERENCE, FogTest
from controller.room.limits import Reading
from controller.room.steps import JUST_SEEN, read_by_eye

SURE = 2.0  # times the uncertainty
# More than a light grey has between its lightest and darkest part that a light can have made.
MOST_LIGHTER = 0.10
MOST_NOISE = 0.08
CALIBRATION = (
    "differences are in the scan's own tones, which are not calibrated: only a difference from "
    "the reference means something"
)


@dataclass(frozen=True, slots=True)
class Sample:
    """One part of a scanned sheet: ``-log10`` of its light, and its scatter within itself.

    ``slope`` is what the slope common to all parts is uncertain by, per mm; ``at_mm`` its middle.
    """

    value: float
    noise: float
    at_mm: float = 0.0
    slope: float = 0.0


@dataclass(frozen=True, slots=True)
class Difference:
    """How far a part is from the reference: darker is above zero."""

    name: str
    value: float
    uncertain: float
    just_seen: float = JUST_SEEN

    @property
    def changed(self) -> bool:
        """Does it count as changed: surely, or because it cannot be told?"""
        return abs(self.value) + SURE * self.uncertain >= self.just_seen

    @property
    def sure(self) -> bool:
        """Is it clean or changed beyond its uncertainty?"""
        return not self.changed or abs(self.value) - SURE * self.uncertain >= self.just_seen

    @property
    def line(self) -> str:
        """Tell it."""
        what = "changed" if self.changed else "clean"
        doubt = "" if self.sure else ", cannot be told for sure and counts as changed"
        return f"{self.name}: {self.value:+.3f}, give or take {self.uncertain:.3f}: {what}{doubt}"


def differences(
    samples: Mapping[str, Sample], reference: str, *, just_seen: float = JUST_SEEN, where: str
) -> list[Difference]:
    """Give the difference of each part from the reference, in the order of the sheet.

    Raises BadInput for a scan that is too uneven, and where the reference is darker than a part
    that got light besides: then it is not this sheet, or it lay another way.
    """
    if not 0.0 < just_seen <= 1.0:
        raise BadInput(f"{just_seen:g} is no difference", "--just-seen", "such as 0.02")
    base = samples[reference]
    worst = max(samples.values(), key=lambda one: one.noise)
    if worst.noise > MOST_NOISE:
        what = f"its parts are not even (scatter {worst.noise:.2f})"
        raise BadInput(what, where, "a flat scan of this very sheet, dry and clean")
    found = []
    for name, one in samples.items():
        if name == reference:
            continue
        uncertain = math.hypot(one.noise, base.noise, one.slope * abs(one.at_mm - base.at_mm))
        found.append(Difference(name, one.value - base.value, uncertain, just_seen))
    lightest = min(found, key=lambda one: one.value)
    if lightest.value < -max(MOST_LIGHTER, SURE * lightest.uncertain):
        what = f"{lightest.name} is lighter than the reference by {-lightest.value:.2f}"
        raise BadInput(what, where, "the sheet of this mark, its left edge at the left or on top")
    middling = sorted(one.uncertain for one in found)[len(found) // 2]
    if SURE * middling >= just_seen:
        what = f"it is too noisy to see {just_seen:g} (uncertain by {middling:.3f})"
        raise BadInput(what, where, "a cleaner scan, or a larger --just-seen")
    return found


def upside_down(values: Sequence[float], *, just_seen: float = JUST_SEEN) -> bool:
    """Tell whether a sheet with its reference at the left was scanned turned round by half.

    The reference got least light. Where the part at the other end is lighter by what is just
    seen, and none is lighter than that one, the two have changed places.
    """
    first, last = values[0], values[-1]
    return first - last >= just_seen and last <= min(values) + just_seen / 2


def fog_by_scan(test: FogTest, found: Sequence[Difference]) -> tuple[Reading, Reading]:
    """Read a fog test by its scanned differences: the first changed step of each side counts."""
    by_name = {one.name: one for one in found}
    readings = []
    for side in ("before", "after"):
        steps = [by_name[f"{side} {n}"].changed for n in range(1, len(test.steps_s) + 1)]
        readings.append(read_by_eye(test.steps_s, steps.index(True) + 1 if any(steps) else None))
    before, after = readings
    return before, after


def scan_lines(found: Sequence[Difference]) -> list[str]:
    """Tell what a scan says, with its criterion."""
    just_seen = found[0].just_seen
    head = (
        f"read from a scan: changed is what differs from {REFERENCE} by {just_seen:g}, with twice "
        "the uncertainty added"
    )
    return [head, *(f"  {one.line}" for one in found), CALIBRATION]
