"""Random rooms of one to six lights: what the sheets say of them, and what paper really does.

``ROOMS`` below are the numbers that are always run; each room has a seed of its own.
"""

from __future__ import annotations

import random
from datetime import timedelta
from functools import cache

import pytest

from controller.room.change import with_test
from controller.room.fog_sheets import BRIEFLY, REFERENCE, TOGETHER, FogTest, WhichLight
from controller.room.limits import Bound, Reading
from controller.room.model import Place, Room
from controller.room.reading import (
    another_time_s,
    columns_against,
    fog_by_density,
    fog_by_eye,
    fog_result,
    guilty_column,
    which_results,
)
from controller.room.results import predict
from controller.room.steps import GREY_LEAST, GREY_MOST, JUST_SEEN
from tests.whole.rooms_to_prove import (
    TODAY,
    RoomToProve,
    Truth,
    coin_density,
    fog_sheet,
    middle_m,
    random_room,
    room_with,
    which_sheet,
)

ROOMS = 24  # for the sheets of single lights and for sets
GUILTY_ROOMS = 100
COIN_ROOMS = 40
STEPS_S = tuple(15.0 * 2**n for n in range(8))
EYE = 0.04  # just-noticeable difference of a tired eye under a lamp; common practice, no source
PAPER_WHITE = 0.06
# The relay, the lamp of the flash and a hand's slip: what a step's light may be off by.
NEARLY = 1.03
SHEETS_OF_ONE_LIGHT = 4


def times_s(chance: random.Random, count: int) -> list[float]:
    """Give times at which lights may fog: from 20 s, over any decade alike, to 3 h."""
    return [10.0 ** chance.uniform(1.3, 4.03) for _ in range(count)]


def room_of(seed: int, *, reciprocity: float = 1.0) -> RoomToProve:
    """Make the room of a seed, with 1 to 6 lights by turns."""
    chance = random.Random(f"room {seed}")
    return random_room(chance, times_s(chance, 1 + seed % 6), reciprocity=reciprocity)


def by_eye(test: FogTest, found: dict[str, float], just_seen: float) -> tuple[Reading, Reading]:
    """Read a sheet as an eye does that sees differences from ``just_seen`` on."""

    def first(side: str) -> int | None:
        steps = range(1, len(test.steps_s) + 1)
        seen = (n for n in steps if found[f"{side} {n}"] - found[REFERENCE] >= just_seen)
        return next(seen, None)

    return fog_by_eye(test, first("before"), first("after"))


def require_bracket(
    test: FogTest,
    reading: Reading,
    side: str,
    true_s: dict[str, float],
    *,
    by_hand: bool,
) -> None:
    """Require that paper changes after the clean step, and at the changed one or before.

    ``true_s`` is for each patch at its own place. Where a hand lights the light, a step gets
    some seconds more than it says: it may then be changed one step early, never late.
    """
    for number, step_s in enumerate(test.steps_s, start=1):
        here_s = true_s[f"{side} {number}"]
        if step_s == reading.clean_s:
            assert step_s <= here_s * NEARLY, (side, step_s, here_s)
        if step_s == reading.changed_s:
            assert here_s <= step_s * (2.0 if by_hand else NEARLY), (side, step_s, here_s)


@pytest.mark.parametrize("seed", range(ROOMS))
def test_a_fog_test_holds_the_time_at_which_paper_really_changes(seed: int) -> None:
    """Each light, at easel and trays, before and after the image, by densities and by an eye."""
    room = room_of(seed)
    truth = Truth(room)
    assert GREY_LEAST <= truth.grey() - PAPER_WHITE <= GREY_MOST
    chance = random.Random(f"which lights {seed}")
    places: tuple[Place, ...] = (Place.EASEL, Place.TRAYS)
    names = [(name, place) for name in room.lights for place in places]
    for name, place in chance.sample(names, min(len(names), SHEETS_OF_ONE_LIGHT)):
        test, found = fog_sheet(room, (name,), STEPS_S, place.value)
        assert found[REFERENCE] == pytest.approx(truth.grey(), abs=0.003)
        for just_seen, readings in (
            (JUST_SEEN, fog_by_density(test, found)),
            (EYE, by_eye(test, found, EYE)),
        ):
            for side, reading in zip(("before", "after"), readings, strict=True):
                true_s = {
                    patch: truth.time_s(
                        [name],
                        place=place.value,
                        before=side == "before",
                        just_seen=just_seen,
                        x_m=middle_m(test, patch),
                    )
                    for patch in test.names()
                    if patch.startswith(side)
                    and test.steps_s[int(patch.split()[1]) - 1]
                    in (reading.clean_s, reading.changed_s)
                }
                full = {p: true_s.get(p, 0.0) for p in test.names()}
                by_hand = name not in room.outputs and name != "screen"
                require_bracket(test, reading, side, full, by_hand=by_hand)


@pytest.mark.parametrize("seed", range(ROOMS))
def test_the_time_of_any_set_is_foretold_from_single_lights(seed: int) -> None:
    """Paper under a set changes within the range that the sum of its lights gives.

    Every third room has paper at which dim light fails (exponent 0.9). Lights then do more
    together than their sum, by n^(1/p - 1): up to 22 percent for six. The range may be missed
    by that; the safe time, half of what was clean, may not.
    """
    reciprocity = 0.9 if seed % 3 == 2 else 1.0
    truths = room_of(seed, reciprocity=reciprocity)
    truth = Truth(truths)
    room = _with_every_light_tested(truths)
    chance = random.Random(f"sets {seed}")
    for _ in range(6):
        names = chance.sample(truths.lights, chance.randint(1, len(truths.lights)))
        safe = predict(room, names, at=Place.EASEL, today=TODAY).safe
        assert safe is not None
        # patches of a strip lie up to 10 cm from its middle: nearer to a light or farther
        across = [truth.time_s(names, x_m=x_m) for x_m in (-0.1, 0.0, 0.1)]
        more = len(names) ** (1 / reciprocity - 1)
        assert 2 * safe.low_s <= max(across) * NEARLY * more, names
        by_hand = any(n not in room_outputs(truths) for n in names)
        assert min(across) <= 2 * safe.high_s * (2.0 if by_hand else NEARLY), names
        assert safe.value_s <= min(across), names


@pytest.mark.parametrize("seed", range(1, ROOMS, 3))
def test_a_set_that_is_tested_agrees_with_the_sum(seed: int) -> None:
    """The same lights on one sheet of their own do not contradict what each did alone."""
    truths = room_of(seed)
    room = _with_every_light_tested(truths)
    test, found = fog_sheet(truths, truths.lights, STEPS_S)
    readings = fog_by_density(test, found)
    room = with_test(room, fog_result(test, test.lights, *readings, TODAY, read="densities"))
    told = predict(room, truths.lights, at=Place.EASEL, today=TODAY)
    assert told.against is None
    assert told.safe is not None
    truth = Truth(truths)
    assert told.safe.value_s <= truth.time_s(truths.lights)


@pytest.mark.parametrize("first", range(0, GUILTY_ROOMS, 25))
def test_the_guilty_light_is_named_in_every_room(first: int) -> None:
    """A hundred rooms of two to six lights of which one gives at least half of all the fog.

    It also fogs at least twice as fast as the next, over the middle of the strip. Where a sheet
    does not tell, it says what other time might, and is made once more; four sheets are enough,
    for densities and for a tired eye.
    """
    for seed in range(first, first + 25):
        room, guilty = _with_a_guilty_light(seed)
        for just_seen in (JUST_SEEN, EYE):
            time_s: float | None = 240.0
            for _ in range(4):
                assert time_s is not None
                test, differences = _columns(seed, time_s)
                told = guilty_column(differences, just_seen=just_seen)
                time_s = another_time_s(test, differences, just_seen=just_seen)
                if told is not None and told.certain:
                    break
            assert told is not None
            assert told.certain
            assert told.name == guilty, (seed, len(room.lights))


def test_a_coin_passes_rooms_that_the_fog_test_fails() -> None:
    """Of random rooms that fog a picture within five minutes many leave white paper white.

    A coin that shows is never wrong: the fog test of such a room always fails.
    """
    missed = failed = 0
    for seed in range(COIN_ROOMS):
        room = room_of(seed)
        shows = coin_density(room, 300.0) - PAPER_WHITE >= JUST_SEEN
        test, found = fog_sheet(room, room.lights, (150.0, 300.0))
        _, after = fog_by_density(test, found)
        assert after.changed_s is not None or not shows
        failed += after.changed_s is not None
        missed += after.changed_s is not None and not shows
    assert failed >= COIN_ROOMS / 2
    assert missed >= failed / 5


# --- contradictions ---------------------------------------------------------------------------

THREE = {
    "bench": {"kind": "light-amber", "lux_at_1m": 6.0, "at_m": (-0.2, 0.3, 1.2)},
    "sink": {"kind": "red", "lux_at_1m": 0.3, "at_m": (0.3, 0.3, 1.4)},
    "door": {"kind": "white", "lux_at_1m": 6e-3, "at_m": (0.4, 1.0, 1.5)},
}


@pytest.mark.parametrize(
    ("guilty", "dark", "word"),
    [
        ("bench", (1,), "sooner"),  # off in its own column
        ("door", (1,), "sooner"),  # the hand forgot it
        ("bench", (2, 3), "later"),  # off while all should have burned
        ("bench", (), ""),
    ],
)
def test_a_light_off_at_the_wrong_time_is_told_and_not_averaged(
    guilty: str, dark: tuple[int, ...], word: str
) -> None:
    """Single columns against those of all together: a contradiction, and the shorter time kept."""
    lights = {**THREE, "bench": {**THREE["bench"], "lux_at_1m": 6.0 if guilty == "bench" else 0.01}}
    if guilty == "bench":
        lights["door"] = {**THREE["door"], "lux_at_1m": 1e-7}
    truths = room_with(lights)
    test, found = which_sheet(truths, 240.0, dark={guilty: dark})
    room = _with_columns(truths, test, found)
    told = predict(room, truths.lights, at=Place.EASEL, today=TODAY)
    assert told.safe is not None
    assert told.safe.bound is Bound.LESS_THAN  # nothing is proved safe, whichever is true
    if not word:
        assert told.against is None
        return
    assert told.against is not None
    assert f"fog {word}" in told.against.lines[0]
    assert any(line.startswith("together they fog") for line in told.lines)
    if word == "sooner":
        assert told.against.missing_s is not None
        least_s, most_s = told.against.missing_s
        assert least_s <= Truth(truths).time_s([guilty]) / 2 <= most_s * NEARLY


def test_densities_tell_a_light_that_was_off_more_often_than_the_eye() -> None:
    """Of rooms with a guilty light that shows, an honest sheet is never accused.

    The light off while all should have burned is told in two of three, and off in its own
    column in a third at least: where the others give as much, nobody can know.
    """
    shown = dict.fromkeys(("honest", "own", "all"), 0)
    told = dict.fromkeys(shown, 0)
    for seed in range(30):
        room, guilty = _with_a_guilty_light(seed)
        for fault, dark in (("honest", ()), ("own", (1,)), ("all", (2, 3))):
            _, found = which_sheet(room, 240.0, dark={guilty: dark})
            differences = {name: one - found[REFERENCE] for name, one in found.items()}
            shown[fault] += max(differences.values()) >= 2 * JUST_SEEN
            lines = columns_against(differences)
            told[fault] += bool(lines)
            assert not lines or ("lighter" in lines[0]) == (fault == "all")
    assert told["honest"] == 0
    assert told["all"] >= 2 / 3 * shown["all"] > 5
    assert told["own"] >= 1 / 3 * shown["own"] > 2


@pytest.mark.parametrize("seed", range(1, ROOMS, 2))
def test_an_honest_sheet_contradicts_nothing(seed: int) -> None:
    """Where every light burns when it should, single columns and all together agree.

    But for a column at the very edge of being seen, which lies nearer to its light than theirs.
    """
    truths = room_of(seed)
    test, found = which_sheet(truths, 240.0)
    differences = [one - found[REFERENCE] for name, one in found.items() if name != REFERENCE]
    if any(JUST_SEEN * 0.7 < one < JUST_SEEN * 1.4 for one in differences):
        return
    told = predict(_with_columns(truths, test, found), truths.lights, at=Place.EASEL, today=TODAY)
    assert told.against is None


def test_columns_of_all_are_read_as_two_steps() -> None:
    """Briefly clean and changed in full is a range; changed already briefly is less than that."""
    test = WhichLight(lights=("a", "b"), flash_s=1.0, time_s=240.0)
    names = {"a": "a", "b": "b"}
    assert test.brief_s == 80.0

    def all_of_it(*, briefly: bool, full: bool) -> tuple[float | None, float | None]:
        changed = {"a": False, "b": False, BRIEFLY: briefly, TOGETHER: full}
        result = which_results(test, changed, names, TODAY)[-1]
        assert result.after is not None
        return result.after.clean_s, result.after.changed_s

    assert all_of_it(briefly=False, full=True) == (80.0, 240.0)
    assert all_of_it(briefly=False, full=False) == (240.0, None)
    assert all_of_it(briefly=True, full=True) == (None, 80.0)
    assert all_of_it(briefly=True, full=False) == (None, 80.0)


# --- what the truth above stands on -----------------------------------------------------------


@pytest.mark.parametrize("reciprocity", [1.0, 0.9])
def test_the_truth_is_what_the_imagined_world_does(reciprocity: float) -> None:
    """A step of just that time, by the real plan, differs by just what is seen."""
    for seed in (0, 1, 4):
        room = room_of(seed, reciprocity=reciprocity)
        truth = Truth(room)
        for name in sorted(room_outputs(room) & set(room.lights)):
            for before in (False, True):
                time_s = truth.time_s([name], place="trays", before=before)
                if not 20.0 < time_s < 4 * 3600:
                    continue
                test, found = fog_sheet(room, (name,), (time_s / 2, time_s), "trays")
                patch = "before 2" if before else "after 2"
                assert found[patch] - found[REFERENCE] == pytest.approx(JUST_SEEN, abs=0.001)
                assert test.steps_s[1] == time_s


def test_fog_of_sums_is_the_sum_of_fog() -> None:
    """Of paper at which dim light counts in full, the rates of single lights add up to the set's.

    Where it fails the set is faster than their sum, by no more than n^(1/p - 1).
    """
    for reciprocity in (1.0, 0.9):
        truth = Truth(room := room_of(5, reciprocity=reciprocity))
        rates = [1 / truth.time_s([name]) for name in room.lights]
        whole = 1 / truth.time_s(room.lights)
        most = len(rates) ** (1 / reciprocity - 1)
        assert sum(rates) <= whole * 1.001
        assert whole <= sum(rates) * most * 1.001


# --- inside -----------------------------------------------------------------------------------


def room_outputs(room: RoomToProve) -> set[str]:
    """Name the lights that no hand switches."""
    return {*room.outputs, "screen"}


def _with_every_light_tested(truths: RoomToProve) -> Room:
    room = truths.room()
    for name in truths.lights:
        test, found = fog_sheet(truths, (name,), STEPS_S)
        readings = fog_by_density(test, found)
        when = TODAY - timedelta(days=1)
        room = with_test(room, fog_result(test, (name,), *readings, when, read="densities"))
    return room


def _with_columns(truths: RoomToProve, test: WhichLight, found: dict[str, float]) -> Room:
    room = truths.room()
    changed = {
        name: one - found[REFERENCE] >= JUST_SEEN
        for name, one in found.items()
        if name != REFERENCE
    }
    names = {name: name for name in test.lights}
    for result in which_results(test, changed, names, TODAY, read="densities"):
        room = with_test(room, result)
    return room


@cache
def _columns(seed: int, time_s: float) -> tuple[WhichLight, dict[str, float]]:
    """Make the sheet of a room with a guilty light: what its columns are above the reference."""
    test, found = which_sheet(_with_a_guilty_light(seed)[0], time_s)
    return test, {name: one - found[REFERENCE] for name, one in found.items()}


@cache
def _with_a_guilty_light(seed: int) -> tuple[RoomToProve, str]:
    """Make a room in which one light dominates, and name that light."""
    chance = random.Random(f"guilty {seed}")
    others = 1 + seed % 5
    guilty_s = 10.0 ** chance.uniform(1.3, 3.2)
    # each fogs at most half as fast as the guilty one, and all together no more than it does
    slower = [1.0 / chance.uniform(2.0, 40.0) for _ in range(others)]
    slower = [one / max(1.0, sum(slower)) for one in slower]
    times = [guilty_s, *(guilty_s / one for one in slower)]
    order = list(range(others + 1))
    chance.shuffle(order)
    room = random_room(chance, [times[n] for n in order])
    guilty = room.lights[order.index(0)]
    truth = Truth(room)
    rates = {name: 1 / truth.time_s([name]) for name in room.lights}
    rest = [rate for name, rate in rates.items() if name != guilty]
    assert rates[guilty] >= sum(rest) * 0.999
    assert rates[guilty] >= 1.999 * max(rest)
    return room, guilty
