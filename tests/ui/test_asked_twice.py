"""A key that cannot be taken back is asked about first."""

from __future__ import annotations

from controller.exposing.told import Wish
from ui.asked_twice import FINAL, SECOND_S, AskedTwice


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_the_second_press_of_the_same_key_takes_it() -> None:
    """The first is asked about, and so is the one after the second."""
    asked = AskedTwice(Clock())
    assert [asked.question(Wish.SPOILED) for _ in range(3)] == [
        FINAL[Wish.SPOILED],
        "",
        FINAL[Wish.SPOILED],
    ]


def test_a_late_press_and_another_key_are_asked_about_anew() -> None:
    """After three seconds, or with something else in between, the first press is forgotten."""
    clock = Clock()
    asked = AskedTwice(clock)
    assert asked.question(Wish.ABANDON)
    clock.now_s += SECOND_S + 0.1
    assert asked.question(Wish.ABANDON)
    assert asked.question(Wish.SPOILED)
    assert asked.question(Wish.ABANDON)
    assert asked.question(Wish.UNSURE) == "", "what can be taken back is done at once"
    assert asked.question(Wish.ABANDON)
