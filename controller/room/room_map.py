"""What a map of the room tells: each light with its distance, fog and safe time. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from controller.room.advice import Report, advise
from controller.room.model import LEVEL_MARK, Kind, Light, Place, Room
from controller.room.results import predict
from controller.room.sums import Share

CAUTIONS = (
    "with fewer lights keep the way to door and sink clear, and know where acids stand",
    "pull a lamp's plug and let it cool before it is moved, and never with wet hands",
)
MOST_ADVICE = 6


@dataclass(frozen=True, slots=True)
class MapLight:
    """One light on the map; ``share`` is None where it was never tested."""

    name: str
    words: str
    distance_m: float | None
    where: str
    safe: str
    share: Share | None
    flags: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """Give what is written beneath its name."""
        return tuple(one for one in (self.words, self.where, self.safe) if one)


@dataclass(frozen=True, slots=True)
class RoomMap:
    """A map of a room as seen from one place."""

    at: Place
    lights: tuple[MapLight, ...]
    total: tuple[str, ...]
    groups: tuple[str, ...]
    advice: tuple[str, ...] = ()
    paper: str = ""

    @property
    def lines(self) -> tuple[str, ...]:
        """Give what is written below the map."""
        advice = ("what would help:", *(f"- {one}" for one in self.advice)) if self.advice else ()
        # each piece of advice brings the cautions of its own
        cautions = () if advice else tuple(f"caution: {one}" for one in CAUTIONS)
        return (*self.total, *self.groups, *advice, *cautions)


def map_of(room: Room, *, at: Place, today: date, report: Report | None = None) -> RoomMap:
    """Gather what a map tells; with a report its advice as well."""
    told = report or advise(room, at=at, today=today)
    shares = {one.name.partition(LEVEL_MARK)[0]: one for one in told.shares}
    lights = tuple(_light(room, light, at, today, shares.get(light.name)) for light in room.lights)
    groups = []
    for word, names in room.groups.lists().items():
        if names:
            known = predict(room, names, at=at, today=today)
            groups.append(f"group {word}: {'; '.join(known.lines)}")
    advice = tuple(one.line for one in report.advice[:MOST_ADVICE]) if report else ()
    total = ["no light is listed: dryside room light add NAME"]
    if room.lights:
        total = [f"all together: {told.all_on.lines[0].partition(': ')[2]}", *told.all_on.lines[1:]]
    return RoomMap(at, lights, tuple(total), tuple(groups), advice, room.paper)


def _light(room: Room, light: Light, at: Place, today: date, share: Share | None) -> MapLight:
    other = Place.TRAYS if at is Place.EASEL else Place.EASEL
    here, there = light.distance_m(at), light.distance_m(other)
    where = f"{here:g} m away" if here is not None else "distance not written"
    where += f", {there:g} m from the {other.value}" if there is not None else ""
    known = predict(room, [light.name], at=at, today=today)
    safe = known.safe.line if known.safe is not None else ""
    flags = [f"old: {one.words}" for one in known.old]
    kind = light.kind.value if light.kind is not Kind.OTHER else ""
    if kind == light.name:
        kind = ""
    words = ", ".join(one for one in (kind, light.filter, light.bulb, light.place) if one)
    return MapLight(light.name, words, here, where, safe, share, tuple(flags))
