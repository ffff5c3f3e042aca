"""What is stray light and what belongs to the lights that burn."""

from __future__ import annotations

from controller.enlarger.lamp import ns
from controller.room.stray import Began, Gone, StrayWatch

AMBER = frozenset({"amber"})


def readings(watch: StrayWatch, from_s: float, *lux: float) -> list:
    return [watch.read(ns(from_s + 0.1 * n), one) for n, one in enumerate(lux)]


def test_a_door_is_seen_and_its_end_too() -> None:
    """Two readings in a row make it sure; the end says how long and how much."""
    watch = StrayWatch()
    assert readings(watch, 0, 0.5, 0.52, 0.49) == [None] * 3
    assert readings(watch, 1, 2.0, 3.0, 2.5) == [None, Began(3.0, 0.49), None]
    assert watch.seen
    gone = readings(watch, 5, 0.5)[0]
    assert gone == Gone(3.9, 3.0)
    assert not watch.seen


def test_one_reading_is_no_light() -> None:
    """A spike is noise."""
    watch = StrayWatch()
    assert readings(watch, 0, 0.5, 9.0, 0.5, 9.0, 0.5) == [None] * 5


def test_a_safelight_that_is_switched_on_is_no_stray_light() -> None:
    """Each set of lights has a usual reading of its own."""
    watch = StrayWatch()
    readings(watch, 0, 0.01, 0.01)
    watch.switched(ns(1), AMBER)
    assert readings(watch, 1.1, 5.0) == [None], "it settles"
    assert readings(watch, 2, 5.0, 5.1, 4.9) == [None] * 3
    watch.switched(ns(3), frozenset())
    assert readings(watch, 4, 0.012, 0.2, 0.2)[2] == Began(0.2, 0.01)


def test_in_the_dark_a_little_is_the_sensors_own_noise() -> None:
    """Half as much again as nothing is nothing."""
    watch = StrayWatch()
    assert readings(watch, 0, 0.0, 0.01, 0.015, 0.01) == [None] * 4
