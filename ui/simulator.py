"""Which imagined room a rig asks for."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from controller.boxes.sheet import KIND, PaperSheet
from controller.exposing.told import Run
from controller.rig.rules import SIMULATOR
from controller.written import bad_input
from sim.eye import Eye, EyeSettings, LampLight, WorldEye
from sim.settings import NegativeKind, PaperKind, SimulatorSettings
from ui.unit import Unit

# What a lag strip wants of the bench: no negative, and the lens closed until four seconds make a
# mid-tone. The imagined printer cannot judge tones, so the light is given.
MID_TONE = (0.45,)
MOVING_MM = 8.0  # a card that is kept moving blurs its edge so far


def simulator_of(unit: Unit, run: Run) -> SimulatorSettings:
    """Read the rig's ``[simulator]`` table. Raises BadInput."""
    try:
        settings = SimulatorSettings.model_validate(unit.rig.simulator)
    except ValidationError as error:
        raise bad_input(error, unit.asked, prefix="simulator", model=SimulatorSettings) from None
    asked = unit.rig.simulator
    if run.plan.kind == "lag strip":
        update: dict[str, object] = {"negative": NegativeKind.BANDS}  # there is none in the carrier
        if "tones" not in asked:
            update["tones"] = MID_TONE
        return settings.model_copy(update=update)
    if run.plan.kind == KIND:
        return settings.model_copy(update=_for_calibration(run.spec, asked))
    if any(expose.filter for _, expose in run.plan.exposures()):
        return settings.model_copy(update=_for_filters(settings, asked))
    return settings


def eye_of(unit: Unit, world: LampLight, name: str = "", seed: int = 1) -> WorldEye | None:
    """Give the imagined sensor of this name, else the one that ends exposures.

    None where the rig has none. Raises BadInput.
    """
    rig = unit.rig
    sensor = next((e for e in rig.sensor if e.name == name), None) if name else rig.lamp_sensor()
    if sensor is None or sensor.driver != SIMULATOR:
        return None
    try:
        settings = EyeSettings.model_validate(sensor.options)
    except ValidationError as error:
        where = f"sensor.{sensor.name}.options"
        raise bad_input(error, unit.asked, prefix=where, model=EyeSettings) from None
    return WorldEye(world, Eye(settings, seed))


def _for_calibration(spec: str, asked: Mapping[str, object]) -> dict[str, object]:
    """Give what a calibration sheet is made on: paper that has filters, or under a tablet.

    The tablet lies on the paper, its dense end at the left.
    """
    sheet = PaperSheet.model_validate_json(spec)
    update: dict[str, object] = {}
    if sheet.filter:
        update |= _for_filters(SimulatorSettings.model_validate(asked), asked)
    update["negative"] = NegativeKind.BANDS
    if sheet.tablet:
        update["contact_tablet"] = tuple(max(0.0, density) for density in reversed(sheet.tablet))
    return update


def _for_filters(settings: SimulatorSettings, asked: Mapping[str, object]) -> dict[str, object]:
    """Give what a plan with filters is made on, where the rig does not say it.

    Filters mean something on variable-contrast paper only, and regions in a picture that has
    them.
    """
    update: dict[str, object] = {}
    paper = asked.get("paper")
    if not (isinstance(paper, Mapping) and "kind" in paper):
        update["paper"] = settings.paper.model_copy(update={"kind": PaperKind.VARIABLE})
    if "negative" not in asked and "tones" not in asked:
        update["negative"] = NegativeKind.SCENE
    if "shade_soft_mm" not in asked:
        update["shade_soft_mm"] = MOVING_MM
    return update
