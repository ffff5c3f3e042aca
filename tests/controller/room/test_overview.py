"""What a screen shows of the room."""

from __future__ import annotations

from datetime import date

from controller.room.change import new_light, with_light, with_typed
from controller.room.model import Place, Room
from controller.room.overview import overview

TODAY = date(2026, 3, 1)


def room() -> Room:
    made = Room(paper="pearl")
    for name in ("ceiling", "bench"):
        made = with_light(made, new_light(name))
        made = with_typed(made, [name], Place.EASEL, 480.0, TODAY)
    return with_light(made, new_light("door"))


def test_what_burns_now_is_told_with_its_safe_time() -> None:
    """Two lights of eight minutes each are four together; one that is off counts for nothing."""
    lit = {"ceiling": True, "bench": True, "door": False}
    found = overview(room(), lit, at=Place.EASEL, today=TODAY)
    assert found.now == "under what burns now paper may be out 4 min (by-hand)"
    assert found.safe["ceiling"] == "8 min"
    assert found.safe["door"] == "not proved"
    assert found.advice
    lit["bench"] = False
    assert "8 min" in overview(room(), lit, at=Place.EASEL, today=TODAY).now


def test_a_light_that_is_not_known_counts_as_lit() -> None:
    """Without a state it burns, and without a test it makes the time shorter than is known."""
    found = overview(room(), {"ceiling": True}, at=Place.EASEL, today=TODAY)
    assert "less since door never was tested" in found.now
    dark = dict.fromkeys(("ceiling", "bench", "door"), False)
    assert "may be out" in overview(room(), dark, at=Place.EASEL, today=TODAY).now
