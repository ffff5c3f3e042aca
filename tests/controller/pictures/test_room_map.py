"""The map of a room: distances to scale, no two texts touching, every light with its share."""

from __future__ import annotations

import math
from datetime import date, datetime
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.pictures.ink import measure_at
from controller.pictures.room_map import (
    BEYOND,
    NEAREST,
    NEVER,
    RADIUS,
    MapLayout,
    lay_out_map,
    room_map,
)
from controller.room.advice import advise
from controller.room.change import with_changed, with_group, with_typed
from controller.room.model import Kind, Light, Place, Room
from controller.room.room_map import map_of
from tests.controller.pictures.test_prints import require_apart
from tests.controller.pictures.test_strips import grey, imagined_width

TODAY = date(2025, 3, 1)
WHEN = datetime(2025, 2, 1)


def room_of(distances: dict[str, float | None]) -> Room:
    lights = tuple(
        Light(name=name, kind=Kind.SAFELIGHT, easel_m=at, place="over the sink, on a hook")
        for name, at in distances.items()
    )
    return Room(lights=lights)


def proved_room() -> Room:
    room = room_of({"bench": 1.0, "ceiling": 2.0, "door": None})
    room = with_typed(room, ["bench"], Place.EASEL, 120.0, WHEN)
    return with_typed(room, ["ceiling"], Place.EASEL, 360.0, WHEN)


def layout_of(room: Room, *, advice: bool = False) -> MapLayout:
    report = advise(room, at=Place.EASEL, today=TODAY) if advice else None
    told = map_of(room, at=Place.EASEL, today=TODAY, report=report)
    return lay_out_map(told, measure=imagined_width)


names = st.text("abcdefgh ij", min_size=1, max_size=40).filter(lambda s: s == s.strip())


@given(st.dictionaries(names, st.none() | st.floats(0.05, 50.0), max_size=14))
@settings(max_examples=50, deadline=None)
def test_no_two_words_of_a_map_touch(distances: dict[str, float | None]) -> None:
    """However many lights, near or far: every text lies on the page, apart from the others."""
    layout = layout_of(room_of(distances), advice=True)
    require_apart(list(layout.page.texts), layout.page.width, layout.page.height)
    for a, b in combinations(layout.spots, 2):
        assert math.dist((a.x, a.y), (b.x, b.y)) >= 2 * layout.badge - 1e-6


@given(st.lists(st.floats(0.5, 5.0), min_size=2, max_size=8))
def test_distances_are_to_scale(metres: list[float]) -> None:
    """A light's way from the middle is its distance by that of the farthest."""
    room = room_of({f"light {n}": at for n, at in enumerate(metres)})
    layout = layout_of(room)
    for spot, at in zip(layout.spots, metres, strict=True):
        wanted = max(NEAREST, RADIUS * at / max(metres))
        assert math.dist((spot.x, spot.y), layout.middle) == pytest.approx(wanted)


def test_a_light_without_a_distance_lies_beyond_the_rings() -> None:
    """What was not written is not invented: another badge, outside, and it says so."""
    layout = layout_of(proved_room())
    (door,) = [spot for spot in layout.spots if not spot.written]
    assert math.dist((door.x, door.y), layout.middle) == pytest.approx(RADIUS + BEYOND)
    assert any("distance not written" in text.text for text in layout.page.texts)


def test_shares_are_bars_and_figures() -> None:
    """Two and six minutes are 75 and 25 % of the fog; what was never tested has no bar."""
    layout = layout_of(proved_room())
    assert [bar.part for bar in layout.bars] == pytest.approx([0.75, 0.25])
    told = [text.text for text in layout.page.texts]
    assert "75 % of the fog" in told
    assert "25 % of the fog" in told
    assert told.count(NEVER) == 1


def test_groups_old_tests_total_and_advice_are_told() -> None:
    """Everything that a printer is to know before the light goes out stands on the page."""
    room = with_group(proved_room(), "easel", ["bench", "ceiling"])
    room = with_changed(room, "bench", "bulb", datetime(2025, 2, 20))
    told = map_of(room, at=Place.EASEL, today=TODAY)
    assert "all together" in told.total[0]
    [easel] = [line for line in told.groups if line.startswith("group easel: ")]
    assert easel.startswith("group easel: bench, ceiling: about 1 min 30 s")
    assert any("old: " in flag for flag in told.lights[0].flags)
    assert any("caution: pull a lamp's plug" in line for line in told.lines)
    report = advise(room, at=Place.EASEL, today=TODAY)
    advised = map_of(room, at=Place.EASEL, today=TODAY, report=report)
    assert any("switch bench off" in line for line in advised.lines)
    assert map_of(Room(), at=Place.TRAYS, today=TODAY).total[0].startswith("no light is listed")


def test_the_map_is_drawn_black_on_white(tmp_path: Path) -> None:
    """The guilty light's badge is black and an untested one hollow, on a white page."""
    path = tmp_path / "map.png"
    told = map_of(proved_room(), at=Place.EASEL, today=TODAY)
    room_map(told, path, px_per_mm=4.0)
    layout = lay_out_map(told, measure=measure_at(4.0))
    image = grey(path)
    assert image[0, 0] == 255
    bench, _, door = (image[round(s.y * 4), round(s.x * 4)] for s in layout.spots)
    assert bench < 20
    assert door == 255
    with pytest.raises(BadInput, match=r"\.png"):
        room_map(told, tmp_path / "map.pdf")
