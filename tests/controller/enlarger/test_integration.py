"""A dose that a sensor ends: what it sums up, when it says off, and when it is not believed."""

from __future__ import annotations

import random

import pytest

from controller.enlarger.integration import Doubt, Integral, SeenLamp
from controller.enlarger.lamp import ns
from controller.ports import Quantity, Reading

ON = ns(100)
SEEN = SeenLamp(full=400.0, dark=2.0, tail_s=0.05)
EVERY_S = 0.05


def reading(
    at_s: float, level: float, *, over_s: float = EVERY_S, saturated: bool = False
) -> Reading:
    value = 2.0 + 398.0 * level
    at_ns, over_ns = ON + ns(at_s), ns(over_s)
    return Reading(Quantity.ILLUMINANCE, value, at_ns, over_ns, saturated=saturated)


def times(until_s: float) -> list[float]:
    return [EVERY_S * n for n in range(1, round(until_s / EVERY_S) + 1)]


def expose(integral: Integral, level: float, until_s: float, *, noise: float = 0.0) -> None:
    rng = random.Random(1)
    for at_s in times(until_s):
        integral.take(reading(at_s, level * (1 + rng.gauss(0, noise))))
        assert not integral.check(ON + ns(at_s))


def after_s(ns_: int | None) -> float:
    assert ns_ is not None
    return (ns_ - ON) / 1e9


@pytest.mark.parametrize("level", [0.8, 1.0, 1.2])
def test_the_light_ends_where_the_sum_and_the_tail_are_what_was_wanted(level: float) -> None:
    """On-time is dose over level, less the tail, at any level that is believed."""
    integral = Integral(SEEN, ON, 8.0, ns(8.1))
    expose(integral, level, 4.0)
    assert after_s(integral.cut_ns) == pytest.approx(8.0 / level - 0.05, abs=1e-6)
    cut_ns = integral.cut_ns
    assert cut_ns is not None
    assert integral.dose_s(cut_ns) == pytest.approx(8.0)


def test_windows_are_summed_and_gaps_bridged() -> None:
    """Windows count their own time once; between points in time the light is taken as a line."""
    integral = Integral(SEEN, ON, 8.0, ns(8))
    integral.take(reading(0.5, 0.5, over_s=1.0))  # it began before the light: all of it fell since
    integral.take(reading(0.5, 9.0))  # the same again
    integral.take(reading(1.0, 1.0, over_s=0.8))  # it overlaps
    integral.take(reading(1.4, 0.6, over_s=0.0))  # a point
    assert integral.dose_s(ON + ns(1.4)) == pytest.approx(
        0.5 + 0.5 + 0.4 * 0.8 + 0.05 * 0.6, abs=1e-6
    )


def test_noise_costs_little() -> None:
    """With 5 % of noise on every reading, the end of 8 s is found within 0.01 stop."""
    integral = Integral(SEEN, ON, 8.0, ns(8))
    expose(integral, 0.85, 9.0, noise=0.05)
    assert after_s(integral.cut_ns) == pytest.approx(8.0 / 0.85 - 0.05, rel=0.007)


def test_a_silent_sensor_leaves_it_to_time() -> None:
    """Half a second without a reading, from the first or later, ends the exposure by time."""
    for heard_s in (0.0, 3.0):
        integral = Integral(SEEN, ON, 8.0, ns(8.1))
        expose(integral, 0.9, heard_s)
        assert after_s(integral.next_ns) == pytest.approx(heard_s + 0.5)
        assert not integral.check(ON + ns(heard_s + 0.5))
        assert integral.doubt is Doubt.SILENT
        integral.take(reading(5.0, 0.9))  # it comes back: the sum has a hole, time goes on
        assert after_s(integral.next_ns) == pytest.approx(8.1)
        assert not integral.check(ON + ns(8.09))
        assert integral.check(ON + ns(8.1))
        assert integral.dose_s(ON + ns(8.1)) is None


@pytest.mark.parametrize(("level", "doubt"), [(0.5, Doubt.WEAK), (1.5, Doubt.STRONG)])
def test_a_level_beyond_the_limit_is_not_believed(level: float, doubt: Doubt) -> None:
    """A sensor that is shaded, or sees other light, ends nothing: time does."""
    integral = Integral(SEEN, ON, 8.0, ns(8.1))
    expose(integral, level, 2.0)
    assert integral.doubt is doubt
    assert after_s(integral.cut_ns) == pytest.approx(8.1)


def test_a_lamp_that_rises_is_not_taken_for_a_weak_one() -> None:
    """The first tenths of a second of a filament say nothing of its level."""
    integral = Integral(SEEN, ON, 2.0, ns(2.1))
    for at_s in times(1.0):
        integral.take(reading(at_s, min(1.0, at_s / 0.3)))
        integral.check(ON + ns(at_s))
    assert integral.doubt is None
    assert after_s(integral.cut_ns) == pytest.approx(2.0 + 0.3 / 2 - 0.05, abs=0.03)


def test_more_than_it_can_tell() -> None:
    """A saturated reading ends the sensor's say."""
    integral = Integral(SEEN, ON, 8.0, ns(8.1))
    integral.take(reading(0.5, 1.0, saturated=True))
    assert integral.doubt is Doubt.SATURATED


def test_bounds() -> None:
    """A pulse may last longer by the limit, and never longer than the lamp may burn."""
    seen = SeenLamp(400.0, limit=0.25, longest_s=100.0)
    assert seen.bound_ns(ns(8)) == ns(10)
    assert seen.bound_ns(ns(90)) == ns(100)
    assert seen.bound_ns(ns(100)) == ns(100)
