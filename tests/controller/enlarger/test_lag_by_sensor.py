"""The lamp's numbers from a curve of light: of a made-up curve, and of the imagined lamps'."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from controller.enlarger.lag_by_sensor import Lit, fit, plan_lag_by_sensor, with_gaps
from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.keeper import Cause
from controller.ports import Quantity, Reading

RISE_S, FALL_S = 0.2, 0.1  # straight ramps: what is lost is half the first less half the second
FULL, DARK = 250.0, 3.0


def light(at_s: float, pulses: list[Lit]) -> float:
    """Give the light at a time, in parts of full light."""
    for pulse in pulses:
        on_s, off_s = pulse.on_ns / 1e9, pulse.off_ns / 1e9
        warm_s = 0.0 if pulse.gap_s is None else 0.02 / pulse.gap_s
        rise_s = RISE_S - 2 * warm_s
        if on_s <= at_s < off_s:
            return min(1.0, (at_s - on_s) / rise_s)
        if off_s <= at_s < off_s + FALL_S:
            return 1.0 - (at_s - off_s) / FALL_S
    return 0.0


def made(gaps_s: list[float]) -> list[Lit]:
    pulses = [Lit(ns(10), ns(15), None)]
    for gap_s in gaps_s:
        on_ns = pulses[-1].off_ns + ns(gap_s)
        pulses.append(Lit(on_ns, on_ns + ns(1.5), gap_s))
    return pulses


PULSES = made([4.0, 4.0, 2.0, 2.0, 1.0, 1.0, 1.0])


def curve(
    pulses: list[Lit], *, over_s: float = 0.02, late_s: float = 0.0, noise: float = 0.005
) -> list[Reading]:
    """Read means over windows that may not touch; ``over_s`` 0: points every 10 ms."""
    rng = random.Random(3)
    readings = []
    at_s = 9.0031
    every_s = over_s + late_s or 0.01
    while at_s < pulses[-1].off_ns / 1e9 + 2.5:
        at_s += every_s
        points = [at_s - over_s * (k + 0.5) / 20 for k in range(20)] if over_s else [at_s]
        level = sum(light(t, pulses) for t in points) / len(points)
        value = DARK + (FULL - DARK) * level * (1 + rng.gauss(0, noise))
        readings.append(Reading(Quantity.ILLUMINANCE, value, ns(at_s), ns(over_s)))
    return readings


@pytest.mark.parametrize(("over_s", "late_s"), [(0.02, 0.0), (0.025, 0.0025), (0.0, 0.0)])
def test_a_curve_gives_its_numbers(over_s: float, late_s: float) -> None:
    """Lag, warm gain, tail, full light and dark are found, whatever way the sensor reads."""
    seen = fit(curve(PULSES, over_s=over_s, late_s=late_s), PULSES)
    assert seen.lamp.cold_lag_s == pytest.approx(RISE_S / 2 - FALL_S / 2, abs=0.003)
    assert seen.lamp.warm_gain_s2 == pytest.approx(0.02, abs=0.003)
    assert seen.tail_s == pytest.approx(FALL_S / 2, abs=0.004)
    assert seen.full == pytest.approx(FULL, rel=0.005)
    assert seen.dark == pytest.approx(DARK, abs=0.01)
    assert seen.plus_minus_s < 0.005


def without(readings: list[Reading], **changed: object) -> list[Reading]:
    import msgspec

    return [msgspec.structs.replace(reading, **changed) for reading in readings]


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda readings: readings[::20], "readings of a pulse's full light"),
        (lambda readings: without(readings, value=DARK), "does not see the lamp"),
        (lambda readings: without(readings, saturated=True), "more light than it can tell"),
        (lambda readings: without(readings, quantity=Quantity.DENSITY), "no lux"),
        (lambda readings: [], "gave 0 readings"),
    ],
)
def test_a_curve_that_does_not_show_it(
    spoil: Callable[[list[Reading]], list[Reading]], said: str
) -> None:
    """A sensor that is slow, blind, dazzled or no sensor of light is told for what it is."""
    with pytest.raises(BadInput, match=said):
        fit(spoil(curve(PULSES)), PULSES)


def test_gaps_are_those_that_were() -> None:
    """A pulse that was cut is not measured, and the next one's gap counts from its end."""
    lit = with_gaps(
        [(0, ns(1), Cause.DEADLINE), (ns(5), ns(6), Cause.CUT), (ns(8), ns(9), Cause.DEADLINE)]
    )
    assert lit == [Lit(0, ns(1), None), Lit(ns(8), ns(9), 2.0)]
    with pytest.raises(BadInput, match="too few"):
        fit(curve(PULSES), lit)


def test_the_plan_lights_nothing_without_a_tap() -> None:
    """The lens is capped first, and every row of pulses has a go of its own."""
    lines = plan_lag_by_sensor().lines()
    assert lines[0] == "no paper out, lens capped; tap when done"
    assert sum("tap to go" in line for line in lines) == 4
