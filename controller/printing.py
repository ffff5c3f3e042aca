"""One print by one exposure: what follows when a patch was picked from a strip."""

from __future__ import annotations

from typing import Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field

from controller.around import BARE, Around, lens_check, require_dose
from controller.book.entries import Judged
from controller.lamp import Calibration, LampLimits
from controller.pick import Pick
from controller.plan import Action, Confirm, Expose, Go, Plan, Sheet
from controller.ports import Filter
from controller.stops import format_time
from controller.strip import LONGEST_S, Strip

PRINT = "print"  # the label of its exposure


class Printing(BaseModel):
    """A print as it is wanted; version 1.

    ``dose_s`` is what was picked. Dry-down is allowed for here and nowhere else, and only for
    a strip that was judged wet.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    dose_s: float = Field(gt=0, le=LONGEST_S, description="the exposure picked, in seconds")
    judged: Literal["wet", "dry"] = Field("wet", description="how the strip was looked at")
    dry_down_percent: float = Field(
        0.0, ge=0, lt=50, description="of this paper; taken off where the strip was judged wet"
    )
    aperture: str = Field("", description="working aperture as engraved, for the prompt")
    filter: str = Field("", description="filter in the light")
    width_mm: float = Field(254.0, gt=0)
    height_mm: float = Field(203.2, gt=0)
    picked_from: str = Field("", description="mark of the strip, and the patch")

    @property
    def exposure_s(self) -> float:
        """Give the dose that the print gets, dry-down allowed for."""
        if self.judged == Judged.DRY.value:
            return self.dose_s
        return self.dose_s * (1 - self.dry_down_percent / 100)


def from_pick(picked: Pick, strip: Strip, mark: str, before: Printing | None) -> Printing:
    """Make the next print of a pick; what the last one had of its own stays."""
    fields = {
        "dose_s": picked.dose_s,
        "judged": picked.judged.value,
        "aperture": strip.aperture,
        "filter": strip.filter,
        "picked_from": f"{mark} {picked.choice}",
    }
    if before is None:
        return Printing.model_validate(fields)
    return before.model_copy(update=fields)


def plan_print(
    printing: Printing,
    lamp: Calibration,
    limits: LampLimits,
    around: Around = BARE,
) -> Plan:
    """Make the plan of a print. Raises Refused for what the lamp cannot do."""
    dose_s = printing.exposure_s
    require_dose(PRINT, dose_s, lamp, limits)
    actions: list[Action] = [lens_check(printing.aperture)]
    if printing.filter:
        actions.append(Confirm(f"filter {printing.filter}", Filter(printing.filter)))
    actions.append(Sheet(printing.width_mm, printing.height_mm, "new sheet"))
    actions += [Go(f"print, {format_time(dose_s)}", None, around.lead_in_s), *around.darken()]
    actions.append(Expose(PRINT, dose_s, filter=printing.filter))
    title = f"print, {format_time(dose_s)}"
    if printing.picked_from:
        title += f", from {printing.picked_from}"
    return Plan("print", title, tuple(actions), around.after())


class Told(NamedTuple):
    """An exposure, told: what it is, and how long."""

    what: str
    time: str


def both_exposures(printing: Printing) -> tuple[Told, Told]:
    """Tell the exposure without dry-down and with it, side by side."""
    where = f" ({printing.picked_from})" if printing.picked_from else ""
    if printing.judged == Judged.DRY.value:
        taken_off = "judged dry: nothing is taken off"
    else:
        taken_off = f"{printing.dry_down_percent:g} % taken off for dry-down"
    return (
        Told(f"picked{where}, judged {printing.judged}", format_time(printing.dose_s)),
        Told(f"printed, {taken_off}", format_time(printing.exposure_s)),
    )
