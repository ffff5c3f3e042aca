"""The room as a file: what is written is read again, and what is wrong is one sentence."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.room import change
from controller.room.file import from_tables, load_room, room_of, save_room, schema, to_toml
from controller.room.limits import Bound, Rule
from controller.room.model import (
    Change,
    Groups,
    Kind,
    Light,
    Place,
    Read,
    Result,
    ResultKind,
    Room,
    Seen,
)

WRITTEN = """
version = 1
paper = "pearl"

[groups]
easel = ["amber"]

[[lights]]
name = "amber"
kind = "safelight"
easel_m = 1.2

[[lights.changes]]
what = "bulb"
date = 2025-03-01T10:00:00

[[lights]]
name = "screen"
kind = "screen"
levels = [10, 40]

[[tests]]
lights = ["amber", "screen:40"]
at = "easel"
paper = "pearl"
date = 2025-03-02
before = {clean_s = 180, changed_s = 420}
after = {clean_s = 60}
"""

words = st.text("abc \"'\\#é\n", max_size=8)
whens = st.one_of(
    st.dates(date(2000, 1, 1), date(2100, 1, 1)),
    st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)).map(
        lambda d: d.replace(microsecond=0)
    ),
)
metres = st.none() | st.floats(0.01, 50)
some_lights = st.lists(
    st.builds(
        Light,
        name=st.sampled_from(["amber", "red one", "door", "é"]),
        kind=st.sampled_from([one for one in Kind if one is not Kind.SCREEN]),
        place=words,
        easel_m=metres,
        filter=words,
        switchable=st.booleans(),
        size_m=st.floats(0, 10),
        changes=st.lists(
            st.builds(Change, what=st.sampled_from(["bulb", "place"]), date=whens), max_size=2
        ).map(tuple),
    ),
    max_size=4,
    unique_by=lambda one: one.name,
)
seconds = st.floats(1, 1000)
reads = st.one_of(
    st.builds(Read, clean_s=seconds),
    st.builds(Read, changed_s=seconds),
    seconds.map(lambda s: Read(clean_s=s, changed_s=s * 2)),
)


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    found = [*draw(some_lights), Light(name="panel", kind=Kind.SCREEN, levels=(10, 40))]
    names = st.sampled_from([name for one in found for name in one.names])
    sets = st.lists(names, min_size=1, max_size=3, unique_by=lambda n: n.partition(":")[0])
    tests = [
        Result(
            lights=tuple(draw(sets)),
            at=draw(st.sampled_from(Place)),
            paper=draw(words),
            date=draw(whens),
            after=draw(reads),
            before=draw(st.none() | reads),
            seen=(Seen(light=found[0].name, bulb=draw(words)),),
        )
        for _ in range(draw(st.integers(0, 3)))
    ]
    return Room(
        paper=draw(words),
        rule=draw(st.sampled_from(Rule)),
        lights=tuple(found),
        tests=tuple(tests),
        groups=Groups(easel=tuple(draw(sets))),
        expiry_months=draw(st.integers(1, 120)),
    )


@given(rooms())
def test_what_is_written_is_read_again(room: Room) -> None:
    """A room written and read is the same room, dates with their times and all."""
    assert room_of(to_toml(room), "room.toml") == room


def test_a_room_on_disk(tmp_path: Path) -> None:
    """It is saved into a folder that was not there, whole, and loaded again."""
    room = room_of(WRITTEN, "room.toml")
    path = tmp_path / "new" / "room.toml"
    save_room(room, path)
    assert load_room(path) == room
    assert [one.name for one in path.parent.iterdir()] == ["room.toml"]
    with pytest.raises(BadInput, match="cannot be written"):
        save_room(room, path / "below.toml")
    with pytest.raises(BadInput, match="no such file"):
        load_room(tmp_path / "none.toml")


WRONG = [
    ('kind = "screen"', 'kind = "bulb"', "lights[2].kind", '"safelight"'),
    ("date = 2025-03-02\n", 'date = "soon"\n', "tests[1].date", "a local date"),
    ("date = 2025-03-02\n", "date = 2025-03-02T10:00:00Z\n", "tests[1].date", "time zone"),
    ("clean_s = 60", "clean_s = -60", "tests[1].after.clean_s", "above 0"),
    ("clean_s = 60", "clean_s = nan", "tests[1].after.clean_s", "a number"),
    ("clean_s = 180", "clean_s = 420", "tests[1].before", "shorter than the changed"),
    ("{clean_s = 60}", "{}", "tests[1].after", "clean_s, changed_s or both"),
    ('"screen:40"]', '"screen:50"]', "screen:50", "screen:10, screen:40"),
    ('"screen:40"]', '"amber"]', "tests[1]", "each light once"),
    ('"amber", "screen:40"', '"screen:10", "screen:40"', "twice", "each light once"),
    ('easel = ["amber"]', 'easel = ["amver"]', "group easel", "amber"),
    ("after = {", "safe_s = 9\nafter = {", "tests[1]", "by-hand"),
    ('at = "easel"', 'kind = "by-hand"\nat = "easel"', "tests[1]", "safe_s alone"),
    ('name = "screen"', 'name = "amber"', "two lights are called 'amber'", "its own"),
    ('name = "amber"', 'name = "am:ber"', "lights[1].name", "without a colon"),
    ('name = "amber"', 'nam = "amber"', "lights[1]", "it is missing"),
    ("easel_m = 1.2", "easel_m = 0", "lights[1].easel_m", "up to 50"),
    ("easel_m = 1.2", "levels = [1]", "is no screen", 'kind = "screen"'),
    ("[10, 40]", "[10, 10]", "a level twice", "each level once"),
    ("version = 1", "version = 2", "newer Dryside", "version 1"),
    ("version = 1", 'version = "1"', "version", "no version"),
    ("version = 1", "vers = 1", "vers", '"version"'),
    ("version = 1", "version = ", "line 2", "not TOML"),
]


@pytest.mark.parametrize(("was", "is_", "where", "right"), WRONG)
def test_a_wrong_file_is_one_sentence(was: str, is_: str, where: str, right: str) -> None:
    """Whatever is wrong is told with the file, the place and what would be right."""
    assert was in WRITTEN
    with pytest.raises(BadInput) as caught:
        room_of(WRITTEN.replace(was, is_, 1), "room.toml")
    said = str(caught.value)
    assert said.startswith("room.toml")
    assert where in said
    assert right in said
    assert "\n" not in said


def test_the_schema_is_published() -> None:
    """The schema names every table of the file."""
    made = json.loads(schema())
    assert {"lights", "tests", "groups", "rule", "expiry_months"} <= set(made["properties"])


def test_a_quick_check_never_proves_a_good_room() -> None:
    """Clean, it gives no figure at all; changed, it gives "unsafe, less than"."""

    def quick(**read: float) -> Result:
        return Result(
            lights=("a",),
            at=Place.EASEL,
            paper="",
            date=date(2025, 1, 1),
            kind=ResultKind.QUICK,
            after=Read(**read),
        )

    assert quick(clean_s=600).safe(Rule.HALF_CLEAN) is None
    found = quick(clean_s=300, changed_s=600).safe(Rule.HALF_CHANGED)
    assert found is not None
    assert (found.bound, found.high_s) == (Bound.LESS_THAN, 300)


# --- changing a room --------------------------------------------------------------------------


def test_a_room_is_built_in_steps() -> None:
    """Lights, typed times and groups are added; a light taken away takes its results along."""
    room = change.with_light(Room(paper="pearl"), change.new_light("amber"))
    room = change.with_light(room, Light(name="panel", kind=Kind.SCREEN, levels=(10, 40)))
    room = change.with_typed(room, ["amber"], Place.EASEL, 480, date(2025, 1, 1))
    room = change.with_typed(room, ["Amber", "panel"], Place.EASEL, 60, date(2025, 1, 1))
    room = change.with_group(room, "easel", ["amber", "panel:10"])
    assert room.tests[0].paper == "pearl"
    assert room.tests[1].lights == ("amber", "panel:40")
    fewer = change.without_light(room, "panel")
    assert [one.lights for one in fewer.tests] == [("amber",)]
    assert fewer.groups.easel == ("amber",)
    assert from_tables({"version": 1}, "room.toml") == Room()


def test_changes_that_cannot_be() -> None:
    """An unknown light or group, no time, or a level still in use: one sentence each."""
    panel = Light(name="panel", kind=Kind.SCREEN, levels=(10, 40))
    room = change.with_typed(
        change.with_light(Room(), panel), ["panel:40"], Place.EASEL, 60, date(2025, 1, 1)
    )
    for bad in (
        lambda: change.without_light(room, "amber"),
        lambda: change.with_group(room, "kitchen", []),
        lambda: change.with_typed(room, ["panel"], Place.EASEL, 0, date(2025, 1, 1)),
        lambda: change.with_typed(room, [], Place.EASEL, 9, date(2025, 1, 1)),
        lambda: change.with_light(room, panel.model_copy(update={"levels": (10,)})),
        lambda: change.new_light("a,b"),
        lambda: change.light_of({"name": "x", "kind": "sun"}),
    ):
        with pytest.raises(BadInput) as caught:
            bad()
        assert "right would be" in str(caught.value)


def test_a_change_is_noted_and_said_now() -> None:
    """What is changed is dated, and stands as it is now."""
    room = change.with_light(Room(), change.new_light("amber"))
    when = date(2025, 1, 1) + timedelta(days=1)
    room = change.with_changed(room, "amber", "filter", when, filter="deep red")
    (light,) = room.lights
    assert light.filter == "deep red"
    assert light.changes == (Change(what="filter", date=when),)
