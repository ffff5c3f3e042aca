"""Changing a room: lights, results, groups. Each gives a new room, or raises BadInput."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, Literal

from pydantic import ValidationError

from controller.errors import BadInput, quoted
from controller.room.model import (
    LEVEL_MARK,
    Change,
    Flash,
    Kind,
    Light,
    Place,
    Result,
    ResultKind,
    Room,
    Seen,
    Verdict,
)
from controller.room.names import resolve
from controller.written import bad_input

What = Literal["bulb", "filter", "place"]


def light_of(tables: dict[str, Any], where: str = "light") -> Light:
    """Make a light of plain values. Raises BadInput that names the field."""
    try:
        return Light.model_validate(tables)
    except ValidationError as error:
        raise bad_input(error, where, model=Light) from None


def result_of(tables: dict[str, Any], where: str = "test") -> Result:
    """Make a result of plain values. Raises BadInput that names the field."""
    try:
        return Result.model_validate(tables)
    except ValidationError as error:
        raise bad_input(error, where, model=Result) from None


def with_light(room: Room, light: Light) -> Room:
    """Add a light, or put it in the place of the one of the same name.

    Raises BadInput where results or groups use a level that it no longer has.
    """
    others = [light if one.name == light.name else one for one in room.lights]
    if room.light(light.name) is None:
        others.append(light)
    return _made(room, lights=tuple(others))


def flash_of(room: Room, paper: str = "") -> Flash | None:
    """Give the exposure that makes a paper (the room's own if empty) a light grey, if found."""
    wanted = (paper or room.paper).casefold()
    return next((one for one in room.flash if one.paper.casefold() == wanted), None)


def with_flash(room: Room, flash: Flash) -> Room:
    """Keep the flash of a paper, in the place of what was found for it before."""
    others = [one for one in room.flash if one.paper.casefold() != flash.paper.casefold()]
    return _made(room, flash=(*others, flash))


def without_light(room: Room, name: str) -> Room:
    """Take a light away, with every result and out of every group of which it is a part.

    A set in which it burned is another set without it, and is to be tested anew.
    """
    gone = _the(room, name).name
    return _made(
        room,
        lights=tuple(one for one in room.lights if one.name != gone),
        tests=tuple(t for t in room.tests if gone not in {_bare(one) for one in t.lights}),
        groups={
            word: tuple(one for one in names if _bare(one) != gone)
            for word, names in room.groups.lists().items()
        },
    )


def with_changed(room: Room, name: str, what: What, when: date, **now: Any) -> Room:
    """Note that a light's bulb, filter or place was changed; ``now`` are fields as they are now.

    Tests from before then grow old. Raises BadInput.
    """
    light = _the(room, name)
    tables = {**light.model_dump(), **now}
    tables["changes"] = (*light.changes, Change(what=what, date=when))
    return with_light(room, light_of(tables, f"light {light.name}"))


def with_test(room: Room, test: Result) -> Room:
    """Add a result, with what its lights are like today if it does not tell that itself."""
    names = tuple(sorted(resolve(room, test.lights, "lights")))
    seen = test.seen or tuple(
        _seen(light, test.at) for name in names if (light := room.light(name)) is not None
    )
    told = test.model_copy(update={"lights": names, "seen": seen})
    return _made(room, tests=(*room.tests, told))


def with_verdict(room: Room, test: str, when: date, *, found: bool, note: str = "") -> Room:
    """Add what a test of the enlarger, the trays or the baths found. Raises BadInput."""
    try:
        verdict = Verdict.model_validate({"test": test, "found": found, "date": when, "note": note})
    except ValidationError as error:
        raise bad_input(error, "verdict", model=Verdict) from None
    return _made(room, verdicts=(*room.verdicts, verdict))


def with_typed(
    room: Room, names: Iterable[str], at: Place, safe_s: float, when: date, *, paper: str = ""
) -> Room:
    """Add a safe time that the printer types in. Raises BadInput."""
    test = result_of(
        {
            "lights": tuple(names),
            "at": at,
            "paper": paper or room.paper,
            "date": when,
            "kind": ResultKind.HAND,
            "safe_s": safe_s,
        }
    )
    return with_test(room, test)


def with_group(room: Room, group: str, names: Iterable[str]) -> Room:
    """Set which lights burn while the hands do something. Raises BadInput."""
    lists = room.groups.lists()
    if group not in lists:
        right = f"one of {', '.join(lists)}"
        raise BadInput(f"no group is called {quoted(group)}", "group", right)
    return _made(room, groups={**_whole(room), group: tuple(sorted(resolve(room, names)))})


def without_at_work(room: Room, name: str) -> Room:
    """Leave a light dark while paper is out; it burns as before while none is. Raises BadInput."""
    bare = _the(room, name).name
    groups = {
        word: names if word == "composing" else tuple(n for n in names if _bare(n) != bare)
        for word, names in _whole(room).items()
    }
    return _made(room, groups=groups)


def _whole(room: Room) -> dict[str, tuple[str, ...]]:
    """Give the groups; where none was ever set every light stands in each."""
    lists = room.groups.lists()
    if any(lists.values()):
        return lists
    everything = tuple(light.names[-1] for light in room.lights)
    return dict.fromkeys(lists, everything)


def new_light(name: str, kind: Kind = Kind.SAFELIGHT) -> Light:
    """Give a light of which nothing but its name and kind is known. Raises BadInput."""
    return light_of({"name": name, "kind": kind})


def _made(room: Room, **changes: Any) -> Room:
    plain = {key: getattr(room, key) for key in Room.model_fields}
    try:
        return Room.model_validate({**plain, **changes})
    except ValidationError as error:
        raise bad_input(error, "room", model=Room) from None


def _the(room: Room, name: str) -> Light:
    (found,) = resolve(room, [name])
    light = room.light(found)
    assert light is not None  # it was resolved
    return light


def _bare(name: str) -> str:
    return name.partition(LEVEL_MARK)[0]


def _seen(light: Light, at: Place) -> Seen:
    return Seen(
        light=light.name,
        bulb=light.bulb,
        filter=light.filter,
        place=light.place,
        distance_m=light.distance_m(at),
    )
