"""Names of lights as people and relays give them, and what they mean in a room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches

from controller.errors import BadInput, quoted
from controller.room.model import LEVEL_MARK, Light, Room, level_name


def resolve(room: Room, given: Iterable[str], where: str = "NAME") -> frozenset[str]:
    """Give the lights that are meant; a screen without a level is meant at its brightest.

    Capitals do not matter. Raises BadInput for a light that is not in the room, with the
    nearest, and for a screen at two levels at once.
    """
    found: dict[str, str] = {}
    for text in given:
        light, name = _find(room, text, where)
        if found.setdefault(light.name, name) != name:
            right = "one level of it"
            raise BadInput(f"{light.name} is named at two levels", where, right)
    return frozenset(found.values())


def lit_names(room: Room, states: Mapping[str, bool | int | None]) -> frozenset[str]:
    """Give the lights that count as lit, from what is known of them by their bare names.

    True is lit and False dark; a number is a screen's brightness in percent (0 is dark), for
    which the next written level above it stands. None, or a light that is left out, is not
    known: it counts as lit, a screen as its brightest.
    """
    found = set()
    for light in room.lights:
        state = states.get(light.name)
        if state is False or (state == 0 and state is not None):
            continue
        found.add(_at_level(light, 100 if state is None or state is True else state))
    return frozenset(found)


def brighter(room: Room, name: str) -> tuple[str, ...]:
    """Name the same screen at each brighter level, the least bright first."""
    light = room.light(name)
    if light is None or name not in light.names:
        return ()
    return light.names[light.names.index(name) + 1 :]


def dimmer(room: Room, name: str) -> tuple[str, ...]:
    """Name the same screen at each dimmer level, the dimmest first."""
    light = room.light(name)
    if light is None or name not in light.names:
        return ()
    return light.names[: light.names.index(name)]


def _at_level(light: Light, percent: int) -> str:
    if not light.levels:
        return light.name
    enough = [level for level in sorted(light.levels) if level >= percent]
    return level_name(light.name, enough[0] if enough else max(light.levels))


def _find(room: Room, text: str, where: str) -> tuple[Light, str]:
    wanted = _plain(text)
    for light in room.lights:
        if wanted == _plain(light.name):
            return light, light.names[-1]
        for name in light.names:
            if wanted == _plain(name):
                return light, name
    known = room.names
    near = get_close_matches(text, known, n=1, cutoff=0.5)
    right = near[0] if near else f"one of {', '.join(known)}"
    if not known:
        right = "a light of the room; none is written down yet"
    elif LEVEL_MARK in text and (light_ := room.light(text)):
        right = f"one of {', '.join(light_.names)}"
    raise BadInput(f"no light is called {quoted(text)}", where, right)


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
