"""Lights that must rest: held back, and lit when they may be."""

from __future__ import annotations

from controller.enlarger.lamp import ns
from controller.enlarger.rests import Rests
from controller.keeper import Edge, Put


def test_a_light_that_must_rest_is_lit_when_it_has() -> None:
    """Off at 10 s with a rest of 60: wanted at 20, lit at 70, and only once."""
    rests = Rests({"sodium": ns(60)})
    rests.edge(Edge("sodium", False, ns(10)))
    assert rests.ask(ns(20), Put("sodium", True)) is None
    assert rests.next_ns == ns(70)
    assert rests.due(ns(69)) == []
    assert rests.due(ns(70)) == [Put("sodium", True)]
    assert rests.due(ns(80)) == []


def test_off_is_never_held_back_and_takes_back_what_was_wanted() -> None:
    """Switching off is always allowed, and then nothing lights later."""
    rests = Rests({"sodium": ns(60)})
    rests.edge(Edge("sodium", False, ns(10)))
    rests.ask(ns(20), Put("sodium", True))
    assert rests.ask(ns(30), Put("sodium", False)) == Put("sodium", False)
    assert rests.next_ns is None


def test_other_lights_are_left_alone() -> None:
    """Without a rest to keep, everything passes."""
    rests = Rests({"sodium": ns(60)})
    rests.edge(Edge("red", False, ns(10)))
    assert rests.ask(ns(11), Put("red", True)) == Put("red", True)
    assert rests.ask(ns(11), Put("sodium", True)) == Put("sodium", True)
