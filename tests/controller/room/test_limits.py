"""Readings, the rules that make safe times of them, and sums of lights."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from controller.errors import BadInput, Refused
from controller.room import limits as lm
from controller.room import steps, sums
from controller.room.limits import Bound, Reading, Rule, SafeTime, limit, told

times = st.floats(0.5, 40_000)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    clean, changed = draw(times), draw(times)
    which = draw(st.sampled_from(["both", "clean", "changed"]))
    if which == "clean":
        return Reading(clean, None)
    if which == "changed":
        return Reading(None, changed)
    low, high = sorted((clean, changed))
    return Reading(low, high * 1.001)


safe_times = st.one_of(
    st.builds(limit, readings(), st.sampled_from(Rule)), st.builds(lm.typed, times)
)
rooms = st.dictionaries(st.sampled_from("abcdef"), safe_times, min_size=1)


@given(readings())
def test_the_rules_keep_their_order_and_their_range(reading: Reading) -> None:
    """N/2 <= ANSI <= C/2, and every figure lies between half the two steps."""
    found = [limit(reading, rule) for rule in Rule]
    values = [one.value_s for one in found]
    assert values == sorted(values)
    for one, rule in zip(found, Rule, strict=True):
        assert one.low_s <= one.value_s <= one.high_s
        assert one.rule == rule.value
        assert one.basis == (rule,)


def test_the_cautious_rule_is_the_default() -> None:
    """Without a rule half the last clean step counts, and says so."""
    assert limit(Reading(180, 420)).line == (
        "about 1 min 30 s, 1 min 30 s to 3 min 30 s by the steps (half-clean)"
    )
    assert all("half" in rule.words and len(rule.source) > 20 for rule in Rule)


@pytest.mark.parametrize("rule", Rule)
def test_no_step_or_the_first_step(rule: Rule) -> None:
    """No step changed is "at least" by every rule; the first step changed is unsafe by every."""
    assert limit(Reading(480, None), rule).line == f"at least 4 min ({rule.value})"
    unsafe = limit(Reading(None, 30), rule)
    assert unsafe.line == f"unsafe, less than 15 s ({rule.value})"
    assert (unsafe.value_s, unsafe.proved) == (0.0, False)


def test_a_figure_without_its_rule_cannot_be_made() -> None:
    """No basis, a range out of order, or a zero that is not unsafe is refused."""
    about = Bound.ABOUT
    for bad in (
        (1.0, 1.0, 1.0, about, ()),
        (2.0, 3.0, 4.0, about, (Rule.HALF_MEAN,)),
        (0.0, 0.0, 1.0, about, (Rule.HALF_MEAN,)),
        (1.0, 0.0, 1.0, Bound.LESS_THAN, (Rule.HALF_MEAN,)),
        (math.inf, 1.0, math.inf, Bound.AT_LEAST, (Rule.HALF_MEAN,)),
        (math.nan, 1.0, 2.0, about, (Rule.HALF_MEAN,)),
    ):
        with pytest.raises(ValueError, match=r".+"):
            SafeTime(*bad)


@pytest.mark.parametrize(
    ("clean", "changed"),
    [(None, None), (3, 3), (4, 3), (0, 3), (-1, None), (None, math.nan), (math.inf, None)],
)
def test_readings_that_cannot_be(clean: float | None, changed: float | None) -> None:
    """A reading without steps, out of order or without time is refused."""
    with pytest.raises(BadInput):
        Reading(clean, changed)


@given(safe_times, safe_times)
def test_the_total_is_the_smaller(one: SafeTime, other: SafeTime) -> None:
    """Before and after together are held against the smaller, with the rules of both."""
    total = lm.smaller((one, other))
    assert total.value_s == min(one.value_s, other.value_s)
    assert total.low_s == min(one.low_s, other.low_s)
    assert set(total.basis) == {*one.basis, *other.basis}


def test_at_least_is_carried_into_the_total() -> None:
    """At least 4 and about 5 is at least 4, and at most what 5 leaves."""
    total = lm.smaller((limit(Reading(480, None)), limit(Reading(600, 720))))
    assert (total.bound, total.value_s, total.high_s) == (Bound.AT_LEAST, 240, 360)


@given(safe_times, st.floats(0.01, 1.0))
def test_calculation_shortens(tested: SafeTime, factor: float) -> None:
    """A factor up to 1 shortens a tested time and keeps its rule."""
    found = lm.recalculated(tested, factor)
    assert found.value_s <= tested.value_s
    assert found.basis == tested.basis


def test_calculation_never_lengthens() -> None:
    """A factor above 1 is refused and the test is named instead; what is no factor is no input."""
    with pytest.raises(Refused, match="fog test again"):
        lm.recalculated(lm.typed(60), 1.01)
    with pytest.raises(BadInput):
        lm.recalculated(lm.typed(60), 0)


def test_times_are_told_rounded_down() -> None:
    """A limit is told a little short rather than a little long."""
    given_ = (9.99, 59.99, 60, 152.7, 3600, 0.0499, math.inf)
    assert [told(t) for t in given_] == [
        *("9.9 s", "59 s", "1 min", "2 min 32 s", "60 min", "0 s", "no limit known"),
    ]


# --- steps ------------------------------------------------------------------------------------


@given(st.lists(st.floats(0.5, 100), min_size=1, max_size=8), st.data())
def test_reading_by_eye_is_between_two_neighbours(pulses: list[float], data: st.DataObject) -> None:
    """The first changed step and the one below it make the reading."""
    totals = steps.card_totals(pulses)
    first = data.draw(st.none() | st.integers(1, len(totals)))
    found = steps.read_by_eye(totals, first)
    if first is None:
        assert (found.clean_s, found.changed_s) == (totals[-1], None)
    else:
        assert found.changed_s == totals[first - 1]
        assert found.clean_s == (totals[first - 2] if first > 1 else None)


def test_densities_read_as_the_eye_would() -> None:
    """The first step that differs by 0.02 counts, whatever a longer one says."""
    totals = (60, 120, 240, 480)
    assert steps.read_densities(totals, (0.30, 0.31, 0.32, 0.31), 0.30) == Reading(120, 240)
    assert steps.read_densities(totals, (0.30, 0.30, 0.30, 0.31), 0.30) == Reading(480, None)
    assert steps.read_densities(totals, (0.28, 0.30, 0.30, 0.30), 0.30) == Reading(None, 60)


def test_steps_that_cannot_be_read() -> None:
    """Steps that do not grow, a step that is not there, densities of another number: refused."""
    for bad in (
        lambda: steps.read_by_eye((), None),
        lambda: steps.read_by_eye((60, 60), None),
        lambda: steps.read_by_eye((60, 120), 3),
        lambda: steps.read_by_eye((60, 120), 0),
        lambda: steps.read_densities((60, 120), (0.3,), 0.3),
        lambda: steps.read_densities((60,), (math.nan,), 0.3),
        lambda: steps.read_densities((60,), (0.3,), 0.3, just_seen=0),
        lambda: steps.card_totals((60, 0)),
    ):
        with pytest.raises(BadInput):
            bad()


# --- sums -------------------------------------------------------------------------------------


@given(rooms)
def test_together_is_shorter_than_each(room: dict[str, SafeTime]) -> None:
    """Adding a light never makes the time longer, in figure, low and high."""
    found = sums.together(room.values())
    for one in room.values():
        assert found.value_s <= one.value_s * (1 + 1e-12)
        assert found.low_s <= one.low_s * (1 + 1e-12)
        assert found.high_s <= one.high_s * (1 + 1e-12)
    assert found.proved == all(one.proved for one in room.values())


@given(rooms)
def test_shares_add_up_and_lie_in_their_range(room: dict[str, SafeTime]) -> None:
    """Shares add up to one, largest first, each within what the steps leave."""
    found = sums.shares(room)
    assert sum(one.value for one in found) == pytest.approx(1)
    assert [one.value for one in found] == sorted((one.value for one in found), reverse=True)
    for one in found:
        assert 0 <= one.low <= one.value <= one.high <= 1


@given(st.dictionaries(st.sampled_from("abcdef"), st.floats(10, 1e4), min_size=2))
def test_steps_hold_the_truth(true_s: dict[str, float]) -> None:
    """Read on doubled steps, the sum's range holds the true time of all lights together."""

    def read(threshold: float) -> Reading:
        grid = [16.0 * 2**k for k in range(9)]
        below = [one for one in grid if one < threshold]
        above = [one for one in grid if one >= threshold]
        return Reading(below[-1] if below else None, above[0] if above else None)

    room = {name: limit(read(one)) for name, one in true_s.items()}
    true_half = 0.5 / sum(1 / one for one in true_s.values())
    found = sums.together(room.values())
    assert found.low_s <= true_half * (1 + 1e-9)
    assert true_half <= found.high_s * (1 + 1e-9)
    culprit = min(true_s, key=lambda name: true_s[name])
    named = sums.guilty(room)
    assert named is not None
    assert culprit in (named.name, *named.rivals)
    assert named.certain <= (named.name == culprit)


@given(rooms, st.floats(0.1, 10))
def test_no_contradiction_where_ranges_meet(room: dict[str, SafeTime], factor: float) -> None:
    """A reading contradicts the sum only where their ranges do not meet."""
    predicted = sums.together(room.values())
    middle = predicted.value_s or predicted.high_s / 2
    assume(2.2 * middle * factor < lm.LONGEST_S)
    read = limit(Reading(2 * middle * factor, 2.2 * middle * factor))
    found = sums.contradiction(room, read)
    for one, other in ((read.high_s, predicted.low_s), (predicted.high_s, read.low_s)):
        assume(not math.isclose(one, other, rel_tol=1e-6))  # on the edge rounding decides
    apart = read.high_s < predicted.low_s or predicted.high_s < read.low_s
    assert (found is not None) == apart
    kept = sums.allowed(read, predicted)
    unproved = predicted.bound is lm.Bound.AT_LEAST  # which says nothing against a test
    shorter_s = min(read.value_s, predicted.value_s)
    assert kept.value_s == (read.value_s if unproved else shorter_s)


def test_a_missing_light_is_worked_out() -> None:
    """Together sooner than the sum: the light that would explain it is told in seconds."""
    room = {"a": lm.typed(600), "b": lm.typed(900)}  # 360 s together
    found = sums.contradiction(room, lm.typed(120))
    assert found is not None
    assert found.missing_s == pytest.approx((180, 180))
    assert any("3 min" in line and "not listed" in line for line in found.lines)


def test_too_clean_together_is_reported() -> None:
    """Together later than one light alone: that light is named, and no light is made up."""
    room = {"a": lm.typed(60), "b": lm.typed(900)}
    found = sums.contradiction(room, lm.typed(600))
    assert found is not None
    assert found.missing_s is None
    assert "a alone fogs sooner" in found.lines[0]


def test_no_light_has_no_safe_time() -> None:
    """A sum of nothing is refused, and nobody is guilty."""
    with pytest.raises(ValueError, match="no light"):
        sums.together([])
    assert sums.guilty({}) is None


def test_guilty_is_certain_only_when_told_apart() -> None:
    """Two lights on the same step cannot be told apart."""
    room = {"a": limit(Reading(60, 120)), "b": limit(Reading(60, 120)), "c": lm.typed(900)}
    named = sums.guilty(room)
    assert named == sums.Guilty("a", ("b",))
    assert sums.guilty({"a": limit(Reading(60, 120)), "c": lm.typed(900)}) == sums.Guilty("a")
