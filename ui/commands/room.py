"""``dryside room``: the lights that paper can see, and what is known of them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from controller.errors import BadInput
from controller.room.advice import Report, advise
from controller.room.change import (
    light_of,
    with_changed,
    with_group,
    with_light,
    with_typed,
    without_light,
)
from controller.room.model import Place, Room
from controller.room.results import predict
from controller.room.room_map import map_of
from controller.room.ruled_out import ruled_out
from controller.room.wrong import CAUSES, Symptom, lines, symptom_of, tables
from controller.stops import parse_time
from drivers.places import room_path
from ui import show
from ui.commands.room_pictures import leave_map
from ui.exposing import Ways
from ui.rooms import keep_room, open_room


def place_asked(text: str) -> Place:
    """Read easel or trays. Raises BadInput."""
    if text not in ("easel", "trays"):
        raise BadInput(f"{text!r} is not known", "--at", "easel or trays")
    return Place(text)


def levels_asked(text: str) -> tuple[int, ...]:
    """Read levels of brightness in percent. Raises BadInput."""
    try:
        return tuple(int(one) for one in text.split(","))
    except ValueError:
        right = "whole percents with commas, such as 25,45,70,100"
        raise BadInput(f"{text!r} is not known", "--levels", right) from None


def show_room(at: str, ways: Ways, *, json_: bool, picture: str | None = None) -> None:
    """Show every light, and what is known of it; with a picture, as a map."""
    room, place = open_room(ways.unit().rig), place_asked(at)
    if picture:
        leave_map(map_of(room, at=place, today=_today()), picture, tell=not json_)
    if json_:
        show.as_json({"file": str(room_path()), **room.model_dump(mode="json")})
        return
    show.lines([f"{room_path()}{'' if room_path().exists() else ' (not written yet)'}"])
    today = datetime.now().astimezone().date()
    for light in room.lights:
        where = light.distance_m(place)
        parts = [
            light.kind.value,
            light.place,
            f"{where:g} m from the {place.value}" if where else "",
            light.filter,
            f"relay {light.relay}" if light.relay else "by hand",
        ]
        print(f"{light.name}: {', '.join(part for part in parts if part)}")
        for line in predict(room, [light.name], at=place, today=today).lines:
            print(f"  {line.removeprefix(f'{light.name}: ')}")
    show.lines(group_lines(room))
    if not room.lights:
        print("no light is listed: dryside room light add NAME")


def add_light(name: str, fields: dict[str, Any], safe_time: str, at: str, ways: Ways) -> None:
    """Add a light, or change one; with a safe time its result is entered by hand."""
    room = open_room(ways.unit().rig)
    before = room.light(name)
    given = {key: value for key, value in fields.items() if value not in (None, "")}
    tables = before.model_dump(mode="json") if before else {"name": name, "kind": "safelight"}
    room = with_light(room, light_of({**tables, **given}, "room light add"))
    if safe_time:
        safe_s = parse_time(safe_time, "--safe-time")
        room = with_typed(room, [name], place_asked(at), safe_s, local_now())
    print(f"room: {keep_room(room)}")
    if safe_time:
        _tell(predict(room, [name], at=place_asked(at), today=_today()).lines)


def set_group(name: str, lights: list[str], ways: Ways) -> None:
    """Say which lights burn by what the hands are doing."""
    room = with_group(open_room(ways.unit().rig), name, lights)
    print(f"room: {keep_room(room)}")
    for line in group_lines(room):
        print(line)


def group_lines(room: Room) -> list[str]:
    """Tell the groups; nothing where there are none."""
    groups = room.groups.lists()
    if not any(groups.values()):
        return []
    return [f"{word}: {', '.join(names) or 'no light'}" for word, names in groups.items()]


def drop_light(name: str, ways: Ways) -> None:
    """Take a light out of the room, and the results in which it burned."""
    room = without_light(open_room(ways.unit().rig), name)
    print(f"room: {keep_room(room)}")


def changed_light(name: str, what: str, ways: Ways) -> None:
    """Note that bulb, filter or place was changed: tests from before grow old."""
    if what not in ("bulb", "filter", "place"):
        raise BadInput(f"{what!r} is not known", "room light changed", "bulb, filter or place")
    room = open_room(ways.unit().rig)
    kept = with_changed(room, name, what, local_now())  # type: ignore[arg-type]
    print(f"room: {keep_room(kept)}")
    print(f"{name}: tests from before are old now; dryside room test proves it anew")


def tell_advice(
    at: str, wanted: str, ways: Ways, *, json_: bool, picture: str | None = None
) -> None:
    """Say which light to put out, move or dim, and what that buys."""
    room = open_room(ways.unit().rig)
    wanted_s = parse_time(wanted, "--wanted")
    report = advise(room, at=place_asked(at), today=_today(), wanted_s=wanted_s)
    if picture:
        told = map_of(room, at=place_asked(at), today=_today(), report=report)
        leave_map(told, picture, tell=not json_)
    if json_:
        show.as_json(report.tables())
        return
    _tell(advice_lines(report))


def advice_lines(report: Report) -> list[str]:
    """Tell a report: each light, all together, and what would help."""
    lines_ = [
        f"{name}: {time.line}, {share.value:.0%} of the fog"
        for (name, time), share in zip(
            report.times.items(),
            sorted(report.shares, key=lambda one: list(report.times).index(one.name)),
            strict=True,
        )
    ]
    lines_ += ["", *report.all_on.lines]
    if report.advice:
        lines_ += ["", *(one.line for one in report.advice)]
    return lines_


def tell_prediction(names: list[str], at: str, ways: Ways, *, json_: bool) -> None:
    """Say how long paper is safe under some lights."""
    room = open_room(ways.unit().rig)
    found = predict(room, names, at=place_asked(at), today=_today())
    if json_:
        safe = found.safe
        show.as_json(
            {
                "names": sorted(found.names),
                "safe_time_s": safe.value_s if safe else None,
                "bound": safe.bound.value if safe else "unknown",
                "rule": safe.rule if safe else None,
                "how": found.how.value,
                "unknown": found.unknown,
                "lines": found.lines,
            }
        )
        return
    _tell(found.lines)


def tell_wrong(symptom: str, ways: Ways, *, json_: bool = False) -> None:
    """From a symptom to its causes, the likeliest and cheapest first, and what settles each.

    What the tests of this room have ruled out is left out, and named.
    """
    if not symptom:
        if json_:
            show.as_json([one.value for one in Symptom])
            return
        print("what is wrong with the print?")
        _tell([f"  {one.value}" for one in Symptom])
        return
    meant = symptom_of(symptom)
    done = ruled_out(open_room(ways.unit().rig), today=_today())
    if json_:
        show.as_json(tables(meant, done))
        return
    _tell(lines(meant, done))
    out = [one.settles.value for one in CAUSES[meant] if one.settles in done]
    if out:
        print(f"ruled out by your tests: {', '.join(dict.fromkeys(out))}")


def _tell(told: tuple[str, ...] | list[str]) -> None:
    show.lines(told)


def local_now() -> datetime:
    """Give the local time without a zone, as a room's file has it."""
    return datetime.now().astimezone().replace(tzinfo=None)


def _today() -> date:
    return local_now().date()
