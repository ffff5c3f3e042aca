"""The main job: every patch of every strip gets the dose that its label says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import Refused
from controller.rig.file import load_rig
from controller.stops import parse_step
from controller.strips.strip import Strip, obstacle, plan_strip, pulses_of, variants
from tests.whole.imagined_unit import carry_out, strip_errors_stops

STEPS = ["1/12", "1/8", "1/6", "1/4", "1/3", "1/2", "2/3", "3/4", "1"]
strips = st.builds(
    Strip,
    base_s=st.floats(2, 60),
    step=st.sampled_from(STEPS).map(parse_step),
    patches=st.integers(3, 12),
    way=st.sampled_from(["card", "window", "same-spot"]),
    side=st.sampled_from(["left", "right", "top", "bottom"]),
)


@settings(max_examples=200, deadline=None)
@given(strips, st.sampled_from(["tungsten", "halogen", "led"]), st.integers(0, 10_000))
def test_every_patch_gets_its_dose_within_a_hundredth_of_a_stop(
    strip: Strip, rig_name: str, seed: int
) -> None:
    """Base 2 to 60 s, steps 1/12 to 1 stop, 3 to 12 patches, gaps of 1 to 10 s; what is
    refused names a variant that is accepted.
    """
    rig = load_rig(rig_name)
    lamp, limits = rig.calibration(), rig.limits()
    if obstacle(strip, lamp, limits) is not None:
        with pytest.raises(Refused):
            plan_strip(strip, lamp, limits)
        strip = variants(strip, lamp, limits)[0].strip
    errors = strip_errors_stops(strip, rig_name, f"simulator.seed={seed}")
    assert max(abs(error) for error in errors) < 0.01, errors


OFF = ("lamp.cold_lag_s=0", "lamp.warm_gain_s2=0")


@pytest.mark.parametrize("rig_name", ["tungsten", "halogen"])
def test_without_compensation_the_same_strip_is_off_by_what_the_lamp_loses(rig_name: str) -> None:
    """Ten pulses each lose the lamp's lag: the last patch is short by the sum, many times the
    tolerance. This would not be so if the simulator mirrored the program.
    """
    strip = Strip(base_s=4, step="1/6", patches=10)
    rig = load_rig(rig_name)
    settled = strip_errors_stops(strip, rig_name, "simulator.hands.gap_s=[4.0,4.0]")
    raw = strip_errors_stops(strip, rig_name, "simulator.hands.gap_s=[4.0,4.0]", *OFF)
    assert max(abs(error) for error in settled) < 0.01
    pulses = pulses_of(strip)
    lags = [rig.calibration().lag_s(None)] + [rig.calibration().lag_s(4.0)] * 9
    lost_s = sum(lags)
    assert raw[-1] < -0.05
    assert sum(pulses) * (1 - 2 ** raw[-1]) == pytest.approx(lost_s, rel=0.15)


def test_a_strip_paused_again_and_again_still_gets_its_dose() -> None:
    """Four pauses at odd moments: every patch is within 0.02 stop."""
    errors = strip_errors_stops(
        Strip(base_s=8, patches=4, way="window"),
        "tungsten",
        "simulator.hands.pause_at=[1.7, 9.1, 19.4, 30.0]",
    )
    assert max(abs(error) for error in errors) < 0.02


def test_a_strip_of_three_minutes_has_been_paused_for_the_book() -> None:
    """The pauses are in the record as stretches that are not full."""
    from controller.events import Made

    rig = load_rig("tungsten")
    plan = plan_strip(Strip(base_s=8, patches=3, way="window"), rig.calibration(), rig.limits())
    made = carry_out(plan, "tungsten", "simulator.hands.pause_at=[1.7]")
    stretches = [e.full for e in made.events if isinstance(e, Made)]
    assert stretches == [False, True, True, True]
