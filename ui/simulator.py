"""Which imagined room a rig asks for."""

from __future__ import annotations

from pydantic import ValidationError

from controller.told import Run
from controller.written import bad_input
from sim.settings import SimulatorSettings
from ui.unit import Unit

# What a lag strip wants of the bench: no negative, and the lens closed until four seconds make a
# mid-tone. The imagined printer cannot judge tones, so the light is given.
MID_TONE = (0.45,)


def simulator_of(unit: Unit, run: Run) -> SimulatorSettings:
    """Read the rig's ``[simulator]`` table. Raises BadInput."""
    try:
        settings = SimulatorSettings.model_validate(unit.rig.simulator)
    except ValidationError as error:
        raise bad_input(error, unit.asked, prefix="simulator", model=SimulatorSettings) from None
    if run.plan.kind == "lag strip" and "tones" not in unit.rig.simulator:
        settings = settings.model_copy(update={"tones": MID_TONE})
    return settings
