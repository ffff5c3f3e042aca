"""The room beside what it was when a print was made: old tests, other safe times. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from controller.room.model import Place, Room
from controller.room.overview import overview
from controller.room.results import known


def old_tests(room: Room, paper: str, *, today: date) -> list[str]:
    """Tell which tests at the easel are not to be trusted any more for a paper.

    Where the room was tested, and never on this paper, that is told as well, and what is old of
    its tests on others.
    """
    found = known(room, at=Place.EASEL, today=today, paper=paper)
    lines = []
    if paper and not found:
        found = known(room, at=Place.EASEL, today=today)
        lines += [f"room: no light was tested on {paper}"] if found else []
    return lines + [
        f"room: the test of {', '.join(sorted(names))} is old: {old.words}"
        for names, one in found.items()
        for old in one.old[:1]
    ]


def safe_since(then: Mapping[str, str], room: Room, *, today: date) -> list[str]:
    """Tell each light whose safe time at the easel, in words, is not what it was ``then``."""
    now = overview(room, {}, at=Place.EASEL, today=today).safe
    lines = []
    for light in dict.fromkeys([*then, *now]):
        was, is_ = then.get(light), now.get(light)
        if was is None:
            lines.append(f"changed since: room has another light, {light} ({is_})")
        elif is_ is None:
            lines.append(f"changed since: room has no {light} any more")
        elif was != is_:
            lines.append(f"changed since: safe time under {light} was {was}, is {is_}")
    return lines
