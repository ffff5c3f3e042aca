"""Calculation shortens what was tested and never lengthens it; and tests grow old."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.room import advice as ad
from controller.room import change
from controller.room.ageing import Age, why_old
from controller.room.limits import limit
from controller.room.model import Kind, Light, Place, Read, Result, ResultKind, Room
from controller.room.results import known, predict

TESTED = date(2025, 3, 1)
LATER = date(2025, 3, 2)
EASEL = Place.EASEL
NAMES = ("amber", "red", "door")

cleans = st.floats(2, 2000)
metres = st.floats(0.3, 4)


def fog(*lights: str, clean_s: float, **more: Any) -> Result:
    tables: dict[str, Any] = {
        "at": EASEL,
        "paper": "pearl",
        "date": TESTED,
        "after": Read(clean_s=clean_s, changed_s=2 * clean_s),
    }
    return Result(lights=lights, **{**tables, **more})


def room_of(*tests: Result, easel_m: float = 1.2) -> Room:
    lights = tuple(
        Light(name=n, kind=Kind.SAFELIGHT, easel_m=easel_m, bulb="15 W", filter="OC", place="wall")
        for n in NAMES
    )
    room = Room(paper="pearl", lights=lights)
    for test in tests:
        room = change.with_test(room, test)
    return room


def safe_s(room: Room, *names: str) -> float:
    safe = predict(room, names, at=EASEL, today=LATER).safe
    assert safe is not None
    return safe.value_s


@settings(deadline=None)
@given(st.tuples(cleans, cleans, cleans), cleans, st.sampled_from(list(ResultKind)))
def test_nothing_calculated_or_typed_lengthens_a_tested_set(
    alone: tuple[float, float, float], whole: float, kind: ResultKind
) -> None:
    """Whatever single lights and later, lesser tests say, a set keeps at most its tested time."""
    tested = fog(*NAMES, clean_s=whole)
    room = room_of(tested, *(fog(n, clean_s=s) for n, s in zip(NAMES, alone, strict=True)))
    assert safe_s(room, *NAMES) <= limit(tested.after.reading).value_s  # type: ignore[union-attr]
    assert safe_s(room, *NAMES) <= min(safe_s(room, name) for name in NAMES)
    if kind in (ResultKind.FOG, ResultKind.WHICH):
        return
    before_s = safe_s(room, "amber")
    if kind is ResultKind.HAND:
        room = change.with_typed(room, ["amber"], EASEL, 2 * whole, LATER)
    else:
        room = change.with_test(room, fog("amber", clean_s=whole, date=LATER, kind=kind))
    assert safe_s(room, "amber") <= before_s


@settings(deadline=None)
@given(cleans, metres, metres)
def test_a_lamp_moved_away_gains_nothing_before_a_new_test(
    clean_s: float, was_m: float, now_m: float
) -> None:
    """Farther, its tested time stands and is old; nearer, it is shortened by the inverse square."""
    room = room_of(fog("amber", clean_s=clean_s), easel_m=was_m)
    assert safe_s(room, "amber") == pytest.approx(clean_s / 2)
    moved = change.with_changed(room, "amber", "place", LATER, easel_m=now_m)
    factor = min(1.0, (now_m / was_m) ** 2)
    assert safe_s(moved, "amber") == pytest.approx(clean_s / 2 * factor)
    told = predict(moved, ["amber"], at=EASEL, today=LATER)
    assert {one.age for one in told.old} == {Age.PLACE}
    new = fog("amber", clean_s=3 * clean_s, date=LATER + timedelta(days=1))
    proved = change.with_test(moved, new)
    assert safe_s(proved, "amber") == pytest.approx(3 * clean_s / 2)
    assert not predict(proved, ["amber"], at=EASEL, today=LATER).old


@settings(deadline=None)
@given(st.tuples(cleans, cleans, cleans), st.floats(30, 1000))
def test_every_gain_by_moving_asks_for_a_test(
    alone: tuple[float, float, float], wanted_s: float
) -> None:
    """Advice to move a lamp foretells a gain, says that only a test proves it, and changes none."""
    room = room_of(*(fog(n, clean_s=s) for n, s in zip(NAMES, alone, strict=True)))
    report = ad.advise(room, at=EASEL, today=LATER, wanted_s=wanted_s)
    for one in report.advice:
        if one.remedy is not ad.Remedy.MOVE:
            continue
        assert one.prove
        assert ad.ONLY_A_TEST in one.line
        assert one.then_s is not None
        assert one.then_s > one.now_s
        assert one.distance_m is not None
        moved = change.with_changed(room, one.light, "place", LATER, easel_m=one.distance_m)
        assert safe_s(moved, *NAMES) == pytest.approx(one.now_s)


@pytest.mark.parametrize(
    ("what", "now", "age"),
    [
        ("bulb", {"bulb": "7 W"}, Age.BULB),
        ("bulb", {}, Age.BULB),  # the same sort, and another one
        ("filter", {"filter": "1A"}, Age.FILTER),
        ("place", {"place": "shelf"}, Age.PLACE),
    ],
)
@settings(deadline=None)
@given(days=st.integers(0, 200))
def test_a_changed_light_makes_every_test_of_it_old(
    what: Literal["bulb", "filter", "place"], now: dict[str, str], age: Age, days: int
) -> None:
    """Its own and those of every set in which it burned; tests of other lights hold."""
    room = room_of(*(fog(n, clean_s=60) for n in NAMES), fog("amber", "red", clean_s=30))
    assert not any(one.old for one in known(room, at=EASEL, today=TESTED).values())
    when = TESTED + timedelta(days=days)
    changed = change.with_changed(room, "amber", what, when, **now)
    for names, one in known(changed, at=EASEL, today=when).items():
        assert {old.age for old in one.old} == ({age} if "amber" in names else set())
    new = change.with_test(changed, fog("amber", clean_s=60, date=when + timedelta(days=1)))
    assert not known(new, at=EASEL, today=when)[frozenset({"amber"})].old


@settings(deadline=None)
@given(st.integers(0, 1200), st.integers(1, 36))
def test_a_test_holds_for_its_months_and_no_longer(days: int, months: int) -> None:
    """Twelve unless the room says otherwise, to the day."""
    test = fog("amber", clean_s=60)
    room = room_of(test).model_copy(update={"expiry_months": months})
    today = TESTED + timedelta(days=days)
    old = {one.age for one in why_old(test, room, today=today)}
    year, month = divmod(TESTED.year * 12 + TESTED.month - 1 + months, 12)
    assert old == ({Age.MONTHS} if today >= date(year, month + 1, 1) else set())
    assert room_of().expiry_months == 12


@settings(deadline=None)
@given(st.text(min_size=1, max_size=20), st.text(min_size=1, max_size=20))
def test_another_paper_makes_a_test_old(was: str, now: str) -> None:
    """By name, in whatever capitals and spaces; no test of another paper is used for this one."""
    test = fog("amber", clean_s=60, paper=was)
    room = room_of(test).model_copy(update={"paper": now})
    one, other = (" ".join(text.split()).casefold() for text in (was, now))
    old = {each.age for each in why_old(test, room, today=TESTED)}
    assert old == ({Age.PAPER} if one != other else set())
    found = known(room, at=EASEL, today=TESTED)
    assert bool(found) == (one == other)
