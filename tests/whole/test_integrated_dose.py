"""Exposures that a sensor ends, in the imagined room: what the mains does costs no dose."""

from __future__ import annotations

import math

import pytest

from controller.events import Made, Remark
from controller.keeper import Cause
from controller.rig.file import load_rig
from controller.strips.strip import Strip, plan_strip
from tests.whole.imagined_unit import Made as Ran
from tests.whole.imagined_unit import carry_out, strip_errors_stops

STRIP = Strip(base_s=6, patches=3, way="window")
BY_SENSOR = "integration.ends_exposures=true"
DROOP = ("simulator.supply=0.95",)
WANDER = (*DROOP, "simulator.supply_wander=0.02", "simulator.supply_wander_s=20")
LONG_OFF = "simulator.hands.gap_s=[4.0,4.0]"


@pytest.mark.parametrize("rig_name", ["tungsten", "halogen"])
@pytest.mark.parametrize("supply", [DROOP, WANDER, ("simulator.supply=1.03",)])
def test_the_mains_costs_no_dose(rig_name: str, supply: tuple[str, ...]) -> None:
    """A supply that is 5 % low, wanders or is 3 % high changes no patch by 0.02 stop.

    By time alone the same strip is off by more than a tenth of a stop.
    """
    by_sensor = strip_errors_stops(STRIP, rig_name, BY_SENSOR, LONG_OFF, *supply)
    by_time = strip_errors_stops(STRIP, rig_name, LONG_OFF, *supply)
    assert max(abs(error) for error in by_sensor) < 0.02, by_sensor
    assert min(abs(error) for error in by_time) > 0.1, by_time


def made_in(ran: Ran) -> list[Made]:
    return [event for event in ran.events if isinstance(event, Made)]


def run(*settings: str, rig_name: str = "tungsten") -> Ran:
    rig = load_rig(rig_name, settings)
    plan = plan_strip(STRIP, rig.calibration(), rig.limits())
    return carry_out(plan, rig_name, BY_SENSOR, *settings)


def test_the_book_has_what_the_sensor_saw() -> None:
    """Every pulse is recorded as ended by the sensor, with its dose as it was summed up."""
    ran = run(*DROOP)
    for made, patch in zip(made_in(ran), ran.sheets[-1].patches, strict=True):
        assert made.full
        assert [pulse.cause for pulse in made.pulses] == [Cause.INTEGRAL]
        assert math.log2(made.delivered_dose_s / patch.delivered_s) == pytest.approx(0, abs=0.01)


def test_a_pause_keeps_the_sum() -> None:
    """An exposure that was paused gets the rest of its light, not of its time."""
    errors = strip_errors_stops(
        STRIP, "tungsten", BY_SENSOR, *DROOP, "simulator.hands.pause_at=[2.0, 9.0]"
    )
    assert max(abs(error) for error in errors) < 0.02, errors


def test_a_sensor_that_fails_leaves_it_to_time() -> None:
    """A silent sensor ends nothing: the patch gets its time, which is told and written down."""
    ran = run("sensor.house.options.silent=[2.0, 4.0]", *DROOP)
    first, *others = made_in(ran)
    assert first.full
    assert first.pulses[0].cause is Cause.CUT
    assert first.pulses[0].on_time_s == pytest.approx(6.06, abs=0.02)
    assert [made.pulses[0].cause for made in others] == [Cause.INTEGRAL] * 2
    assert [cue.text for cue in ran.cues if "sensor" in cue.text] == [
        "the light sensor is silent; by time"
    ]
    remarks = [event.text for event in ran.events if isinstance(event, Remark)]
    assert remarks == ["A ended by time: the light sensor is silent"]


def test_the_lamp_s_longest_on_time_ends_a_pulse_and_leaves_the_rest_to_a_tap() -> None:
    """Where the lamp may not burn so long, the exposure is paused with what is left of it."""
    settings = ("lamp.longest_on_s=7", *DROOP)
    rig = load_rig("tungsten", settings)
    strip = Strip(base_s=6, step="1/12", patches=3, way="window")
    ran = carry_out(
        plan_strip(strip, rig.calibration(), rig.limits()), "tungsten", BY_SENSOR, *settings
    )
    first, rest, *_ = made_in(ran)
    assert not first.full
    assert [pulse.cause for pulse in first.pulses] == [Cause.DEADLINE]
    assert first.pulses[0].on_time_s == pytest.approx(7.0, abs=0.001)
    paused = [cue.text for cue in ran.cues if cue.text.startswith("paused")]
    assert paused[0].startswith("paused, 0.4 left")
    assert first.delivered_dose_s + rest.delivered_dose_s == pytest.approx(6.0, abs=0.001)
