"""A key as a pedal: one tap for one press, however long the key is held."""

from __future__ import annotations

from collections.abc import Callable

from ui.pedal_key import HOLD_S, PedalKey


class Clock:
    def __init__(self) -> None:
        self.now_s = 100.0
        self.edges: list[tuple[float, bool]] = []
        self._later: list[tuple[float, Callable[[], None]]] = []

    def later(self, seconds: float, do: Callable[[], None]) -> None:
        self._later.append((self.now_s + seconds, do))

    def go(self, to_s: float) -> None:
        for at_s, do in sorted(self._later, key=lambda each: each[0]):
            if at_s <= to_s:
                self.now_s = at_s
                do()
        self._later = [each for each in self._later if each[0] > to_s]
        self.now_s = to_s

    def key(self) -> PedalKey:
        return PedalKey(
            lambda down: self.edges.append((round(self.now_s, 2), down)),
            self.later,
            lambda: self.now_s,
        )


def test_a_key_that_is_held_is_one_tap() -> None:
    """A terminal repeats a held key forty times a second after half a second."""
    clock = Clock()
    key = clock.key()
    key.tap()
    for repeat in range(200):
        clock.go(100.5 + repeat / 40)
        key.tap()
    clock.go(110.0)
    assert clock.edges == [(100.0, True), (100.15, False)]


def test_two_taps_are_two() -> None:
    """A second tap after a second counts."""
    clock = Clock()
    key = clock.key()
    key.tap()
    clock.go(101.0)
    key.tap()
    clock.go(102.0)
    assert [down for _, down in clock.edges] == [True, False, True, False]


def test_a_tap_does_not_cut_a_long_press() -> None:
    """While the long press lasts nothing else is heard."""
    clock = Clock()
    key = clock.key()
    key.hold()
    clock.go(100.5)
    key.tap()
    clock.go(105.0)
    assert clock.edges == [(100.0, True), (round(100.0 + HOLD_S, 2), False)]
