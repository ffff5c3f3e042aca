"""What a screen shows of the room: each light's safe time, and that of what burns now. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from controller.room.advice import advise
from controller.room.limits import Bound, SafeTime, told
from controller.room.model import Place, Room
from controller.room.names import lit_names
from controller.room.results import How, predict

NOT_PROVED = "not proved"
MOST_ADVICE = 3


@dataclass(frozen=True)
class Overview:
    """``safe`` has each light's safe time in words; ``now`` is about what burns now."""

    safe: dict[str, str]
    now: str
    advice: tuple[str, ...]


def overview(
    room: Room, lit: Mapping[str, bool | int | None], *, at: Place, today: date
) -> Overview:
    """Look over the room. A light whose state is not known counts as lit."""
    safe = {}
    for light in room.lights:
        found = predict(room, [light.name], at=at, today=today).safe
        safe[light.name] = NOT_PROVED if found is None else briefly(found)
    names = lit_names(room, lit)
    now = predict(room, names, at=at, today=today)
    if now.how is How.DARK:
        said = "nothing burns that is listed: paper may be out"
    elif now.safe is None:
        said = f"{', '.join(sorted(names))}: not proved; dryside room test proves it"
    else:
        less = f", and less since {', '.join(now.unknown)} never was tested" if now.unknown else ""
        said = f"under what burns now paper may be out {briefly(now.safe)} ({now.safe.rule}){less}"
    report = advise(room, names or None, at=at, today=today) if names else None
    lines = tuple(one.line for one in report.advice[:MOST_ADVICE]) if report else ()
    return Overview(safe, said, lines)


def briefly(safe: SafeTime) -> str:
    """Give the time without its steps and its rule: a column has little room."""
    if safe.bound is Bound.LESS_THAN:
        return f"under {told(safe.high_s)}"
    return f"{told(safe.value_s)} or more" if safe.bound is Bound.AT_LEAST else told(safe.value_s)
