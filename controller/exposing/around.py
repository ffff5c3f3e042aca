"""What is the same around the exposures of any plan: settling, lights, curtain, lens."""

from __future__ import annotations

from dataclasses import dataclass, field

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import Refused
from controller.plan import Action, Curtain, Lights
from controller.stops import format_time


@dataclass(frozen=True)
class Around:
    """How a bench is prepared for light, and left afterwards.

    ``lights_off`` names the lights that are to be off while paper is exposed, each with its
    afterglow in seconds; ``lights_back`` is how lights are left afterwards.
    """

    lead_in_s: float = 1.5
    lights_off: dict[str, float] = field(default_factory=dict)
    lights_back: dict[str, bool] = field(default_factory=dict)

    def darken(self) -> list[Action]:
        """Give what follows the first go of a sheet: black screen, lights off."""
        actions: list[Action] = [Curtain(True)]
        if self.lights_off:
            dark = dict.fromkeys(self.lights_off, False)
            actions.append(Lights(dark, max(self.lights_off.values())))
        return actions

    def after(self) -> tuple[Curtain | Lights, ...]:
        """Give what is done however the plan ends."""
        back: list[Curtain | Lights] = [Lights(self.lights_back)] if self.lights_back else []
        return (*back, Curtain(False))


BARE = Around()


def require_dose(
    what: str, dose_s: float, lamp: Calibration, limits: LampLimits, *, divisible: bool = False
) -> None:
    """Refuse a dose that this lamp cannot give; a ``divisible`` one may be given in parts."""
    most_s = limits.longest_dose_s(lamp)
    if dose_s < limits.least_pulse_s:
        raise Refused(
            f"{what}: {dose_s:.2f} s is less than this lamp can be trusted with",
            (f"close the lens until it is {limits.least_pulse_s:g} s or more",),
        )
    if dose_s > most_s and not divisible:
        raise Refused(
            f"{what}: {format_time(dose_s)} is longer than this lamp's limit of "
            f"{format_time(most_s)}",
            ("open the lens by a stop for half the time",),
        )
