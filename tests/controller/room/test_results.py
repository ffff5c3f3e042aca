"""What is known of a room, what follows for a set, what would help, and what has grown old."""

from __future__ import annotations

import json
import math
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.room import advice as ad
from controller.room import change
from controller.room.ageing import Age, add_months, holds, why_old
from controller.room.budget import rates_of
from controller.room.limits import Bound, Rule
from controller.room.model import Change, Kind, Light, Place, Read, Result, ResultKind, Room
from controller.room.names import brighter, dimmer, lit_names, resolve
from controller.room.results import How, known, predict

TODAY = date(2025, 6, 1)
EASEL = Place.EASEL


def light(name: str, **more: Any) -> Light:
    return Light(name=name, kind=more.pop("kind", Kind.SAFELIGHT), **more)


def result(
    *lights: str, clean: float | None = 480, changed: float | None = 960, **more: Any
) -> Result:
    tables: dict[str, Any] = {"at": EASEL, "paper": "pearl", "date": date(2025, 5, 1)}
    if more.get("kind") is not ResultKind.HAND:
        tables["after"] = Read(clean_s=clean, changed_s=changed)
    return Result(lights=lights, **{**tables, **more})


def typed(*lights: str, safe_s: float, **more: Any) -> Result:
    return result(*lights, kind=ResultKind.HAND, safe_s=safe_s, **more)


LIGHTS = (
    light("amber", easel_m=1.2),
    light("red", easel_m=2.0, switchable=False),
    light("panel", kind=Kind.SCREEN, levels=(10, 40)),
    light("door", kind=Kind.DOOR),
)


def room(*tests: Result, **more: Any) -> Room:
    return Room(**{"paper": "pearl", "lights": LIGHTS, "tests": tests, **more})


def safe_s(found: Room, *names: str) -> float | None:
    safe = predict(found, names, at=EASEL, today=TODAY).safe
    return safe.value_s if safe else None


# --- which result counts ----------------------------------------------------------------------


def test_the_newest_fog_test_counts() -> None:
    """A later proper test takes the place of an earlier one, longer or shorter."""
    later = result("amber", clean=900, changed=1800, date=date(2025, 5, 2))
    assert safe_s(room(result("amber")), "amber") == 240
    assert safe_s(room(later, result("amber")), "amber") == 450


def test_two_of_one_moment_give_the_smaller() -> None:
    """Where neither is newer the cautious one counts."""
    assert safe_s(room(result("amber"), result("amber", clean=60)), "amber") == 30


@pytest.mark.parametrize(("safe", "left"), [(100, 100), (900, 240)])
def test_a_typed_time_never_lengthens_a_tested_one(safe: float, left: float) -> None:
    """Typed later, it shortens what was tested and does no more."""
    later = typed("amber", safe_s=safe, date=date(2025, 5, 9))
    assert safe_s(room(result("amber"), later), "amber") == left


def test_a_typed_time_alone_counts_and_the_last_one_wins() -> None:
    """Without a test the last that was typed stands, and a newer test takes its place."""
    hands = (typed("amber", safe_s=100), typed("amber", safe_s=300, date=date(2025, 5, 2)))
    assert safe_s(room(*hands), "amber") == 300
    assert safe_s(room(*hands, result("amber", date=date(2025, 5, 3))), "amber") == 240


def test_a_quick_check_only_takes_away() -> None:
    """Clean it changes nothing and proves nothing; fogged sooner than the test it is unsafe."""
    day = date(2025, 5, 9)
    clean = result("amber", changed=None, kind=ResultKind.QUICK, date=day)
    fogged = result("amber", clean=None, changed=300, kind=ResultKind.QUICK, date=day)
    late = result("amber", clean=None, changed=3000, kind=ResultKind.QUICK, date=day)
    assert safe_s(room(clean), "amber") is None
    assert safe_s(room(result("amber"), clean), "amber") == 240
    assert safe_s(room(result("amber"), late), "amber") == 240
    assert safe_s(room(result("amber"), fogged), "amber") == 0


def test_another_paper_or_place_tells_nothing() -> None:
    """A result on another paper or at the trays is not one of this paper at the easel."""
    found = room(result("amber", paper="matt"), result("red", at=Place.TRAYS))
    assert predict(found, ["amber"], at=EASEL, today=TODAY).unknown == ("amber",)
    assert predict(found, ["red"], at=EASEL, today=TODAY).how is How.UNKNOWN
    nameless = room(result("amber", paper="matt"), result("amber", clean=20), paper="")
    assert safe_s(nameless, "amber") == 10


def test_the_rule_of_the_room_is_used_and_named() -> None:
    """Another rule gives another figure and its name."""
    found = room(result("amber"), rule=Rule.HALF_CHANGED)
    safe = predict(found, ["amber"], at=EASEL, today=TODAY).safe
    assert safe is not None
    assert (safe.value_s, safe.rule) == (480, "half-changed")


# --- sets -------------------------------------------------------------------------------------


@given(
    st.sets(st.sampled_from(["amber", "red", "door"]), min_size=1),
    st.tuples(*[st.floats(2, 2000)] * 3),
)
def test_a_set_is_the_sum_of_its_lights(names: set[str], cleans: tuple[float, ...]) -> None:
    """1/T = sum(1/Ti), and no set is longer than a part of it."""
    times = dict(zip(("amber", "red", "door"), cleans, strict=True))
    found = room(*(result(one, clean=s, changed=2 * s) for one, s in times.items()))
    expected = 1 / sum(2 / times[one] for one in names)
    assert safe_s(found, *names) == pytest.approx(expected)
    whole = safe_s(found, *times)
    assert whole is not None
    assert whole <= expected * (1 + 1e-12)


def test_a_tested_set_is_never_lengthened_by_its_sum() -> None:
    """The shorter of test and sum is kept, and a contradiction is told."""
    ones = (result("amber", clean=600, changed=610), result("door", clean=600, changed=610))
    worse = predict(
        room(*ones, result("amber", "door", clean=100, changed=110)),
        ["amber", "door"],
        at=EASEL,
        today=TODAY,
    )
    assert worse.safe is not None
    assert (worse.safe.value_s, worse.how) == (50, How.TESTED)
    assert worse.against is not None
    assert any("not listed" in line for line in worse.lines)
    better = room(*ones, result("amber", "door", clean=500, changed=510))
    assert safe_s(better, "amber", "door") == 150
    agrees = room(*ones, result("amber", "door", clean=302, changed=310))
    assert predict(agrees, ["amber", "door"], at=EASEL, today=TODAY).against is None


def test_a_light_never_tested_alone_is_covered_by_a_set() -> None:
    """A test with more light is "at least" for less, unless it was unsafe."""
    found = predict(room(result("amber", "door")), ["amber"], at=EASEL, today=TODAY)
    assert found.safe is not None
    assert (found.how, found.safe.value_s) == (How.COVERED, 240)
    assert (found.safe.bound, found.safe.high_s) == (Bound.AT_LEAST, math.inf)
    unsafe = room(result("amber", "door", clean=None))
    assert predict(unsafe, ["amber"], at=EASEL, today=TODAY).unknown == ("amber",)
    mixed = room(result("amber", "door"), result("red", clean=480))
    assert safe_s(mixed, "amber", "door", "red") == 120


def test_a_brighter_screen_covers_a_dimmer_one() -> None:
    """A screen that was tested at 40 percent is at least as safe at 10, and not the reverse."""
    assert safe_s(room(result("panel:40")), "panel:10") == 240
    assert safe_s(room(result("panel:10")), "panel") is None


def test_the_unknown_is_named_beside_what_is_known() -> None:
    """A light without a result is told, and the figure of the others says that it is less."""
    found = predict(room(result("amber")), ["amber", "door"], at=EASEL, today=TODAY)
    assert (found.unknown, found.whole) == (("door",), False)
    assert found.safe is not None
    assert "less than that, since door was never tested" in found.lines[1]
    dark = predict(room(), [], at=EASEL, today=TODAY)
    assert (dark.how, dark.safe, dark.whole) == (How.DARK, None, True)


def test_rates_for_the_budget() -> None:
    """The budget's rate is one over the safe time; unsafe and unknown are told apart."""
    found = room(result("amber"), result("red", clean=None, changed=60))
    rate = rates_of(found, today=TODAY)
    assert rate(frozenset(["amber"]), EASEL).per_s == 1 / 240
    unsafe = rate(frozenset(["red"]), EASEL)
    assert (unsafe.per_s, unsafe.proved) == (1 / 30, False)
    unknown = rate(frozenset(["amber", "door", "torch"]), EASEL)
    assert (unknown.per_s, unknown.unknown) == (1 / 240, ("door", "torch"))


# --- names ------------------------------------------------------------------------------------


def test_names_are_found_as_people_write_them() -> None:
    """Capitals do not matter, and a screen without a level is the brightest."""
    assert resolve(room(), [" AMBER ", "panel"]) == {"amber", "panel:40"}
    assert brighter(room(), "panel:10") == ("panel:40",)
    assert dimmer(room(), "panel:40") == ("panel:10",)
    for bad in (["ambre"], ["panel:50"], ["panel:10", "panel:40"], [""]):
        with pytest.raises(BadInput):
            resolve(room(), bad)


def test_what_is_not_known_to_be_dark_is_lit() -> None:
    """False and 0 are dark; a level counts as the next one written above; the rest is lit."""
    states = {"amber": False, "red": None, "panel": 11}
    assert lit_names(room(), states) == {"red", "panel:40", "door"}
    assert lit_names(room(), {"amber": False, "red": True, "panel": 0, "door": False}) == {"red"}
    assert lit_names(room(), {"panel": 5}) >= {"panel:10"}
    assert lit_names(room(), {}) == {"amber", "red", "panel:40", "door"}


# --- advice -----------------------------------------------------------------------------------


def test_advice_is_ordered_by_what_it_buys() -> None:
    """The guilty light first; each piece with the time now and then; untested lights last."""
    found = ad.advise(
        room(result("amber", clean=60, changed=90), result("red"), result("panel:40", clean=900)),
        at=EASEL,
        today=TODAY,
    )
    thens = [one.then_s for one in found.advice if one.then_s is not None]
    assert thens == sorted(thens, reverse=True)
    first = found.advice[0]
    assert (first.remedy, first.light) == (ad.Remedy.PUT_OUT, "amber")
    assert first.then_s == pytest.approx(1 / (1 / 240 + 1 / 450))
    tests = [one.light for one in found.advice if one.remedy is ad.Remedy.TEST]
    assert tests == [one.light for one in found.advice[-2:]] == ["door", "panel:10"]
    assert "not counting door" in first.line
    assert next(iter(found.times)) == "amber"
    json.dumps(found.tables(), allow_nan=False)


def test_the_contract_of_advise() -> None:
    """The tables hold what the command line promises, and null where there is no end."""
    found = ad.advise(room(result("amber", changed=None)), ["amber"], at=EASEL, today=TODAY)
    tables = found.tables()
    assert tables["all_on_safe_time_s"] == 240
    assert tables["rule"] == "half-clean"
    assert tables["lights"] == [
        {
            "name": "amber",
            "safe_time_s": 240,
            "low_s": 240,
            "high_s": None,
            "share": 1.0,
            "bound": "at least",
            "rule": "half-clean",
        }
    ]
    (alone,) = found.advice
    assert alone.line.startswith("switch amber off: 4 min becomes no fog at all")


def test_moving_reaches_what_is_wanted_and_only_a_test_proves_it() -> None:
    """The distance is the least that gives the wanted time, to 5 cm; its test is asked for."""
    found = ad.advise(room(result("amber", clean=240)), ["amber"], at=EASEL, today=TODAY)
    move = next(one for one in found.advice if one.remedy is ad.Remedy.MOVE)
    assert move.distance_m == pytest.approx(1.7)  # 1.2 m times the root of 2 is 1.697
    assert move.then_s is not None
    assert move.then_s >= 240
    assert move.prove
    assert ad.ONLY_A_TEST in move.line
    assert "cool" in move.caution


def test_moving_has_an_end() -> None:
    """No lamp is sent beyond twice its distance, whatever is wanted."""
    found = ad.advise(
        room(result("amber", clean=6)), ["amber"], at=EASEL, today=TODAY, wanted_s=9999
    )
    move = next(one for one in found.advice if one.remedy is ad.Remedy.MOVE)
    assert move.distance_m == pytest.approx(2.4)
    assert move.then_s == pytest.approx(12)


def test_a_lamp_that_may_not_be_cycled_is_left_off() -> None:
    """It is not told to be switched, but to stay off, and a door is sealed."""
    found = ad.advise(room(result("red"), result("door")), ["red", "door"], at=EASEL, today=TODAY)
    words = {one.light: one.what for one in found.advice if one.remedy is ad.Remedy.PUT_OUT}
    assert "may not be cycled" in words["red"]
    assert words["door"] == "seal door"


def test_a_dimmer_level_that_was_tested_is_offered() -> None:
    """Which brightness, and what it buys; a level that was not tested is not guessed."""
    ones = (result("panel:40", clean=60), result("panel:10", clean=600))
    found = ad.advise(room(*ones), ["panel"], at=EASEL, today=TODAY)
    dim = next(one for one in found.advice if one.remedy is ad.Remedy.DIM)
    assert (dim.light, dim.now_s, dim.then_s) == ("panel:10", 30, 300)
    only = ad.advise(room(ones[0]), ["panel"], at=EASEL, today=TODAY)
    assert all(one.remedy is not ad.Remedy.DIM for one in only.advice)
    assert (only.advice[-1].remedy, only.advice[-1].light) == (ad.Remedy.TEST, "panel:10")


def test_two_unsafe_lights_are_put_out_together() -> None:
    """Where either alone would leave an unsafe one, both are named at once."""
    found = ad.advise(
        room(result("amber", clean=None), result("door", clean=None), result("red")),
        ["amber", "door", "red"],
        at=EASEL,
        today=TODAY,
    )
    assert found.advice[0].light == "amber, door"
    assert found.advice[0].then_s == 240
    assert "nothing proved becomes 4 min" in found.advice[0].line


def test_a_light_that_nobody_listed_stays() -> None:
    """Where all together were worse than their sum, putting one out buys less than it seems."""
    ones = (result("amber", clean=480), result("door", clean=480))
    both = result("amber", "door", clean=120, changed=130)
    found = ad.advise(room(*ones, both), ["amber", "door"], at=EASEL, today=TODAY)
    out = next(one for one in found.advice if one.light == "door")
    assert out.now_s == 60
    assert out.then_s == pytest.approx(1 / (1 / 60 - 1 / 240))


@given(st.floats(0.05, 20), st.floats(0.05, 20), st.floats(0, 2))
def test_moving_there_and_back(from_m: float, to_m: float, size_m: float) -> None:
    """The factor is at most the inverse square, and its reverse gives the distance again."""
    factor = ad.moved_factor(from_m, to_m, size_m)
    square = (to_m / from_m) ** 2
    assert min(1, square) * (1 - 1e-9) <= factor <= max(1, square) * (1 + 1e-9)
    assert factor * ad.moved_factor(to_m, from_m, size_m) == pytest.approx(1)
    assert ad.distance_for(factor, from_m, size_m) == pytest.approx(to_m, rel=1e-4)


def test_from_five_widths_on_a_source_is_a_point() -> None:
    """There the disc departs from the inverse square by 1 percent at most."""
    assert ad.moved_factor(5, 10, 1) == pytest.approx(4, rel=0.01)
    assert ad.moved_factor(1, 2, 1) < 0.9 * 4


def test_advice_that_cannot_be_asked() -> None:
    """A wanted time or a distance that is none is refused."""
    for bad in (
        lambda: ad.advise(room(), at=EASEL, today=TODAY, wanted_s=0),
        lambda: ad.advise(room(), ["sun"], at=EASEL, today=TODAY),
        lambda: ad.moved_factor(0, 1),
        lambda: ad.moved_factor(1, math.nan),
        lambda: ad.moved_factor(1, 1, -1),
        lambda: ad.distance_for(0.1, 0.1, 2),
    ):
        with pytest.raises(BadInput):
            bad()


# --- ageing -----------------------------------------------------------------------------------


def ages(found: Room, paper: str = "") -> list[Age]:
    return [one.age for one in why_old(found.tests[0], found, today=TODAY, paper=paper)]


@pytest.mark.parametrize("what", ["bulb", "filter", "place"])
def test_a_change_after_the_test_makes_it_old(what: Any) -> None:
    """A bulb, filter or place changed since; one changed before does not matter."""
    found = room(result("amber"))
    assert holds(found.tests[0], found, today=TODAY)
    since = change.with_changed(found, "amber", what, date(2025, 5, 2))
    assert ages(since) == [Age(what)]
    assert "amber was changed on 2025-05-02" in why_old(since.tests[0], since, today=TODAY)[0].words
    before = change.with_changed(found, "amber", what, date(2025, 4, 30))
    assert ages(before) == []


def test_on_one_day_the_time_settles_it() -> None:
    """With times the order is known; without, a change of the same day counts."""

    def with_(test: date, changed: date) -> list[Age]:
        lamp = light("amber", changes=(Change(what="bulb", date=changed),))
        return ages(room(result("amber", date=test), lights=(lamp,)))

    noon, eve = datetime(2025, 5, 1, 12), datetime(2025, 5, 1, 20)
    assert with_(eve, noon) == []
    assert with_(noon, eve) == [Age.BULB]
    assert with_(date(2025, 5, 1), noon) == [Age.BULB]


def test_what_was_seen_is_held_against_what_is() -> None:
    """A filter or distance that is edited in the file makes the test old as well."""
    found = change.with_test(
        room(lights=(light("amber", filter="OC", easel_m=1.2),)), result("amber")
    )
    lamp = found.lights[0].model_copy(update={"filter": "red", "easel_m": 1.0})
    edited = change.with_light(found, lamp)
    assert ages(found) == []
    assert ages(edited) == [Age.FILTER, Age.PLACE]


def test_paper_and_months() -> None:
    """Another paper, or the months of the room gone by, to the day."""
    found = room(result("amber", date=date(2024, 6, 1)))
    assert ages(found) == [Age.MONTHS]
    assert ages(room(result("amber", date=date(2024, 6, 2)))) == []
    assert ages(room(result("amber")), "matt") == [Age.PAPER]
    assert ages(room(result("amber")), " PEARL ") == []
    assert ages(room(result("amber", date=date(2025, 2, 28)), expiry_months=3)) == [Age.MONTHS]


def test_months_end_where_they_end() -> None:
    """A month after the 31st is the last of the next."""
    assert add_months(date(2025, 1, 31), 1) == date(2025, 2, 28)
    assert add_months(date(2024, 12, 31), 14) == date(2026, 2, 28)


def test_an_old_result_is_used_and_told() -> None:
    """Old figures stand until a new test, with why they are old."""
    found = room(result("amber", date=date(2024, 1, 1)))
    told = predict(found, ["amber"], at=EASEL, today=TODAY)
    assert told.safe is not None
    assert told.lines[-1] == "old: it is of 2024-01-01, 12 months ago or more"
    (one,) = known(found, at=EASEL, today=TODAY).values()
    assert [each.age for each in one.old] == [Age.MONTHS]
