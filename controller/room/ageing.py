"""Which tests are old, and why: another bulb, filter, place or paper, or too long ago."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum

from controller.room.model import Light, Result, Room, day_of

ASK = "test it again"


class Age(Enum):
    """Why a test no longer holds."""

    BULB = "bulb"
    FILTER = "filter"
    PLACE = "place"
    PAPER = "paper"
    MONTHS = "months"


@dataclass(frozen=True, slots=True)
class Old:
    """One reason for which a test is old; ``words`` say it in a sentence without a full stop."""

    age: Age
    words: str


def why_old(test: Result, room: Room, *, today: date, paper: str = "") -> tuple[Old, ...]:
    """Give every reason for which a test is old on a day; none where it still holds.

    ``paper`` is the one to be used, the room's own if empty; where neither is known, paper is
    no reason. Filters fade too, which is what the months are for (Publication K-4: retest
    regularly, and after any change of lamp, filter or paper; the count of months is common
    practice, no source).
    """
    found = list(_lights_changed(test, room))
    wanted = paper or room.paper
    if wanted and not same_paper(test.paper, wanted):
        was = f"on {test.paper}" if test.paper else "on a paper that has no name"
        found.append(Old(Age.PAPER, f"it was made {was}, and paper is now {wanted}"))
    ends = add_months(day_of(test.date), room.expiry_months)
    if today >= ends:
        words = f"it is of {day_of(test.date)}, {room.expiry_months} months ago or more"
        found.append(Old(Age.MONTHS, words))
    return tuple(dict.fromkeys(found))


def holds(test: Result, room: Room, *, today: date, paper: str = "") -> bool:
    """Tell whether a test still holds."""
    return not why_old(test, room, today=today, paper=paper)


def same_paper(one: str, other: str) -> bool:
    """Tell whether two names mean one paper, however they are spaced and capitalised."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def add_months(day: date, months: int) -> date:
    """Give the day some months later, or the last of its month where it has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    year = min(year, date.max.year)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _lights_changed(test: Result, room: Room) -> list[Old]:
    found = []
    for name in test.lights:
        light = room.light(name)
        if light is None:
            continue
        for change in light.changes:
            if not _surely_before(change.date, test.date):
                # a change of the same day counts, unless both have a time
                words = f"the {change.what} of {light.name} was changed on {day_of(change.date)}"
                found.append(Old(Age(change.what), words))
        found += _not_as_seen(test, light)
    return found


def _surely_before(change: date, test: date) -> bool:
    if isinstance(change, datetime) and isinstance(test, datetime):
        return change <= test
    return day_of(change) < day_of(test)


def _not_as_seen(test: Result, light: Light) -> list[Old]:
    found = []
    for seen in test.seen:
        if seen.light != light.name:
            continue
        pairs = (
            (Age.BULB, seen.bulb, light.bulb),
            (Age.FILTER, seen.filter, light.filter),
            (Age.PLACE, seen.place, light.place),
        )
        for age, was, now in pairs:
            if was and was != now:
                words = f"the {age.value} of {light.name} was {was} and is {now or 'not told'}"
                found.append(Old(age, words))
        now_m = light.distance_m(test.at)
        if seen.distance_m is not None and seen.distance_m != now_m:
            here = f"{now_m:g} m" if now_m is not None else "not told"
            words = f"{light.name} was {seen.distance_m:g} m from the {test.at.value}, now {here}"
            found.append(Old(Age.PLACE, words))
    return found
