"""What has become of the room since a print was made in it."""

from __future__ import annotations

from datetime import date

from controller.room.model import Place
from controller.room.overview import overview
from controller.room.since import old_tests, safe_since
from tests.controller.room.test_results import LIGHTS, TODAY, result, room

LATER = date(2026, 6, 1)


def test_a_test_that_expired_is_told() -> None:
    """It holds on its own day, and a year after it does not."""
    found = room(result("amber"))
    assert old_tests(found, "pearl", today=TODAY) == []
    (line,) = old_tests(found, "pearl", today=LATER)
    assert line.startswith("room: the test of amber is old: it is of 2025-05-01")


def test_a_room_that_was_never_tested_on_this_paper_says_so() -> None:
    """And what is old of its tests on another; a room without tests has nothing to say."""
    told = old_tests(room(result("amber")), "warm", today=LATER)
    assert told[0] == "room: no light was tested on warm"
    assert "is old" in told[1]
    assert old_tests(room(), "warm", today=LATER) == []


def test_each_light_whose_safe_time_is_another_is_told() -> None:
    """Shorter now, gone, or new; nothing of those that are as they were."""
    then = overview(room(result("amber")), {}, at=Place.EASEL, today=TODAY).safe
    assert safe_since(then, room(result("amber")), today=TODAY) == []
    shorter = room(result("amber", clean=120, changed=240))
    assert safe_since(then, shorter, today=TODAY) == [
        f"changed since: safe time under amber was {then['amber']}, is 1 min"
    ]
    gone = room(result("amber"), lights=[one for one in LIGHTS if one.name != "panel"])
    assert safe_since(then, gone, today=TODAY) == ["changed since: room has no panel any more"]
    assert safe_since({"amber": then["amber"]}, room(result("amber")), today=TODAY) == [
        f"changed since: room has another light, {name} (not proved)"
        for name in ("red", "panel", "door")
    ]
